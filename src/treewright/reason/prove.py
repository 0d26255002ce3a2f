"""Follows each fault through the tree by what it shows: does the tree find it?

What a machine with a fault can come to is for `follow` to say; here it is judged. No way is
listed that a technician could not take.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Literal, TypeAlias

from treewright.model.graph import Arc, entry
from treewright.model.nodes import Done, Fault, Handoff
from treewright.reason.answers import Answers
from treewright.reason.facts import Quantity
from treewright.reason.follow import NOTHING, Followed, Follower, Leg, Trail, When, legs_to
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Seen, Stop, Trips
from treewright.reason.usual import Usual
from treewright.record import record

Verdict: TypeAlias = Literal["found", "alike", "perhaps", "wrong", "lost", "silent", "unreached"]
"""found: every symptom that leads to the fault by its answers leads to no other one. alike: it
shares all its answers with others, and one of these is found. perhaps: it is found, and by
answers that it may give another fault is. wrong: its answers never lead to it, but to
another. lost: they never lead to it, nor to another. silent: it shows nothing, so nothing can
be followed. unreached: no symptom leads to it at all."""

_Ways: TypeAlias = dict[str, Sequence[Stop]]
_Ends: TypeAlias = tuple[tuple[str, Sequence[Stop]], ...]


@record
class Proven:
    """What becomes of a fault on one model.

    Attributes:
        verdict: see there.
        way: for found, alike and perhaps a shortest way to the finding; for wrong a shortest
            way to the other fault; for lost a shortest way to an answer that leaves all ways
            to the fault behind (the last stop is where that leads), or none where it goes
            round for ever.
        group: the faults that every check answers alike, itself among them, in the order of
            the file; empty where nothing is followed.
        taken_for: other faults it is found as, by answers it may give (perhaps) or surely
            gives (wrong), each with a way.
        ends: where it may end, from all symptoms that can lead to it, each with a way.
    """

    fault: str
    verdict: Verdict
    way: Sequence[Stop] = ()
    group: tuple[str, ...] = ()
    taken_for: _Ends = ()
    ends: _Ends = ()

    @property
    def alike(self) -> tuple[str, ...]:
        """The other faults that every check answers alike, in the order of the file."""
        return tuple(name for name in self.group if name != self.fault)

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
        self.usual = Usual(self.tree, self.graph)
        self._follower = Follower(self.usual, trips.ways, self.answers)

    @cached_property
    def faults(self) -> tuple[Proven, ...]:
        """All faults of the model, in the order of the file."""
        return tuple(self._prove(fault) for fault in self.answers.faults)

    def _prove(self, fault: Fault) -> Proven:
        name = fault.name
        group = self.group(name)
        entries = self._entries(fault, (name,))
        if not entries and name in self.graph.reached:
            entries = self._entries(fault, group)  # it is tried after another one's remedy
        if not entries:
            return Proven(name, "unreached")
        if not fault.shows:
            return Proven(name, "silent")
        followed = self._follower.follow(name, entries)
        ends = self._ends(name, followed)
        taken = self._others(ends, group)
        if taken and name in ends:  # it need not show at every symptom
            finding = self._follower.finding(name, entries)
            if finding != entries:
                others = self._ends(name, self._follower.follow(name, finding))
                taken = self._others(others, group)
        mates = [end for end in ends if self._in_group(end, group)]
        way: Sequence[Stop] = ()
        if mates:
            way = ends[min(mates, key=lambda one: (one != name, self._order[one]))]
        verdict: Verdict = "found"
        if not way:
            verdict = "wrong" if taken else "lost"
            way = taken[0][1] if taken else self._left(name, followed)
        elif len(group) > 1:
            verdict = "alike"
        elif taken:
            verdict = "perhaps"
        return Proven(name, verdict, way, group, taken, tuple(ends.items()))

    def _entries(self, fault: Fault, sought: Sequence[str]) -> int:
        """The symptoms that a fault comes with and that lead to one of those sought, as bits."""
        found = 0
        for name in sought:
            found |= self.usual.leading[name]
        if fault.symptoms:
            named = {entry(symptom.name) for symptom in fault.symptoms}
            found &= self.usual.bits(named.intersection(self.usual.entries))
        return found

    def _others(self, ends: _Ways, group: tuple[str, ...]) -> _Ends:
        """The faults among some ends that are not of a group."""
        return tuple(
            (end, way)
            for end, way in ends.items()
            if isinstance(self.tree.nodes[end], Fault) and not self._in_group(end, group)
        )

    def _in_group(self, end: str, group: tuple[str, ...]) -> bool:
        """Whether an end is one of the faults of a group that shows something."""
        return end in self._speaking and self._speaking[end][0] == group[0]

    @cached_property
    def _speaking(self) -> dict[str, tuple[str, ...]]:
        """The group of each fault that shows something, without those that do not."""
        speak = {one.name for one in self.answers.faults if one.shows}
        groups = (tuple(filter(speak.__contains__, group)) for group in self.answers.groups)
        return {name: group for group in groups for name in group}

    @cached_property
    def _order(self) -> dict[str, int]:
        return {fault.name: at for at, fault in enumerate(self.answers.faults)}

    def group(self, fault: str) -> tuple[str, ...]:
        """The faults that every check answers as it does this one, itself among them.

        Those that show nothing at all are in no group but their own.
        """
        return self._speaking.get(fault, (fault,))

    def mends(self, fault: str, step: str) -> frozenset[str]:
        """What a fault shows and a step puts in doubt: after it that may be put right."""
        return self._follower.mends(fault, step)

    # ---- where a fault ends -----------------------------------------------------------------

    def ends(self, fault: str, entries: Sequence[str]) -> _Ways:
        """Where a machine with a fault may end, each with a shortest way, the nearest first.

        Args:
            fault: a fault of this model.
            entries: the vertices of the symptoms it may come with, "symptom NAME".
        """
        return self._ends(fault, self._follower.follow(fault, self.usual.bits(entries)))

    def _ends(self, fault: str, followed: Followed) -> _Ways:
        """The ends a fault was followed to, each with a shortest way that can be taken."""
        found: _Ways = {}
        for leg in followed.legs:
            end = leg.stop
            if end in found or not isinstance(self.tree.nodes.get(end), Fault | Handoff | Done):
                continue
            way: Sequence[Stop] = Trail(self.usual, leg)
            if not self._possible(leg):
                way = self._another(fault, followed.bits, end)
            if way:
                found[end] = way
        return found

    def _another(self, fault: str, bits: int, end: str) -> tuple[Stop, ...]:
        """A way to an end that no answer on it contradicts; empty where none is."""
        entries = {entry for at, entry in enumerate(self.usual.entries) if bits >> at & 1}

        def watch(seen: Seen, arc: Arc) -> Seen:
            if arc.way_kind == "start":
                return NOTHING if arc.source in entries else None
            if not isinstance(seen, frozenset):
                return None
            onward = self._follower.onward(fault, arc.source, seen)
            return next((after for one, after in onward if one is arc), None)

        return self.trips.first(watch, None, lambda at, seen: at == end and seen is not None)

    def _left(self, fault: str, followed: Followed) -> Sequence[Stop]:
        """A shortest way to an answer after which none leads to the fault."""
        been: dict[str, list[Leg]] = {}
        for _, _, leg, arc in sorted(self._leaving(fault, followed), key=lambda one: one[:2]):
            before = been.setdefault(leg.stop, [])
            if any(leg is not other and leg.mended <= other.mended for other in before):
                continue  # gone stop by stop, it would have ended where the other had been
            before.append(leg)
            if self._possible(leg, arc):
                return Trail(self.usual, leg, arc)
        return ()

    def _leaving(self, fault: str, followed: Followed) -> Iterator[tuple[When, int, Leg, Arc]]:
        """Each answer after which no way leads to a fault, with when a job comes to it."""
        follower, usual = self._follower, self.usual

        def leads(vertex: str) -> bool:
            return self.suspects.leads(vertex, fault)

        for stop, come in followed.stops.from_symptoms(followed.bits):
            while come:
                leg = follower.first(come, stop)
                last = usual.last(leg.start, leads)
                come &= ~usual.passing[last]
                if usual.length(last, stop) > 0:
                    leg = follower.cut(leg, last)
                    yield leg.when, 0, leg, usual.onward[last]
        for leg in (*followed.legs, *followed.others):
            if leg.before is not None and leads(leg.start):
                last = usual.last(leg.start, leads)
                if usual.length(last, leg.stop) > 0:
                    short = follower.cut(leg, last)
                    yield short.when, 0, short, usual.onward[last]
        for leg in followed.legs:
            if leads(leg.stop):
                for turn, (arc, _) in enumerate(follower.onward(fault, leg.stop, leg.mended)):
                    if not leads(arc.target):
                        yield leg.when, turn, leg, arc

    # ---- which ways can be taken ------------------------------------------------------------

    def _possible(self, leg: Leg, last: Arc | None = None) -> bool:
        """Whether one machine can give all the answers on a way.

        Args:
            leg: its last leg.
            last: an arc taken at its stop.
        """
        if not self.trips.ways.facts:
            return True
        if leg.mended:
            return self.trips.possible(Trail(self.usual, leg, last).arcs())
        # Nothing is gone twice. So only what others ask as well can contradict itself.
        arcs: list[Arc] = []
        for one in legs_to(leg):
            if one.arc is not None and self._counts(one.arc):
                arcs.append(one.arc)
            at = self._counting[one.start]
            while at is not None and self.usual.length(at, one.stop) > 0:
                arcs.append(self.usual.onward[at])
                at = self._counting[self.usual.onward[at].target]
        if last is not None and self._counts(last):
            arcs.append(last)
        return self.trips.possible(arcs)

    @cached_property
    def _counting(self) -> dict[str, str | None]:
        """For each vertex the first one from there on whose usual way on counts."""
        found: dict[str, str | None] = {}
        for vertex in self.usual.root:
            arc = self.usual.onward.get(vertex)
            if arc is None:
                found[vertex] = None
            else:
                found[vertex] = vertex if self._counts(arc) else found[arc.target]
        return found

    def _counts(self, arc: Arc) -> bool:
        """Whether an arc may contradict, or put in doubt, what another check was answered."""
        ways = self.trips.ways
        fact = ways.facts.get(arc.source)
        if fact is not None:
            answer = frozenset({(arc.source, ways.answer(arc))})
            if fact in self._shared or not fact.agree(answer):
                return True
        return any(
            doubt in self._shared
            for name in (arc.source, *arc.does)
            for doubt in ways.doubts(name) or ()
        )

    @cached_property
    def _shared(self) -> frozenset[Quantity]:
        """What more than one check asks."""
        asked = Counter(self.trips.ways.facts.values())
        return frozenset(quantity for quantity, checks in asked.items() if checks > 1)
