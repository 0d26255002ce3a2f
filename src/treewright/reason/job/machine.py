"""The machine while a job is done on it: the conditions that hold, and what is still missing.

What excludes a condition is undone before it is set up; the last set comes off first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

from treewright.model.nodes import Node, Step
from treewright.model.tree import Tree
from treewright.reason.held import exclusions
from treewright.reason.job.frames import Frame, Head
from treewright.reason.setup import Setup, setup


class Machine:
    """Attributes: `held`, the conditions that hold, in the order in which they were set."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.held: list[str] = []
        self.excluded = {name: frozenset(exclusions(tree, name)) for name in tree.conditions}

    @cached_property
    def setup(self) -> Setup:
        return setup(self.tree)

    def set(self, name: str) -> None:
        for other in self.excluded.get(name, ()):
            self.drop(other)
        if name not in self.held:
            self.held.append(name)

    def drop(self, name: str) -> None:
        if name in self.held:
            self.held.remove(name)

    def to_undo(self, blocks: Callable[[str], bool]) -> str | None:
        """The last set comes off first."""
        for name in reversed(self.held):
            if blocks(name) and self.tree.conditions[name].undo_by is not None:
                return name
        return None

    def do_procedure(self, name: str) -> None:
        """It sets up or undoes what it does, wherever it is done."""
        for condition in self.tree.conditions.values():
            if condition.undo_by is not None and condition.undo_by.name == name:
                self.drop(condition.name)
        for condition in self.tree.conditions.values():
            if condition.set_up_by is not None and condition.set_up_by.name == name:
                self.set(condition.name)

    def before(self, head: Head) -> Frame | None:
        """What has to be set up or undone first, one piece at a time."""
        node = head.node
        assert node is not None
        if head.arrived is None:
            head.arrived = tuple(self.held)
        sets = node.sets if isinstance(node, Step) else ()
        for name, is_need in [(n.name, True) for n in node.needs] + [(n.name, False) for n in sets]:
            if name in self.held or name in head.tried:
                continue
            against = self.excluded.get(name, frozenset())
            blocker = self.to_undo(lambda one, against=against: one in against)  # type: ignore[misc]
            if blocker:
                return self.undo_frame(blocker, head)
            if is_need:
                condition = self.tree.conditions.get(name)
                by = condition.set_up_by.name if condition and condition.set_up_by else ""
                return Frame("procedure", f"set-up/{name}/{by}", "set-up", name, by, head)
        return None

    def undo_frame(self, name: str, head: Head | None) -> Frame:
        undo = self.tree.conditions[name].undo_by
        assert undo is not None
        return Frame("procedure", f"undo/{name}/{undo.name}", "undo", name, undo.name, head)

    def not_for_retest(self, arrived: Sequence[str], again: Node) -> frozenset[str]:
        """What the remedy alone needed, or cannot have held when its check was first taken."""
        needs = {need.name for need in again.needs}
        first = self.setup.first.get(again.name, frozenset())
        return frozenset(
            name
            for name in self.held
            if name not in needs and not (name in arrived and name in first)
        )
