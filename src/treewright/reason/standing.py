"""What is ruled out and what is still suspect on arrival at each node, true of every way there.

Two dataflows over the same graph. A fault is suspect at a node where it is open on some way there
(see `suspects`); it is ruled out where every way there has an answer that it does not give. A
fault that is neither was never in question on some of the ways. Both take one fault at a time,
go by what the faults show, and end with a remedy: then the hunt begins anew.
"""

from __future__ import annotations

from heapq import heappop, heappush

from treewright.model.graph import Graph, entry
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
    """For each node that a job can come to: what is known of the faults by then.

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
    return {
        vertex: Standing(suspects.named(out), suspects.named(still))
        for vertex, (still, out) in known.items()
        if vertex in tree.nodes
    }
