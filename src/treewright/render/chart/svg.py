"""Draws a laid-out chart as SVG: black ink on white, one accent for the good answer.

Every symbol is a link to its step by a fragment alone; all author text is escaped. The picture
has no size of its own, only a shape, so that a page can fit it. Knows the figures and their
places, not how either was found.
"""

from __future__ import annotations

from treewright.render.chart.bands import GUTTER, band, brackets_of
from treewright.render.chart.engine import Layout, Point
from treewright.render.chart.lettering import escape, text_of, word
from treewright.render.chart.lines import (
    Strokes,
    arrow_head,
    clearance,
    n,
    pair,
    path_of,
    strokes,
    toward,
)
from treewright.render.chart.shape import (
    ENTRY_CIRCLE,
    ROUNDING,
    Figure,
    Placed,
    answer_lines,
    base_line,
    point,
)
from treewright.render.chart.symbols import Arrow, Plan
from treewright.render.chart.type import DETAIL, Line

FAMILY = "Atkinson Hyperlegible, Helvetica, Arial, sans-serif"
ACCENT = "#005a9c"
"""For the line of the good answer; it is also heavier, so that it shows without colour."""

MARGIN = 6.0


def draw(plan: Plan, figures: dict[str, Figure], layout: Layout) -> str:
    """The chart as one `svg` element, well-formed by itself, without a prolog."""
    brackets, columns = brackets_of(plan, figures, layout)
    left = MARGIN + columns * GUTTER
    parts = []
    lines = strokes(layout)
    for number, box in sorted(layout.bands.items()):
        parts.append(band(plan.bands[number - 1].title, box, lines))
    parts.extend(brackets)
    for number, arrow in enumerate(plan.arrows, 1):
        parts.append(_arrow(number, arrow, layout))
    for symbol in plan.symbols:
        place = layout.places[symbol.key]
        parts.append(_symbol(figures[symbol.key], place, lines))
    wide, high = _size(layout, columns)
    count = sum(1 for symbol in plan.symbols if symbol.href and symbol.form != "connector")
    about = f"Flowchart with {count} steps and ends; each links to its step. {plan.mark}"
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="graphics-document" '
            f'viewBox="0 0 {n(wide)} {n(high)}" font-family="{FAMILY}" '
            f'{_language(plan.language)}aria-labelledby="chart-title chart-desc">',
            f'<title id="chart-title">{escape(plan.title)}</title>',
            f'<desc id="chart-desc">{escape(about)}</desc>',
            f'<rect width="{n(wide)}" height="{n(high)}" fill="#fff"/>',
            f'<g transform="translate({n(left)} {n(MARGIN)})" stroke-linejoin="round">',
            *parts,
            "</g>",
            "</svg>",
            "",
        )
    )


def size(plan: Plan, figures: dict[str, Figure], layout: Layout) -> tuple[float, float]:
    """Width and height of the drawing, without drawing it."""
    return _size(layout, brackets_of(plan, figures, layout)[1])


def _size(layout: Layout, columns: int) -> tuple[float, float]:
    return layout.width + 2 * MARGIN + columns * GUTTER, layout.height + 2 * MARGIN


def _language(tag: str) -> str:
    return f'lang="{tag}" ' if tag.replace("-", "").isalnum() and tag.isascii() else ""


# Arrows


def _arrow(number: int, arrow: Arrow, layout: Layout) -> str:
    """One arrow. The words of an answer stand in its line, which they interrupt."""
    if arrow.kind == "note":
        return (
            f'<path class="arrow note" d="{path_of(layout.routes[f"e{number}"])}" fill="none" '
            f'stroke="#000" stroke-dasharray="3 3"/>'
        )
    marks = [f'class="arrow {arrow.kind}"']
    if arrow.id:
        marks.append(f'id="{escape(arrow.id)}"')
    marks.append(_origin(arrow.origin))
    ink, weight = (ACCENT, "2.6") if arrow.kind == "good" else ("#000", "1.3")
    parts = []
    for part in (f"w{number}", f"e{number}"):
        if part in layout.routes:
            route = layout.routes[part]
            path = path_of(route)
            if route.tip is not None:
                path += f"L{pair(toward(route.points[-1], route.tip, 0.5))}"
                parts.append(arrow_head(route.points[-1], route.tip, ink))
            parts.append(f'<path d="{path}" fill="none" stroke="{ink}" stroke-width="{weight}"/>')
    if f"a{number}" in layout.places:
        parts.append(_answer(answer_lines(arrow), layout.places[f"a{number}"], ink))
    return f"<g {' '.join(filter(None, marks))}>{''.join(parts)}</g>"


def _answer(lines: tuple[Line, ...], middle: Point, ink: str) -> str:
    top = middle[1] - sum(line.height for line in lines) / 2
    words = []
    for line in lines:
        words.append(text_of(Placed(line, middle[0], base_line(line, top), "middle"), ink=ink))
        top += line.height
    return "".join(words)


# Symbols


