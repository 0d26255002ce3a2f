"""How large each symbol is and where its words stand in it.

A figure is measured from its own middle, x to the right and y downwards, in points. Knows the
plan and the type, but neither the engine nor SVG.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Literal, assert_never

from treewright.record import record
from treewright.render.chart.symbols import Arrow, Symbol
from treewright.render.chart.type import DETAIL, NUMBER, TITLE, Line, in_diamond, wrap

COLUMN = 140.0
"""Room for a line of words, about 26 letters."""

SIGNAL_BAR, ALERT = 14.0, 14.0
"""Height of the bar a signal word stands in; width of the triangle before it."""

ROUNDING = 24.0
"""The largest radius of a terminator's ends."""

EXIT_CIRCLE, ENTRY_CIRCLE = 13.0, 11.0
"""Radii of the connector circles that leave the flow and that come back into it."""

_PAD = 9.0
_LEAD = 14.0  # the line between a finding and the circle below it
_APART = 1.5  # of other lines from a bracket, which has no rim around its words
_SIDE = 2 * ENTRY_CIRCLE + 14.0  # room for an entry circle and its arrow


@record
class Placed:
    """A line of words; (x, y) is its base line's start, middle or end as `anchor` says."""

    line: Line
    x: float
    y: float
    anchor: Literal["start", "middle"] = "start"
    signal: str = ""  # a hazard's signal word, which stands in a bar


@record
class Figure:
    """A symbol with its size.

    Attributes:
        symbol: what it shows.
        width, height: all the room it takes.
        body_width, body_height: of the symbol proper.
        body_y: the middle of the symbol proper, below (+) the figure's.
        words: its lines, measured from the figure's middle.
    """

    symbol: Symbol
    width: float
    height: float
    body_width: float
    body_height: float
    body_y: float
    words: tuple[Placed, ...]


def figure(symbol: Symbol) -> Figure:
    """The symbol at the size its words need."""
    size = _figure(
        Symbol(
            "", symbol.form, symbol.number, symbol.title, symbol.details,
            again=symbol.again, entered=symbol.entered, warnings=symbol.warnings,
        )
    )  # fmt: skip
    return replace(size, symbol=symbol)


@lru_cache(maxsize=5_000)
def _figure(symbol: Symbol) -> Figure:
    """The figure of all symbols that show the same, wherever they stand."""
    match symbol.form:
        case "decision":
            return _decision(symbol)
        case "process" | "predefined" | "finding" | "terminator":
            return _box(symbol)
        case "preparation":
            return _preparation(symbol)
        case "annotation":
            return _annotation(symbol)
        case "connector":
            return _connector(symbol)
        case _ as never:
            assert_never(never)


def band_lines(title: str) -> tuple[Line, ...]:
    """A stage's title as it stands in the corner of its band."""
    return wrap(title, max(2 * COLUMN, _column(Line(title, TITLE, True))), TITLE, bold=True)


def answer_lines(arrow: Arrow) -> tuple[Line, ...]:
    """The words on an arrow: the answer, and below it the limit that decides it."""
    room = 0.8 * _column(Line(arrow.answer, TITLE, True), Line(arrow.detail, DETAIL))
    answer = wrap(arrow.answer, room, TITLE, bold=True)
    return (*answer, *wrap(arrow.detail, room, DETAIL))


def answer_size(arrow: Arrow) -> tuple[float, float]:
    """Width and height of the words on an arrow; they stand in its line."""
    lines = answer_lines(arrow)
    return max(line.width for line in lines) + 8, sum(line.height for line in lines) + 4


def _decision(symbol: Symbol) -> Figure:
    texts = (
        Line(symbol.title, TITLE, True),
        *(Line(detail, DETAIL) for detail in symbol.details),
    )
    fitted = in_diamond(Line(symbol.number, NUMBER, True), texts)
    words, top = [], fitted.top
    for line in fitted.lines:
        words.append(_centred(line, top))
        top += line.height
    return Figure(
        symbol, fitted.width, fitted.height, fitted.width, fitted.height, 0.0, tuple(words)
    )


def _box(symbol: Symbol) -> Figure:
    """The number at the left, the words beside it."""
    number = Line(symbol.number, NUMBER, True)
    size = TITLE if symbol.form == "finding" else DETAIL
    room = _column(Line(symbol.title, TITLE, True), *(Line(d, size) for d in symbol.details))
    lines = list(wrap(symbol.title, room, TITLE, bold=True))
    for detail in symbol.details:
        lines.extend(wrap(detail, room, size))
    # A stadium's ends and a predefined process's double rims take room.
    side = {"terminator": 6.0, "predefined": 7.0}.get(symbol.form, 0.0) + _PAD
    gap = 8.0 if symbol.number and lines else 0.0
    column = max((line.width for line in lines), default=0.0)
    width = 2 * side + number.width + gap + column
    height = max(sum(line.height for line in lines), number.height) + 2 * _PAD * 0.7
    if symbol.form == "terminator":
        side += min(height, 2 * ROUNDING) * 0.12
        width += min(height, 2 * ROUNDING) * 0.24
    below = _LEAD + 2 * ENTRY_CIRCLE if symbol.again else 0.0
    body_y = -below / 2
    left = -width / 2 + side
    words = [Placed(number, left, body_y + NUMBER * 0.36)] if symbol.number else []
    top = body_y - sum(line.height for line in lines) / 2
    for line in lines:
        words.append(Placed(line, left + number.width + gap, base_line(line, top)))
        top += line.height
    room = max(width + (2 * _SIDE if symbol.entered else 0.0), _circles(symbol))
    return Figure(symbol, room, height + below, width, height, body_y, tuple(words))


