"""The ways of a tree as a graph: what leads where, on one model or on all together.

A vertex is a node's name, or "symptom NAME" for a way in. An arc is the way of one answer
(or of a step, or of a symptom's start); a fault has retest arcs besides. Steps and
procedures done on a way stand in the arc, they are no stops of their own. Everything takes
linear time (dominators: a logarithm more) and nothing recurses. Judges nothing: what is
wrong with the ways is for the linter to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Literal, TypeAlias

from treewright.model import digraph
from treewright.model.nodes import Check, Fault, Reading, Way, WayKind, ways_of
from treewright.model.tree import Tree, on_model
from treewright.record import record
from treewright.text.source import Span

ArcKind: TypeAlias = WayKind | Literal["start", "retest"]


@record
class Arc:
    """One way from stop to stop.

    `answer`: the label that takes it; "" from a symptom or a step, "retest" from a fault.
    `does`: names of the steps and procedures done first. `span`: where it is written; for a
    retest that is not written, the fault's name.
    """

    source: str
    answer: str
    target: str
    way_kind: ArcKind
    does: tuple[str, ...]
    span: Span


def entry(symptom: str) -> str:
    """The vertex of a symptom."""
    return f"symptom {symptom}"


class Graph:
    """The ways of a tree; see `graph`.

    Attributes:
        model: the model it holds for; None: all together.
        vertices: symptoms, then nodes, in the order of the file; only what is on the model.
        entries: the symptoms' vertices.
        arcs: in the order of the file, retest arcs last. A way to a node that is not there
            (on this model) has no arc.
        done_on: for each step or procedure that is done on a way, the vertices and answers
            that do it, also where that way leads nowhere.
    """

    def __init__(self, tree: Tree, model: str | None = None) -> None:
        self.tree = tree
        self.model = model
        symptoms = [s for s in tree.symptoms.values() if on_model(s.models, model)]
        nodes = [node for node in tree.nodes.values() if on_model(node.models, model)]
        self.entries = tuple(entry(symptom.name) for symptom in symptoms)
        self.vertices = (*self.entries, *(node.name for node in nodes))
        self._index = {vertex: at for at, vertex in enumerate(self.vertices)}
        self._known_rows: dict[tuple[bool, bool, bool], list[list[int]]] = {}
        arcs: list[Arc] = []
        done_on: dict[str, list[tuple[str, str]]] = {}
        for symptom in symptoms:
            if symptom.start and symptom.start.name in self._index:
                source, start = entry(symptom.name), symptom.start
                arcs.append(Arc(source, "", start.name, "start", (), start.span))
        for node in nodes:
            for answer, way in ways_of(node):
                does = tuple(name.name for name in way.does)
                for name in does:
                    done_on.setdefault(name, []).append((node.name, answer))
                for target in _targets(way, model):
                    if target in self._index:
                        arcs.append(Arc(node.name, answer, target, way.kind, does, way.span))
        self._into: dict[str, list[Arc]] = {vertex: [] for vertex in self.vertices}
        for arc in arcs:
            self._into[arc.target].append(arc)
        for node in nodes:
            if isinstance(node, Fault):
                arcs.extend(self._retests(node))
        self._from: dict[str, list[Arc]] = {vertex: [] for vertex in self.vertices}
        for arc in arcs:
            self._from[arc.source].append(arc)
            if arc.way_kind == "retest":
                self._into[arc.target].append(arc)
        self.arcs = tuple(arcs)
        self.done_on = {name: tuple(doers) for name, doers in done_on.items()}
        self._parts: dict[tuple[bool, bool], tuple[tuple[str, ...], ...]] = {}

    def _retests(self, fault: Fault) -> list[Arc]:
        if fault.retest:
            targets = [fault.retest.name] if fault.retest.name in self._index else []
            span = fault.retest.span
        else:
            nodes = self.tree.nodes
            leading = dict.fromkeys(arc.source for arc in self._into[fault.name])
            targets = [name for name in leading if isinstance(nodes.get(name), Check | Reading)]
            span = fault.span
        return [Arc(fault.name, "retest", target, "retest", (), span) for target in targets]

    # ---- what leads where ------------------------------------------------------------------

    def arcs_from(self, vertex: str) -> tuple[Arc, ...]:
        """The ways on, in the order of the answers; empty for a vertex that is not there."""
        return tuple(self._from.get(vertex, ()))

    def arcs_into(self, vertex: str) -> tuple[Arc, ...]:
        """The ways that lead here, retests last; empty for a vertex that is not there."""
        return tuple(self._into.get(vertex, ()))

    @cached_property
    def reached(self) -> frozenset[str]:
        """All vertices that some symptom leads to, steps done on such a way among them."""
        found = {vertex for vertex in self.vertices if vertex in self._came_by}
        for name, doers in self.done_on.items():
            if name in self._index and any(source in self._came_by for source, _ in doers):
                found.add(name)
        return frozenset(found)

    def reached_from(self, starts: Iterable[str], *, retests: bool = True) -> tuple[str, ...]:
        """All vertices that the starts lead to (and these), steps done on a way left out.

        A retest that is not written leads back to where a job came from. So it leads on to
        something new only where a fault itself is a start.
        """
        rows = self._rows(back=True, retests=retests, unwritten=False)
        first = [self._index[vertex] for vertex in starts]
        if retests:
            for at in first:
                rows[at] = [self._index[arc.target] for arc in self._from[self.vertices[at]]]
        found = digraph.reached(rows, first)
        return tuple(self.vertices[at] for at in found)

    @cached_property
    def _came_by(self) -> dict[str, Arc | None]:
        """For each vertex reached by arcs: the arc of a shortest way (None for an entry).

        Ways with a retest come second, however short.
        """
        came: dict[str, Arc | None] = dict.fromkeys(self.entries)
        queue = list(self.entries)
        for vertex in queue:
            for arc in self._from[vertex]:
                if arc.way_kind != "retest" and arc.target not in came:
                    came[arc.target] = arc
                    queue.append(arc.target)
        for vertex in queue:
            for arc in self._from[vertex]:
                if arc.target not in came and not self._is_unwritten(arc):
                    came[arc.target] = arc
                    queue.append(arc.target)
        return came

    def _is_unwritten(self, arc: Arc) -> bool:
        """A retest that is not written leads to the check that the job came by, to no other."""
        fault = self.tree.nodes.get(arc.source)
        return arc.way_kind == "retest" and isinstance(fault, Fault) and fault.retest is None

    def shortest_way(self, target: str) -> tuple[str, ...]:
        """The stops of a shortest way from a symptom to a vertex, as a finding shows them.

        For example ("symptom dead", "2 supply-voltage: yes", "5 capacitor"). Empty where no
        symptom leads there.
        """
        stops: list[str] = []
        at = target
        if target not in self._came_by:
            for source, answer in self.done_on.get(target, ()):
                if target in self._index and source in self._came_by:
                    stops = [self._stop(target), self._stop(source, answer)]
                    at = source
                    break
            else:
                return ()
        else:
            stops = [self._stop(target)]
        while arc := self._came_by[at]:
            stops.append(self._stop(arc.source, arc.answer))
            at = arc.source
        return tuple(reversed(stops))

    def _stop(self, vertex: str, answer: str = "") -> str:
        node = self.tree.nodes.get(vertex)
        shown = f"{node.number} {vertex}" if node and node.number else vertex
        return f"{shown}: {answer}" if answer else shown

    # ---- ways round, order, dominators -----------------------------------------------------

    def _rows(self, *, back: bool, retests: bool, unwritten: bool = True) -> list[list[int]]:
        """For each vertex where its arcs lead; worked out once for each kind of looking."""
        asked = back, retests, unwritten
        if asked not in self._known_rows:
            self._known_rows[asked] = self._made_rows(back, retests, unwritten)
        return self._known_rows[asked]

    def _made_rows(self, back: bool, retests: bool, unwritten: bool) -> list[list[int]]:
        left_out = {kind for kind, kept in (("back", back), ("retest", retests)) if not kept}
        index, arcs_from = self._index, self._from
        return [
            [
                index[arc.target]
                for arc in arcs_from[vertex]
                if arc.way_kind not in left_out and (unwritten or not self._is_unwritten(arc))
            ]
            for vertex in self.vertices
        ]

    def components(
        self, *, back: bool = True, retests: bool = False
    ) -> tuple[tuple[str, ...], ...]:
        """The strongly connected components, each in the order of the file.

        A component comes after all that can be reached from it.
        """
        if (back, retests) not in self._parts:
            found = digraph.components(self._rows(back=back, retests=retests))
            self._parts[back, retests] = tuple(
                tuple(self.vertices[at] for at in part) for part in found
            )
        return self._parts[back, retests]

    def loops(self, *, back: bool = True, retests: bool = False) -> list[tuple[str, ...]]:
        """The components that hold a way round, in the order of the file."""
        found = [
            part
            for part in self.components(back=back, retests=retests)
            if len(part) > 1 or self._leads_to_itself(part[0], back, retests)
        ]
        return sorted(found, key=lambda part: self._index[part[0]])

    def _leads_to_itself(self, vertex: str, back: bool, retests: bool) -> bool:
        return any(
            arc.target == vertex
            and (back or arc.way_kind != "back")
            and (retests or arc.way_kind != "retest")
            for arc in self._from[vertex]
        )

    @cached_property
    def closing(self) -> tuple[Arc, ...]:
        """The arcs that close a way round though they are neither `back` nor retest."""
        forward = [
            [arc for arc in self._from[vertex] if arc.way_kind not in ("back", "retest")]
            for vertex in self.vertices
        ]
        rows = [[self._index[arc.target] for arc in row] for row in forward]
        return tuple(forward[at][place] for at, place in digraph.closing(rows, ()))

    @cached_property
    def forward(self) -> tuple[Arc, ...]:
        """All arcs but `back`, retests and those that close a way round: no loop is left."""
        closing = set(map(id, self.closing))
        return tuple(
            arc
            for arc in self.arcs
            if arc.way_kind not in ("back", "retest") and id(arc) not in closing
        )

    @cached_property
    def order(self) -> tuple[str, ...]:
        """All vertices, each before those its forward arcs lead to, else as in the file."""
        rows: list[list[int]] = [[] for _ in self.vertices]
        for arc in self.forward:
            rows[self._index[arc.source]].append(self._index[arc.target])
        return tuple(self.vertices[at] for at in digraph.topological(rows))

    @cached_property
    def longest(self) -> dict[str, int]:
        """For each vertex that forward arcs lead to: the arcs of a longest way from a symptom."""
        lengths = dict.fromkeys(self.entries, 0)
        onward: dict[str, list[str]] = {}
        for arc in self.forward:
            onward.setdefault(arc.source, []).append(arc.target)
        for vertex in self.order:
            if vertex in lengths:
                for target in onward.get(vertex, ()):
                    lengths[target] = max(lengths.get(target, 0), lengths[vertex] + 1)
        return lengths

    def dominators(self, *, retests: bool = False) -> dict[str, str | None]:
        """For each vertex reached by arcs: the last one that every way to it passes.

        None where the ways from the symptoms share no stop. A retest that is not written
        leads back to a stop that the way has passed, so it never changes this.
        """
        rows = self._rows(back=True, retests=retests, unwritten=False)
        start = len(rows)
        rows.append([self._index[vertex] for vertex in self.entries])
        found = digraph.dominators(rows, start)
        return {
            self.vertices[at]: None if by == start else self.vertices[by]
            for at, by in sorted(found.items())
        }


def _targets(way: Way, model: str | None) -> list[str]:
    """Where a way leads on a model; on all together that may be several for `go next`."""
    if model is None:
        targets = [way.target, *(target for _, target in way.by_model)]
    else:
        targets = [way.target_on(model)]
    return list(dict.fromkeys(target.name for target in targets if target))


def graph(tree: Tree, model: str | None = None) -> Graph:
    """The ways of a tree on one model; None: on all models together."""
    return Graph(tree, model)
