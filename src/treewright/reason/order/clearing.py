"""Which check can clear which suspect where another is the fault, and what that costs at least."""

from __future__ import annotations

from functools import cached_property
from typing import TypeAlias

from treewright.reason.order.instance import Instance, bits

# Costs, the dearest first, each with the suspects that no less can clear.
Steps: TypeAlias = list[tuple[int, int]]


class Clearing:
    """Of an instance whose suspects that are always alike are one.

    Attributes:
        by_cost: for each suspect the checks, the cheapest first, each with those that it can clear
            where that suspect is the fault: those that cannot give one of the answers it can.
    """

    def __init__(
        self, of: Instance, gives: list[tuple[int, ...]], by_cost: list[int], count: int
    ) -> None:
        self.of = of
        self.gives = gives
        self.everyone = (1 << count) - 1
        self.by_cost: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for check in by_cost:
            clears = [0] * count
            for given in gives[check]:
                others = self.everyone & ~given
                for at in bits(given):
                    clears[at] = clears[at] | others if clears[at] else others
            for at, others in enumerate(clears):
                self.by_cost[at].append((check, others))
        self._costs: dict[tuple[int, int], Steps] = {}
        self._setups: dict[tuple[int, int], Steps] = {}

    @cached_property
    def surely_apart(self) -> list[int]:
        """For each suspect those that some check is sure to tell from it."""
        found = [0] * len(self.by_cost)
        for gives in self.gives:
            alike = [0] * len(found)
            for given in gives:
                for at in bits(given):
                    alike[at] = alike[at] | given if alike[at] else given
            for at, same in enumerate(alike):
                found[at] |= self.everyone & ~same
        return found

    def costs(self, one: int, held: int) -> Steps:
        """What it costs at least, with set-up, to clear other suspects where one is the fault.

        Returns:
            Costs, the dearest first, each with those that no less can clear. An answer that the
            one can give and the other cannot will do, even if the one can give others as well.
            Who may end together with the one is not among them.
        """
        known = self._costs.get((one, held))
        if known is None:
            costs = self.of.costs
            offers = [(costs[c] + self.least_setup(c, held), can) for c, can in self.by_cost[one]]
            known = self._cheapest(one, offers)
            self._costs[one, held] = known
        return known

    def setups(self, one: int, held: int) -> Steps:
        """The same, of set-up alone."""
        known = self._setups.get((one, held))
        if known is None:
            offers = [(self.least_setup(c, held), can) for c, can in self.by_cost[one]]
            known = self._cheapest(one, offers)
            self._setups[one, held] = known
        return known

    def least_setup(self, check: int, held: int) -> int:
        """What the set-up for a check costs at least: what does not hold has to be made so."""
        missing = self.of.probes[check].needs & ~held
        return sum(self.of.setups[need] for need in bits(missing)) if missing else 0

    def _cheapest(self, one: int, offers: list[tuple[int, int]]) -> Steps:
        found: Steps = []
        open_ones = self.surely_apart[one]
        for cost, others in sorted(offers, key=lambda offer: offer[0]):
            cleared = open_ones & others
            if cleared:
                found.append((cost, cleared))
                open_ones &= ~cleared
        return found[::-1]
