"""The best order of checks, proven: branch and bound over what is still suspected.

A point of the job is solved once, whichever way leads there. A check is tried in the order of
what it costs at least; what cannot be better than the best found is left out. When the time is
up, the best order found so far is given with what every order costs at least.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction
from math import ceil

from treewright.reason.order.bounds import entropy_bound, lower_bound
from treewright.reason.order.greedy import Ahead, Greedy, cost_of, plan_of
from treewright.reason.order.ground import Ground, Option, Point
from treewright.reason.order.instance import Instance
from treewright.reason.order.plan import Plan, deep
from treewright.reason.order.rank import own_checks
from treewright.record import record

WIDTH = 8  # checks tried at a point when looking ahead
EFFORT = 2_000_000  # checks weighed for it, a second or two


@record
class Best:
    """The best order found.

    Attributes:
        plan: the order.
        expected: its minutes.
        at_least: what every order costs, proven; the same as `expected` where it is the best.
        proven: whether it is the best there is.
        points: how many points of the job were opened for it.
    """

    plan: Plan
    expected: Fraction
    at_least: Fraction
    proven: bool
    points: int


class _TimeUp(Exception):
    pass


def best_order(of: Instance, seconds: float | None = None, points: int | None = None) -> Best:
    """The best order of checks, or the best found in a time, with a proven bound.

    Args:
        of: the question.
        seconds: how long to search, about; None: until it is proven. What is quick is done
            in any case (some seconds for a thousand faults).
        points: how many points of the job to open at most; unlike a time, this gives the same
            order on every machine.

    Returns:
        The order. What it is depends on a limit only where `proven` is false.
    """
    sorted_once = own_checks(of)
    if sorted_once is not None:
        exact = of.minutes(sorted_once[1])
        return Best(sorted_once[0], exact, exact, True, 0)
    ground = Ground(of)
    with deep(len(of.suspects), len(of.probes)):
        return _Search(ground, seconds, points).run()


def cheaper(of: Instance, than: Fraction, points: int | None = None) -> Best | bool:
    """Whether any order takes less than some minutes: quicker to know than the best order.

    Args:
        of: the question.
        than: expected minutes.
        points: how many points of the job to open at most.

    Returns:
        The best order, if it takes less; True where it is proven that none does; False where
        that is not known.
    """
    sorted_once = own_checks(of)
    if sorted_once is not None:
        exact = of.minutes(sorted_once[1])
        return exact >= than or Best(sorted_once[0], exact, exact, True, 0)
    search = _Search(Ground(of), None, points)
    with deep(len(of.suspects), len(of.probes)):
        return search.below(ceil(than * of.total * of.per_minute))


class _Search:
    def __init__(self, ground: Ground, seconds: float | None, points: int | None) -> None:
        self.ground = ground
        self.most_points = points
        self.until = None if seconds is None else time.monotonic() + seconds
        self.solved: dict[Point, int] = {}
        self.chosen: dict[Point, Option | None] = {}
        self.low: dict[Point, int] = {}  # of points not solved: no order costs less
        self.points = 0
        self.greedy = Greedy(ground)

    def run(self) -> Best:
        ground, start = self.ground, self.ground.start
        ahead = Ahead(ground, self.greedy, WIDTH, EFFORT)
        most = ahead.value(start)
        try:
            self.solve(start, most + 1)
        except _TimeUp:
            return self.unproven(ahead)
        plan = plan_of(ground, self.choose)
        exact = ground.instance.minutes(self.solved[start])
        return Best(plan, exact, exact, True, self.points)

    def below(self, limit: int) -> Best | bool:
        """The best order if it costs less than a limit; whether it is proven that none does."""
        start, of = self.ground.start, self.ground.instance
        try:
            value = self.solve(start, limit)
        except _TimeUp:
            return False
        if value >= limit:
            return True
        exact = of.minutes(value)
        return Best(plan_of(self.ground, self.choose), exact, exact, True, self.points)

    def choose(self, point: Point) -> Option | None:
        return self.chosen[point]

    def unproven(self, ahead: Ahead) -> Best:
        """The best found: what was solved is taken as it is, the rest by looking ahead."""
        start, of = self.ground.start, self.ground.instance
        best = ahead
        if self.solved:
            better = Ahead(self.ground, self.greedy, WIDTH, EFFORT // 4)
            better.then = self.solved_or(ahead)
            best = min((better, ahead), key=lambda order: order.value(start))
        value = best.value(start)
        low = self.bound(start)
        options = self.ground.options(start)
        if options:
            low = max(low, min(cost_of(self.ground, o, start, self.bound) for o in options))
        low = max(low, ceil(entropy_bound(self.ground, start)))
        low = min(low, value)
        plan = plan_of(self.ground, best.choose)
        return Best(plan, of.minutes(value), of.minutes(low), low == value, self.points)

    def solved_or(self, other: Ahead) -> Callable[[Point], int]:
        """What a point costs by the search if it was solved, else by another order."""
        return lambda point: self.solved[point] if point in self.solved else other.value(point)

    def bound(self, point: Point) -> int:
        """No order costs less from this point on."""
        known = self.solved.get(point)
        if known is None:
            known = self.low.get(point)
        if known is None:
            known = self.low[point] = lower_bound(self.ground, point)
        return known

    def solve(self, point: Point, limit: int) -> int:
        """What the best order costs from a point on, if that is below a limit.

        Returns:
            The exact cost, and then it is in `solved`; or a bound that is no less than the limit.
        """
        known = self.solved.get(point)
        if known is not None:
            return known
        low = self.bound(point)
        if low >= limit:
            return low
        self.points += 1
        if self.most_points is not None and self.points > self.most_points:
            raise _TimeUp
        options = self.ground.options(point)
        if not options:
            self.chosen[point] = None
            cost = self.solved[point] = self.ground.closing(point)
            return cost
        weight, bound = self.ground.weight_at(point), self.bound
        ranked = []
        for option in options:
            if self.until is not None and time.monotonic() > self.until:
                raise _TimeUp
            lows = [bound(lead) for lead in option.leads]
            ranked.append((weight * option.cost + sum(lows), option, lows))
        ranked.sort(key=lambda one: one[0])
        best, choice, missed = limit, None, None
        for least, option, lows in ranked:
            if least >= best:
                missed = least if missed is None else min(missed, least)
                break
            cost = least
            # The lows are those that are in `least`: a bound may have grown since.
            for lead, low_then in zip(option.leads, lows, strict=True):
                cost += self.solve(lead, best - cost + low_then) - low_then
                if cost >= best:
                    break
            if cost < best:  # then every lead was solved
                best, choice = cost, option
            else:
                missed = cost if missed is None else min(missed, cost)
        if choice is None:
            grown = self.low[point] = max(low, missed or 0)
            return grown
        self.chosen[point] = choice
        self.solved[point] = best
        return best
