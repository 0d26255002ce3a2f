"""What an answer rules out, as bits: the small change of `ways`.

Everything that can be the case of one quantity (the answers of a check; for a reading, at
each place, each stretch of values for which the same limits hold) is one bit. A set bit means:
ruled out. So what two ways agree on is the "and" of their bits, and what one more answer adds
is an "or". One bit more says that it was asked at all. Where several places hang together
(`any`, `otherwise`) only what each place excludes by itself is kept in the bits: too little
may be known here, never too much. Whether some answers of one way agree is said exactly.
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.model.nodes import Check, Otherwise, Outcome, Quantifier, Reading
from treewright.model.tree import Tree
from treewright.reason.limits import judgeable, region
from treewright.reason.places import Axis, Kinds, Wanted, solve
from treewright.record import record
from treewright.text.interval import Limits
from treewright.text.quantity import converted
from treewright.text.units import Unit


@record
class _Test:
    """An answer over the kinds of one axis; `kinds` of a check's answer are its words."""

    quantifier: Quantifier
    place: int  # of `only`; 0 where there is one place
    kinds: Kinds


class Quantity:
    """What one check or reading (or several that measure the same) can find.

    Args:
        base: the number of its first bit.
        places: how many places it is taken at, at least one.
        tests: for each node of it, its answers; None stands for `otherwise`.
        kinds: how many kinds of value there are at each place.
    """

    def __init__(
        self, base: int, places: int, kinds: int, tests: dict[str, tuple[_Test | None, ...]]
    ) -> None:
        self._base, self._places, self._kinds, self._tests = base, places, kinds, tests
        self.width = places * kinds + 1
        self.mask = ((1 << self.width) - 1) << base
        self.asked = 1 << (base + self.width - 1)
        self._ruled_out: dict[tuple[str, int], int] = {}
        self._possible: dict[tuple[str, int], tuple[int, ...]] = {}
        self._agreeing: dict[frozenset[tuple[str, int]], bool] = {}

    def says_the_same(self, other: Quantity) -> bool:
        """Whether another one, as it is on another model, has the same bits and the same tests."""
        return (
            self._base == other._base
            and self._places == other._places
            and self._kinds == other._kinds
            and self._tests == other._tests
        )

    def rules_out(self, node: str, answer: int) -> int:
        """The bits that an answer excludes, and that of having been asked."""
        key = node, answer
        if key not in self._ruled_out:
            test = self._tests[node][answer]
            bits = self.asked
            if test is not None:
                bits |= self._fails(test)
            else:
                for other in self._tests[node]:
                    if other is not None:
                        bits |= self._denied(other)
            self._ruled_out[key] = bits
        return self._ruled_out[key]

    def possible(self, node: str, bits: int) -> tuple[int, ...]:
        """The answers that can still be given where these bits are excluded."""
        own = bits & self.mask
        key = node, own
        if key not in self._possible:
            self._possible[key] = self._answers_left(node, own)
        return self._possible[key]

    def agree(self, answers: frozenset[tuple[str, int]]) -> bool:
        """Whether one machine can give all these answers (each a node and its answer)."""
        if answers not in self._agreeing:
            every = frozenset(range(self._kinds))
            wanted = Wanted({str(place): every for place in range(self._places)}, [], [])
            for node, answer in sorted(answers):
                test = self._tests[node][answer]
                if test is not None:
                    _hold(wanted, test, every)
                else:
                    for other in self._tests[node]:
                        if other is not None:
                            _fail(wanted, other, every)
            self._agreeing[answers] = solve(wanted) is not None
        return self._agreeing[answers]

    def _answers_left(self, node: str, bits: int) -> tuple[int, ...]:
        left = [self._left(place, bits) for place in range(self._places)]
        tests = self._tests[node]
        found = []
        for at, test in enumerate(tests):
            if test is not None:
                if self._can(test, left):
                    found.append(at)
            elif not any(other is not None and self._must(other, left) for other in tests) and (
                self._places > 1 or left[0] - self._covered(tests)
            ):
                found.append(at)
        return tuple(found)

    @staticmethod
    def _covered(tests: tuple[_Test | None, ...]) -> Kinds:
        found: Kinds = frozenset()
        for test in tests:
            if test is not None:
                found |= test.kinds
        return found

    def _left(self, place: int, bits: int) -> Kinds:
        start = self._base + place * self._kinds
        return frozenset(kind for kind in range(self._kinds) if not bits >> (start + kind) & 1)

    def _bits(self, place: int, kinds: Iterable[int]) -> int:
        start = self._base + place * self._kinds
        bits = 0
        for kind in kinds:
            bits |= 1 << (start + kind)
        return bits

    def _everywhere(self, kinds: Iterable[int], but_at: int | None = None) -> int:
        kinds = tuple(kinds)
        bits = 0
        for place in range(self._places):
            if place != but_at:
                bits |= self._bits(place, kinds)
        return bits

    def _outside(self, kinds: Kinds) -> Kinds:
        return frozenset(range(self._kinds)) - kinds

    def _fails(self, test: _Test) -> int:
        """What cannot be where the test holds."""
        match test.quantifier:
            case "one" | "all":
                return self._everywhere(self._outside(test.kinds))
            case "none":
                return self._everywhere(test.kinds)
            case "only":
                at_place = self._bits(test.place, self._outside(test.kinds))
                return at_place | self._everywhere(test.kinds, but_at=test.place)
            case "any":
                return 0 if self._places > 1 else self._everywhere(self._outside(test.kinds))

    def _denied(self, test: _Test) -> int:
        """What cannot be where the test does not hold."""
        if self._places == 1:
            kinds = self._outside(test.kinds) if test.quantifier == "none" else test.kinds
            return self._bits(0, kinds)
        return self._everywhere(test.kinds) if test.quantifier == "any" else 0

    def _can(self, test: _Test, left: list[Kinds]) -> bool:
        match test.quantifier:
            case "one" | "all":
                return all(kinds & test.kinds for kinds in left)
            case "any":
                return any(kinds & test.kinds for kinds in left)
            case "none":
                return all(kinds - test.kinds for kinds in left)
            case "only":
                return bool(left[test.place] & test.kinds) and all(
                    kinds - test.kinds for at, kinds in enumerate(left) if at != test.place
                )

    def _must(self, test: _Test, left: list[Kinds]) -> bool:
        match test.quantifier:
            case "one" | "all":
                return all(kinds <= test.kinds for kinds in left)
            case "any":
                return any(kinds <= test.kinds for kinds in left)
            case "none":
                return not any(kinds & test.kinds for kinds in left)
            case "only":
                return left[test.place] <= test.kinds and not any(
                    kinds & test.kinds for at, kinds in enumerate(left) if at != test.place
                )


