"""Lines of the drawing: their paths, their heads, how near they come to a place.

Knows geometry and the notation of SVG paths, and nothing of what a line means.
"""

from __future__ import annotations

from collections.abc import Iterator

from treewright.record import record
from treewright.render.chart.engine import Layout, Point, Route


def pair(point: Point) -> str:
    return f"{n(point[0])} {n(point[1])}"


def n(value: float) -> str:
    """A length with at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path_of(route: Route) -> str:
    return f"M{pair(route.points[0])}C{' '.join(map(pair, route.points[1:]))}"


def arrow_head(start: Point, tip: Point, ink: str) -> str:
    dx, dy = tip[0] - start[0], tip[1] - start[1]
    size = (dx * dx + dy * dy) ** 0.5 or 1.0
    ux, uy = dx / size, dy / size
    back = (tip[0] - 9 * ux, tip[1] - 9 * uy)
    corners = (tip, (back[0] - 4 * uy, back[1] + 4 * ux), (back[0] + 4 * uy, back[1] - 4 * ux))
    return f'<path d="M{pair(corners[0])}L{pair(corners[1])}L{pair(corners[2])}Z" fill="{ink}"/>'


def toward(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


_NEAR = 32.0  # side of one square of the grid of points


@record
class Strokes:
    """Points close together on all lines, by the square of a grid that they lie in."""

    squares: dict[tuple[int, int], list[Point]]

    def near(self, left: float, top: float, right: float, bottom: float) -> Iterator[Point]:
        """All points in a rectangle, and some around it."""
        for row in range(int(top // _NEAR), int(bottom // _NEAR) + 1):
            for column in range(int(left // _NEAR), int(right // _NEAR) + 1):
                yield from self.squares.get((column, row), ())


def strokes(layout: Layout) -> Strokes:
    """Where the lines of a layout run."""
    squares: dict[tuple[int, int], list[Point]] = {}
    for route in layout.routes.values():
        points = list(_along(route.points))
        if route.tip is not None:
            points.append(route.tip)
        for point in points:
            squares.setdefault((int(point[0] // _NEAR), int(point[1] // _NEAR)), []).append(point)
    return Strokes(squares)


def _along(points: tuple[Point, ...]) -> Iterator[Point]:
    for at in range(0, len(points) - 3, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[at : at + 4]
        for a, b, c, d in _WEIGHTS:
            yield a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy


def clearance(place: Point, lines: Strokes, enough: float) -> float:
    """How far a place is from all lines; beyond `enough` it makes no difference."""
    x, y = place
    found = lines.near(x - enough, y - enough, x + enough, y + enough)
    near = min(((px - x) ** 2 + (py - y) ** 2 for px, py in found), default=enough**2)
    return float(min(near, enough**2) ** 0.5)


# How much each of a Bézier piece's four points counts, at nine places along it.
_WEIGHTS = tuple(
    ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3)
    for t in (step / 8 for step in range(9))
)
