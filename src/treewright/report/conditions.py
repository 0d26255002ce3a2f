"""The conditions of a job over its steps, as a table: where each holds, is set up, is undone.

Says only what `reason/setup` found. Knows nothing of pages.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from treewright.model.nodes import Done, Fault, Handoff, Node, Step
from treewright.model.tree import Condition, Tree
from treewright.model.written import Name
from treewright.reason.setup import Setup, setup
from treewright.record import record

Holds: TypeAlias = Literal["every", "some", "never", "unreached"]
Change: TypeAlias = Literal["", "always", "maybe"]

HOLDS: dict[Holds, str] = {
    "every": "holds on every way",
    "some": "holds on some way",
    "never": "does not hold",
    "unreached": "no way leads here",
}
_SET = {"": "", "always": "set up here", "maybe": "set up here where it is not yet"}
_UNDONE = {"": "", "always": "undone here", "maybe": "undone here where it still holds"}


@record
class Cell:
    """One condition at one node, while that is dealt with.

    `sets`: it is set up in front of the node, or by it. `undoes`: it is undone in front of the
    node, or by it, or before the retest, or where the job ends.
    """

    holds: Holds
    sets: Change = ""
    undoes: Change = ""

    @property
    def words(self) -> str:
        parts = (HOLDS[self.holds], _SET[self.sets], _UNDONE[self.undoes])
        return ", ".join(part for part in parts if part)


@record
class Grid:
    """`cells[row][column]`: rows are the conditions of the tree, columns its nodes, by number:
    checks, readings and steps, then faults, hand-offs and clean ends."""

    conditions: tuple[str, ...]
    nodes: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]


def grid(tree: Tree) -> Grid:
    """All conditions over all nodes of a tree."""
    known = setup(tree)
    nodes = sorted(tree.nodes.values(), key=_by_number)
    return Grid(
        tuple(tree.conditions),
        tuple(node.name for node in nodes),
        tuple(
            tuple(_cell(condition, node, known) for node in nodes)
            for condition in tree.conditions.values()
        ),
    )


def _by_number(node: Node) -> tuple[int, int]:
    letter = node.number.rstrip("0123456789")
    return "FHD".find(letter) if letter else -1, int(node.number[len(letter) :] or 0)


def _cell(condition: Condition, node: Node, known: Setup) -> Cell:
    name = condition.name
    if node.name not in known.arrival:
        return Cell("unreached")
    during, arrival = known.during[node.name], known.arrival[node.name]
    holds: Holds = "never"
    if name in during.surely:
        holds = "every"
    elif name in during.maybe:
        holds = "some"
    sets: Change = ""
    undoes: Change = ""
    for move in (*known.moves[node.name], *known.takedown.get(node.name, ())):
        if move.condition == name:
            change: Change = "always" if move.always else "maybe"
            if move.undo:
                undoes = change
            else:
                sets = change
    if isinstance(node, Step):
        if name in _named(node.sets) and name not in arrival.surely:
            sets = "maybe" if name in arrival.maybe else "always"
        if name in _named(node.clears) and name in during.maybe:
            undoes = "always" if name in during.surely else "maybe"
    if not undoes and name in arrival.maybe - during.maybe:  # another one ended it
        undoes = "always" if name in arrival.surely else "maybe"
    if isinstance(node, Fault | Done | Handoff) and condition.undo_by is not None and not undoes:
        left = known.leaving[node.name]
        if name in left.maybe:
            undoes = "always" if name in left.surely else "maybe"
    return Cell(holds, sets, undoes)


def _named(names: tuple[Name, ...]) -> set[str]:
    return {name.name for name in names}
