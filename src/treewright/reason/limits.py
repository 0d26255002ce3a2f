"""How the answers of a reading cover what can be read: over values, places and models.

Exact. Judges the limits only, not the ways behind them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import combinations
from typing import TypeAlias

from treewright.model.nodes import Against, Otherwise, Outcome, Reading, Stated
from treewright.reason.places import Axis, Wanted, solve
from treewright.record import record
from treewright.text.interval import Limits, at_least, at_most
from treewright.text.quantity import converted
from treewright.text.units import Unit, lowest

# What was read, place by place; one entry for None where the reading has no places.
Values: TypeAlias = tuple[tuple[str | None, Fraction], ...]
_Judged: TypeAlias = Against | Stated
_Answer: TypeAlias = tuple[_Judged, Limits]


@record
class Gap:
    """Something that can be read and that no answer covers.

    `values`: an example. `limits`: all values that no answer covers around it where every
    place reads the same, in the reading's unit; None where it takes different values.
    """

    values: Values
    limits: Limits | None


@record
class Overlap:
    """Something that can be read and that two answers (indices, rising) cover."""

    first: int
    second: int
    values: Values


@record
class Coverage:
    """What is wrong with the answers of a reading on one model. Empty: each covers its own."""

    gaps: tuple[Gap, ...]
    overlaps: tuple[Overlap, ...]


def judgeable(reading: Reading, model: str | None) -> bool:
    """Whether every answer's limit is known on this model and measures what the reading does.

    Where not, something else is wrong with the reading first: no spec for the model, a unit
    of another sort, a place that is not there, `all` or `any` without places or neither with.
    """
    return all(
        isinstance(outcome.test, Otherwise)
        or (isinstance(outcome.test, _Judged) and _is_known(outcome.test, reading, model))
        for outcome in reading.outcomes
    )


def _is_known(test: _Judged, reading: Reading, model: str | None) -> bool:
    limit = reading.spec_for(model) if isinstance(test, Against) else test
    if limit is None or not _same_measure(limit.unit, reading.unit):
        return False
    if test.quantifier == "only":
        return test.place in reading.places
    return (test.quantifier == "one") == (not reading.places)


def _same_measure(one: Unit | None, other: Unit | None) -> bool:
    return one is None or other is None or one.dimension == other.dimension


def region(outcome: Outcome, reading: Reading, model: str | None) -> Limits:
    """The values of an answer's limit, in the reading's unit (not yet asked at which place).

    For `otherwise`: the values that are in no other answer's limit. Empty where the limit is
    not known on this model (see `judgeable`).
    """
    match outcome.test:
        case Against(verdict=verdict):
            spec = reading.spec_for(model)
            if spec is None:
                return Limits.NONE
            within = _in_unit(spec.limits, spec.unit, reading.unit)
            match verdict:
                case "within":
                    return within
                case "below":
                    return _under(within)
                case "above":
                    return _over(within)
        case Stated(limits=limits, unit=unit):
            return _in_unit(limits, unit, reading.unit)
        case Otherwise():
            covered = Limits.NONE
            for other in reading.outcomes:
                if not isinstance(other.test, Otherwise):
                    covered |= region(other, reading, model)
            return covered.complement()
        case _:
            return Limits.NONE


def _under(limits: Limits) -> Limits:
    if not limits or limits.intervals[0].low is None:
        return Limits.NONE
    return at_most(limits.intervals[0].low) - limits


def _over(limits: Limits) -> Limits:
    if not limits or limits.intervals[-1].high is None:
        return Limits.NONE
    return at_least(limits.intervals[-1].high) - limits


def _in_unit(limits: Limits, source: Unit | None, target: Unit | None) -> Limits:
    if source is None or target is None:
        return limits
    return converted(limits, source, target) if _same_measure(source, target) else Limits.NONE


def judge(
    reading: Reading, model: str | None, values: Mapping[str | None, Fraction]
) -> tuple[int, ...]:
    """The indices of all answers that apply to what was read; `otherwise` only if no other.

    Args:
        reading: the reading.
        model: the machine's model.
        values: in the reading's unit, by place; under None for a reading without places.

    Raises:
        KeyError: a place has no value.
    """
    places: tuple[str | None, ...] = reading.places or (None,)
    read = {place: values[place] for place in places}
    found = [
        at
        for at, outcome in enumerate(reading.outcomes)
        if isinstance(outcome.test, _Judged)
        and _applies(outcome.test, region(outcome, reading, model), read)
    ]
    if not found:
        found = [at for at, one in enumerate(reading.outcomes) if isinstance(one.test, Otherwise)]
    return tuple(found)


def _applies(test: _Judged, limits: Limits, read: Mapping[str | None, Fraction]) -> bool:
    inside = {place: limits.contains(value) for place, value in read.items()}
    match test.quantifier:
        case "one" | "all":
            return all(inside.values())
        case "any":
            return any(inside.values())
        case "none":
            return not any(inside.values())
        case "only":
            return all(is_in == (place == test.place) for place, is_in in inside.items())


def coverage(reading: Reading, model: str | None) -> Coverage:
    """What no answer of a reading covers, and what two of them cover.

    Values below what can be read at all (`units.lowest`) are left out, unless a limit of the
    reading's own goes below it. Nothing is said about a reading that is not `judgeable`.
    """
    if not reading.outcomes or not judgeable(reading, model):
        return Coverage((), ())
    judged = {
        at: (outcome.test, region(outcome, reading, model))
        for at, outcome in enumerate(reading.outcomes)
        if isinstance(outcome.test, _Judged)
    }
    domain = _domain(reading.unit, [limits for _, limits in judged.values()])
    otherwise = len(judged) < len(reading.outcomes)
    if reading.places:
        return _coverage_at_places(reading.places, judged, domain, otherwise)
    covered = Limits.NONE
    for _, limits in judged.values():
        covered |= limits
    gap = Limits.NONE if otherwise else covered.complement()
    overlaps = [
        Overlap(first, second, ((None, both.example()),))
        for first, second in combinations(judged, 2)
        if (both := judged[first][1] & judged[second][1] & domain)
    ]
    return Coverage(tuple(_gaps(gap, domain, (None,))), tuple(overlaps))


def _domain(unit: Unit | None, limits: Sequence[Limits]) -> Limits:
    bottom = lowest(unit) if unit else None
    if bottom is None or any(end < bottom for one in limits for end in one.breakpoints()):
        return Limits.ALL
    return at_least(bottom)


def _gaps(gap: Limits, domain: Limits, places: Sequence[str | None]) -> list[Gap]:
    """One gap for each stretch of values, read alike at all places."""
    found = []
    for interval in gap.intervals:
        stretch = Limits.of(interval)
        if possible := stretch & domain:
            value = possible.example()
            found.append(Gap(tuple((place, value) for place in places), stretch))
    return found


# ---- several places ------------------------------------------------------------------------


def _coverage_at_places(
    places: tuple[str, ...], judged: Mapping[int, _Answer], domain: Limits, otherwise: bool
) -> Coverage:
    answers, indices = list(judged.values()), list(judged)
    axis = Axis([limits for _, limits in answers], domain)
    gaps = [] if otherwise else _gaps_at_places(places, answers, axis, domain)
    overlaps = [
        Overlap(indices[one], indices[two], values)
        for one, two in combinations(range(len(answers)), 2)
        if (values := _both(places, answers, (one, two), axis))
    ]
    return Coverage(tuple(gaps), tuple(overlaps))


def _gaps_at_places(
    places: tuple[str, ...], answers: Sequence[_Answer], axis: Axis, domain: Limits
) -> list[Gap]:
    wanted = Wanted(dict.fromkeys(places, axis.all), [], [])
    for number, (test, _) in enumerate(answers):
        inside = axis.kinds_in(number)
        match test.quantifier:
            case "one" | "all":
                wanted.somewhere.append(axis.all - inside)
            case "any":
                wanted.forbid(inside)
            case "none":
                wanted.somewhere.append(inside)
            case "only":
                assert test.place is not None
                wanted.not_alone.append((inside, test.place))
    alike = wanted.alike()
    uncovered = Limits.NONE
    for kind in alike:
        uncovered |= axis.values(kind)
    found = _gaps(_down_to_any(uncovered, domain), domain, places)
    # What no answer covers anyhow must not show up a second time in company.
    if mixed := solve(wanted.without(alike)):
        found.append(Gap(_example(mixed, axis), None))
    return found


def _down_to_any(limits: Limits, domain: Limits) -> Limits:
    """Limits without the end that is only the lowest value there is."""
    if domain == Limits.ALL or not limits:
        return limits
    bottom, first = domain.intervals[0], limits.intervals[0]
    touches = first.low_included and first.low == bottom.low
    return limits | domain.complement() if touches else limits


def _both(
    places: tuple[str, ...], answers: Sequence[_Answer], numbers: tuple[int, int], axis: Axis
) -> Values:
    """An example of what both answers cover; empty where there is none."""
    wanted = Wanted(dict.fromkeys(places, axis.all), [], [])
    for number in numbers:
        test, inside = answers[number][0], axis.kinds_in(number)
        match test.quantifier:
            case "one" | "all":
                wanted.forbid(axis.all - inside)
            case "any":
                wanted.somewhere.append(inside)
            case "none":
                wanted.forbid(inside)
            case "only":
                assert test.place is not None
                wanted.allowed[test.place] &= inside
                wanted.forbid(inside, but_at=test.place)
    if alike := wanted.alike():
        return _example(dict.fromkeys(places, min(alike)), axis)
    mixed = solve(wanted)
    return _example(mixed, axis) if mixed else ()


def _example(kinds: Mapping[str, int], axis: Axis) -> Values:
    values = {kind: axis.values(kind).example() for kind in set(kinds.values())}
    return tuple((place, values[kind]) for place, kind in kinds.items())
