"""The binder: the checklists of a folder of trees as one PDF, with all that finds a way into it.

Title page, contents, what changed, hazards of all machines, symptoms and tools by the alphabet,
then the checklists just as they are printed alone, with the binder's page numbers in their outer
margin. Knows nothing of files.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from typing import Any, Literal

from treewright.render.binder_words import words
from treewright.render.bound import bind
from treewright.render.change_sheet import PAPERS
from treewright.render.outline import Outline
from treewright.render.paper import compile_pdf, pages
from treewright.render.parting import parted
from treewright.render.sheet_phrases import Piece

_SIZES = {"a4": (595.2756, 841.8898), "letter": (612.0, 792.0)}  # points; ISO 216, 8.5 in by 11 in
_TURNS = 4  # of setting the pages before the checklists, until their number stays the same


def binder(
    outlines: Sequence[Outline],
    sheets: Sequence[bytes],
    paper: Literal["a4", "letter"],
    title: str = "Diagnostic trees",
    changes: Sequence[Piece] | None = None,
) -> bytes:
    """The binder as one PDF.

    Args:
        outlines: the trees, at least one, in the order in which they are to stand.
        sheets: the checklist of each, printed on `paper`.
        paper: what it is printed on.
        title: of the title page.
        changes: what changed since an older edition, of each tree that changed, as
            `render.change_sheet.part` gives it; None where nothing was compared.

    Raises:
        PaperError: a page could not be made.
    """
    counts = [pages(sheet) for sheet in sheets]
    front, ahead = _front(outlines, counts, paper, title, changes)
    width, height = _SIZES[paper]
    every = list(range(1, ahead + sum(counts) + 1))
    stamps = compile_pdf(
        "stamps.typ",
        {"width": width, "height": height, "numbers": [None] * ahead + every[ahead:]},
        title="page numbers",
    )
    return bind([front, *sheets], stamps)


def mark_of(outlines: Sequence[Outline]) -> str:
    """The mark of the binder: other editions of its trees, or another order, give another."""
    marks = "\n".join(outline.mark for outline in outlines)
    trees = "1 tree" if len(outlines) == 1 else f"{len(outlines)} trees"
    return f"binder · {trees} · {sha256(marks.encode()).hexdigest()[:8]}"


def _front(
    outlines: Sequence[Outline],
    counts: Sequence[int],
    paper: Literal["a4", "letter"],
    title: str,
    changes: Sequence[Piece] | None,
) -> tuple[bytes, int]:
    """The pages before the checklists, and how many they are."""
    ahead, made = 4 + len(changes or ()), b""
    for _ in range(_TURNS):
        made = _set(outlines, counts, paper, title, changes, ahead)
        found = pages(made)
        if found == ahead:
            break
        ahead = found
    return made, pages(made)


def _set(
    outlines: Sequence[Outline],
    counts: Sequence[int],
    paper: Literal["a4", "letter"],
    title: str,
    changes: Sequence[Piece] | None,
    ahead: int,
) -> bytes:
    starts = [ahead + 1 + sum(counts[:at]) for at in range(len(counts))]
    data: dict[str, Any] = words(outlines, starts, changes or ())
    data |= {
        "paper": PAPERS[paper],
        "title": title,
        "mark": mark_of(outlines),
        "compared": changes is not None,
        "pages": ahead + sum(counts),
    }
    return compile_pdf(
        "binder.typ",
        parted(data),
        title=title,
        language=outlines[0].language,
        date=max((outline.date or "" for outline in outlines), default="") or None,
    )