def _column(*lines: Line) -> float:
    """Room for a line: more for long texts, so that no symbol grows into a tower."""
    area = sum(line.width * line.height for line in lines)
    return max(COLUMN, math.sqrt(1.6 * area))


def _circles(symbol: Symbol) -> float:
    return len(symbol.again) * (2 * ENTRY_CIRCLE + 6)


def _connector(symbol: Symbol) -> Figure:
    """A circle with its mark; the page to turn to stands below it."""
    size = 2 * EXIT_CIRCLE
    mark = Line(symbol.number, TITLE, True)
    page = Line(symbol.title, DETAIL)
    below = page.height if symbol.title else 0.0
    body_y = -below / 2
    words = [_centred(mark, body_y - mark.height / 2)]
    if symbol.title:
        words.append(_centred(page, body_y + EXIT_CIRCLE))
    room = max(size, page.width)
    return Figure(symbol, room, size + below, size, size, body_y, tuple(words))


def _preparation(symbol: Symbol) -> Figure:
    lines = [Line(symbol.title, DETAIL, True)]
    room = _column(*(Line(detail, DETAIL) for detail in symbol.details))
    for detail in symbol.details:
        lines.extend(wrap(detail, room, DETAIL))
    block = sum(line.height for line in lines)
    height = block + 2 * _PAD * 0.7
    width = max(line.width for line in lines) + 2 * point(height) + 2 * _PAD * 0.7
    words, top = [], -block / 2
    for line in lines:
        words.append(_centred(line, top))
        top += line.height
    room = width + (2 * _SIDE if symbol.entered else 0.0)
    return Figure(symbol, room, height, width, height, 0.0, tuple(words))


def point(height: float) -> float:
    """How far the points of a hexagon of that height reach out."""
    return min(height / 4, 16.0)


def _annotation(symbol: Symbol) -> Figure:
    """Each signal word once, in its bar; below it the hazards it stands for; notes below all."""
    room = _column(
        *(Line(warning.title, DETAIL) for warning in symbol.warnings),
        *(Line(detail, DETAIL) for detail in symbol.details),
    )
    title = Line(symbol.title, DETAIL, True)
    words: list[Placed] = []
    top, said = 2.0, ""
    for warning in symbol.warnings:
        if warning.signal != said:
            top += 2 if said else 0
            said = warning.signal
            bar = Line(said.upper(), DETAIL, True)
            if not words:  # whose bracket it is stands beside the gravest word
                beside = bar_width(bar, said) + 8
                words.append(Placed(title, beside, base_line(title, top, SIGNAL_BAR)))
            words.append(Placed(bar, 0.0, base_line(bar, top, SIGNAL_BAR), "start", said))
            top += SIGNAL_BAR + 2
        for line in wrap(warning.title, room, DETAIL):
            words.append(Placed(line, 0.0, base_line(line, top)))
            top += line.height
        top += 2
    if not words:
        words.append(Placed(title, 0.0, base_line(title, top)))
        top += title.height
    for detail in symbol.details:
        for line in wrap(detail, room, DETAIL):
            words.append(Placed(line, 0.0, base_line(line, top)))
            top += line.height
    height = top + 3
    column = max(
        placed.x + (bar_width(placed.line, placed.signal) if placed.signal else placed.line.width)
        for placed in words
    )
    width = column + 2 * 7.0
    high = height + _APART
    return Figure(
        symbol,
        width + 2 * _APART,
        high,
        width,
        height,
        -_APART / 2,
        tuple(replace(one, x=one.x - column / 2, y=one.y - high / 2) for one in words),
    )


def bar_width(word: Line, signal: str) -> float:
    """Width of the bar of a signal word; all but "notice" have the alert triangle in it."""
    return word.width + 8 + (0.0 if signal == "notice" else ALERT)


def _centred(line: Line, top: float) -> Placed:
    return Placed(line, 0.0, base_line(line, top), "middle")


def base_line(line: Line, top: float, room: float | None = None) -> float:
    """The base line of words whose capitals stand midway in a room (their line's height).

    Capitals of Atkinson Hyperlegible are 0.67 of the type size high.
    """
    return top + (line.height if room is None else room) / 2 + line.size * 0.335
