"""The shortest ways that a technician can take: what a finding shows as its proof.

A search, breadth first, over where a job stands. All answers on a way found can be given by
one machine. What was answered is only kept account of where a way would else be shown that
cannot be taken: then the search is made again, with that one quantity in mind. A watch can
look on as a job goes (is a condition set by now?) and so ask for a way with a history.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Hashable, Iterator, Sequence
from typing import TypeAlias

from treewright.model.graph import Arc
from treewright.model.nodes import Fault, Step
from treewright.reason.facts import Quantity
from treewright.reason.ways import Place, Ways
from treewright.record import record

# What a watch has seen so far, and how that changes where an arc is taken.
Seen: TypeAlias = Hashable
Watch: TypeAlias = Callable[[Seen, Arc], Seen]
Goal: TypeAlias = Callable[[str, Seen], bool]

_MOST_STATES = 200_000  # of one search; past it, what is not found yet is said not to be there


@record
class Stop:
    """A node on a way, and the answer that was given there ("" at the last, or at a step;
    "retest" where a remedy was done)."""

    node: str
    answer: str


# What was answered and is not in doubt since: nodes, and the places of their answers.
_Answered: TypeAlias = frozenset[tuple[str, int]]

# Where a job stands: for the retest or not, which check led here (only kept where it counts),
# what was answered of what has to be kept account of, and what the watch has seen.
_State: TypeAlias = tuple[Place, str, _Answered, Seen]
_NOTHING: _Answered = frozenset()
_Came: TypeAlias = dict[_State, tuple[_State, Arc] | None]


class Trips:
    """Searches the ways of one model. Ways with a retest come last, however short."""

    def __init__(self, ways: Ways) -> None:
        self.ways = ways
        self._plain: tuple[_Came, dict[str, _State]] | None = None

    def to(self, vertex: str) -> tuple[Stop, ...]:
        """A shortest way to a vertex, or to a step that is done on a way; empty if none is."""
        came, first = self._whole()
        if vertex in first:
            return self._proved(came, first[vertex], None, lambda at, _: at == vertex)
        for source, answer in self.ways.graph.done_on.get(vertex, ()):
            stops = self.by(source, answer)
            if stops:
                return (*stops, Stop(vertex, ""))
        return ()

    def _whole(self) -> tuple[_Came, dict[str, _State]]:
        if self._plain is None:
            self._plain = self._search((), None, None, None)
        return self._plain

    def by(self, vertex: str, answer: str) -> tuple[Stop, ...]:
        """A shortest way to a vertex that goes on by an answer; the last stop has it."""

        def leaves(seen: Seen, arc: Arc) -> Seen:
            return arc.source == vertex and arc.answer == answer

        return self.first(leaves, False, lambda _, seen: seen is True)[:-1]

    def along(self, arc: Arc) -> tuple[Stop, ...]:
        """A shortest way that ends with an arc."""

        def taken(seen: Seen, one: Arc) -> Seen:
            return one == arc

        return self.first(taken, False, lambda _, seen: seen is True)

    def around(self, arc: Arc) -> tuple[Stop, ...]:
        """A shortest way that asks what an arc leads back to, and goes back by the arc."""
        facts, target = self.ways.facts, arc.target
        fact = facts.get(target)

        def watch(seen: Seen, taken: Arc) -> Seen:
            if taken.source == target or (fact and facts.get(taken.source) is fact):
                seen = "asked"
            return "back" if taken == arc and seen == "asked" else seen

        def back(_: str, seen: Seen) -> bool:
            return seen == "back"

        came, first = self._whole()
        if target in first:
            there = _arcs_to(came, first[target])
            begin: _State = (first[target][0], "", _NOTHING, "")
            came, first = self._search((), (watch, ""), back, 1, begin)
            if first:
                arcs = there + _arcs_to(came, next(iter(first.values())))
                if self._contradiction(arcs) is None:
                    return (*(Stop(one.source, one.answer) for one in arcs), Stop(target, ""))
        return self.first(watch, "", back)

    def first(self, watch: Watch, start: Seen, goal: Goal) -> tuple[Stop, ...]:
        """A shortest way to any vertex where the goal is met, with what the watch has seen."""
        came, first = self._search((), (watch, start), goal, 1)
        if not first:
            return ()
        return self._proved(came, next(iter(first.values())), (watch, start), goal)

    def each(
        self, watch: Watch, start: Seen, goal: Goal
    ) -> Iterator[tuple[str, tuple[Stop, ...]]]:
        """All vertices where the goal can be met, each with a shortest way to it."""
        came, first = self._search((), (watch, start), goal, None)
        for vertex, state in first.items():

            def there(at: str, seen: Seen, vertex: str = vertex) -> bool:
                return at == vertex and goal(at, seen)

            stops = self._proved(came, state, (watch, start), there)
            if stops:
                yield vertex, stops

    def possible(self, arcs: Sequence[Arc]) -> bool:
        """Whether one machine can give all the answers of a way, taken from its start."""
        return self._contradiction(arcs) is None

    # ---- proving and searching ------------------------------------------------------------

    def _proved(
        self,
        came: _Came,
        state: _State,
        watch: tuple[Watch, Seen] | None,
        goal: Goal,
    ) -> tuple[Stop, ...]:
        """The way to a state if it can be taken; else another one that can."""
        kept: tuple[Quantity, ...] = ()
        while True:
            arcs = _arcs_to(came, state)
            against = self._contradiction(arcs)
            if against is None:
                end = state[0][0]
                return (*(Stop(arc.source, arc.answer) for arc in arcs), Stop(end, ""))
            kept = (*kept, against)
            came, first = self._search(kept, watch, goal, 1)
            if not first:
                return ()
            state = next(iter(first.values()))

    def _contradiction(self, arcs: Sequence[Arc]) -> Quantity | None:
        """What is answered first on a way as it cannot be after the answers before."""
        facts = self.ways.facts
        asked = Counter(facts[arc.source] for arc in arcs if arc.source in facts)
        # What is asked once agrees with all others: only the rest is kept account of.
        often = tuple(fact for fact, times in asked.items() if times > 1)
        answered = _NOTHING
        for arc in arcs:
            fact = facts.get(arc.source)
            if fact is not None and asked[fact] == 1 and not self._possible_alone(fact, arc):
                return fact
            after = self._after(arc, answered, often)
            if after is None:
                return fact
            answered = after
        return None

    def _possible_alone(self, fact: Quantity, arc: Arc) -> bool:
        return fact.agree(frozenset({(arc.source, self.ways.answer(arc))}))

    def _after(
        self, arc: Arc, answered: _Answered, kept: tuple[Quantity, ...] | None = None
    ) -> _Answered | None:
        """What is answered once an arc is taken; None where no machine gives that answer.

        Args:
            kept: what to keep account of; None: everything.
        """
        facts = self.ways.facts
        fact = facts.get(arc.source)
        does = arc.does if fact else (arc.source, *arc.does)
        if fact is not None and (kept is None or fact in kept):
            answered |= {(arc.source, self.ways.answer(arc))}
            if not fact.agree(frozenset(one for one in answered if facts[one[0]] is fact)):
                return None
        for name in does if answered else ():
            doubts = self.ways.doubts(name)
            if doubts is None:
                return _NOTHING
            answered = frozenset(one for one in answered if facts[one[0]] not in doubts)
        return answered

    def _search(
        self,
        kept: tuple[Quantity, ...],
        watch: tuple[Watch, Seen] | None,
        goal: Goal | None,
        most: int | None,
        begin: _State | None = None,
    ) -> tuple[_Came, dict[str, _State]]:
        """How each state came about, and the first state of each vertex that meets the goal.

        Args:
            kept: what to keep account of.
            watch: what looks on, and what it has seen at the start.
            goal: where to look for; None: every vertex.
            most: how many vertices are enough.
            begin: where to begin; None: at the symptoms.
        """
        ways, nodes = self.ways, self.ways.tree.nodes
        start: Seen = watch[1] if watch else None
        came: _Came = {}
        first: dict[str, _State] = {}
        queue: deque[_State] = deque()
        later: deque[tuple[_State, tuple[_State, Arc]]] = deque()

        def arrive(state: _State, by: tuple[_State, Arc] | None) -> None:
            came[state] = by
            queue.append(state)
            vertex = state[0][0]
            if vertex not in first and (goal is None or goal(vertex, state[3])):
                first[vertex] = state

        if begin is not None:
            arrive(begin, None)
        else:
            for vertex in ways.graph.entries:
                arrive(((vertex, False), "", _NOTHING, start), None)
        while (queue or later) and len(came) < _MOST_STATES:
            if most is not None and len(first) >= most:
                break
            if not queue:
                retested, before = later.popleft()
                if retested not in came:
                    arrive(retested, before)
                continue
            state = queue.popleft()
            place, led_by, answered, seen = state
            fault = nodes.get(place[0])
            for arc in ways.arcs(place):
                retest = arc.way_kind == "retest"
                unwritten = retest and isinstance(fault, Fault) and fault.retest is None
                if unwritten and arc.target != led_by:
                    continue
                after = self._after(arc, answered, kept) if kept else answered
                if after is None:
                    continue
                target = nodes.get(arc.target)
                via = ""
                if isinstance(target, Step) or (isinstance(target, Fault) and not target.retest):
                    via = led_by if isinstance(fault, Step) else place[0]
                onward: _State = (
                    (arc.target, retest), via, after, watch[0](seen, arc) if watch else None,
                )  # fmt: skip
                if onward in came:
                    continue
                if retest:
                    later.append((onward, (state, arc)))
                else:
                    arrive(onward, (state, arc))
        return came, first


def _arcs_to(came: _Came, state: _State) -> list[Arc]:
    arcs: list[Arc] = []
    while (by := came[state]) is not None:
        state, arc = by
        arcs.append(arc)
    arcs.reverse()
    return arcs
