"""An order of checks as a tree, and what it costs when each fault is followed through it."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction

from treewright.reason.order.instance import Instance, answers, bits
from treewright.record import record


@record
class Plan:
    """What to do next: a check and what follows each answer that can come; or the end.

    Attributes:
        faults: bits of the faults still suspected here.
        probe: the check, or None at an end.
        branches: answer and what follows, for each answer that can come.
    """

    faults: int
    probe: int | None = None
    branches: tuple[tuple[int, Plan], ...] = ()

    def nodes(self) -> Iterator[Plan]:
        """This and all that follows, in order."""
        todo = [self]
        while todo:
            plan = todo.pop()
            yield plan
            todo += [branch for _, branch in reversed(plan.branches)]


@record
class Reckoning:
    """What an order costs, in minutes: expected, at worst, and expected for each fault."""

    expected: Fraction
    worst: Fraction
    by_fault: tuple[Fraction, ...]


def reckon(of: Instance, plan: Plan) -> Reckoning:
    """Follows each fault through a plan and adds up what is done, set-up included.

    It shares nothing with the searches but the instance, so it can be held against them.

    Raises:
        ValueError: the plan takes a check before its time, or an answer leads nowhere.
    """
    walk = _Walk(of)
    with deep(len(of.suspects), len(of.probes)):
        for fault in range(len(of.suspects)):
            walk.follow(fault, plan, Fraction(1), 0, 0, 0)
    total = Fraction(sum(of.weights))
    by_fault = tuple(cost / of.per_minute for cost in walk.sums)
    expected = sum(w * cost for w, cost in zip(of.weights, by_fault, strict=True)) / total
    return Reckoning(Fraction(expected), Fraction(walk.worst, of.per_minute), by_fault)


@contextmanager
def deep(suspects: int, probes: int) -> Iterator[None]:
    """Lets an order be as long as it must: a way can hold every check, one inside the other."""
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(max(before, 1000 + 8 * (suspects + probes)))
    try:
        yield
    finally:
        sys.setrecursionlimit(before)


def set_up(of: Instance, held: int, needs: int) -> tuple[int, int]:
    """What it costs to have some conditions hold, and what holds then."""
    moves, held = moves_to(of, held, needs)
    return sum(of.undos[at] if undo else of.setups[at] for undo, at in moves), held


def moves_to(of: Instance, held: int, needs: int) -> tuple[list[tuple[bool, int]], int]:
    """What is undone (True) and set up (False) to have some conditions hold; what holds then.

    What excludes one of them is undone before; they are set up in the order of the instance.
    """
    moves = []
    for need in bits(needs & ~held):
        for other in bits(of.states[need].excludes & held):
            moves.append((True, other))
            held &= ~(1 << other)
        moves.append((False, need))
        held |= 1 << need
    return moves, held


def closing(of: Instance, fault: int, suspects: int, held: int, done: int) -> int:
    """What is paid at an end for one fault: the suspects there are tried in turn, up to it.

    Nothing where the last fault is inferred. `held` and `done` are what holds there, and the
    checks done on the way.
    """
    if of.last == "inferred":
        return 0
    sofar = 0
    for cost, other in tries(of, suspects, held, done):
        sofar += cost
        if other == fault:
            break
    return sofar


def tries(of: Instance, suspects: int, held: int, done: int) -> list[tuple[int, int]]:
    """What it costs to make sure of each suspect at an end, and which; the best to try first."""
    found = []
    for other in bits(suspects):
        cost, check = of.remedies[other], of.suspects[other].confirm
        if check is not None and not done >> check & 1:
            now = held
            for one in of.rows[check]:
                if not done >> one & 1:
                    setup, now = set_up(of, now, of.probes[one].needs)
                    cost += of.costs[one] + setup
        weight = Fraction(of.weights[other])
        for taken in bits(done & of.askers):
            weight /= answers(of.probes[taken], other).bit_count()
        found.append((cost / weight if weight else None, cost, other))
    found.sort(key=lambda one: (one[0] is None, one[0] or 0, one[1]))
    return [(cost, other) for _, cost, other in found]


class _Walk:
    def __init__(self, of: Instance) -> None:
        self.of = of
        self.sums = [Fraction(0)] * len(of.suspects)
        self.worst = 0

    def follow(
        self, fault: int, plan: Plan, part: Fraction, spent: int, held: int, done: int
    ) -> None:
        if plan.probe is None:
            spent += closing(self.of, fault, plan.faults, held, done)
            self.sums[fault] += part * spent
            self.worst = max(self.worst, spent)
            return
        probe = self.of.probes[plan.probe]
        if probe.after & ~done:
            raise ValueError(f"{probe.name} is taken before what must come first")
        cost, held = set_up(self.of, held, probe.needs)
        given = list(bits(answers(probe, fault)))
        follows = dict(plan.branches)
        for answer in given:
            if answer not in follows:
                raise ValueError(f"{probe.name}: no way on for {self.of.suspects[fault].name}")
            self.follow(
                fault,
                follows[answer],
                part / len(given),
                spent + cost + self.of.costs[plan.probe],
                held,
                done | self.of.alike[plan.probe],
            )
