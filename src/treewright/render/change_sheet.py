"""The change sheet: what changed between two editions of a tree, as a PDF for the wall.

One page for each tree; more only where it would not be legible on one. Says which cards are out
of date, with their edition mark, so that a person can walk along the wall. Knows nothing of how
editions are compared or read.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, TypeAlias

from treewright.render import prose
from treewright.render.editions import Comparison
from treewright.render.editions.listing import Group, cards, following, meant, worded
from treewright.render.outline import Outline
from treewright.render.paper import compile_pdf
from treewright.render.parting import parted

Compared: TypeAlias = tuple[Outline | None, Outline | None, Comparison | None]
"""A tree's old edition, its new one, and what changed; None where there is no such edition."""

PAPERS = {"a4": "a4", "letter": "us-letter"}
"""By the name that the templates know them by."""


def change_sheet(compared: Sequence[Compared], paper: Literal["a4", "letter"]) -> bytes:
    """The change sheet as a PDF.

    Args:
        compared: the trees, at least one, in the order in which they are to stand.
        paper: what it is printed on.
    """
    outlines = [new or old for old, new, _ in compared]
    first = next(outline for outline in outlines if outline is not None)
    return compile_pdf(
        "changes.typ",
        parted({"paper": PAPERS[paper], "parts": [part(*one) for one in compared]}),
        title=f"{prose.plain(first.title)} – change sheet",
        language=first.language,
        date=max((outline.date or "" for outline in outlines if outline), default="") or None,
    )


def part(
    old: Outline | None, new: Outline | None, comparison: Comparison | None
) -> dict[str, Any]:
    """What typst/changelist.typ shows of one tree."""
    shown = new or old
    assert shown is not None
    if comparison is None:
        alone = "This tree is new." if new else "This tree is gone: take its cards down."
    else:
        alone = "" if comparison.meant else "Nothing has changed in meaning."
    return {
        "machine": prose.plain(shown.machine),
        "title": prose.plain(shown.title),
        "mark": shown.mark,
        "old": old.mark if old else "",
        "new": new.mark if new else "",
        "alone": alone,
        "trouble": comparison.mark_trouble if comparison else "",
        "cards": [
            {"state": group.state, "heading": group.heading, "lines": group.lines}
            for group in (cards(comparison.cards) if comparison else ())
        ],
        "meant": _groups(meant(comparison)) if comparison else [],
        "follows": _groups(following(comparison)) if comparison else [],
        "worded": _groups(worded(comparison)) if comparison else [],
    }


def _groups(groups: Sequence[Group]) -> list[dict[str, Any]]:
    return [
        {
            "heading": group.heading,
            "entries": [
                {"place": entry.place, "sentences": entry.sentences} for entry in group.entries
            ],
        }
        for group in groups
    ]
