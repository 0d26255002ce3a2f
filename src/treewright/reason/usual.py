"""The ways that lead on where every check answers as it does on a good machine.

Nearly every check gives its normal answer with nearly every fault, and nearly every check
leads on by one way then. So these ways, of one model, form a forest: trees whose roots are
the ends, and the few places from which several such ways lead on. Numbered in the right
order, it says at once which of some places a job comes to first, how far that is, and which
symptom lies nearest. Knows nothing of faults and what they show.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Iterable, Iterator
from functools import cached_property
from typing import TypeAlias

from treewright.model.graph import Arc, Graph
from treewright.model.nodes import Check, Reading, Step
from treewright.model.tree import Tree

# An arc with the steps done on it that put something in doubt.
Row: TypeAlias = tuple[Arc, tuple[str, ...]]


class Usual:
    """The usual ways of one model.

    Attributes:
        rows: for each vertex, what leads on by a normal answer, or whatever is found.
        answered: for each check or reading, all that leads on, each with the place of its
            answer.
        root: for each vertex, the last one on its usual way; that either is an end or has
            several ways on, or it is the one place where a way round was cut.
        depth: how many arcs it is from there.
        entries: the symptoms' vertices, nearest to their root first. The place of each here is
            its bit.
        passing: for each vertex, the bits of the symptoms whose usual way passes it: the
            lowest is that of the nearest, of several the first in the file.
    """

    def __init__(self, tree: Tree, graph: Graph) -> None:
        self.tree, self.graph = tree, graph
        self.rows: dict[str, list[Row]] = {}
        self.answered: dict[str, list[tuple[int, Row]]] = {}
        for vertex in graph.vertices:
            rows = [
                (arc, self._doubting(arc))
                for arc in graph.arcs_from(vertex)
                if arc.way_kind != "retest"
            ]
            node = tree.nodes.get(vertex)
            if isinstance(node, Check | Reading):
                at = {one.label: at for at, one in enumerate(node.outcomes)}
                self.answered[vertex] = [(at[row[0].answer], row) for row in rows]
                rows = [row for at_, row in self.answered[vertex] if at_ in node.normal]
            self.rows[vertex] = rows
        self.onward = self._only_way()
        self.root: dict[str, str] = {}
        self.depth: dict[str, int] = {}
        # Vertices as they are met going from a root against the ways: the number of each, and
        # the last number of those whose usual way passes it.
        self._number: dict[str, int] = {}
        self._last: dict[str, int] = {}
        # Some way ahead of each, so that few of these jumps lead to any place on its way.
        self._far: dict[str, str] = {}
        self._go_back_from_roots()
        place = {entry: at for at, entry in enumerate(graph.entries)}
        self.entries = tuple(
            sorted(graph.entries, key=lambda entry: (self.depth[entry], place[entry]))
        )
        self._bit = {entry: 1 << at for at, entry in enumerate(self.entries)}
        self.passing = dict.fromkeys(graph.vertices, 0)
        self.passing.update(self._bit)
        for vertex in reversed(self._number):
            if vertex in self.onward:
                self.passing[self.onward[vertex].target] |= self.passing[vertex]

    def _doubting(self, arc: Arc) -> tuple[str, ...]:
        steps = (self.tree.nodes.get(name) for name in (arc.source, *arc.does))
        return tuple(one.name for one in steps if isinstance(one, Step) and one.doubts)

    def _only_way(self) -> dict[str, Arc]:
        """The only usual way on from a vertex, where there is one; one is left out of each
        way round."""
        onward = {vertex: rows[0][0] for vertex, rows in self.rows.items() if len(rows) == 1}
        walked: dict[str, str] = {}  # each with where the walk began that came by it
        for begin in self.graph.vertices:
            at = begin
            while at not in walked:
                walked[at] = begin
                if at not in onward:
                    break
                at = onward[at].target
            else:
                if walked[at] == begin:
                    onward.pop(at, None)
        return onward

    def _go_back_from_roots(self) -> None:
        before: dict[str, list[str]] = {}
        for vertex, arc in self.onward.items():
            before.setdefault(arc.target, []).append(vertex)
        for root in self.graph.vertices:
            if root in self.onward:
                continue
            waiting = [root]
            while waiting:
                vertex = waiting.pop()
                self._number[vertex] = len(self._number)
                self._enter(vertex, root)
                waiting += before.get(vertex, ())
        self._last = dict(self._number)
        for vertex in reversed(self._number):
            if vertex in self.onward:
                target = self.onward[vertex].target
                self._last[target] = max(self._last[target], self._last[vertex])

    def _enter(self, vertex: str, root: str) -> None:
        self.root[vertex] = root
        if vertex == root:
            self.depth[vertex], self._far[vertex] = 0, vertex
            return
        near, depth = self.onward[vertex].target, self.depth
        far = self._far[near]
        farther = self._far[far]
        depth[vertex] = depth[near] + 1
        even = depth[near] - depth[far] == depth[far] - depth[farther]
        self._far[vertex] = farther if even else near

    # ---- symptoms -------------------------------------------------------------------------

    def bits(self, entries: Iterable[str]) -> int:
        """Some symptoms' vertices as bits."""
        return sum(self._bit[entry] for entry in set(entries))

    def nearest(self, bits: int) -> str:
        """The nearest of some symptoms, at least one, that have the same root."""
        return self.entries[(bits & -bits).bit_length() - 1]

    @cached_property
    def leading(self) -> dict[str, int]:
        """For each vertex the symptoms from which any way, whatever is answered, leads there."""
        found = dict.fromkeys(self.graph.vertices, 0)
        found.update(self._bit)
        for part in reversed(self.graph.components(back=True, retests=False)):
            bits = 0
            for vertex in part:
                bits |= found[vertex]
            for vertex in part:
                found[vertex] = bits
                for arc in self.graph.arcs_from(vertex):
                    if arc.way_kind != "retest":
                        found[arc.target] |= bits
        return found

    # ---- along a usual way ----------------------------------------------------------------

    def arcs(self, start: str, end: str) -> Iterator[Arc]:
        """The usual way from a vertex to one that it passes."""
        while start != end:
            arc = self.onward[start]
            yield arc
            start = arc.target

    def length(self, start: str, end: str) -> int:
        """How many arcs that is."""
        return self.depth[start] - self.depth[end]

    def ahead(self, vertex: str, arcs: int) -> str:
        """The vertex so many arcs ahead on the usual way from one, at most those to its root."""
        depth = self.depth[vertex] - arcs
        return self.last(vertex, lambda one: self.depth[one] >= depth)

    def last(self, vertex: str, holds: Callable[[str], bool]) -> str:
        """The last vertex on the usual way from one, this first, of which something holds.

        Args:
            holds: true of the vertex; once it is not true of one, of none after it.
        """
        while vertex in self.onward:
            near, far = self.onward[vertex].target, self._far[vertex]
            if holds(far):
                vertex = far
            elif holds(near):
                vertex = near
            else:
                break
        return vertex

    def stops(self, places: Collection[str]) -> Stops:
        """For asking which of some places, or else the root, a usual way comes to first."""
        numbered = sorted((self._number[place], place) for place in places)
        return Stops(self, [number for number, _ in numbered], [place for _, place in numbered])

    def passes(self, vertex: str, place: str) -> bool:
        """Whether the usual way from a vertex passes a place."""
        return self._number[place] <= self._number[vertex] <= self._last[place]

    def number(self, vertex: str) -> int:
        """Greater than that of all that its usual way passes."""
        return self._number[vertex]


