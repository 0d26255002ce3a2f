"""The lines of a laid-out chart, how long they are and where they cross: for tests and bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from treewright.render.chart.engine import Layout
from treewright.render.chart.plan import Planner
from treewright.render.chart.symbols import Plan
from treewright.render.outline import Outline

Point = tuple[float, float]
_STEPS = 12  # straight pieces for one Bézier piece


@dataclass(frozen=True)
class Line:
    """One arrow: its pieces, the symbols at its ends, whether it only ties an annotation."""

    pieces: tuple[tuple[Point, ...], ...]
    ends: frozenset[str]
    tie: bool


def lines(plan: Plan, layout: Layout) -> list[Line]:
    found = []
    for number, arrow in enumerate(plan.arrows, 1):
        pieces = []
        for part in (f"w{number}", f"e{number}"):  # to the words of the answer; from them on
            if part in layout.routes:
                route = layout.routes[part]
                points = _flattened(route.points)
                pieces.append((*points, route.tip) if route.tip is not None else points)
        found.append(
            Line(tuple(pieces), frozenset((arrow.tail, arrow.head)), arrow.kind == "note")
        )
    return found


def _flattened(points: tuple[Point, ...]) -> tuple[Point, ...]:
    flat = [points[0]]
    for at in range(0, len(points) - 3, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[at : at + 4]
        for step in range(1, _STEPS + 1):
            t = step / _STEPS
            a, b, c, d = (1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3
            flat.append((a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy))
    return tuple(flat)


def length(line: Line) -> float:
    return sum(
        ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        for piece in line.pieces
        for (x1, y1), (x2, y2) in pairwise(piece)
    )


@dataclass(frozen=True)
class Figures:
    """How many lines a chart has without ties, how often they cross, their length."""

    lines: int
    crossings: int
    with_ties: int
    length: float


def figures(plan: Plan, layout: Layout) -> Figures:
    drawn = lines(plan, layout)
    flow = [line for line in drawn if not line.tie]
    return Figures(len(flow), crossings(flow), crossings(drawn), sum(map(length, flow)))


def plain(outline: Outline) -> Plan:
    """The whole chart with a line for every way but those back."""
    return Planner(outline).plan(jumps=frozenset())


def crossings(some: Sequence[Line]) -> int:
    """How often two lines with no symbol in common cross."""
    boxes = [_box(line) for line in some]
    return sum(
        _cross(some[a], some[b])
        for a, b in combinations(range(len(some)), 2)
        if not some[a].ends & some[b].ends and _overlap(boxes[a], boxes[b])
    )


def _cross(one: Line, other: Line) -> int:
    count = 0
    for mine in one.pieces:
        for theirs in other.pieces:
            for p, q in pairwise(mine):
                for r, s in pairwise(theirs):
                    count += _turn(p, q, r) * _turn(p, q, s) < 0 and _turn(r, s, p) * _turn(
                        r, s, q
                    ) < 0
    return count


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _box(line: Line) -> tuple[float, float, float, float]:
    points = [point for piece in line.pieces for point in piece] or [(0.0, 0.0)]
    return (
        min(x for x, _ in points), min(y for _, y in points),
        max(x for x, _ in points), max(y for _, y in points),
    )  # fmt: skip


def _overlap(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]
