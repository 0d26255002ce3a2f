"""Stages on the chart: frames where the engine drew bands, otherwise brackets at the left."""

from __future__ import annotations

from treewright.render.chart.engine import Box, Layout
from treewright.render.chart.lettering import text_of
from treewright.render.chart.lines import Strokes, n
from treewright.render.chart.shape import Figure, Placed, band_lines, base_line
from treewright.render.chart.symbols import Plan
from treewright.render.chart.type import TITLE, Line, width

GUTTER = 22.0
"""Width of one column of brackets."""


def band(title: str, box: Box, lines: Strokes) -> str:
    """A stage's frame; its title stands in the upper corner that no line passes."""
    titles = band_lines(title)
    wide = max((line.width for line in titles), default=0.0) + 16
    low = box.top + sum(line.height for line in titles) + 8

    def passed(left: float) -> bool:
        found = lines.near(left, box.top - 6, left + wide, low)
        return any(left < x < left + wide and box.top - 6 < y < low for x, y in found)

    right = box.right - wide
    left = right if passed(box.left) and not passed(right) else box.left
    words, top = [], box.top + 5
    for line in titles:
        words.append(text_of(Placed(line, left + 8, base_line(line, top))))
        top += line.height
    return (
        f'<g class="band"><path d="M{n(box.left)} {n(box.top)}H{n(box.right)}'
        f'V{n(box.bottom)}H{n(box.left)}Z" fill="none" stroke="#000" stroke-width="0.8" '
        f'stroke-dasharray="10 3 2 3"/>'
        f"{''.join(words)}</g>"
    )


def brackets_of(plan: Plan, figures: dict[str, Figure], layout: Layout) -> tuple[list[str], int]:
    """Stages as brackets at the left, where the engine drew no bands.

    Returns:
        The drawn brackets and how many columns they take.
    """
    if layout.bands:
        return [], 0
    parts: list[str] = []
    ends: list[float] = []  # the lower end of the last bracket in each column
    for band in plan.bands:
        places = [
            (figures[key], layout.places[key][1]) for key in band.keys if key in layout.places
        ]
        if not places:
            continue
        top = min(y - figure.height / 2 for figure, y in places)
        bottom = max(y + figure.height / 2 for figure, y in places)
        bottom = max(bottom, top + width(band.title, TITLE, True))
        column = next((i for i, end in enumerate(ends) if end < top), len(ends))
        ends[column : column + 1] = [bottom + 6]
        x = -GUTTER * column - 6
        line = Line(band.title, TITLE, True)
        parts.append(
            f'<g class="band"><path d="M{n(x)} {n(top)}H{n(x - 5)}V{n(bottom)}H{n(x)}" '
            f'fill="none" stroke="#000" stroke-width="1.2"/>'
            f'<g transform="translate({n(x - 9)} {n((top + bottom) / 2)}) rotate(-90)">'
            f"{text_of(Placed(line, 0, 0, 'middle'))}</g></g>"
        )
    return parts, len(ends)
