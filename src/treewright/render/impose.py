"""Puts the pages of cards on A4 to be printed, two on each side: to be cut, or to be folded.

`cut`: printed on both sides, flipped on the long edge, then cut across the middle: two cards of
two sides each. The sheet stands upright, so that the long edge is the one that every printer
takes; the cards lie on it, those on the back turned the other way round, so that a card is turned
over like the leaf of a book. `fold`: printed on one side, both sides of one card beside each
other, folded along the middle with the words outside.

Such a file is for the printer alone: it shows pages of another PDF and has no structure of its
own. Knows nothing of what is on a card.
"""

from __future__ import annotations

from typing import Any, Literal, TypeAlias

from treewright.record import record
from treewright.render.paper import Press, pages
from treewright.render.sheet_form import MEASURES, SIDES

Way: TypeAlias = Literal["cut", "fold"]

_A4 = (210.0, 297.0)  # ISO 216, mm
_CARD = (MEASURES["card"].width, MEASURES["card"].height)


@record
class Spot:
    """Where a page of the cards lies: its upper left corner (mm) as it is turned (degrees)."""

    page: int
    x: float
    y: float
    turn: int


def spots(count: int, way: Way) -> tuple[tuple[Spot, ...], ...]:
    """For each side of A4 what lies on it.

    Args:
        count: how many pages the cards have.
        way: whether they are to be cut or folded.
    """
    cards = [
        tuple(range(first, min(first + SIDES, count + 1)))
        for first in range(1, count + 1, SIDES)
    ]
    wide, high = _CARD
    if way == "fold":
        half = _A4[1] / 2
        room = (half - wide) / 2
        return tuple(
            tuple(
                Spot(page, side * half + room, (_A4[0] - high) / 2, 0)
                for side, page in enumerate(card)
            )
            for card in cards
        )
    half = _A4[1] / 2
    found: list[tuple[Spot, ...]] = []
    for at in range(0, len(cards), 2):
        pair = cards[at : at + 2]
        for side, turn in ((0, 90), (1, 270)):
            found.append(
                tuple(
                    Spot(card[side], (_A4[0] - high) / 2, row * half + (half - wide) / 2, turn)
                    for row, card in enumerate(pair)
                    if side < len(card)
                )
            )
    return tuple(found)


def two_up(cards: bytes, way: Way, title: str, language: str, date: str | None) -> bytes:
    """The file for the printer.

    Args:
        cards: the PDF of the cards.
        way: `cut` or `fold`.
        title, language, date: of the file, as for `render.paper.Press`.
    """
    upright = way == "cut"
    width, height = _A4 if upright else (_A4[1], _A4[0])
    data: dict[str, Any] = {
        "width": width,
        "height": height,
        "card": _CARD,
        "middle": _A4[1] / 2,
        "across": upright,
        "sheets": [
            [{"page": s.page, "x": s.x, "y": s.y, "turn": s.turn} for s in side]
            for side in spots(pages(cards), way)
        ],
    }
    return Press(
        "impose.typ", data, title=title, language=language, date=date,
        pictures={"cards": cards}, tagged=False,
    ).pdf()  # fmt: skip
