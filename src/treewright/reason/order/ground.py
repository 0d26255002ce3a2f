"""An instance made ready for a search: what can be done at a point of the job, and what it costs.

A point of the job is a `Point`: the suspects left, the conditions that hold, and those checks
done that still matter. Faults that no check tells apart are one suspect here.
"""

from __future__ import annotations

from functools import cached_property
from operator import getitem
from typing import NamedTuple

from treewright.reason.order.clearing import Clearing
from treewright.reason.order.instance import Instance, answers, bits, several
from treewright.reason.order.rank import in_best_order
from treewright.record import record


class Point(NamedTuple):
    """Where a job stands: bits of suspects left, of conditions that hold, of checks done."""

    left: int
    held: int
    done: int


@record
class Option:
    """A check that can be done next: its cost there with set-up, and where each answer leads."""

    probe: int
    cost: int
    answers: tuple[int, ...]  # which answers can come
    leads: tuple[Point, ...]  # one for each of them


class Ground:
    """What a search asks of an instance."""

    def __init__(self, of: Instance) -> None:
        self.instance = of
        # The rarest first: so suspects taken bit by bit come in the order of their weights.
        self.members = sorted(
            of.groups(), key=lambda group: sum(of.weights[at] for at in bits(group))
        )
        firsts = [(group & -group).bit_length() - 1 for group in self.members]
        self.weights = [sum(of.weights[at] for at in bits(group)) for group in self.members]
        self.count = len(self.members)
        self.start = Point((1 << self.count) - 1, 0, 0)
        self.gives = [
            tuple(
                sum(1 << at for at, first in enumerate(firsts) if given >> first & 1)
                for given in probe.gives
            )
            for probe in of.probes
        ]
        # `perhaps`: by check, the suspects that can give more than one answer, and how many.
        self.perhaps: list[dict[int, int]] = []
        for probe in of.probes:
            unsure = several(probe)
            self.perhaps.append(
                {
                    at: answers(probe, first).bit_count()
                    for at, first in enumerate(firsts)
                    if unsure >> first & 1
                }
            )
        self.by_cost = sorted(range(len(of.probes)), key=lambda c: (of.costs[c], c))
        self.waits = [sum(1 << one for one in row[:-1]) for row in of.rows]
        self.rungs = of.rungs
        self.first_ones = 0  # checks that others wait for
        for probe in of.probes:
            self.first_ones |= of.with_same(probe.after)
        self.noted = [0] * self.count  # by suspect: checks to remember while it is suspected
        for check, some in enumerate(self.perhaps):
            for at in some:
                self.noted[at] |= 1 << check
        if of.last == "confirmed":
            for at, group in enumerate(self.members):
                for fault in bits(group):
                    confirm = of.suspects[fault].confirm
                    if confirm is not None:
                        self.noted[at] |= of.alike[confirm]
        self.plain = not (self.first_ones or any(self.noted))
        self.sure = not any(self.perhaps)
        # What confirms a fault may pay early, though it tells nothing: while what it needs is
        # set up, or for several faults that may end together; so may what it waits for.
        confirms = [fault.confirm for fault in of.suspects if fault.confirm is not None]
        shared = len(set(confirms)) < len(confirms)
        awaiting = any(of.probes[check].after for check in confirms)
        self.early = of.last == "confirmed" and (bool(of.states) or shared or awaiting)
        self.widest = max((len(gives) for gives in self.gives), default=2)
        self.clearing = Clearing(of, self.gives, self.by_cost, self.count)
        self._moves: dict[tuple[int, int], tuple[int, int]] = {}
        self._tables = self._byte_tables()

    def _byte_tables(self) -> list[list[int]]:
        tables = []
        for low in range(0, self.count, 8):
            weights = self.weights[low : low + 8]
            table = [0]
            for weight in weights:
                table += [weight + more for more in table]
            tables.append(table)
        return tables

    # ---- suspects ---------------------------------------------------------------------------

    def weight(self, left: int) -> int:
        """The shares of some suspects together, as they are at the start."""
        size = (left.bit_length() + 7) >> 3
        return sum(map(getitem, self._tables, left.to_bytes(size, "little")))

    def weights_at(self, point: Point) -> list[int]:
        """The weight of each suspect left: a `maybe` that was seen has split it."""
        if self.sure or not point.done:
            return [self.weights[at] for at in bits(point.left)]
        found = []
        for at in bits(point.left):
            weight = self.weights[at]
            for check in bits(point.done & self.noted[at] & self.instance.askers):
                weight //= self.perhaps[check].get(at, 1)
            found.append(weight)
        return found

    def weight_at(self, point: Point) -> int:
        """The weights of all suspects left together."""
        if self.sure or not point.done:
            return self.weight(point.left)
        return sum(self.weights_at(point))

    @cached_property
    def remedying(self) -> list[int]:
        """For each suspect its remedies alone, one after the other, times weight."""
        of = self.instance
        return [
            in_best_order([(of.remedies[fault], of.weights[fault]) for fault in bits(group)])
            for group in self.members
        ]

    # ---- checks -----------------------------------------------------------------------------

    def useful(self, point: Point) -> list[int]:
        """The checks that can tell something apart here, the cheapest first."""
        left, done, gives = point.left, point.done, self.gives
        if not left & (left - 1):
            return []
        if self.sure:  # then a check done splits no more
            row = self.clearing.by_cost[(left & -left).bit_length() - 1]
            return [check for check, others in row if left & others]
        return [
            check
            for check in self.by_cost
            if not done >> check & 1
            and any((part := left & given) and part != left for given in gives[check])
        ]

    def move(self, held: int, needs: int) -> tuple[int, int]:
        """What the set-up for some needs costs, and what holds then."""
        if not needs & ~held:
            return 0, held
        known = self._moves.get((held, needs))
        if known is None:
            cost, now = 0, held
            for need in bits(needs & ~held):
                against = self.instance.states[need].excludes & now
                cost += sum(self.instance.undos[other] for other in bits(against))
                cost += self.instance.setups[need]
                now = now & ~against | 1 << need
            known = self._moves[held, needs] = cost, now
        return known

    def allowed(self, check: int, point: Point, useful: list[int]) -> bool:
        """Whether what was demanded lets a check come next."""
        if self.instance.probes[check].after & ~point.done:
            return False
        rung = self.rungs[check]
        if not self.instance.ladder or rung is None:
            return True
        return not any((low := self.rungs[other]) is not None and low < rung for other in useful)

    def option(self, check: int, point: Point) -> Option:
        """A check done at a point."""
        needs = self.instance.probes[check].needs
        setup, held = self.move(point.held, needs) if needs else (0, point.held)
        done = point.done if self.plain else point.done | self.instance.alike[check]
        came, leads = [], []
        for answer, given in enumerate(self.gives[check]):
            part = point.left & given
            if part:
                came.append(answer)
                leads.append(Point(part, held, self._still(done, part) if done else 0))
        return Option(check, self.instance.costs[check] + setup, tuple(came), tuple(leads))

    def _still(self, done: int, left: int) -> int:
        """The checks done that still matter."""
        keep = self.first_ones
        for at in bits(left):
            keep |= self.noted[at]
        return done & keep

    def options(self, point: Point) -> list[Option]:
        """What can be done next, the cheapest first; nothing where the job ends.

        Of checks that part the suspects in the same way and need the same, only the cheapest is
        given, unless it matters later which one was done.
        """
        useful = self.useful(point)
        found, seen = [], set()
        for check in useful:
            if not self.allowed(check, point, useful):
                continue
            option = self.option(check, point)
            look = (self.instance.probes[check].needs, frozenset(option.leads))
            if look not in seen:
                seen.add(look)
                found.append(option)
        if useful and (self.first_ones or self.early):
            awaited = 0
            for at in bits(point.left) if self.early else ():
                awaited |= self.noted[at]
            for check in (*useful, *bits(awaited)):
                awaited |= self.waits[check]
            for check in bits(self.instance.with_same(awaited) & ~point.done):
                if check not in useful and self.allowed(check, point, useful):
                    found.append(self.option(check, point))
        return found

    # ---- the end ----------------------------------------------------------------------------

    def closing(self, point: Point) -> int:
        """What is paid, times weight, at an end of the job: nothing where the last is inferred."""
        of = self.instance
        if of.last == "inferred":
            return 0
        tries: list[tuple[int, int]] = []
        for at, weight in zip(bits(point.left), self.weights_at(point), strict=True):
            for fault in bits(self.members[at]):
                own = of.weights[fault] * weight // self.weights[at] if self.weights[at] else 0
                tries.append((self.confirming(fault, point), own))
        return in_best_order(tries)

    def confirming(self, fault: int, point: Point) -> int:
        """What it costs at an end to make sure of one fault, from what holds there."""
        of = self.instance
        cost, check = of.remedies[fault], of.suspects[fault].confirm
        if check is not None and not point.done >> check & 1:
            held = point.held
            for one in of.rows[check]:
                if not point.done >> one & 1:
                    setup, held = self.move(held, of.probes[one].needs)
                    cost += of.costs[one] + setup
        return cost
