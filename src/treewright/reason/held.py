"""One condition of the job along one way: does it hold here? For a search to look on by.

The same rules as in `setup`, which answers it for all ways together: what a node needs is set
up, what excludes that ends, and before a retest what the remedy alone needed, or what cannot
have held the first time, is undone.
"""

from __future__ import annotations

from treewright.model.graph import Arc
from treewright.model.nodes import Check, Fault, Node, Reading, Step
from treewright.model.tree import Condition, Tree
from treewright.reason.setup import NOTHING, Setup


class Held:
    """Follows a condition.

    Args:
        tree: the tree.
        whole: what holds on all its ways together: what is undone before a retest depends on it.
        condition: the condition.

    Attributes:
        against: the conditions that it cannot hold with.
    """

    def __init__(self, tree: Tree, whole: Setup, condition: Condition) -> None:
        self.tree = tree
        self.whole = whole
        self.condition = condition
        self.name = condition.name
        self.against = frozenset(exclusions(tree, condition.name))

    def needed_at(self, node: Node) -> bool:
        return any(need.name == self.name for need in node.needs)

    def during(self, node: Node, held: bool) -> bool:
        """Whether it holds while a node is dealt with."""
        sets = node.sets if isinstance(node, Step) else ()
        for need in (*node.needs, *sets):
            if need.name == self.name:
                held = True
            elif need.name in self.against:
                held = False
        return held

    def after(self, node: Node, held: bool) -> bool:
        held = self.during(node, held)
        if isinstance(node, Step) and any(name.name == self.name for name in node.clears):
            held = False
        return held

    def along(self, arc: Arc, held: bool) -> bool:
        """Whether it holds on arrival where an arc leads, if it did (not) where it begins."""
        nodes = self.tree.nodes
        source = nodes.get(arc.source)
        if source is None:  # a symptom
            return held
        after = self.after(source, held)
        if arc.way_kind == "retest":
            stays = self.condition.undo_by is None or self.needed_at(nodes[arc.target])
            arrival = self.whole.arrival.get(arc.source, NOTHING)
            first = self.whole.first.get(arc.target, arrival.maybe)
            return after and (stays or self.name in arrival.maybe & first)
        for name in arc.does:
            step = nodes.get(name)
            after = self.after(step, after) if step else self._after_procedure(name, after)
        return after

    def _after_procedure(self, name: str, held: bool) -> bool:
        """Whether it holds once a procedure is done on the way."""
        if self.condition.undo_by and self.condition.undo_by.name == name:
            held = False
        for other in self.tree.conditions.values():
            if other.set_up_by is not None and other.set_up_by.name == name:
                if other.name == self.name:
                    held = True
                elif other.name in self.against:
                    held = False
        return held

    def leaving(self, node: Node, held: bool, retests: tuple[Arc, ...]) -> bool:
        """Whether it may hold when the job ends here; at a fault: once a retest has passed."""
        if not isinstance(node, Fault) or not retests:
            return self.after(node, held)
        checks = ((self.tree.nodes[arc.target], arc) for arc in retests)
        return any(
            self.after(check, self.along(arc, held))
            for check, arc in checks
            if isinstance(check, Check | Reading)
        )


def exclusions(tree: Tree, name: str) -> list[str]:
    """The conditions that one cannot hold with, whichever of the two says so."""
    found = []
    for other in tree.conditions.values():
        if other.name == name:
            found += [one.name for one in other.excludes]
        elif any(one.name == name for one in other.excludes):
            found.append(other.name)
    return found
