"""What several places can read together: a choice of one kind of value for each of them.

The axis of values is cut into kinds: all values for which the same limits hold are one
kind. What is wanted of the places is searched place by place; all that has to be kept is
what the places so far have settled, so that many places cost little more than a few. Knows
nothing of readings and answers.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from treewright.text.interval import Interval, Limits

Kinds: TypeAlias = frozenset[int]


class Axis:
    """The values cut into kinds, by which of the given limits hold."""

    def __init__(self, limits: Sequence[Limits], domain: Limits) -> None:
        # Pieces in rising order: what lies below the first end, that end, what lies between
        # it and the next … `held`: for each piece, the limits that hold there, as bits.
        self._ends = sorted({end for one in (*limits, domain) for end in one.breakpoints()})
        self._place = {end: at for at, end in enumerate(self._ends)}
        held = [0] * (2 * len(self._ends) + 1)
        for number, one in enumerate(limits):
            for piece in self._pieces(one):
                held[piece] |= 1 << number
        kinds: dict[int, list[int]] = {}
        for piece in self._pieces(domain):
            kinds.setdefault(held[piece], []).append(piece)
        self._held = list(kinds)
        self._made_of = list(kinds.values())
        self.all: Kinds = frozenset(range(len(kinds)))

    def _pieces(self, limits: Limits) -> Iterator[int]:
        for one in limits.intervals:
            first, last = 0, 2 * len(self._ends)
            if one.low is not None:
                first = 2 * self._place[one.low] + (1 if one.low_included else 2)
            if one.high is not None:
                last = 2 * self._place[one.high] + (1 if one.high_included else 0)
            yield from range(first, last + 1)

    def kinds_in(self, number: int) -> Kinds:
        """The kinds for which the limit of this number holds."""
        return frozenset(kind for kind, held in enumerate(self._held) if held >> number & 1)

    def values(self, kind: int) -> Limits:
        """All values of a kind."""
        return Limits.of(*map(self._interval, self._made_of[kind]))

    def _interval(self, piece: int) -> Interval:
        at, is_end = divmod(piece, 2)
        if is_end:
            return Interval(self._ends[at], True, self._ends[at], True)
        low = self._ends[at - 1] if at else None
        return Interval(low, False, self._ends[at] if at < len(self._ends) else None, False)


@dataclass(slots=True)
class Wanted:
    """What the kinds read at the places must satisfy."""

    allowed: dict[str, Kinds]
    somewhere: list[Kinds]  # of each, at least one place reads one
    not_alone: list[tuple[Kinds, str]]  # not this place alone reads one of these

    def forbid(self, kinds: Kinds, but_at: str | None = None) -> None:
        for place in self.allowed:
            if place != but_at:
                self.allowed[place] -= kinds

    def without(self, kinds: Kinds) -> Wanted:
        """The same, without these kinds."""
        allowed = {place: may - kinds for place, may in self.allowed.items()}
        return Wanted(allowed, self.somewhere, self.not_alone)

    def alike(self) -> Kinds:
        """The kinds that satisfy it where every place reads the same one."""
        kinds = frozenset.intersection(*self.allowed.values(), *self.somewhere)
        if len(self.allowed) == 1:
            kinds = kinds.difference(*(alone for alone, _ in self.not_alone))
        return kinds


_State: TypeAlias = tuple[int, tuple[int, ...]]


def solve(wanted: Wanted) -> dict[str, int] | None:
    """A kind for every place that satisfies all that is wanted, the first in order; or None.

    Goes through the places once. A state is which of `somewhere` are met (bits), and for
    each set of `not_alone`: 0, no place reads one yet; 1, one place alone does, and must
    not; 2, settled.
    """
    alone: dict[Kinds, set[str]] = {}
    for kinds, place in wanted.not_alone:
        alone.setdefault(kinds, set()).add(place)
    sets = list(alone.items())
    states: dict[_State, tuple[int, ...]] = {(0, (0,) * len(sets)): ()}
    for place, allowed in wanted.allowed.items():
        onward: dict[_State, tuple[int, ...]] = {}
        for (met, settled), chosen in states.items():
            for kind in sorted(allowed):
                now_met = met | _bits(wanted.somewhere, kind)
                now_settled = tuple(
                    before if kind not in kinds else 1 if not before and place in named else 2
                    for before, (kinds, named) in zip(settled, sets, strict=True)
                )
                onward.setdefault((now_met, now_settled), (*chosen, kind))
        states = onward
    everything = (1 << len(wanted.somewhere)) - 1
    for (met, settled), chosen in states.items():
        if met == everything and 1 not in settled:
            return dict(zip(wanted.allowed, chosen, strict=True))
    return None


def _bits(sets: Collection[Kinds], kind: int) -> int:
    return sum(1 << at for at, kinds in enumerate(sets) if kind in kinds)
