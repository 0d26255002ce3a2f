"""A chart in one piece on many sheets: cut, overlapped and marked, to be put together on a wall.

Type is 8 pt, as on any chart of ours. The sheets are counted like fields of a map, rows by letters
from the top, columns by numbers from the left; each overlaps its neighbours. Before them stands
a page with title, hazards, legend, and how the sheets lie.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from treewright.record import record
from treewright.render.chart.frame import LEAST, SIZES, Paper, after_remedy
from treewright.render.chart.layout import Drawing
from treewright.render.chart.legend import legend
from treewright.render.chart.type import DETAIL, clean, plain_words
from treewright.render.outline import Hazard, Outline
from treewright.render.paper import compile_pdf

OVERLAP = 10 / 25.4 * 72
"""Points that two sheets beside each other have in common: room for the glue."""

MARGIN = 10 / 25.4 * 72
"""Points at each edge that a printer leaves white."""

SCALE = LEAST / DETAIL
"""Page points by chart points: the smallest legible, as for any chart of ours."""

_HEAD = 14.0  # points above the picture, for where the sheet lies


@record
class Tiling:
    """How a picture is cut: the paper as it lies, and how many rows and columns of it."""

    width: float
    height: float
    rows: int
    columns: int

    @property
    def room(self) -> tuple[float, float]:
        """What one sheet shows."""
        return self.width - 2 * MARGIN, self.height - 2 * MARGIN - _HEAD


def tiling(size: tuple[float, float], paper: Paper) -> Tiling:
    """The fewest sheets that hold a picture; where both ways take as many, upright ones.

    Args:
        size: of the picture, in points.
        paper: what it is cut over.
    """
    choices = []
    for width, height in (SIZES[paper], SIZES[paper][::-1]):
        lying = Tiling(width, height, 1, 1)
        columns, rows = (
            max(1, math.ceil((length - OVERLAP) / (room - OVERLAP)))
            for length, room in zip(size, lying.room, strict=True)
        )
        choices.append(Tiling(width, height, rows, columns))
    return min(choices, key=lambda one: one.rows * one.columns)


def name_of(row: int, column: int) -> str:
    """ "B3": the third sheet of the second row."""
    ahead, last = divmod(row, 26)
    return f"{chr(ord('A') + ahead - 1) if ahead else ''}{chr(ord('A') + last)}{column + 1}"


def pdf(
    outline: Outline,
    drawing: Drawing,
    reach: float,
    hazards: Sequence[Hazard],
    paper: Paper,
) -> bytes:
    """The chart cut over sheets, as PDF.

    Args:
        outline: the compiled tree.
        drawing: its chart, whole.
        reach: how far the largest symbol runs out from its middle.
        hazards: those it warns of, the gravest first.
        paper: what it is printed on.

    Raises:
        PaperError: the pages could not be made.
    """
    scale = SCALE
    width, height = drawing.size[0] * scale, drawing.size[1] * scale
    cut = tiling((width, height), paper)
    room = SIZES[paper][0] - 2 * MARGIN
    symbols, tall = legend(room)
    data = {
        "title": plain_words(outline.title),
        "machine": plain_words(outline.machine),
        "mark": clean(outline.mark),
        "remedy": after_remedy(outline),
        "hazards": [
            {"signal": h.signal, "title": plain_words(h.title), "harm": plain_words(h.harm),
             "avoid": plain_words(h.avoid)}
            for h in hazards
        ],
        "cover": SIZES[paper],
        "sheet": (cut.width, cut.height),
        "margin": MARGIN,
        "head": _HEAD,
        "overlap": OVERLAP,
        "drawn": (width, height),
        "room": cut.room,
        "rows": [
            [_sheet(drawing, reach, cut, row, column) for column in range(cut.columns)]
            for row in range(cut.rows)
        ],
        "legend": {"svg": symbols, "height": tall},
    }  # fmt: skip
    return compile_pdf(
        "tiles.typ",
        data,
        title=plain_words(outline.title),
        language=outline.language,
        date=outline.date,
    )


_MIDDLE = re.compile(r'transform="translate\((-?[\d.]+) (-?[\d.]+)\)"')
_PATH = re.compile(r' d="([^"]*)"')
_NUMBERS = re.compile(r"-?[\d.]+")
_SHIFT = re.compile(r'<g transform="translate\((-?[\d.]+) (-?[\d.]+)\)" stroke-linejoin')
_BESIDE = 80.0  # how far the words of an answer run out from its line


def _sheet(
    drawing: Drawing, reach: float, cut: Tiling, row: int, column: int
) -> dict[str, str]:
    """One sheet: its name, and the drawing with what it shows; no name where it stays white.

    What lies elsewhere is left out, so that each word is on the sheets that show it alone.
    """
    shift = _SHIFT.search(drawing.svg)
    dx, dy = (float(length) for length in shift.groups()) if shift else (0.0, 0.0)
    left = column * (cut.room[0] - OVERLAP) / SCALE - dx
    top = row * (cut.room[1] - OVERLAP) / SCALE - dy
    right, low = left + cut.room[0] / SCALE, top + cut.room[1] / SCALE

    def near(x: Sequence[float], y: Sequence[float], around: float) -> bool:
        return (
            min(x) - around <= right
            and max(x) + around >= left
            and min(y) - around <= low
            and max(y) + around >= top
        )

    kept, drawn = [], False
    for line in drawing.svg.split("\n"):
        if line.startswith(("<g class=\"symbol ", "<g class=\"on-way symbol ")):
            at = _MIDDLE.search(line)
            if at is not None and not near([float(at[1])], [float(at[2])], reach):
                continue
            drawn = True
        elif " arrow" in line[:24] or 'class="arrow' in line[:24]:
            numbers = [float(n) for d in _PATH.findall(line) for n in _NUMBERS.findall(d)]
            if numbers and not near(numbers[::2], numbers[1::2], _BESIDE):
                continue
            drawn = True
        kept.append(line)
    return {"name": name_of(row, column) if drawn else "", "svg": "\n".join(kept)}
