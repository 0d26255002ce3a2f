"""Which faults can still be the one at each node, by what they show; and what lies behind it.

A dataflow over the graph: a fault stays open behind an answer where it would give that answer
(as it says in `shows`, else the normal one), and at a node where it is open on some way there.
At a symptom the faults that can be found from it are open. A fault that says nothing at all of
what it shows may give any answer. So too little is ruled out here, never too much. Retests are
left out: after a remedy the hunt begins anew.
"""

from __future__ import annotations

from functools import cached_property
from heapq import heappop, heappush

from treewright.model.graph import Arc, Graph
from treewright.model.nodes import Check, Done, Fault, Handoff, Reading, Step
from treewright.model.tree import Tree


class Suspects:
    """The faults still open on one model, as bits.

    Attributes:
        ends: all faults, hand-offs and dones of the model; the place of each is its bit.
        faults: the bits of the faults.
    """

    def __init__(self, tree: Tree, graph: Graph) -> None:
        self.tree, self.graph = tree, graph
        there = set(graph.vertices)
        nodes = [node for node in tree.nodes.values() if node.name in there]
        self.ends = tuple(n.name for n in nodes if isinstance(n, Fault | Handoff | Done))
        self._bit = {name: 1 << at for at, name in enumerate(self.ends)}
        faults = [node for node in nodes if isinstance(node, Fault)]
        self.faults = sum(self._bit[fault.name] for fault in faults)
        self._silent = sum(self._bit[fault.name] for fault in faults if not fault.shows)
        # By check: for each answer (by its place) the faults that give it, surely or perhaps;
        # under None those that show something else than the normal answer there.
        self._shown: dict[str, dict[int | None, int]] = {}
        for fault in faults:
            for name in {shown.node.name for shown in fault.shows}:
                self._show(fault, name)
        # A step may have mended what was found there: a good answer then says nothing.
        self._doubted = {
            doubt.name
            for node in nodes
            if isinstance(node, Step)
            for doubt in node.doubts or ()
        }  # fmt: skip

    def _show(self, fault: Fault, name: str) -> None:
        node = self.tree.nodes.get(name)
        if not isinstance(node, Check | Reading):
            return
        bit, answers = self._bit[fault.name], self._shown.setdefault(name, {})
        shown = [one for one in fault.shows if one.node.name == name]
        given = {one.outcome for one in shown}
        if None in given:  # another rule's finding: take it that it may show anything
            given = set(range(len(node.outcomes)))
        elif all(one.maybe for one in shown):
            given.update(node.normal)
        answers[None] = answers.get(None, 0) | bit
        for answer in given:
            answers[answer] = answers.get(answer, 0) | bit

    def named(self, bits: int, most: int | None = None) -> tuple[str, ...]:
        """The names of some ends, or of the first of them."""
        found: list[str] = []
        while bits and len(found) != most:
            lowest = bits & -bits
            found.append(self.ends[lowest.bit_length() - 1])
            bits ^= lowest
        return tuple(found)

    def gives(self, node: Check | Reading, answer: int) -> int:
        """The faults that may give an answer."""
        shown = self._shown.get(node.name, {})
        found = shown.get(answer, 0) | self._silent
        if answer in node.normal:
            found |= self.faults & ~shown.get(None, 0)
        return found

    def reads_otherwise(self, node: Check | Reading) -> int:
        """The faults that say they show something at a check."""
        return self._shown.get(node.name, {}).get(None, 0)

    # ---- over the graph -------------------------------------------------------------------

    @cached_property
    def behind(self) -> dict[str, int]:
        """For each vertex the ends that can still be reached from it, itself among them."""
        found: dict[str, int] = {}
        for part in self.graph.components(back=True, retests=False):
            bits = 0
            for vertex in part:
                bits |= self._bit.get(vertex, 0)
                for arc in self.graph.arcs_from(vertex):
                    if arc.way_kind != "retest":
                        bits |= found.get(arc.target, 0)
            found.update(dict.fromkeys(part, bits))
        return found

    @cached_property
    def open(self) -> dict[str, int]:
        """For each vertex that is reached: the faults that may still be the one on arrival."""
        found: dict[str, int] = {}
        order = {vertex: at for at, vertex in enumerate(self.graph.order)}
        waiting: list[tuple[int, str]] = []
        for vertex in self.graph.entries:
            found[vertex] = self.behind[vertex] & self.faults
            heappush(waiting, (order[vertex], vertex))
        queued = set(found)
        while waiting:
            _, vertex = heappop(waiting)
            queued.discard(vertex)
            for arc in self.graph.arcs_from(vertex):
                if arc.way_kind == "retest":
                    continue
                before = found.get(arc.target)
                now = (before or 0) | self.left(arc, found[vertex])
                if now != before:
                    found[arc.target] = now
                    if arc.target not in queued:
                        queued.add(arc.target)
                        heappush(waiting, (order[arc.target], arc.target))
        return found

    def leads(self, vertex: str, end: str) -> bool:
        """Whether any way, whatever is answered, leads from a vertex to an end."""
        return bool(self.behind[vertex] & self._bit[end])

    def left(self, arc: Arc, bits: int) -> int:
        """The faults that are still open behind an arc."""
        node = self.tree.nodes.get(arc.source)
        if not isinstance(node, Check | Reading):
            return bits
        at = next((at for at, o in enumerate(node.outcomes) if o.label == arc.answer), None)
        if at is None or (at in node.normal and node.name in self._doubted):
            return bits
        return bits & self.gives(node, at)
