"""Which ways read better as a pair of circles: those whose lines cross others or are long.

Looks at a chart that was laid out. Knows plans and layouts; nothing of symbols' shapes, of the
engine or of paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from treewright.record import record
from treewright.render.chart.engine import Layout, Point
from treewright.render.chart.symbols import Arrow, Plan
from treewright.render.chart.ways import Jumps

LONG = 1000.0
"""A longer line is hard to follow: some 28 cm in print."""


@record
class Tangle:
    """How the lines of a chart run; a smaller one reads better.

    Attributes:
        crossings: how often two of them cross that have no symbol in common.
        length: of all.
    """

    crossings: int
    length: float

    def better_than(self, other: Tangle) -> bool:
        return (self.crossings, self.length) < (other.crossings, other.length)


@record
class _Line:
    """One arrow as it runs: its pieces, each with its left, top, right and lower edge."""

    arrow: Arrow
    pieces: tuple[tuple[float, float, float, float, Point, Point], ...]
    left: float
    top: float
    right: float
    low: float
    length: float


def untangled(plan: Plan, layout: Layout) -> tuple[Tangle, Jumps]:
    """How the lines of a chart run, and the ways that should not be lines.

    Of lines that cross, the one that crosses most is taken out, then the longest, until none
    cross; the usual way goes last. No symbol loses the last line that leads to it.

    Returns:
        The tangle as it is, and (node, answer) of the ways to be taken out; none where no line
        can be spared.
    """
    lines = list(_lines(plan, layout))
    crossed = _crossings(lines)
    total = sum(line.length for line in lines)
    tangle = Tangle(sum(map(len, crossed.values())) // 2, total)
    doors = {symbol.key for symbol in plan.symbols if symbol.origin is None}
    into: dict[str, int] = {}
    for line in lines:
        into[line.arrow.head] = into.get(line.arrow.head, 0) + 1

    def spared(at: int) -> bool:
        arrow = lines[at].arrow
        return arrow.origin is not None and arrow.head in doors and into[arrow.head] > 1

    jumps: set[tuple[str, int]] = set()

    def take_out(at: int) -> None:
        arrow = lines[at].arrow
        assert arrow.origin is not None
        jumps.add(arrow.origin)
        into[arrow.head] -= 1
        for other in crossed.pop(at, ()):
            crossed[other].remove(at)

    def worth(at: int) -> tuple[int, bool, float]:
        return len(crossed[at]), lines[at].arrow.kind != "good", lines[at].length

    while found := [at for at, others in crossed.items() if others and spared(at)]:
        take_out(max(found, key=worth))
    for at in sorted(range(len(lines)), key=lambda at: -lines[at].length):
        if lines[at].length <= LONG:
            break
        if lines[at].arrow.kind != "good" and lines[at].arrow.origin not in jumps and spared(at):
            take_out(at)
    return tangle, frozenset(jumps)


def _lines(plan: Plan, layout: Layout) -> Iterator[_Line]:
    """All lines but those that tie annotations to their symbols."""
    for number, arrow in enumerate(plan.arrows, 1):
        if arrow.kind == "note":
            continue
        pieces, length = [], 0.0
        for part in (f"w{number}", f"e{number}"):  # to the words of the answer; from them on
            route = layout.routes.get(part)
            if route is None:
                continue
            # The pieces of a broken line are straight: their ends say all.
            points = route.points[::3] + ((route.tip,) if route.tip is not None else ())
            for start, end in pairwise(points):
                (x1, y1), (x2, y2) = start, end
                length += ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
                pieces.append((min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2), start, end))
        if pieces:
            lefts, tops, rights, lows, _, _ = zip(*pieces, strict=True)
            edges = min(lefts), min(tops), max(rights), max(lows)
            yield _Line(arrow, tuple(pieces), *edges, length)


def _crossings(lines: list[_Line]) -> dict[int, list[int]]:
    """For each line those it crosses, as often as it does."""
    found: dict[int, list[int]] = {at: [] for at in range(len(lines))}
    order = sorted(found, key=lambda at: lines[at].top)
    for place, at in enumerate(order):
        one = lines[at]
        for other_at in order[place + 1 :]:
            other = lines[other_at]
            if other.top > one.low:
                break
            if other.left > one.right or one.left > other.right or _joined(one, other):
                continue
            count = _count(one, other)
            found[at].extend([other_at] * count)
            found[other_at].extend([at] * count)
    return found


def _joined(one: _Line, other: _Line) -> bool:
    mine, theirs = one.arrow, other.arrow
    return (
        mine.tail == theirs.tail
        or mine.head == theirs.head
        or mine.tail == theirs.head
        or mine.head == theirs.tail
    )


def _count(one: _Line, other: _Line) -> int:
    count = 0
    for left, top, right, low, a, b in one.pieces:
        for left2, top2, right2, low2, c, d in other.pieces:
            if left2 > right or left > right2 or top2 > low or top > low2:
                continue
            count += _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0
    return count


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
