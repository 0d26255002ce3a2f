"""Orders that sorting gives, at any size: one check for each fault, and checks in series."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from treewright.reason.order.instance import Instance, Last, Number, bits
from treewright.reason.order.plan import Plan
from treewright.record import record


@record
class Row:
    """Checks one after the other.

    Attributes:
        order: the places of the checks, first to last.
        left_out: the fault that has to be the one when all others were found sound, if any.
        expected: minutes.
    """

    order: tuple[int, ...]
    left_out: int | None
    expected: Fraction


def one_by_one(times: Sequence[Number], shares: Sequence[Number], last: Last) -> Row:
    """The best order where each fault has one check that shows it and nothing else.

    Confirmed: by ascending time / share (Kadane and Simon). Inferred: one fault is never
    checked; the rest goes by ascending time / share, and each is tried as the one left out.

    Args:
        times: minutes of each fault's check.
        shares: how often each is the one, relative to the others.
        last: whether the last fault is checked too.
    """
    order = sorted(range(len(times)), key=lambda at: _rate(times[at], shares[at], at))
    total = sum((Fraction(share) for share in shares), Fraction(0))
    sofar = cost = Fraction(0)
    before = []
    for at in order:
        sofar += times[at]
        before.append(sofar)
        cost += shares[at] * sofar
    if last == "confirmed":
        return Row(tuple(order), None, cost / total)
    best: tuple[Fraction, int] | None = None
    behind = total
    for at, until in zip(order, before, strict=True):
        behind -= shares[at]
        without = cost - shares[at] * until - times[at] * behind + shares[at] * (sofar - times[at])
        if best is None or without < best[0]:
            best = without, at
    if best is None:
        return Row((), None, Fraction(0))
    return Row(tuple(at for at in order if at != best[1]), best[1], best[0] / total)


def in_best_order(tries: Sequence[tuple[int, int]]) -> int:
    """The sum of weight times cost so far, of (cost, weight) tried by ascending cost / weight."""
    total = sofar = 0
    for cost, weight in sorted(tries, key=lambda one: _rate(one[0], one[1], 0)):
        sofar += cost
        total += weight * sofar
    return total


def in_series(costs: Sequence[Number], failing: Sequence[Fraction]) -> Row:
    """The best order of checks that all must pass, independent, stopped at the first failure.

    By ascending cost / probability of failure (Mitten 1960, Butterworth 1972).
    """
    order = sorted(range(len(costs)), key=lambda at: _rate(costs[at], failing[at], at))
    return Row(tuple(order), None, series_cost(costs, failing, order))


def series_cost(
    costs: Sequence[Number], failing: Sequence[Fraction], order: Sequence[int]
) -> Fraction:
    """Expected minutes of checks in series taken in an order."""
    reached, total = Fraction(1), Fraction(0)
    for at in order:
        total += reached * costs[at]
        reached *= 1 - failing[at]
    return total


def own_checks(of: Instance) -> tuple[Plan, int] | None:
    """The best order of an instance where each check shows one fault alone; else None.

    With it, what it costs, times weight. None as well where anything else matters: conditions,
    demands, a fault with two checks, or a fault whose check is not what confirms it where the
    last fault is confirmed.
    """
    if of.ladder or of.states or any(probe.after for probe in of.probes):
        return None
    check_of: dict[int, tuple[int, int]] = {}  # by fault: its check, and the answer that shows it
    for check, probe in enumerate(of.probes):
        singles = [at for at, given in enumerate(probe.gives) if given.bit_count() == 1]
        asked = [given for given in probe.gives if given]
        if len(asked) != 2 or not singles or asked[0] & asked[1]:
            return None
        fault = next(bits(probe.gives[singles[0]]))
        if fault in check_of:
            return None
        check_of[fault] = check, singles[0]
    unchecked = of.everything & ~sum(1 << fault for fault in check_of)
    confirmed = of.last == "confirmed"
    if confirmed:
        for fault, suspect in enumerate(of.suspects):
            if suspect.confirm != (check_of[fault][0] if fault in check_of else None):
                return None
    faults = sorted(check_of)
    times = [of.costs[check_of[fault][0]] for fault in faults]
    weights = [of.weights[fault] for fault in faults]
    if not faults or not sum(weights):
        return None
    row = one_by_one(times, weights, "confirmed" if unchecked or confirmed else "inferred")
    order = [faults[at] for at in row.order]
    if confirmed and not unchecked:
        order.pop()  # its check is not taken to find it, but paid at the end
    left = of.everything
    for fault in order:
        left &= ~(1 << fault)
    plan, cost = Plan(left), 0
    if confirmed:
        ends = [(of.remedies[fault], of.weights[fault]) for fault in bits(left)]
        if not unchecked:
            (fault,) = bits(left)
            ends = [(of.costs[check_of[fault][0]] + of.remedies[fault], of.weights[fault])]
        cost = in_best_order(ends)
        cost += sum(of.remedies[fault] * of.weights[fault] for fault in order)
    weight = sum(of.weights[fault] for fault in bits(left))
    for fault in reversed(order):
        check, answer = check_of[fault]
        other = next(at for at, given in enumerate(of.probes[check].gives) if given & left)
        left |= 1 << fault
        weight += of.weights[fault]
        cost += weight * of.costs[check]
        branches = sorted([(answer, Plan(1 << fault)), (other, plan)], key=lambda one: one[0])
        plan = Plan(left, check, tuple(branches))
    return plan, cost


def _rate(time: Number, share: Number, at: int) -> tuple[bool, Fraction, Number, int]:
    return (not share, Fraction(time) / (share or 1), time, at)
