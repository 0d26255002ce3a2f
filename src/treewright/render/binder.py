"""The binder: the checklists of a folder of trees as one PDF, with all that finds a way into it.

Title page, contents, what changed, hazards of all machines, symptoms and tools by the alphabet,
then the checklists just as they are printed alone, each with its chart behind it where charts are
wanted, and with the binder's page numbers in their outer margin. Knows nothing of files.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from hashlib import sha256
from itertools import accumulate, chain
from typing import Any, Literal

from treewright.render import prose
from treewright.render.binder_words import words
from treewright.render.bound import bind
from treewright.render.change_sheet import PAPERS
from treewright.render.outline import Outline
from treewright.render.paper import compile_pdf, pages
from treewright.render.parting import parted
from treewright.render.plain_pdf import Document
from treewright.render.sheet_phrases import Piece

_TURNS = 4  # of setting the pages before the checklists, until their number stays the same
_DOWN, _DOWN_ON_CHART = 5.0, 4.0  # mm from the edge to a page's number: above what it prints


def binder(
    outlines: Sequence[Outline],
    sheets: Sequence[bytes],
    paper: Literal["a4", "letter"],
    title: str = "Diagnostic trees",
    changes: Sequence[Piece] | None = None,
    charts: Sequence[bytes] = (),
) -> bytes:
    """The binder as one PDF.

    Args:
        outlines: the trees, at least one, in the order in which they are to stand.
        sheets: the checklist of each, printed on `paper`.
        paper: what it is printed on.
        title: of the title page.
        changes: what changed since an older edition, of each tree that changed, as
            `render.change_sheet.part` gives it; None where nothing was compared.
        charts: the chart of each, printed on `paper`; none: it has no charts.

    Raises:
        PaperError: a page could not be made.
    """
    parts = [
        _Part(outline, sheet, charts[at] if charts else None)
        for at, (outline, sheet) in enumerate(zip(outlines, sheets, strict=True))
    ]
    front, ahead = _front(parts, paper, title, changes)
    every = chain.from_iterable(part.stamped() for part in parts)
    numbered = [
        *({"width": 100, "height": 100, "number": None, "down": 0} for _ in range(ahead)),
        *(page | {"number": number} for number, page in enumerate(every, ahead + 1)),
    ]
    stamps = compile_pdf("stamps.typ", {"pages": numbered}, title="page numbers")
    documents: list[bytes] = [front]
    names: list[str | None] = [None]
    for part in parts:
        documents.append(part.sheet)
        names.append(None)
        if part.chart is not None:
            documents.append(part.chart)
            names.append(f"Chart: {prose.plain(part.outline.title)}")
    return bind(documents, stamps, names)


class _Part:
    """One tree of the binder: its checklist, and its chart if that is wanted."""

    def __init__(self, outline: Outline, sheet: bytes, chart: bytes | None) -> None:
        self.outline, self.sheet, self.chart = outline, sheet, chart
        read = Document(sheet)
        self.steps = {
            label.removeprefix("at-"): page
            for label, page in read.labels().items()
            if label.startswith("at-")
        }
        self._sizes = read.sizes()
        self._chart_sizes = [] if chart is None else Document(chart).sizes()

    @property
    def of_sheet(self) -> int:
        return len(self._sizes)

    @property
    def pages(self) -> int:
        return len(self._sizes) + len(self._chart_sizes)

    def stamped(self) -> Iterator[dict[str, Any]]:
        """Each page as the template of the page numbers takes it."""
        for sizes, down in ((self._sizes, _DOWN), (self._chart_sizes, _DOWN_ON_CHART)):
            for width, height in sizes:
                yield {"width": width, "height": height, "down": down}


def mark_of(outlines: Sequence[Outline]) -> str:
    """The mark of the binder: other editions of its trees, or another order, give another."""
    marks = "\n".join(outline.mark for outline in outlines)
    trees = "1 tree" if len(outlines) == 1 else f"{len(outlines)} trees"
    return f"binder · {trees} · {sha256(marks.encode()).hexdigest()[:8]}"


def _front(
    parts: Sequence[_Part],
    paper: Literal["a4", "letter"],
    title: str,
    changes: Sequence[Piece] | None,
) -> tuple[bytes, int]:
    """The pages before the checklists, and how many they are."""
    ahead, made = 4 + len(changes or ()), b""
    for _ in range(_TURNS):
        made = _set(parts, paper, title, changes, ahead)
        found = pages(made)
        if found == ahead:
            break
        ahead = found
    return made, pages(made)


def _set(
    parts: Sequence[_Part],
    paper: Literal["a4", "letter"],
    title: str,
    changes: Sequence[Piece] | None,
    ahead: int,
) -> bytes:
    outlines = [part.outline for part in parts]
    starts = list(accumulate((part.pages for part in parts), initial=ahead + 1))
    data: dict[str, Any] = words(
        outlines,
        starts,
        [
            {number: start + page - 1 for number, page in part.steps.items()}
            for start, part in zip(starts, parts, strict=False)
        ],
        changes or (),
    )
    for tree, start, part in zip(data["trees"], starts, parts, strict=False):
        tree["chart"] = None if part.chart is None else start + part.of_sheet
    data |= {
        "paper": PAPERS[paper],
        "title": title,
        "mark": mark_of(outlines),
        "compared": changes is not None,
        "pages": starts[-1] - 1,
    }
    return compile_pdf(
        "binder.typ",
        parted(data),
        title=title,
        language=outlines[0].language,
        date=max((outline.date or "" for outline in outlines), default="") or None,
    )