def _hold(wanted: Wanted, test: _Test, every: Kinds) -> None:
    """Wants a test to hold."""
    match test.quantifier:
        case "one" | "all":
            wanted.forbid(every - test.kinds)
        case "any":
            wanted.somewhere.append(test.kinds)
        case "none":
            wanted.forbid(test.kinds)
        case "only":
            wanted.allowed[str(test.place)] &= test.kinds
            wanted.forbid(test.kinds, but_at=str(test.place))


def _fail(wanted: Wanted, test: _Test, every: Kinds) -> None:
    """Wants a test not to hold."""
    match test.quantifier:
        case "one" | "all":
            wanted.somewhere.append(every - test.kinds)
        case "any":
            wanted.forbid(test.kinds)
        case "none":
            wanted.somewhere.append(test.kinds)
        case "only":
            wanted.not_alone.append((test.kinds, str(test.place)))


def quantities(
    tree: Tree, model: str | None, groups: Iterable[tuple[str, ...]]
) -> dict[str, Quantity]:
    """The quantities of some nodes, by node; nodes of one group share one.

    A group with a node whose answers cannot be judged on this model is left out, and so is one
    that does not ask the same after all: something else is wrong with it first.
    """
    found: dict[str, Quantity] = {}
    base = 0
    for group in groups:
        nodes = [tree.nodes[name] for name in group]
        checks = [node for node in nodes if isinstance(node, Check) and node.outcomes]
        readings = [
            node for node in nodes
            if isinstance(node, Reading) and node.outcomes and judgeable(node, model)
        ]  # fmt: skip
        if len(checks) == len(nodes) and len({_words(check) for check in checks}) == 1:
            made = _of_checks(base, checks)
        elif len(readings) == len(nodes) and len({_measure(one) for one in readings}) == 1:
            made = _of_readings(base, readings, model)
        else:
            continue
        base += made.width
        found.update(dict.fromkeys(group, made))
    return found


def _words(check: Check) -> frozenset[str]:
    return frozenset(
        outcome.label.casefold()
        for outcome in check.outcomes
        if not isinstance(outcome.test, Otherwise)
    )


def _measure(reading: Reading) -> tuple[tuple[str, ...], object]:
    return reading.places, reading.unit.dimension if reading.unit else None


def _of_checks(base: int, checks: list[Check]) -> Quantity:
    words: dict[str, int] = {}
    for check in checks:
        for outcome in check.outcomes:
            if not isinstance(outcome.test, Otherwise):
                words.setdefault(outcome.label.casefold(), len(words))
    tests = {
        check.name: tuple(
            None
            if isinstance(outcome.test, Otherwise)
            else _Test("one", 0, frozenset({words[outcome.label.casefold()]}))
            for outcome in check.outcomes
        )
        for check in checks
    }
    return Quantity(base, 1, len(words) + 1, tests)  # one more: none of these words


def _of_readings(base: int, readings: list[Reading], model: str | None) -> Quantity:
    own = readings[0].unit
    limits: list[Limits] = []
    numbers: dict[tuple[str, int], int] = {}
    for reading in readings:
        for at, outcome in enumerate(reading.outcomes):
            if not isinstance(outcome.test, Otherwise):
                numbers[reading.name, at] = len(limits)
                limits.append(_in_own(region(outcome, reading, model), reading, own))
    axis = Axis(limits, Limits.ALL)
    places = readings[0].places or (None,)
    tests = {
        reading.name: tuple(
            _test(outcome, axis.kinds_in(numbers[reading.name, at]), places)
            if (reading.name, at) in numbers
            else None
            for at, outcome in enumerate(reading.outcomes)
        )
        for reading in readings
    }
    return Quantity(base, len(places), len(axis.all), tests)


def _test(outcome: Outcome, kinds: Kinds, places: tuple[str | None, ...]) -> _Test:
    test = outcome.test
    quantifier: Quantifier = getattr(test, "quantifier", "one")
    place = getattr(test, "place", None)
    return _Test(quantifier, places.index(place) if place in places else 0, kinds)


def _in_own(limits: Limits, reading: Reading, own: Unit | None) -> Limits:
    """The limits of a reading in the unit of the first reading of its group."""
    if own is None or reading.unit is None:
        return limits
    return converted(limits, reading.unit, own)
