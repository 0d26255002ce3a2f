"""Compares two editions of a tree: what changed in meaning, what only in its words.

Reads two outlines and nothing else. In order: which block of the old edition is which of the
new one (pairs), what differs in each (blocks, nodes, answers), which of it changes what is done
at the machine and which is wording (telling), and which cards on the wall that puts out of date
(cards). How a change is said is in words. Knows nothing of files, revisions or paper.
"""

from __future__ import annotations

from collections.abc import Mapping

from treewright.render.editions.blocks import block_changes
from treewright.render.editions.cards import Stand, cards_of
from treewright.render.editions.changes import (
    TOPICS,
    Card,
    Change,
    Comparison,
    in_order,
)
from treewright.render.editions.nodes import node_changes
from treewright.render.editions.pairs import paired
from treewright.render.outline import Outline

__all__ = ["TOPICS", "Card", "Change", "Comparison", "changes_between", "compare"]


def compare(
    old: Outline,
    new: Outline,
    old_pictures: Mapping[str, bytes] | None = None,
    new_pictures: Mapping[str, bytes] | None = None,
    stand: tuple[Stand, Stand] | None = None,
) -> Comparison:
    """All that changed from one edition to the other, and the cards it puts out of date.

    Args:
        old, new: the compiled trees.
        old_pictures, new_pictures: the bytes of each picture by its file; where both are known
            another picture in the same file is a change.
        stand: what is known at the nodes of the old and of the new edition: for the checklists
            that print it.
    """
    renamed = paired(old, new)
    changes = changes_between(renamed.old, new, old_pictures, new_pictures)
    every = in_order([*renamed.changes, *changes])
    files = (old_pictures or {}, new_pictures or {})
    return Comparison(old, new, every, cards_of(renamed, new, changes, files, stand))


def changes_between(
    old: Outline,
    new: Outline,
    old_pictures: Mapping[str, bytes] | None = None,
    new_pictures: Mapping[str, bytes] | None = None,
) -> list[Change]:
    """What changed between two outlines in which what is the same has the same name."""
    files = (old_pictures or {}, new_pictures or {})
    return [*block_changes(old, new, files), *node_changes(old, new, files)]
