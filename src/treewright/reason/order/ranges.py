"""How wrong a share or a time may be before another order of checks would be the best.

What a fixed order costs is linear in one share (of those as written, which need not add up to
anything) and in one time; what the best order costs is the least of all these lines, so an
order that is best now is best over one interval. Its ends are found exactly: where the line of
another order crosses it is asked whether any order is cheaper still, until none is. At an end
of the job the suspects left are tried in the same turn all over the interval, and each is
confirmed by the same check.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.reason.order.exact import cheaper
from treewright.reason.order.instance import Instance, State, answers, bits, instance
from treewright.reason.order.plan import Plan, deep, moves_to, tries
from treewright.record import record

What: TypeAlias = Literal["share", "time"]
_Kind: TypeAlias = Literal["check", "set-up", "undo", "remedy"]
# By what is done, how often it is done for a fault, expected.
_Uses: TypeAlias = dict[tuple[_Kind, int], Fraction]
_Line: TypeAlias = tuple[Fraction, Fraction]  # minutes times share at 0, and for each one more


@record
class Range:
    """Over which an order stays the best, while all else is as it is.

    Attributes:
        what: the share of a fault, or the minutes of a check.
        name: of the fault or check.
        now: as it is reckoned with now.
        low: the least; None where that is not proven.
        high: the most; None where there is no most, or where that is not proven.
        endless: whether it is proven that there is no most.
    """

    what: What
    name: str
    now: Fraction
    low: Fraction | None
    high: Fraction | None
    endless: bool


def ranges(of: Instance, plan: Plan, points: int | None = None) -> tuple[Range, ...]:
    """The range of each share, and of the time of each check, over which a plan stays the best.

    Args:
        of: the question.
        plan: a best order. If it is not proven within the points that it is one, no range is.
        points: how many points of the job to open at most, each time it is asked whether an
            order is cheaper.
    """
    search = _Ranges(of, plan, points)
    shares = [search.range("share", at) for at in range(len(of.suspects))]
    return (*shares, *(search.range("time", at) for at in range(len(of.probes))))


class _Ranges:
    def __init__(self, of: Instance, plan: Plan, points: int | None) -> None:
        self.of, self.points = of, points
        self.shares = [Fraction(one.share) for one in of.suspects]
        self.plan = uses(of, plan)
        self.others: list[tuple[_Uses, ...]] = []  # orders met so far
        expected = self._value(self.line(self.plan, "share", 0), self.shares[0]) / sum(self.shares)
        self.is_best = cheaper(of, expected, points) is True

    def range(self, what: What, at: int) -> Range:
        one = self.of.suspects[at] if what == "share" else self.of.probes[at]
        now = self.now(what, at)
        if not self.is_best:
            return Range(what, one.name, now, None, None, False)
        low = self.end(what, at, up=False)
        high = self.end(what, at, up=True)
        most = high if isinstance(high, Fraction) else None
        return Range(
            what, one.name, now, low if isinstance(low, Fraction) else None, most, high is True
        )

    def now(self, what: What, at: int) -> Fraction:
        return self.shares[at] if what == "share" else Fraction(self.of.probes[at].cost)

    def end(self, what: What, at: int, up: bool) -> Fraction | bool:
        """An end of a range; True where there is none, False where it is not proven."""
        mine = self.line(self.plan, what, at)
        crossed = self.crossing(what, at, mine, up)
        while True:
            if crossed is not None:
                than, there = crossed, self.changed(what, at, crossed)
                value = self._value(mine, than)
            elif up:  # what costs least for each share or minute more
                there, value = self.only(what, at), mine[1]
            elif what == "share" and sum(self.shares) == self.shares[at]:
                return Fraction(0)  # there is no other fault
            else:
                there, value = self.changed(what, at, Fraction(0)), mine[0]
            found = cheaper(there, self.normal(what, at, crossed, up, value), self.points)
            if found is False:
                return False
            if found is True:
                if crossed is not None:
                    return crossed
                return True if up else Fraction(0)
            other = uses(there, found.plan)
            self.others.append(other)
            onward = self.cross(mine, self.line(other, what, at), up)
            assert onward is not None
            assert crossed is None or onward != crossed
            crossed = onward

    def normal(
        self, what: What, at: int, crossed: Fraction | None, up: bool, value: Fraction
    ) -> Fraction:
        """A sum of share times minutes as expected minutes."""
        whole = sum(self.shares, Fraction(0))
        if what == "share":
            if crossed is None and up:
                return value
            whole += (crossed or Fraction(0)) - self.shares[at]
        return value / whole

    def crossing(self, what: What, at: int, mine: _Line, up: bool) -> Fraction | None:
        """Where the first of the orders met so far becomes cheaper."""
        found = [self.cross(mine, self.line(one, what, at), up) for one in self.others]
        there = [one for one in found if one is not None]
        return (min(there) if up else max(there)) if there else None

    def cross(self, mine: _Line, other: _Line, up: bool) -> Fraction | None:
        """Where another line becomes the lower one, above (or below) what is now."""
        if (other[1] >= mine[1]) if up else (other[1] <= mine[1]):
            return None
        where = (other[0] - mine[0]) / (mine[1] - other[1])
        return where if up or where >= 0 else None

    def line(self, used: tuple[_Uses, ...], what: What, at: int) -> _Line:
        """What an order costs by a share or a time, times share."""
        if what == "share":
            each = [self.minutes(one) for one in used]
            rest = sum(
                (share * m for n, (share, m) in enumerate(zip(self.shares, each, strict=True))
                 if n != at), Fraction(0),
            )  # fmt: skip
            return rest, each[at]
        item: tuple[_Kind, int] = ("check", at)
        slope = sum(
            (s * one.get(item, 0) for s, one in zip(self.shares, used, strict=True)), Fraction(0)
        )
        rest = sum(
            (s * self.minutes(one, item) for s, one in zip(self.shares, used, strict=True)),
            Fraction(0),
        )
        return rest, slope

    def minutes(self, used: _Uses, but: tuple[_Kind, int] | None = None) -> Fraction:
        total = Fraction(0)
        for (kind, at), times in used.items():
            if (kind, at) != but:
                match kind:
                    case "check":
                        cost = self.of.probes[at].cost
                    case "set-up":
                        cost = self.of.states[at].setup
                    case "undo":
                        cost = self.of.states[at].undo
                    case "remedy":
                        cost = self.of.suspects[at].remedy
                total += times * cost
        return total

    def _value(self, line: _Line, where: Fraction) -> Fraction:
        return line[0] + line[1] * where

    def changed(self, what: What, at: int, to: Fraction) -> Instance:
        """The question with one share or one time changed."""
        suspects, probes = list(self.of.suspects), list(self.of.probes)
        if what == "share":
            suspects[at] = replace(suspects[at], share=to)
        else:
            probes[at] = replace(probes[at], cost=to)
        return instance(
            suspects, probes, self.of.states, last=self.of.last, ladder=self.of.ladder
        )

    def only(self, what: What, at: int) -> Instance:
        """The question where nothing counts but one fault, or but how often a check is done."""
        of = self.of
        if what == "share":
            suspects = [replace(one, share=int(n == at)) for n, one in enumerate(of.suspects)]
            return instance(suspects, of.probes, of.states, last=of.last, ladder=of.ladder)
        return instance(
            [replace(one, remedy=0) for one in of.suspects],
            [replace(one, cost=int(n == at)) for n, one in enumerate(of.probes)],
            [State(one.name, 0, 0, one.excludes) for one in of.states],
            last=of.last,
            ladder=of.ladder,
        )


def uses(of: Instance, plan: Plan) -> tuple[_Uses, ...]:
    """What is done in an order, for each fault, and how often, expected."""
    found: list[_Uses] = []
    with deep(len(of.suspects), len(of.probes)):
        for fault in range(len(of.suspects)):
            sums: _Uses = {}
            for part, items in _ways(of, fault, plan, Fraction(1), (), 0, 0):
                for item in items:
                    sums[item] = sums.get(item, Fraction(0)) + part
            found.append(sums)
    return tuple(found)


def _ways(
    of: Instance,
    fault: int,
    plan: Plan,
    part: Fraction,
    items: tuple[tuple[_Kind, int], ...],
    held: int,
    done: int,
) -> Iterator[tuple[Fraction, tuple[tuple[_Kind, int], ...]]]:
    """The ways of a fault through an order: how often each is gone, and what is done on it."""
    if plan.probe is None:
        for _, other in tries(of, plan.faults, held, done) if of.last == "confirmed" else ():
            check = of.suspects[other].confirm
            if check is not None and not done >> check & 1:
                now = held
                for one in of.rows[check]:
                    if not done >> one & 1:
                        moves, now = moves_to(of, now, of.probes[one].needs)
                        items = (*items, *_moved(moves), ("check", one))
            items = (*items, ("remedy", other))
            if other == fault:
                break
        yield part, items
        return
    moves, held = moves_to(of, held, of.probes[plan.probe].needs)
    items = (*items, *_moved(moves), ("check", plan.probe))
    given = list(bits(answers(of.probes[plan.probe], fault)))
    follows = dict(plan.branches)
    done |= of.alike[plan.probe]
    for answer in given:
        yield from _ways(of, fault, follows[answer], part / len(given), items, held, done)


def _moved(moves: list[tuple[bool, int]]) -> Iterator[tuple[_Kind, int]]:
    return (("undo" if undo else "set-up", at) for undo, at in moves)
