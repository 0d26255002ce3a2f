"""Follows one fault by what it shows, from symptom to end: in leaps, never stop by stop.

A search, breadth first, over the answers that a machine with this fault can give: what it
`shows`, else the normal one, both where it says `maybe`. A step may mend what was found at a
check it puts in doubt, so from then on that check may also give its normal answer. Retests
are not entered: a fault found is an end. A search goes on from no node a second time with
nothing new mended, so a way round ends by itself.

Between the few places where the fault, or a step, makes a difference, a job goes the usual
way: such a stretch is a leg, taken at one leap. So a fault takes time by what it shows, not
by how large the tree is. What is found, and in which order, is as if each stop had been gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import field
from heapq import heapify, heappop, heappush
from typing import TypeAlias, overload

from treewright.model.graph import Arc
from treewright.model.nodes import Step
from treewright.reason.answers import Answers
from treewright.reason.trips import Stop
from treewright.reason.usual import Row, Stops, Usual
from treewright.reason.ways import Ways
from treewright.record import record

# Checks that show something with this fault, and may be mended.
Mended: TypeAlias = frozenset[str]

# When a search that goes stop by stop comes somewhere: how many arcs it is; by which symptom,
# in the order of the file; and each turn that is not the first of several ways on: how far
# along, counted down since who turns later comes sooner, and which way on.
When: TypeAlias = tuple[int, int, tuple[tuple[int, int], ...]]

NOTHING: Mended = frozenset()


@record
class Leg:
    """A stretch of the usual way, which may have no length, and how a job came to it.

    Attributes:
        before: the leg before; None where it begins at a symptom.
        arc: the arc that led from there to its start.
        start, stop: its first and last vertex.
        mended: what may be mended by now.
        when: it comes to its stop.
    """

    before: Leg | None
    arc: Arc | None
    start: str
    stop: str
    mended: Mended
    when: When


class Trail(Sequence[Stop]):
    """A way, by its legs; its stops are only listed when one looks.

    Equal to any sequence of the same stops.
    """

    __slots__ = ("_last", "_leg", "_usual")

    def __init__(self, usual: Usual, leg: Leg, last: Arc | None = None) -> None:
        """Args:
        leg: the last one.
        last: an arc taken at its stop.
        """
        self._usual, self._leg, self._last = usual, leg, last

    def arcs(self) -> list[Arc]:
        """All arcs of the way."""
        found: list[Arc] = []
        for leg in legs_to(self._leg):
            if leg.arc is not None:
                found.append(leg.arc)
            found += self._usual.arcs(leg.start, leg.stop)
        return found if self._last is None else [*found, self._last]

    def _stops(self) -> tuple[Stop, ...]:
        end = self._leg.stop if self._last is None else self._last.target
        return (*(Stop(arc.source, arc.answer) for arc in self.arcs()), Stop(end, ""))

    def __len__(self) -> int:
        return self._leg.when[0] + (1 if self._last is None else 2)

    def __iter__(self) -> Iterator[Stop]:
        return iter(self._stops())

    @overload
    def __getitem__(self, at: int) -> Stop: ...
    @overload
    def __getitem__(self, at: slice) -> tuple[Stop, ...]: ...
    def __getitem__(self, at: int | slice) -> Stop | tuple[Stop, ...]:
        if isinstance(at, slice):
            return self._stops()[at]
        return self._stop(range(len(self))[at])

    def _stop(self, at: int) -> Stop:
        if at == len(self) - 1:
            return Stop(self._leg.stop if self._last is None else self._last.target, "")
        if self._last is not None and at == len(self) - 2:
            return Stop(self._last.source, self._last.answer)
        leg: Leg | None = self._leg
        while leg is not None:
            begin = leg.when[0] - self._usual.length(leg.start, leg.stop)
            if at >= begin:
                arc = self._usual.onward[self._usual.ahead(leg.start, at - begin)]
                return Stop(arc.source, arc.answer)
            if leg.arc is not None and at == begin - 1:
                return Stop(leg.arc.source, leg.arc.answer)
            leg = leg.before
        raise AssertionError("a way begins with its first leg")

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if not isinstance(other, tuple | Trail):
            return NotImplemented
        return len(self) == len(other) and self._stops() == tuple(other)

    def __hash__(self) -> int:
        return hash(self._stops())


def legs_to(leg: Leg | None) -> list[Leg]:
    """All legs up to one, in order."""
    found: list[Leg] = []
    while leg is not None:
        found.append(leg)
        leg = leg.before
    found.reverse()
    return found


@record
class Followed:
    """A fault followed from some symptoms.

    Attributes:
        stops: the places where it was looked at.
        bits: the symptoms.
        legs: those that came to something new, in the order in which they came there.
        others: those that came where the job had been before, so that it ended there.
    """

    stops: Stops
    bits: int
    legs: list[Leg] = field(default_factory=list)
    others: list[Leg] = field(default_factory=list)


class Follower:
    """Follows the faults of one model."""

    def __init__(self, usual: Usual, ways: Ways, answers: Answers) -> None:
        self.usual, self.ways, self.answers = usual, ways, answers
        self._place = {entry: at for at, entry in enumerate(usual.graph.entries)}
        # For each step what it puts in doubt, and all that measures the same; the other way
        # round the steps by check; and where each step is on a usual way.
        self._doubted: dict[str, frozenset[str]] = {}
        self._doubting: dict[str, list[str]] = {}
        self._done_at: dict[str, list[str]] = {}
        asking: dict[object, list[str]] = {}
        for name, quantity in ways.facts.items():
            asking.setdefault(quantity, []).append(name)
        for node in usual.tree.nodes.values():
            if isinstance(node, Step) and node.doubts:
                same = (asking[quantity] for quantity in ways.doubts(node.name) or ())
                names = {one.name for one in node.doubts}.union(*same)
                self._doubted[node.name] = frozenset(names)
                for name in names:
                    self._doubting.setdefault(name, []).append(node.name)
        for vertex, rows in usual.rows.items():
            for step in {step for _, steps in rows for step in steps}:
                self._done_at.setdefault(step, []).append(vertex)

    def stops(self, fault: str) -> Stops:
        """Where a fault shows something on its way, or something it shows may be mended."""
        told = self.answers.told_by(fault)
        places = {check for check in told if check in self.usual.rows}
        for check in told:
            for step in self._doubting.get(check, ()):
                places.update(self._done_at.get(step, ()))
        return self.usual.stops(places)

    def follow(self, fault: str, bits: int) -> Followed:
        """Follows a fault of this model from some symptoms, as `Usual` numbers them."""
        found = Followed(self.stops(fault), bits)
        waiting = [
            (leg.when, leg)
            for stop, come in found.stops.from_symptoms(bits)
            for leg in [self.first(come, stop)]
        ]
        heapify(waiting)
        been: dict[str, list[Mended]] = {}
        while waiting:
            _, leg = heappop(waiting)
            before = been.setdefault(leg.stop, [])
            if any(leg.mended <= mended for mended in before):
                found.others.append(leg)  # all that can come of it is seen
                continue
            before.append(leg.mended)
            found.legs.append(leg)
            for turn, (arc, after) in enumerate(self.onward(fault, leg.stop, leg.mended)):
                onward = self._leg(leg, turn, arc, after, found.stops.first(arc.target))
                heappush(waiting, (onward.when, onward))
        return found

    def first(self, bits: int, stop: str) -> Leg:
        """The leg from the nearest of some symptoms to a stop on their usual way."""
        entry = self.usual.nearest(bits)
        when = (self.usual.length(entry, stop), self._place[entry], ())
        return Leg(None, None, entry, stop, NOTHING, when)

    def _leg(self, before: Leg, turn: int, arc: Arc, mended: Mended, stop: str) -> Leg:
        length, symptom, turns = before.when
        if turn:
            turns = (*turns, (-length, turn))
        length += 1 + self.usual.length(arc.target, stop)
        return Leg(before, arc, arc.target, stop, mended, (length, symptom, turns))

    def cut(self, leg: Leg, stop: str) -> Leg:
        """A leg, only as far as a vertex on it."""
        length, symptom, turns = leg.when
        when = (length - self.usual.length(stop, leg.stop), symptom, turns)
        return Leg(leg.before, leg.arc, leg.start, stop, leg.mended, when)

    # ---- one stop -------------------------------------------------------------------------

    def onward(self, fault: str, vertex: str, mended: Mended) -> Iterator[tuple[Arc, Mended]]:
        """The arcs that a fault takes, each with what may be mended once it is taken."""
        rows: Iterable[Row] = self.usual.rows[vertex]
        told = self.answers.told_by(fault)
        given = told.get(vertex)
        if given is not None:
            normal = rows if vertex in mended else ()
            rows = [
                row for at, row in self.usual.answered[vertex] if at in given or row in normal
            ]  # fmt: skip
        for arc, steps in rows:
            after = mended
            for step in steps:
                after |= self.mends(fault, step)
            yield arc, after

    def mends(self, fault: str, step: str) -> Mended:
        """What a fault shows and a step puts in doubt: after it that may be put right."""
        return self._doubted.get(step, NOTHING).intersection(self.answers.told_by(fault))

    def finding(self, fault: str, bits: int) -> int:
        """Those of some symptoms from which a machine with a fault can come to it."""
        stops = self.stops(fault)
        first = {(stop, NOTHING): come for stop, come in stops.from_symptoms(bits)}
        into: dict[tuple[str, Mended], list[tuple[str, Mended]]] = {state: [] for state in first}
        waiting = list(first)
        for state in waiting:
            for arc, after in self.onward(fault, *state):
                onward = stops.first(arc.target), after
                if onward not in into:
                    into[onward] = []
                    waiting.append(onward)
                into[onward].append(state)
        found = [state for state in into if state[0] == fault]
        seen = set(found)
        for state in found:
            for before in into[state]:
                if before not in seen:
                    seen.add(before)
                    found.append(before)
        return sum(come for state, come in first.items() if state in seen)