def _symbol(figure: Figure, place: Point, lines: Strokes) -> str:
    symbol = figure.symbol
    marks = [f'class="symbol {symbol.form}"']
    if symbol.id:
        marks.append(f'id="{escape(symbol.id)}"')
    marks.append(_origin(symbol.origin))
    named = " ".join(part for part in (symbol.number, symbol.title) if part)
    spoken = " ".join(part for part in (named, symbol.spoken) if part)
    body = [
        f"<title>{escape(spoken)}</title>",
        outline_of(figure),
        *(word(placed) for placed in figure.words),
    ]
    if symbol.again:
        body.append(_circles_below(figure))
    if symbol.entered:
        body.append(_entry(figure, place, lines))
    inside = "".join(body)
    if symbol.href:
        inside = f'<a href="#{escape(symbol.href)}">{inside}</a>'
    at = f"translate({n(place[0])} {n(place[1])})"
    return f'<g {" ".join(filter(None, marks))} transform="{at}">{inside}</g>'


def _origin(origin: tuple[str, int] | None) -> str:
    return f'data-from="{escape(origin[0])}" data-answer="{origin[1]}"' if origin else ""


def outline_of(figure: Figure) -> str:
    """The symbol of ISO 5807 itself, around the middle of its body."""
    w, h, y = figure.body_width / 2, figure.body_height / 2, figure.body_y
    ink = 'class="rim" fill="#fff" stroke="#000" stroke-width="1.3"'
    match figure.symbol.form:
        case "decision":
            return f'<path d="M0 {n(-h)}L{n(w)} 0L0 {n(h)}L{n(-w)} 0Z" {ink}/>'
        case "process":
            return _rectangle(w, h, y, ink)
        case "finding":
            return _rectangle(w, h, y, 'class="rim" fill="#fff" stroke="#000" stroke-width="2.6"')
        case "predefined":
            rims = f'<path d="M{n(-w + 5)} {n(y - h)}V{n(y + h)}M{n(w - 5)} {n(y - h)}V'
            return f'{_rectangle(w, h, y, ink)}{rims}{n(y + h)}" {ink}/>'
        case "terminator":
            return (
                f'<rect x="{n(-w)}" y="{n(y - h)}" width="{n(2 * w)}" height="{n(2 * h)}" '
                f'rx="{n(min(h, ROUNDING))}" {ink}/>'
            )
        case "preparation":
            cut = point(2 * h)
            return (
                f'<path d="M{n(-w)} 0L{n(-w + cut)} {n(-h)}H{n(w - cut)}L{n(w)} 0'
                f'L{n(w - cut)} {n(h)}H{n(-w + cut)}Z" {ink}/>'
            )
        case "connector":
            return f'<circle cy="{n(y)}" r="{n(h)}" {ink}/>'
        case "annotation":
            return (
                f'<path d="M{n(-w)} {n(y + h - 8)}V{n(y + h)}H{n(w)}V{n(y + h - 8)}" fill="none" '
                f'stroke="#000" stroke-width="1.3"/>'
            )


def _rectangle(w: float, h: float, y: float, ink: str) -> str:
    return f'<rect x="{n(-w)}" y="{n(y - h)}" width="{n(2 * w)}" height="{n(2 * h)}" {ink}/>'


def _circles_below(figure: Figure) -> str:
    """What to take again after a remedy: connector circles below the finding."""
    marks = figure.symbol.again
    step = 2 * ENTRY_CIRCLE + 6
    y = figure.height / 2 - ENTRY_CIRCLE
    low = figure.body_y + figure.body_height / 2
    parts = []
    for index, mark in enumerate(marks):
        x = (index - (len(marks) - 1) / 2) * step
        parts.append(
            f'<path d="M{n(x)} {n(low)}V{n(y - ENTRY_CIRCLE)}" stroke="#000" '
            f'stroke-width="1.3" stroke-dasharray="4 3"/>{_circle(x, y, mark)}'
        )
    return "".join(parts)


def _entry(figure: Figure, place: Point, lines: Strokes) -> str:
    """The circle by which a way comes back to a symbol, in the freer of its two corners."""
    w, h = figure.body_width / 2, figure.body_height / 2
    away = ENTRY_CIRCLE + 12
    choices = []
    for side in (-1.0, 1.0):
        if figure.symbol.form == "decision":
            long = (w * w + h * h) ** 0.5
            tip, out = (side * w * 0.68, -h * 0.32), (side * h / long, -w / long)
        else:
            tip, out = (side * w, figure.body_y), (side, 0.0)
        x, y = tip[0] + out[0] * away, tip[1] + out[1] * away
        choices.append((tip, (tip[0] + out[0] * 12, tip[1] + out[1] * 12), (x, y)))
    tip, start, (x, y) = max(
        choices,
        key=lambda choice: clearance(
            (choice[2][0] + place[0], choice[2][1] + place[1]), lines, ENTRY_CIRCLE + 4
        ),
    )
    return (
        f'<path d="M{pair(start)}L{pair(toward(start, tip, 0.5))}" stroke="#000" '
        f'stroke-width="1.3"/>{arrow_head(start, tip, "#000")}'
        f"{_circle(x, y, figure.symbol.entered)}"
    )


def _circle(x: float, y: float, mark: str) -> str:
    line = Line(mark, DETAIL, True)
    return (
        f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(ENTRY_CIRCLE)}" fill="#fff" stroke="#000" '
        f'stroke-width="1.3"/>{text_of(Placed(line, x, y + DETAIL * 0.335, "middle"))}'
    )
