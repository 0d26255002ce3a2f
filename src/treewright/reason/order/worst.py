"""The order whose longest way is shortest: fewest minutes in the worst case, proven."""

from __future__ import annotations

from fractions import Fraction

from treewright.reason.order.bounds import dearest
from treewright.reason.order.ground import Ground, Point
from treewright.reason.order.instance import Instance, bits
from treewright.reason.order.plan import deep


def least_worst(of: Instance) -> Fraction:
    """The minutes that the best order for the worst case needs there, set-up included.

    Its expected minutes may be more than need be. Meant for questions of some twenty faults.
    """
    with deep(len(of.suspects), len(of.probes)):
        ground = Ground(of)
        return Fraction(_Worst(ground).solve(ground.start, None), of.per_minute)


class _Worst:
    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.solved: dict[Point, int] = {}
        self.low: dict[Point, int] = {}

    def bound(self, point: Point) -> int:
        """The cheapest checks, as many as the suspects need, or the dearest to tell two apart."""
        known = self.solved.get(point, self.low.get(point))
        if known is not None:
            return known
        ground, left = self.ground, list(bits(point.left))
        bound = max(dearest(ground.clearing.costs(at, point.held), point.left) for at in left)
        if ground.sure:
            costs = [ground.instance.costs[check] for check in ground.useful(point)]
            count, can = 0, 1
            while can < len(left):
                count, can = count + 1, can * ground.widest
            bound = max(bound, sum(costs[:count]))
        self.low[point] = bound
        return bound

    def solve(self, point: Point, limit: int | None) -> int:
        """The least worst from here, exact if below the limit, else no less than the limit."""
        known = self.solved.get(point)
        if known is not None:
            return known
        low = self.bound(point)
        if limit is not None and low >= limit:
            return low
        options = self.ground.options(point)
        if not options:
            self.solved[point] = self.closing(point)
            return self.solved[point]
        ranked = [(o.cost + max(self.bound(lead) for lead in o.leads), o) for o in options]
        ranked.sort(key=lambda one: one[0])
        best, found = limit, False
        for least, option in ranked:
            if best is not None and least >= best:
                break
            then = 0
            for lead in sorted(option.leads, key=self.bound, reverse=True):
                then = max(then, self.solve(lead, None if best is None else best - option.cost))
                if best is not None and option.cost + then >= best:
                    break
            if best is None or option.cost + then < best:
                best, found = option.cost + then, True
        assert best is not None
        if found:
            self.solved[point] = best
        else:
            self.low[point] = max(low, best)
        return best

    def closing(self, point: Point) -> int:
        """Every suspect of an end tried in turn."""
        of = self.ground.instance
        if of.last == "inferred":
            return 0
        faults = [fault for at in bits(point.left) for fault in bits(self.ground.members[at])]
        return sum(self.ground.confirming(fault, point) for fault in faults)
