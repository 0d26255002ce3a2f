"""The page around a chart: head, hazards, legend, and what room they leave. Sizes in points."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Literal

from treewright.record import record
from treewright.render.chart.legend import legend
from treewright.render.chart.type import plain_words, wrap
from treewright.render.outline import Hazard, Outline

Paper = Literal["letter", "a4", "a3", "a2", "a1", "a0"]

SIZES: Mapping[Paper, tuple[float, float]] = {
    # Width and height in points (1/72 in): ISO 216 in whole mm; Letter of ANSI/ASME Y14.1.
    "letter": (612.0, 792.0),
    "a4": (210 / 25.4 * 72, 297 / 25.4 * 72),
    "a3": (297 / 25.4 * 72, 420 / 25.4 * 72),
    "a2": (420 / 25.4 * 72, 594 / 25.4 * 72),
    "a1": (594 / 25.4 * 72, 841 / 25.4 * 72),
    "a0": (841 / 25.4 * 72, 1189 / 25.4 * 72),
}

SERIES: tuple[Paper, ...] = ("a4", "a3", "a2", "a1", "a0")
"""Smallest first."""

USUAL: tuple[Paper, ...] = ("a4", "a3")
"""Tried in this order where no paper is asked for: what an office prints. The last is cut."""

LEAST = 8.0
"""The smallest type on paper, in points."""

LARGEST_SCALE = 1.3
MARGIN = 10 / 25.4 * 72
PAGE_TITLE, _BESIDE = 16.0, 170.0  # size of the title; room for the edition mark beside it
_LINE = 14.0  # height of a line of the page's own words
GAP = 8.0
HAZARD_SIZE, HAZARD_GAP = 8.0, 5.0  # size of type in the list of hazards; between two of them
_NARROWEST, _WIDEST = 140.0, 280.0  # columns of that list: some 35 to 70 letters
HAZARD_ALLEY = 12.0
REMEDY_SIZE = 9.0


@record
class Frame:
    """What a page holds besides the chart, in points.

    Attributes:
        across: the paper lies on its side.
        head: height of title, machine and edition mark.
        hazards: the list of hazards, by column, to be read downwards; nothing on all pages
            but the first.
        foot: height of the legend and what a retest means; 0 on all pages but the first.
        room, height: what is left to the chart.
    """

    across: bool
    head: float
    hazards: tuple[tuple[Hazard, ...], ...]
    foot: float
    room: float
    height: float


def frame(
    outline: Outline, hazards: tuple[Hazard, ...], paper: Paper, *, across: bool, first: bool
) -> Frame:
    """The frame of a page that lists these hazards; `first` has title and legend in full."""
    width, height = SIZES[paper][::-1] if across else SIZES[paper]
    room = width - 2 * MARGIN
    head, foot = 2 * _LINE, 0.0
    if first:
        title = wrap(plain_words(outline.title), room - _BESIDE, PAGE_TITLE, bold=True)
        machine = wrap(plain_words(outline.machine), room - _BESIDE, 10.0)
        head = max(2, len(title)) * PAGE_TITLE * 1.2 + len(machine) * _LINE
        after = wrap(after_remedy(outline), room, REMEDY_SIZE)
        foot = legend(room)[1] + len(after) * _LINE + GAP
    columns, listed = _listed(hazards, room)
    left = height - 2 * MARGIN - head - listed - foot - GAP
    return Frame(across, head, columns, foot, room, max(left, 1.0))


def _listed(
    hazards: tuple[Hazard, ...], room: float
) -> tuple[tuple[tuple[Hazard, ...], ...], float]:
    """The list of hazards in columns as low as can be, and its height.

    A column may be empty: all are equally wide, and none too wide to be read.
    """
    if not hazards:
        return (), 0.0
    fewest = math.ceil((room + HAZARD_ALLEY) / (_WIDEST + HAZARD_ALLEY))
    most = max(fewest, int((room + HAZARD_ALLEY) / (_NARROWEST + HAZARD_ALLEY)))
    ways = (_in_columns(hazards, room, count) for count in range(fewest, most + 1))
    columns, height = min(ways, key=lambda way: way[1])
    return columns, height + GAP


def _in_columns(
    hazards: tuple[Hazard, ...], room: float, count: int
) -> tuple[tuple[tuple[Hazard, ...], ...], float]:
    wide = (room + HAZARD_ALLEY) / count - HAZARD_ALLEY
    heights = [_hazard_height(hazard, wide) for hazard in hazards]
    limits = {
        sum(heights[start:end])
        for start in range(len(heights))
        for end in range(start + 1, len(heights) + 1)
    }
    for limit in sorted(limits):
        columns = _filled(heights, limit)
        if len(columns) <= count and limit >= max(heights):
            filled = tuple(hazards[start:end] for start, end in columns)
            return filled + ((),) * (count - len(columns)), limit
    raise AssertionError("the sum of all heights leaves one column")


def _filled(heights: list[float], limit: float) -> list[tuple[int, int]]:
    """First and end of each column, none higher than the limit where it holds more than one."""
    columns, start = [], 0
    for at in range(1, len(heights) + 1):
        if at == len(heights) or sum(heights[start : at + 1]) > limit:
            columns.append((start, at))
            start = at
    return columns


@lru_cache(maxsize=1_000)
def _hazard_height(hazard: Hazard, column: float) -> float:
    """Height of one hazard and the gap below it; its signal word stands before its title."""
    title = f"{hazard.signal.upper()}MMM {plain_words(hazard.title)}"
    head = wrap(title, column, HAZARD_SIZE, bold=True)
    body = wrap(plain_words(f"{hazard.harm} {hazard.avoid}"), column, HAZARD_SIZE)
    return (len(head) + len(body)) * HAZARD_SIZE * 1.25 + 5.0 + HAZARD_GAP


def after_remedy(outline: Outline) -> str:
    """What the circle below a fault means."""
    again = "After a remedy take the step in the circle below it again. Its good answer "
    if outline.after_remedy == "finish":
        return f"{again}ends the job; any other goes on as drawn."
    return f"{again}goes on as drawn, and so does any other."