class Stops:
    """Places at which a job is to be looked at again. See `Usual.stops`."""

    def __init__(self, usual: Usual, numbers: list[int], places: list[str]) -> None:
        self._usual, self._numbers, self._places = usual, numbers, places
        # For each place the next one on its usual way.
        self._next: dict[str, str | None] = {}
        for at, place in enumerate(places):
            before = places[at - 1] if at else None
            self._next[place] = self._passed(place, before)

    def _passed(self, vertex: str, place: str | None) -> str | None:
        while place is not None and not self._usual.passes(vertex, place):
            place = self._next[place]
        return place

    def first(self, vertex: str) -> str:
        """The place that the usual way from a vertex comes to first; it may be the vertex."""
        at = bisect_right(self._numbers, self._usual.number(vertex))
        place = self._passed(vertex, self._places[at - 1] if at else None)
        return self._usual.root[vertex] if place is None else place

    def from_symptoms(self, bits: int) -> Iterator[tuple[str, int]]:
        """The places that some symptoms come to first, each with the bits of these symptoms."""
        passing, root = self._usual.passing, self._usual.root
        for place in reversed(self._places):  # the nearer ones first
            if come := passing[place] & bits:
                bits &= ~come
                yield place, come
        while bits:
            place = root[self._usual.nearest(bits)]
            come = passing[place] & bits
            bits &= ~come
            yield place, come
