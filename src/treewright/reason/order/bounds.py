"""What a job costs at least: bounds that never lie above the best order, in whole numbers.

Three of them, each over all suspects that are left at a point:
    - lengths: in any tree of checks with r answers the sum of share times number of checks is
      no less than that of a Huffman code over the groups (r-ary, padded with zero shares;
      Huffman 1952). No check is worth taking twice on one way, so a way of k checks costs no less
      than the k cheapest that tell anything apart; this is convex in k, so (Jensen) the mean
      costs no less than a way of the mean length.
    - entropy: the same with the shares' entropy, where each check gives at most log2(r) bits.
    - separation: on the way of each suspect every other must be cleared; the dearest of these,
      each by the cheapest check that can, is paid. Of set-up alone the same holds, and this can be
      added to the first.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from math import log2

from treewright.reason.order.ground import Ground, Point
from treewright.reason.order.instance import bits

FEW = 256  # suspects up to which separation is looked at
SCALE = 24  # binary places of logarithms


@lru_cache(1 << 18)
def log_floor(number: int) -> int:
    """A whole number no more than log2(number) times 2**SCALE, and less than three below it.

    The library's logarithm is off by far less than a unit of this scale.
    """
    return int(log2(number) * (1 << SCALE)) - 1


def huffman(weights: Sequence[int], arity: int = 2) -> int:
    """The least sum of weight times length over all prefix codes with `arity` signs."""
    queue = sorted(weights)
    if len(queue) < 2:
        return 0
    queue[:0] = [0] * ((1 - len(queue)) % (arity - 1) if arity > 2 else 0)
    total = 0
    while len(queue) > 1:
        merged = sum(queue[:arity])
        del queue[:arity]
        insort(queue, merged)
        total += merged
    return total


def entropy(weights: Sequence[int]) -> Fraction:
    """The entropy in bits of shares in these proportions, rounded down (2**-22 at most)."""
    total = sum(weights)
    spread = total * log_floor(total) - sum(w * (log_floor(w) + 3) for w in weights if w)
    return max(Fraction(0), Fraction(spread, total << SCALE))


def along(weight: int, lengths: int, costs: Sequence[int]) -> int:
    """What ways of a mean length cost at least, times weight.

    Args:
        weight: all shares together.
        lengths: the sum of share times number of checks.
        costs: of the checks that can be taken, ascending; the last stands for all further ones.
    """
    if not (lengths and costs and weight):
        return 0
    whole, rest = divmod(lengths, weight)
    if whole < len(costs):
        return weight * sum(costs[:whole]) + rest * costs[whole]
    return weight * sum(costs) + (lengths - weight * len(costs)) * costs[-1]


def entropy_bound(ground: Ground, point: Point) -> Fraction:
    """The entropy of the classes left, paid with the best rates log2(r) / cost first."""
    classes = list(_classes(ground, point).values())
    weight = sum(classes)
    if not weight:
        return Fraction(0)
    need, paid = entropy(classes), Fraction(0)
    offers = []
    for check in ground.useful(point):
        can = min(len(ground.gives[check]), point.left.bit_count())
        offers.append((ground.instance.costs[check], Fraction(log_floor(can) + 3, 1 << SCALE)))
    for cost, worth in sorted(offers, key=lambda offer: (offer[0] / offer[1], offer[0])):
        part = min(Fraction(1), need / worth)
        paid += cost * part
        need -= worth * part
        if need <= 0:
            break
    return weight * paid


def separation_bound(ground: Ground, point: Point) -> int:
    """For each suspect left the dearest that telling it from another costs, times its weight."""
    return sum(
        weight * dearest(ground.clearing.costs(at, point.held), point.left)
        for at, weight in zip(bits(point.left), ground.weights_at(point), strict=True)
    )


def setup_bound(ground: Ground, point: Point) -> int:
    """The same of set-up alone. It can be added to the bound of lengths, which has none in it."""
    return sum(
        weight * dearest(ground.clearing.setups(at, point.held), point.left)
        for at, weight in zip(bits(point.left), ground.weights_at(point), strict=True)
    )


def dearest(costs: Sequence[tuple[int, int]], left: int) -> int:
    """The first cost that is for one of those left, or 0."""
    for cost, those in costs:
        if those & left:
            return cost
    return 0


def length_bound(ground: Ground, point: Point) -> int:
    """The Huffman bound over the classes left, with the cheapest checks on each way."""
    left = point.left
    if not left & (left - 1):
        return 0
    weights = list(_classes(ground, point).values())
    lengths = huffman(weights, ground.widest)
    costs = [ground.instance.costs[check] for check in ground.useful(point)]
    return along(sum(weights), lengths, costs)


def closing_bound(ground: Ground, point: Point) -> int:
    """What the remedies cost at least, where the last fault is confirmed."""
    if ground.instance.last == "inferred":
        return 0
    total = 0
    for at, weight in zip(bits(point.left), ground.weights_at(point), strict=True):
        if ground.weights[at]:
            total += ground.remedying[at] * weight // ground.weights[at]
    return total


def lower_bound(ground: Ground, point: Point) -> int:
    """The best of the bounds that are quick."""
    bound = length_bound(ground, point)
    if ground.instance.states:
        bound += setup_bound(ground, point)
    if point.left.bit_count() <= FEW:
        bound = max(bound, separation_bound(ground, point))
    return bound + closing_bound(ground, point)


def _classes(ground: Ground, point: Point) -> dict[int, int]:
    """The weights of classes that surely end apart: by a suspect of each.

    Two suspects that no check is sure to tell apart may end together, so they are one class.
    """
    weights = dict(zip(bits(point.left), ground.weights_at(point), strict=True))
    if ground.sure:  # all of them are told apart in the end
        return weights
    found: dict[int, int] = {}
    todo = point.left
    while todo:
        first = (todo & -todo).bit_length() - 1
        grown, edge = 1 << first, 1 << first
        while edge:
            at = (edge & -edge).bit_length() - 1
            edge &= edge - 1
            more = point.left & ~ground.clearing.surely_apart[at] & ~grown
            grown |= more
            edge |= more
        found[first] = sum(weights[at] for at in bits(grown))
        todo &= ~grown
    return found
