"""Follows each fault through the tree by what it shows: does the tree find it?

A search, breadth first, over the answers that a machine with this fault can give: what it
`shows`, else the normal one, both where it says `maybe`. A step may mend what was found at a
check it puts in doubt, so from then on that check may also give its normal answer. Retests
are not entered: a fault found is an end. A search goes on from no node a second time with
nothing new mended, so a way round ends by itself, and one fault takes time about linear in
what it can reach. No way is listed that a technician could not take.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import Literal, TypeAlias

from treewright.model.graph import Arc
from treewright.model.tree import Check, Done, Fault, Handoff, Reading, Step
from treewright.reason.answers import Answers
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Seen, Stop, Trips
from treewright.record import record

Verdict: TypeAlias = Literal["found", "alike", "perhaps", "wrong", "lost", "silent", "unreached"]
"""found: every symptom that leads to the fault by its answers leads to no other one. alike: it
shares all its answers with others, and one of these is found. perhaps: it is found, and by
answers that it may give another fault is. wrong: its answers never lead to it, but to
another. lost: they never lead to it, nor to another. silent: it shows nothing, so nothing can
be followed. unreached: no symptom leads to it at all."""

_Mended: TypeAlias = frozenset[str]
_State: TypeAlias = tuple[str, _Mended]
# How each state came about, in the order in which the search came to it.
_Came: TypeAlias = dict[_State, tuple[_State, Arc] | None]
# An arc with the steps done on it that put something in doubt.
_Row: TypeAlias = tuple[Arc, tuple[str, ...]]
_Ways: TypeAlias = dict[str, tuple[Stop, ...]]
_Ends: TypeAlias = tuple[tuple[str, tuple[Stop, ...]], ...]

_NOTHING: _Mended = frozenset()


@record
class Proven:
    """What becomes of a fault on one model.

    Attributes:
        verdict: see there.
        way: for found, alike and perhaps a shortest way to the finding; for wrong a shortest
            way to the other fault; for lost a shortest way to an answer that leaves all ways
            to the fault behind (the last stop is where that leads), or none where it goes
            round for ever.
        alike: the other faults that every check answers alike, in the order of the file.
        taken_for: other faults it is found as, by answers it may give (perhaps) or surely
            gives (wrong), each with a way.
        ends: where it may end, from all symptoms that can lead to it, each with a way.
    """

    fault: str
    verdict: Verdict
    way: tuple[Stop, ...] = ()
    alike: tuple[str, ...] = ()
    taken_for: _Ends = ()
    ends: _Ends = ()

    @property
    def at(self) -> Stop | None:
        """For lost: the node and answer where it leaves; None where it goes round."""
        return self.way[-2] if self.verdict == "lost" and len(self.way) > 1 else None


class Prover:
    """Follows the faults of one model."""

    def __init__(self, trips: Trips, suspects: Suspects) -> None:
        self.trips, self.suspects = trips, suspects
        self.graph, self.tree = trips.ways.graph, trips.ways.tree
        self.answers = Answers(self.tree, self.graph.model)
        self._usual: dict[str, list[_Row]] = {}  # what a machine without a fault takes
        self._rows: dict[str, list[tuple[int, _Row]]] = {}  # of checks, all, with their answers
        for vertex in self.graph.vertices:
            rows = [(arc, self._doubting(arc)) for arc in self.graph.arcs_from(vertex)
                    if arc.way_kind != "retest"]  # fmt: skip
            node = self.tree.nodes.get(vertex)
            if isinstance(node, Check | Reading):
                at = {one.label: at for at, one in enumerate(node.outcomes)}
                self._rows[vertex] = [(at[row[0].answer], row) for row in rows]
                rows = [row for at_, row in self._rows[vertex] if at_ in node.normal]
            self._usual[vertex] = rows

    def _doubting(self, arc: Arc) -> tuple[str, ...]:
        steps = (self.tree.nodes.get(name) for name in (arc.source, *arc.does))
        return tuple(one.name for one in steps if isinstance(one, Step) and one.doubts)

    @cached_property
    def faults(self) -> tuple[Proven, ...]:
        """All faults of the model, in the order of the file."""
        return tuple(self._prove(fault) for fault in self.answers.faults)

    def _prove(self, fault: Fault) -> Proven:
        name = fault.name
        entries = [one for one in self.graph.entries if self.suspects.leads(one, name)]
        if not entries:
            return Proven(name, "unreached")
        if not fault.shows:
            return Proven(name, "silent")
        group = self.group(name)
        alike = tuple(other for other in group if other != name)
        came = self._search(name, entries)
        ends = self._ways(name, entries, came)
        taken = self._others(ends, group)
        if taken and name in ends:  # it need not show at every symptom
            finding = self._finding(name, entries, came)
            if len(finding) < len(entries):
                taken = self._others(self.ends(name, finding), group)
        way = next((ends[one] for one in (name, *alike) if one in ends), ())
        verdict: Verdict = "found"
        if not way:
            verdict = "wrong" if taken else "lost"
            way = taken[0][1] if taken else self._left(name, came)
        elif alike:
            verdict = "alike"
        elif taken:
            verdict = "perhaps"
        return Proven(name, verdict, way, alike, taken, tuple(ends.items()))

    def _others(self, ends: _Ways, group: tuple[str, ...]) -> _Ends:
        """The faults among some ends that are not of a group."""
        return tuple(
            (end, way)
            for end, way in ends.items()
            if isinstance(self.tree.nodes[end], Fault) and end not in group
        )

    def group(self, fault: str) -> tuple[str, ...]:
        """The faults that every check answers as it does this one, itself among them.

        Those that show nothing at all are in no group but their own.
        """
        group = self.answers.group_of[fault]
        return tuple(name for name in group if name == fault or name in self._speak)

    @cached_property
    def _speak(self) -> frozenset[str]:
        return frozenset(one.name for one in self.answers.faults if one.shows)

    # ---- one fault --------------------------------------------------------------------------

    def ends(self, fault: str, entries: Sequence[str]) -> _Ways:
        """Where a machine with a fault may end, each with a shortest way, the nearest first.

        Args:
            fault: a fault of this model.
            entries: the vertices of the symptoms it may come with, "symptom NAME".
        """
        return self._ways(fault, entries, self._search(fault, entries))

    def _search(self, fault: str, entries: Sequence[str]) -> _Came:
        came: _Came = {(entry, _NOTHING): None for entry in entries}
        been: dict[str, list[_Mended]] = {entry: [_NOTHING] for entry in entries}
        told = self.answers.told_by(fault)
        queue = deque(came)
        while queue:
            state = queue.popleft()
            vertex, mended = state
            if vertex in told:
                steps_on = self._onward(fault, state)
            else:  # by far the most: what this fault does not show at
                steps_on = (
                    (arc, self._after(fault, mended, steps) if steps else mended)
                    for arc, steps in self._usual[vertex]
                )
            for arc, after in steps_on:
                before = been.get(arc.target)
                if before is None:
                    been[arc.target] = [after]
                elif after in before or any(after <= other for other in before):
                    continue  # all that can come of it is seen
                else:
                    before.append(after)
                onward: _State = (arc.target, after)
                came[onward] = (state, arc)
                queue.append(onward)
        return came

    def _after(self, fault: str, mended: _Mended, steps: Iterable[str]) -> _Mended:
        for step in steps:
            mended |= self.mends(fault, step)
        return mended

    def _onward(self, fault: str, state: _State) -> Iterator[tuple[Arc, _Mended]]:
        """The arcs that a fault takes, each with what may be mended once it is taken."""
        vertex, mended = state
        rows = self._usual[vertex]
        told = self.answers.told_by(fault).get(vertex)
        if told is not None:
            rows = [
                row for at, row in self._rows[vertex]
                if at in told or (vertex in mended and row in rows)
            ]  # fmt: skip
        for arc, steps in rows:
            yield arc, self._after(fault, mended, steps)

    def mends(self, fault: str, step: str) -> _Mended:
        """What a fault shows and a step puts in doubt: after it that may be put right."""
        node, ways = self.tree.nodes[step], self.trips.ways
        assert isinstance(node, Step)
        named = {one.name for one in node.doubts or ()}
        same = ways.doubts(step) or ()
        return frozenset(
            check
            for check in self.answers.told_by(fault)
            if check in named or ways.facts.get(check) in same
        )

    def _ways(self, fault: str, entries: Sequence[str], came: _Came) -> _Ways:
        """The ends a search came to, each with a shortest way that can be taken."""
        found: _Ways = {}
        for state in came:
            end = state[0]
            if end in found or not isinstance(self.tree.nodes.get(end), Fault | Handoff | Done):
                continue
            arcs = _arcs(came, state)
            possible = self.trips.possible(arcs)
            way = _stops(arcs) if possible else self._another(fault, entries, end)
            if way:
                found[end] = way
        return found

    def _another(self, fault: str, entries: Sequence[str], end: str) -> tuple[Stop, ...]:
        """A way to an end that no answer on it contradicts; empty where none is."""

        def watch(seen: Seen, arc: Arc) -> Seen:
            if arc.way_kind == "start":
                return _NOTHING if arc.source in entries else None
            if not isinstance(seen, frozenset):
                return None
            onward = self._onward(fault, (arc.source, seen))
            return next((after for one, after in onward if one is arc), None)

        return self.trips.first(watch, None, lambda at, seen: at == end and seen is not None)

    def _finding(self, fault: str, entries: Sequence[str], came: _Came) -> list[str]:
        """The symptoms from which a search can come to the fault."""
        been: dict[str, list[_State]] = {}
        for state in came:
            been.setdefault(state[0], []).append(state)
        into: dict[_State, list[_State]] = {}
        for state in came:
            for arc, after in self._onward(fault, state):
                for onward in been[arc.target]:
                    if after <= onward[1]:
                        into.setdefault(onward, []).append(state)
        queue = list(been[fault])
        found = set(queue)
        for state in queue:
            for before in into.get(state, ()):
                if before not in found:
                    found.add(before)
                    queue.append(before)
        return [entry for entry in entries if (entry, _NOTHING) in found]

    def _left(self, fault: str, came: _Came) -> tuple[Stop, ...]:
        """A shortest way to an answer after which none leads to the fault."""
        for state in came:
            for arc, _ in self._onward(fault, state):
                if not self.suspects.leads(arc.target, fault):
                    arcs = [*_arcs(came, state), arc]
                    if self.trips.possible(arcs):
                        return _stops(arcs)
        return ()


def _arcs(came: _Came, state: _State) -> list[Arc]:
    arcs: list[Arc] = []
    while (by := came[state]) is not None:
        state, arc = by
        arcs.append(arc)
    arcs.reverse()
    return arcs


def _stops(arcs: Sequence[Arc]) -> tuple[Stop, ...]:
    return (*(Stop(arc.source, arc.answer) for arc in arcs), Stop(arcs[-1].target, ""))
