"""Words of the drawing: lines of type, and the bars in which signal words stand.

Here is said how text is escaped.
"""

from __future__ import annotations

import html

from treewright.render.chart.lines import n
from treewright.render.chart.shape import ALERT, SIGNAL_BAR, Placed, bar_width


def escape(text: str) -> str:
    """Text, or a name in an attribute, as it may stand in the drawing."""
    return html.escape(text, quote=False)


def word(placed: Placed) -> str:
    return _signal(placed) if placed.signal else text_of(placed)


def _signal(placed: Placed) -> str:
    """A signal word in its bar; danger white on black, the others in a frame.

    The safety alert triangle stands before all but "notice", as ANSI Z535 has it.
    """
    ground, ink = ("#000", "#fff") if placed.signal == "danger" else ("#fff", "#000")
    frame = {"danger": "2", "warning": "2"}.get(placed.signal, "0.8")
    lead = 0.0 if placed.signal == "notice" else ALERT
    wide = bar_width(placed.line, placed.signal)
    top = placed.y - placed.line.size * 0.335 - SIGNAL_BAR / 2
    bar = (
        f'<rect x="{n(placed.x)}" y="{n(top)}" width="{n(wide)}" height="{n(SIGNAL_BAR)}" '
        f'fill="{ground}" stroke="#000" stroke-width="{frame}"/>'
    )
    triangle = ""
    if lead:
        x, y = placed.x + 10, top + 2
        triangle = (
            f'<path d="M{n(x)} {n(y)}l5.8 10h-11.6z" fill="{ink}"/>'
            f'<path d="M{n(x)} {n(y + 3.2)}v3.4m0 1v1.4" stroke="{ground}" stroke-width="1.5"/>'
        )
    words = Placed(placed.line, placed.x + lead + 4, placed.y)
    return bar + triangle + text_of(words, ink=ink)


def text_of(placed: Placed, *, ink: str = "#000") -> str:
    line = placed.line
    marks = [f'x="{n(placed.x)}" y="{n(placed.y)}" font-size="{n(line.size)}"']
    if line.bold:
        marks.append('font-weight="700"')
    if placed.anchor != "start":
        marks.append(f'text-anchor="{placed.anchor}"')
    if ink != "#000":
        marks.append(f'fill="{ink}"')
    return f"<text {' '.join(marks)}>{escape(line.text)}</text>"
