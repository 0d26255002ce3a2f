"""What is ruled out and what is still suspect on arrival at each node, true of every way there.

Two dataflows over the same graph. A fault is suspect at a node where it is open on some way there
(see `suspects`); it is ruled out where every way there has an answer that it does not give. A
fault that is neither was never in question on some of the ways. Both take one fault at a time,
go by what the faults show, and end with a remedy: then the hunt begins anew. At a step that is done
on the way of an answer there is known what is known behind that answer. Of what is only come to
after a remedy nothing is known.
"""

from __future__ import annotations

from collections.abc import Mapping
from heapq import heappop, heappush

from treewright.model.graph import Arc, Graph, entry
from treewright.model.tree import Tree
from treewright.reason.suspects import Suspects
from treewright.record import record


@record
class Standing:
    """The faults ruled out and those still suspect on arrival, by name, in the tree's order."""

    ruled_out: tuple[str, ...]
    suspect: tuple[str, ...]


def standing(
    tree: Tree, symptom: str | None = None, model: str | None = None
) -> dict[str, Standing]:
    """For each node that a job can come to before any remedy: what is known of the faults by then.

    Args:
        tree: a sound tree.
        symptom: the complaint that the job begins with; None: any.
        model: the model it is on; None: any, so that it holds on all of them.
    """
    graph = Graph(tree, model)
    suspects = Suspects(tree, graph)
    order = {vertex: at for at, vertex in enumerate(graph.order)}
    known: dict[str, tuple[int, int]] = {}  # open on some way; ruled out on every way
    waiting: list[tuple[int, str]] = []
    for vertex in graph.entries:
        if symptom is None or vertex == entry(symptom):
            known[vertex] = (suspects.behind[vertex] & suspects.faults, 0)
            heappush(waiting, (order[vertex], vertex))
    queued = set(known)
    while waiting:
        _, vertex = heappop(waiting)
        queued.discard(vertex)
        still, out = known[vertex]
        for arc in graph.arcs_from(vertex):
            if arc.way_kind == "retest":
                continue
            excluded = suspects.faults & ~suspects.left(arc, suspects.faults)
            left, ruled = suspects.left(arc, still), out | excluded
            before = known.get(arc.target)
            now = (left, ruled) if before is None else (before[0] | left, before[1] & ruled)
            if now != before:
                known[arc.target] = now
                if arc.target not in queued:
                    queued.add(arc.target)
                    heappush(waiting, (order[arc.target], arc.target))
    for step, (still, out) in _done_on_ways(graph, suspects, known).items():
        before = known.get(step)
        known[step] = (still, out) if before is None else (before[0] | still, before[1] & out)
    return {
        vertex: Standing(suspects.named(out), suspects.named(still))
        for vertex, (still, out) in known.items()
        if vertex in tree.nodes
    }


def _done_on_ways(
    graph: Graph, suspects: Suspects, known: Mapping[str, tuple[int, int]]
) -> dict[str, tuple[int, int]]:
    """The same for each step done on the way of an answer; it leads back, so no further."""
    found: dict[str, tuple[int, int]] = {}
    for step, doers in graph.done_on.items():
        for source, answer in doers:
            if source not in known:  # only come to after a remedy
                continue
            still, out = known[source]
            behind = Arc(source, answer, step, "go", (), graph.tree.span)
            left = suspects.left(behind, still)
            ruled = out | (suspects.faults & ~suspects.left(behind, suspects.faults))
            before = found.get(step)
            found[step] = (left, ruled) if before is None else (before[0] | left, before[1] & ruled)
    return found
