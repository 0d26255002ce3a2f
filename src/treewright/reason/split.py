"""Which one new check would help most: how it should divide the faults, and what that saves.

Two questions. A new yes/no check among those that are there may shorten the job: by how many
minutes, if it answers yes with some faults and no with the others? It is looked for among all
divisions that leave the ambiguity groups whole, so that the job before and after comes to the same
end; where there are too many of them, by going from good ones to better ones, and then it is only
the best found. And the largest ambiguity group may be broken: best into parts that are equally
often the fault, since one answer tells most then (Huffman, 1952: value from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from statistics import median

from treewright.reason.order.exact import best_order
from treewright.reason.order.greedy import Greedy
from treewright.reason.order.ground import Ground
from treewright.reason.order.instance import Instance, Probe, bits, instance
from treewright.reason.order.plan import deep
from treewright.record import record

ALL = 9  # ambiguity groups up to which every division is tried: 255 of them
POINTS = 3_000  # points of the job opened for one division
_STARTS = 6  # divisions from which better ones are looked for
_FINAL = 6  # divisions of which the best order is looked for in the end
_MOST_IN_GROUP = 16  # faults of a group of which every division is tried


@record
class Division:
    """A new check: with which faults it says yes, and what the job takes then.

    Attributes:
        yes: bits of faults.
        before, after: expected minutes without it and with it.
        exact: whether no other division saves more, proven; otherwise it is the best found.
    """

    yes: int
    before: Fraction
    after: Fraction
    exact: bool

    @property
    def saved(self) -> Fraction:
        return self.before - self.after


@record
class Broken:
    """An ambiguity group divided by a new check.

    Attributes:
        group: bits of its faults.
        yes: bits of those with which the check says yes.
        part: the share of the yes side within the group, of 1.
        alone: the share of all faults that are isolated to themselves, before and after.
        size: the size of the group that a fault lies in, on average by the shares, before and
            after.
        before, after: expected minutes without the check and with it: it takes its time, too.
        exact: whether no other division of the group is nearer to half.
    """

    group: int
    yes: int
    part: Fraction
    alone: tuple[Fraction, Fraction]
    size: tuple[Fraction, Fraction]
    before: Fraction
    after: Fraction
    exact: bool


def usual_minutes(of: Instance) -> Fraction:
    """The median time of the checks, those that are the same once; a minute without any."""
    times = [Fraction(of.probes[at].cost) for at in bits(of.askers)]
    return Fraction(median(times)) if times else Fraction(1)


def best_division(of: Instance, minutes: Fraction, points: int = POINTS) -> Division | None:
    """The yes/no check of so many minutes that shortens the job most.

    Args:
        of: the question.
        minutes: what the new check takes; it needs no condition.
        points: how many points of the job may be opened for one division.

    Returns:
        The division; None where there are fewer than two groups, so that nothing is to be told
        apart. What it saves may be nothing.
    """
    groups = of.groups()
    if len(groups) < 2:
        return None
    base = best_order(of, points=points)
    every = len(groups) <= ALL
    chosen = list(_all(groups)) if every else _good(of, groups, minutes)
    found: tuple[Fraction, int, int] | None = None
    proven = base.proven
    for yes in chosen:
        best = best_order(with_check(of, yes, minutes), points=points)
        proven = proven and best.proven
        rank = best.expected, min(yes.bit_count(), (of.everything & ~yes).bit_count()), yes
        if found is None or rank < found:
            found = rank
    assert found is not None
    return Division(_smaller(of, found[2]), base.expected, found[0], every and proven)


def broken_group(of: Instance, minutes: Fraction, points: int = POINTS) -> Broken | None:
    """The largest ambiguity group divided as evenly as can be by share; None where all are one.

    Of groups of one size the one that is more often the fault.
    """
    groups = of.groups()
    weight = {group: sum(of.weights[at] for at in bits(group)) for group in groups}
    largest = max(groups, key=lambda group: (group.bit_count(), weight[group], -group))
    if largest.bit_count() < 2:
        return None
    yes, exact = _halves(of, largest)
    total = of.total or 1
    parts = [*(group for group in groups if group != largest), yes, largest & ~yes]
    weight |= {part: sum(of.weights[at] for at in bits(part)) for part in parts}

    def alone(some: Iterable[int]) -> Fraction:
        return Fraction(sum(weight[one] for one in some if one.bit_count() == 1), total)

    def size(some: Iterable[int]) -> Fraction:
        return Fraction(sum(weight[one] * one.bit_count() for one in some), total)

    before = best_order(of, points=points).expected
    after = best_order(with_check(of, yes, minutes), points=points).expected
    part = Fraction(weight[yes], weight[largest]) if weight[largest] else Fraction(0)
    return Broken(largest, yes, part, (alone(groups), alone(parts)), (size(groups), size(parts)),
                  before, after, exact)  # fmt: skip


def with_check(of: Instance, yes: int, minutes: Fraction) -> Instance:
    """The question with one more check, that says yes with some faults and no with the others."""
    new = Probe("new check", minutes, (yes, of.everything & ~yes))
    return instance(of.suspects, (*of.probes, new), of.states, last=of.last, ladder=of.ladder)


def _smaller(of: Instance, yes: int) -> int:
    """The side with fewer faults; of equal ones that without the first fault."""
    no = of.everything & ~yes
    return min(yes, no, key=lambda side: (side.bit_count(), side & 1))


def _all(groups: tuple[int, ...]) -> Iterator[int]:
    """Each division once: the last group always says no."""
    for choice in range(1, 1 << (len(groups) - 1)):
        yield sum(groups[at] for at in bits(choice))


def _good(of: Instance, groups: tuple[int, ...], minutes: Fraction) -> list[int]:
    """Divisions that are good by the quick order, made better by moving one group at a time."""
    known: dict[int, Fraction] = {}

    def value(yes: int) -> Fraction:
        if yes not in known:
            made = with_check(of, yes, minutes)
            with deep(len(made.suspects), len(made.probes)):
                ground = Ground(made)
                known[yes] = made.minutes(Greedy(ground).value(ground.start))
        return known[yes]

    weight = {group: sum(of.weights[at] for at in bits(group)) for group in groups}
    ranked = sorted(groups, key=lambda group: (-weight[group], group))
    starts = list(dict.fromkeys((*groups, *_by_halves(ranked, weight))))
    starts.sort(key=lambda yes: (value(yes), yes))
    for start in starts[:_STARTS]:
        here = start
        while True:
            near = [here ^ group for group in groups]
            near = [yes for yes in near if yes and yes != of.everything]
            better = min(near, key=lambda yes: (value(yes), yes))
            if value(better) >= value(here):
                break
            here = better
    return sorted(known, key=lambda yes: (known[yes], yes))[:_FINAL]


def _by_halves(ranked: list[int], weight: dict[int, int]) -> Iterator[int]:
    """The likeliest groups together, up to each place; and the greedy even division."""
    sofar = 0
    for group in ranked[:-1]:
        sofar |= group
        yield sofar
    yes, balance = 0, 0
    for group in ranked:
        if balance <= 0:
            yes, balance = yes | group, balance + weight[group]
        else:
            balance -= weight[group]
    yield yes


def _halves(of: Instance, group: int) -> tuple[int, bool]:
    """A part of a group that is nearest to half of its weight, and whether none is nearer."""
    faults = list(bits(group))
    whole = sum(of.weights[at] for at in faults)
    if len(faults) > _MOST_IN_GROUP:
        yes, balance = 0, 0
        for at in sorted(faults, key=lambda one: (-of.weights[one], one)):
            if balance <= 0:
                yes, balance = yes | 1 << at, balance + of.weights[at]
            else:
                balance -= of.weights[at]
        return yes, False
    sums = [0]
    for at in faults[1:]:  # the first says no
        sums += [one + of.weights[at] for one in sums]
    best = min(
        range(1, len(sums)),
        key=lambda choice: (abs(2 * sums[choice] - whole),
                            abs(2 * choice.bit_count() - len(faults)), choice),
    )  # fmt: skip
    return sum(1 << faults[at + 1] for at in bits(best)), True
