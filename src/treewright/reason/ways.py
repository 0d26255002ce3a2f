"""What is surely known on arrival at each node, from the answers on all ways there.

A dataflow over the graph, not a listing of ways: what is known at a node is what every way
there rules out. An answer that is ruled out leads nowhere, so that a node behind it may turn
out to be unreachable though an arrow leads to it. A step or a remedy puts in doubt what it
says (a remedy that says nothing: everything). Only what can be asked twice is kept account of:
checks on a way round, and those that measure the same as another.

A retest is asked as that check is, but a good answer ends the job where the tree is to finish
after a remedy; so nothing that comes behind a good answer is reached by a retest then. Which
ways are shown for what is found here is for `trips` to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from heapq import heappop, heappush
from typing import TypeAlias

from treewright.model.graph import Arc, Graph
from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.model.same import first_of
from treewright.model.tree import Tree
from treewright.model.written import Name
from treewright.reason.facts import Quantity, quantities

# Where a job stands: a vertex, and whether it is there for a retest.
Place: TypeAlias = tuple[str, bool]


class Ways:
    """What is known on one model. See `ways`.

    Attributes:
        tree, graph: the tree, and its ways on the model.
        facts: the quantity that each check or reading asks, of those that can be asked twice.
    """

    def __init__(self, tree: Tree, graph: Graph, model: str | None = None) -> None:
        self.tree, self.graph = tree, graph
        asked = {n.name: n for n in tree.nodes.values() if isinstance(n, Check | Reading)}
        self._answers = {
            name: {outcome.label: at for at, outcome in enumerate(node.outcomes)}
            for name, node in asked.items()
        }
        # The answers of a retest that do not end the job.
        self._goes_on = {
            name: frozenset(
                outcome.label
                for at, outcome in enumerate(node.outcomes)
                if at not in node.normal or tree.after_remedy == "go on"
            )
            for name, node in asked.items()
        }
        self.facts: dict[str, Quantity] = quantities(tree, model, _asked_twice(tree, graph))
        self._doubts: dict[str, tuple[Quantity, ...] | None] = {}
        self._retests: dict[str, tuple[Arc, ...]] = {}

    def says_the_same(self, other: Ways) -> bool:
        """Whether all is known alike on another model: the same ways, and the same limits of
        all that can be asked twice."""
        return (
            self.graph is other.graph
            and self.facts.keys() == other.facts.keys()
            and all(fact.says_the_same(other.facts[name]) for name, fact in self.facts.items())
        )

    # ---- one arc --------------------------------------------------------------------------

    def arcs(self, place: Place) -> Iterator[Arc]:
        """The ways on from a place, whatever is known there."""
        vertex, again = place
        if isinstance(self.tree.nodes.get(vertex), Fault):
            yield from self.retests(vertex)
            return
        for arc in self.graph.arcs_from(vertex):
            if not again or arc.answer in self._goes_on.get(vertex, (arc.answer,)):
                yield arc

    def after(self, arc: Arc, bits: int) -> int | None:
        """What is ruled out once an arc is taken; None where it cannot be, after these bits."""
        fact = self.facts.get(arc.source)
        if fact is None:
            return self.done((arc.source, *arc.does), bits)
        answer = self.answer(arc)
        if answer not in fact.possible(arc.source, bits):
            return None
        return self.done(arc.does, bits | fact.rules_out(arc.source, answer))

    def answer(self, arc: Arc) -> int:
        """The place of the answer that takes an arc, at a check or reading."""
        return self._answers[arc.source][arc.answer]

    def done(self, does: Iterable[str], bits: int) -> int:
        """What stays ruled out once steps, procedures or remedies are done."""
        for name in does:
            doubts = self.doubts(name)
            if doubts is None:
                return 0
            for quantity in doubts:
                bits &= ~quantity.mask
        return bits

    def doubts(self, name: str) -> tuple[Quantity, ...] | None:
        """What a step or a remedy puts in doubt; None: everything."""
        if name not in self._doubts:
            node = self.tree.nodes.get(name)
            written: tuple[Name, ...] | None = ()
            if isinstance(node, Step):
                written = node.doubts or ()
            elif isinstance(node, Fault):
                written = node.doubts
            self._doubts[name] = (
                None
                if written is None
                else tuple(self.facts[one.name] for one in written if one.name in self.facts)
            )
        return self._doubts[name]

    def retests(self, fault: str) -> tuple[Arc, ...]:
        """The ways to a fault's retest; where none is written: to the checks that lead to it,
        also by a step."""
        if fault not in self._retests:
            node = self.tree.nodes[fault]
            assert isinstance(node, Fault)
            if node.retest is not None:
                arcs = self.graph.arcs_from(fault)
            else:
                arcs = tuple(
                    Arc(fault, "retest", check, "retest", (), node.span)
                    for check in self._leading_to(fault)
                )
            self._retests[fault] = arcs
        return self._retests[fault]

    def _leading_to(self, fault: str) -> list[str]:
        seen = {fault: None}
        found: dict[str, None] = {}
        waiting = [fault]
        while waiting:
            for arc in self.graph.arcs_into(waiting.pop()):
                if arc.source in seen or arc.way_kind == "retest":
                    continue
                seen[arc.source] = None
                if arc.source in self._answers:
                    found[arc.source] = None
                else:
                    waiting.append(arc.source)
        return list(found)

    # ---- the dataflow ---------------------------------------------------------------------

    @cached_property
    def arrival(self) -> dict[Place, int]:
        """For each place that can be reached: the bits that every way there rules out."""
        arrival: dict[Place, int] = {}
        order = {vertex: at for at, vertex in enumerate(self.graph.order)}
        waiting: list[tuple[int, Place]] = []
        queued: set[Place] = set()
        # A retest that is not written is only one of checks that a job came by.
        unwritten: dict[str, list[str]] = {}
        for node in self.tree.nodes.values():
            if isinstance(node, Fault) and node.retest is None and node.name in order:
                for arc in self.retests(node.name):
                    unwritten.setdefault(arc.target, []).append(node.name)

        def arrive(place: Place, bits: int) -> None:
            before = arrival.get(place)
            now = bits if before is None else before & bits
            if now != before:
                arrival[place] = now
                look_at(place)
            if before is None:
                for fault in unwritten.get(place[0], ()):
                    if (fault, False) in arrival:
                        look_at((fault, False))

        def look_at(place: Place) -> None:
            if place not in queued:
                queued.add(place)
                heappush(waiting, (order[place[0]], place))

        for vertex in self.graph.entries:
            arrive((vertex, False), 0)
        while waiting:
            _, place = heappop(waiting)
            queued.discard(place)
            for arc in self.arcs(place):
                bits = self.after(arc, arrival[place])
                came_by = place[0] not in unwritten.get(arc.target, ()) or any(
                    (arc.target, again) in arrival for again in (False, True)
                )
                if bits is not None and came_by:
                    arrive((arc.target, arc.way_kind == "retest"), bits)
        return arrival

    @cached_property
    def _since(self) -> dict[str, int]:
        """For each node: what the ways there that have passed a check agree on about it.

        All bits of a quantity are set where no way has passed it yet, so that what ways agree
        on is still the "and" of their bits. Retests are left out.
        """
        masks = {id(one): one for one in self.facts.values()}
        nothing = sum(one.mask for one in masks.values())
        since: dict[str, int] = {}
        order = {vertex: at for at, vertex in enumerate(self.graph.order)}
        waiting = [(order[vertex], vertex) for vertex in self.graph.entries]
        since.update(dict.fromkeys(self.graph.entries, nothing))
        queued = set(self.graph.entries)
        while waiting:
            _, vertex = heappop(waiting)
            queued.discard(vertex)
            for arc in self.graph.arcs_from(vertex):
                bits = self._since_after(arc, since[vertex])
                if bits is None or arc.way_kind == "retest":
                    continue
                now = since.get(arc.target, nothing) & bits
                if now != since.get(arc.target):
                    since[arc.target] = now
                    if arc.target not in queued:
                        queued.add(arc.target)
                        heappush(waiting, (order[arc.target], arc.target))
        return since

    def _since_after(self, arc: Arc, bits: int) -> int | None:
        known = self.arrival.get((arc.source, False))
        if known is None:
            return None
        fact = self.facts.get(arc.source)
        does: tuple[str, ...] = arc.does
        if fact is None:
            does = (arc.source, *does)
        else:
            answer = self.answer(arc)
            if answer not in fact.possible(arc.source, known):
                return None
            bits = bits & ~fact.mask | fact.rules_out(arc.source, answer) | known & fact.mask
        for name in does:
            for quantity in self.doubts(name) or ():
                if bits & quantity.mask != quantity.mask:
                    bits &= ~quantity.mask
        return bits

    # ---- what follows ---------------------------------------------------------------------

    def reached(self, vertex: str) -> bool:
        """Whether some way that can be taken leads to a vertex, as far as is known."""
        return (vertex, False) in self.arrival or (vertex, True) in self.arrival

    def never(self, node: str) -> tuple[int, ...]:
        """The answers of a node that every way there rules out, retests left out, where not all
        are."""
        fact, bits = self.facts.get(node), self.arrival.get((node, False))
        if fact is None or bits is None:
            return ()
        possible = fact.possible(node, bits)
        never = tuple(at for at in fact.possible(node, 0) if at not in possible)
        return never if possible else ()

    def settled(self, node: str) -> int | None:
        """The only answer that every way to a node leaves, retests left out, if there is one."""
        bits = self.arrival.get((node, False))
        return None if bits is None else self.only(node, bits)

    def settled_by(self, retest: Arc) -> int | None:
        """The only answer that every way to a fault, and its remedy, leave for its retest."""
        bits = self.arrival.get((retest.source, False))
        return None if bits is None else self.only(retest.target, self.done((retest.source,), bits))

    def still_known(self, arc: Arc) -> bool:
        """Whether what an arc leads back to is known on all ways round that have asked it."""
        fact, before = self.facts.get(arc.target), self._since.get(arc.source)
        after = None if before is None else self._since_after(arc, before)
        if fact is None or after is None or after & fact.mask == fact.mask:
            return False
        return bool(after & fact.asked)

    def only(self, node: str, bits: int) -> int | None:
        """The only answer that these bits leave, of several that there are; None if not one."""
        fact = self.facts.get(node)
        if fact is None:
            return None
        possible = fact.possible(node, bits)
        return possible[0] if len(possible) == 1 < len(fact.possible(node, 0)) else None


def _asked_twice(tree: Tree, graph: Graph) -> list[tuple[str, ...]]:
    """The checks and readings that a way can come by twice, those that ask the same together."""
    groups: dict[str, list[str]] = {}
    for node in tree.nodes.values():
        if isinstance(node, Check | Reading):
            groups.setdefault(first_of(node, tree.nodes), []).append(node.name)
    # A remedy that says nothing puts everything in doubt: no retest can come upon what is known.
    retests = any(isinstance(n, Fault) and n.doubts is not None for n in tree.nodes.values())
    round_about = {vertex for loop in graph.loops(back=True, retests=retests) for vertex in loop}
    return [
        tuple(group)
        for group in groups.values()
        if len(group) > 1 or group[0] in round_about
    ]  # fmt: skip


def ways(tree: Tree, graph: Graph, model: str | None = None) -> Ways:
    """What is known on arrival at each node of a tree on one model.

    Args:
        tree: the tree.
        graph: its ways on the model; models with the same blocks may share one.
        model: whose limits hold; None: those for all models.

    Time grows with nodes times ways on at most; in practice each node is looked at a few times.
    """
    return Ways(tree, graph, model)
