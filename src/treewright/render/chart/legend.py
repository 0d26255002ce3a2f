"""The legend of the chart: each symbol in small, with what it stands for. One SVG."""

from __future__ import annotations

from treewright.render.chart.lettering import escape
from treewright.render.chart.shape import Figure
from treewright.render.chart.svg import ACCENT, FAMILY, outline_of
from treewright.render.chart.symbols import Form, Symbol
from treewright.render.chart.type import DETAIL, width

ROW = 26.0
"""Height of one row, in points."""

_WIDE = 40.0
_ENTRIES: tuple[tuple[Form | None, str], ...] = (
    ("terminator", "start or end"),
    ("preparation", "set up first"),
    ("decision", "check or reading"),
    ("process", "step"),
    ("predefined", "procedure"),
    ("finding", "fault and its remedy"),
    ("annotation", "read this before"),
    ("connector", "on at the same number"),
    (None, "good answer"),
)


def legend(room: float) -> tuple[str, float]:
    """The legend broken into rows.

    Args:
        room: width in points.

    Returns:
        The SVG and its height in points.
    """
    parts, x, y = [], 0.0, 0.0
    for form, words in _ENTRIES:
        wide = _WIDE + 6 + width(words, DETAIL) + 16
        if x and x + wide > room:
            x, y = 0.0, y + ROW
        middle = y + ROW / 2
        parts.append(
            f'<g transform="translate({x + _WIDE / 2:.2f} {middle:.2f})">{_drawn(form)}</g>'
            f'<text x="{x + _WIDE + 6:.2f}" y="{middle + 3.4:.2f}" font-size="{DETAIL:g}">'
            f"{escape(words)}</text>"
        )
        x += wide
    high = y + ROW
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {room:.2f} {high:.2f}" '
        f'font-family="{FAMILY}">{"".join(parts)}</svg>',
        high,
    )


def _drawn(form: Form | None) -> str:
    if form is None:
        return f'<path d="M-18 0H18" stroke="{ACCENT}" stroke-width="2.6"/>'
    drawing = outline_of(Figure(Symbol("", form), 36.0, 18.0, 36.0, 18.0, 0.0, ()))
    if form == "annotation":
        tie = '<path d="M0 4V12" stroke="#000" stroke-dasharray="3 2"/>'
        return f'<g transform="translate(0 -5)">{drawing}</g>{tie}'
    return drawing
