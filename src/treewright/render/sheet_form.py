"""The papers a checklist is printed on: their measures, their columns and the sizes of type.

Type goes by the studies of checklists on the flight deck (NASA CR-177605; FAA human factors):
sans-serif, lower case, black on white, no tints, and on a card read at arm's length an x-height
of 2.5 mm. Nothing is ever set below the floor of its paper. Knows nothing of what is printed.

The floors come from the height at which letters are read without effort, 16 minutes of arc for
a capital (ISO 9241-303, from memory): 2.33 mm at 500 mm for a card that hangs at the machine,
1.86 mm at 400 mm for a sheet that lies before one. The same standard would rather have 20 minutes:
2.91 mm on a card, which many cards keep to, so that there are fewer of them to turn over. The
capitals of the type have 0.668 of its size, its lower-case x 0.496 (both read from the font by the
tests).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal, TypeAlias

from treewright.record import record

Paper: TypeAlias = Literal["a4", "letter", "legal", "card"]

PAPERS: tuple[Paper, ...] = ("a4", "letter", "legal", "card")

SIDES = 2
"""A sheet or card is printed on both sides."""

PITCH = 1.17
"""From line to line, in sizes of type: the height of a capital, and the leading."""

FEW = 8
"""Steps, findings, ends and procedures that go on one or two cards, some two on a side."""

_EASY, _SMALL = 12.4, 11.0
"""Points of type on cards of more than `FEW`, in two columns where that splits no step."""

_STEP = 0.5  # points between the sizes that are tried


@record
class Measures:
    """A paper, in millimetres and points.

    Attributes:
        side: the margin left and right; on a card nothing is printed nearer to the edge than
            the edge of a pouch needs.
        top, bottom: to the words; the head and foot of a page stand in them.
        normal, floor: sizes of type.
    """

    width: float
    height: float
    side: float
    top: float
    bottom: float
    normal: float
    floor: float


# The words are as wide on every sheet, so that the same lines break at the same words.
_WORDS = 181.0

MEASURES: dict[Paper, Measures] = {
    # ISO 216; 8.5 in by 11 in; 8.5 in by 14 in; ISO 216 A5
    "a4": Measures(210, 297, (210 - _WORDS) / 2, 15.5, 14.5, 9.5, 9),
    "letter": Measures(215.9, 279.4, (215.9 - _WORDS) / 2, 15.5, 14.5, 9.5, 9),
    "legal": Measures(215.9, 355.6, (215.9 - _WORDS) / 2, 15.5, 14.5, 9.5, 9),
    "card": Measures(148, 210, 7.5, 14, 14, 14.3, 10),
}


@record
class Form:
    """How a checklist is set: on what, in how many columns, in which size (points)."""

    paper: Paper
    columns: Literal[1, 2] = 1
    size: float | None = None  # None: the normal size of the paper

    @property
    def points(self) -> float:
        return MEASURES[self.paper].normal if self.size is None else self.size

    def as_wide_as(self, other: Form) -> bool:
        """Whether every line breaks at the same words, so that all is as high as there."""
        return self._lines() == other._lines()

    def _lines(self) -> tuple[float, int, float, bool]:
        paper = MEASURES[self.paper]
        words = round(paper.width - 2 * paper.side, 3)
        return words, self.columns, self.points, self.paper == "card"

    def particulars(
        self, heights: Mapping[str, float] | None = None, *, only_measure: bool = False
    ) -> dict[str, Any]:
        """What the template goes by.

        Args:
            heights: what was measured on a paper that is as wide.
            only_measure: set nothing, but say how high each part is.
        """
        paper = MEASURES[self.paper]
        return {
            "paper": self.paper,
            "width": paper.width,
            "height": paper.height,
            "side": paper.side,
            "top": paper.top,
            "bottom": paper.bottom,
            "pitch": PITCH,
            "heights": dict(heights or {}),
            "only_measure": only_measure,
            "columns": self.columns,
            "size": self.points,
            "card": self.paper == "card",
            # Too narrow for the answers to stand beside what is asked.
            "narrow": self.paper == "card" or self.columns == 2,
        }


def usual(paper: Paper, entries: int) -> tuple[Form, ...]:
    """The forms of a checklist for which no other is asked: the first that splits no entry over
    columns, or else the last.

    Args:
        paper: what it is printed on.
        entries: how many steps, findings, ends and procedures are on it.
    """
    if paper != "card":
        return (Form(paper),)
    large = (Form(paper),) if entries <= FEW else ()
    return (
        *large,
        *(Form(paper, 2, size) for size in (_EASY, _SMALL)),
        *(Form(paper, 1, size) for size in (_EASY, MEASURES[paper].floor)),
    )


def forms(paper: Paper) -> Iterator[Form]:
    """The forms of a paper from the most legible to the smallest: one column before two."""
    measures = MEASURES[paper]
    steps = round((measures.normal - measures.floor) / _STEP + 0.49)
    sizes = [max(measures.normal - _STEP * step, measures.floor) for step in range(steps + 1)]
    for size in sizes:
        yield Form(paper, 1, size)
        yield Form(paper, 2, size)


def lines_of(form: Form) -> float:
    """How many lines of words a column of a page holds."""
    measures = MEASURES[form.paper]
    room = (measures.height - measures.top - measures.bottom) * 72 / 25.4
    return room / (PITCH * form.points)
