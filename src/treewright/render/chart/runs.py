"""Where a chart too large for its paper may be cut: between stages, then between steps.

Knows nothing of sizes; what fits is decided in pack.
"""

from __future__ import annotations

from collections.abc import Mapping

from treewright.render.chart.ways import ways_on
from treewright.render.outline import Node, Outline


def by_stage(outline: Outline, shown: frozenset[str]) -> list[list[str]]:
    """The nodes of each stage; an end goes with the first stage that leads to it."""
    homes: dict[str, str | None] = {}
    for node in outline.nodes:
        if node.outcomes or node.kind == "step":
            homes[node.name] = node.stage
            for target in _targets(node):
                homes.setdefault(target, node.stage)
    stages = [*dict.fromkeys(homes.values())]
    parts = [
        [
            node.name
            for node in outline.nodes
            if node.name in homes and homes[node.name] == at and node.name in shown
        ]
        for at in stages
    ]
    loose = [node.name for node in outline.nodes if node.name in shown and node.name not in homes]
    return [part for part in (*parts, loose) if part]


def groups(outline: Outline, part: list[str]) -> list[tuple[str, ...]]:
    """The steps of a stage in their order, each with the ends it is the first to lead to."""
    nodes = {node.name: node for node in outline.nodes}
    found: list[tuple[str, ...]] = []
    left = dict.fromkeys(part)
    for name in part:
        if nodes[name].outcomes or nodes[name].kind == "step":
            group = [name, *(target for target in _targets(nodes[name]) if _ends(nodes, target))]
            found.append(tuple(member for member in dict.fromkeys(group) if member in left))
            for member in found[-1]:
                del left[member]
    return [*found, *((name,) for name in left)]


def _ends(nodes: Mapping[str, Node], name: str) -> bool:
    return name in nodes and nodes[name].kind in ("fault", "handoff", "done")


def _targets(node: Node) -> tuple[str, ...]:
    return tuple(way.target for way in ways_on(node) if way.target is not None)
