"""Directed graphs of numbered points: parts that hang together, orders, dominators.

The plain theory below `model/graph`, which puts names and ways to it. A graph is a list of
successor lists, point by point. Nothing here recurses, so that no length of way is too long.
Knows nothing of trees.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from typing import TypeAlias

Successors: TypeAlias = Sequence[Sequence[int]]


def reached(successors: Successors, starts: Iterable[int]) -> list[int]:
    """All points that can be reached from the starts (and these), the nearest first."""
    found = list(dict.fromkeys(starts))
    seen = bytearray(len(successors))
    for point in found:
        seen[point] = 1
    for point in found:  # grows while it is walked
        for other in successors[point]:
            if not seen[other]:
                seen[other] = 1
                found.append(other)
    return found


def components(successors: Successors) -> list[list[int]]:
    """The strongly connected components, each in ascending order; every point is in one.

    Tarjan's algorithm (SIAM J. Computing 1, 1972) with a stack of its own. A component comes
    after all that can be reached from it.
    """
    count = len(successors)
    index = [0] * count  # 0: not yet met
    low = [0] * count
    done = bytearray(count)
    open_points: list[int] = []
    found: list[list[int]] = []
    clock = 0
    for root in range(count):
        if index[root]:
            continue
        clock += 1
        index[root] = low[root] = clock
        open_points.append(root)
        work = [(root, iter(successors[root]))]
        while work:
            point, rest = work[-1]
            for other in rest:
                if not index[other]:
                    clock += 1
                    index[other] = low[other] = clock
                    open_points.append(other)
                    work.append((other, iter(successors[other])))
                    break
                if not done[other]:
                    low[point] = min(low[point], index[other])
            else:
                work.pop()
                if work:
                    above = work[-1][0]
                    low[above] = min(low[above], low[point])
                if low[point] == index[point]:
                    at = len(open_points) - 1
                    while open_points[at] != point:
                        at -= 1
                    part = sorted(open_points[at:])
                    del open_points[at:]
                    for member in part:
                        done[member] = 1
                    found.append(part)
    return found


def closing(successors: Successors, starts: Iterable[int]) -> list[tuple[int, int]]:
    """The arcs that close a way round, as (point, place in its successor list).

    Walked depth first from the starts, then from what is left; without these arcs the graph
    has no way round.
    """
    count = len(successors)
    state = bytearray(count)  # 0 new, 1 on the way, 2 left behind
    found: list[tuple[int, int]] = []
    for root in [*starts, *range(count)]:
        if state[root]:
            continue
        state[root] = 1
        work = [(root, enumerate(successors[root]))]
        while work:
            point, rest = work[-1]
            for place, other in rest:
                if state[other] == 1:
                    found.append((point, place))
                elif not state[other]:
                    state[other] = 1
                    work.append((other, enumerate(successors[other])))
                    break
            else:
                state[point] = 2
                work.pop()
    return found


def topological(successors: Successors) -> list[int]:
    """The points, each before its successors, the smaller number first where both may be.

    Raises:
        ValueError: the graph has a way round.
    """
    waiting = [0] * len(successors)
    for row in successors:
        for other in row:
            waiting[other] += 1
    ready = [point for point, left in enumerate(waiting) if not left]
    found: list[int] = []
    while ready:
        point = heapq.heappop(ready)
        found.append(point)
        for other in successors[point]:
            waiting[other] -= 1
            if not waiting[other]:
                heapq.heappush(ready, other)
    if len(found) < len(waiting):
        raise ValueError("there is a way round")
    return found


def dominators(successors: Successors, start: int) -> dict[int, int]:
    """For every point reached but the start: its immediate dominator.

    That is the last point that every way from the start to it passes. Lengauer and Tarjan,
    ACM TOPLAS 1 (1979), in the version with plain path compression: O(m log n). The simpler
    iterative scheme is quadratic where many checks lead to one hand-off.
    """
    order: list[int] = []  # by number in depth-first order
    number = [-1] * len(successors)
    parent: list[int] = []
    number[start] = 0
    order.append(start)
    parent.append(-1)
    work = [(0, iter(successors[start]))]
    while work:
        at, rest = work[-1]
        for other in rest:
            if number[other] < 0:
                number[other] = len(order)
                order.append(other)
                parent.append(at)
                work.append((number[other], iter(successors[other])))
                break
        else:
            work.pop()

    count = len(order)
    before: list[list[int]] = [[] for _ in range(count)]
    for at, point in enumerate(order):
        for other in successors[point]:
            before[number[other]].append(at)

    semi = list(range(count))
    best = list(range(count))  # the smallest semidominator on the compressed path
    above = [-1] * count
    bucket: list[list[int]] = [[] for _ in range(count)]
    result = [-1] * count

    def find(at: int) -> int:
        if above[at] < 0:
            return at
        path = [at]
        while above[above[path[-1]]] >= 0:
            path.append(above[path[-1]])
        for step in reversed(path[:-1]):
            up = above[step]
            if semi[best[up]] < semi[best[step]]:
                best[step] = best[up]
            above[step] = above[up]
        return best[at]

    for at in range(count - 1, 0, -1):
        for earlier in before[at]:
            semi[at] = min(semi[at], semi[find(earlier)])
        bucket[semi[at]].append(at)
        up = parent[at]
        above[at] = up
        for other in bucket[up]:
            low = find(other)
            result[other] = low if semi[low] < semi[other] else up
        bucket[up].clear()
    for at in range(1, count):
        if result[at] != semi[at]:
            result[at] = result[result[at]]
    return {order[at]: order[result[at]] for at in range(1, count)}
