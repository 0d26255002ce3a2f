"""The best order by trying everything: slow, and shares nothing with the search but the question.

Suspects are kept with their weights as fractions, not as bits; no bound, no grouping. Any check
that the demands allow is tried, also one that tells nothing.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from functools import cache

from treewright.reason.order.instance import (
    Instance,
    Last,
    Probe,
    State,
    Suspect,
    instance,
)

Left = tuple[tuple[int, Fraction], ...]  # fault and weight


class Brute:
    """Tries all trees of checks of an instance."""

    def __init__(self, of: Instance) -> None:
        self.of = of
        self.gives = [
            {
                fault: [a for a, given in enumerate(probe.gives) if given >> fault & 1]
                for fault in range(len(of.suspects))
            }
            for probe in of.probes
        ]
        self.excludes = [
            {
                other
                for other in range(len(of.states))
                if state.excludes >> other & 1 or of.states[other].excludes >> at & 1
            }
            for at, state in enumerate(of.states)
        ]
        self.alike = [self.done_with(at) for at in range(len(of.probes))]
        self.best = cache(self._best)
        self.worst = cache(self._worst)

    def start(self) -> tuple[Left, frozenset[int], frozenset[int]]:
        left = tuple((f, Fraction(s.share)) for f, s in enumerate(self.of.suspects))
        return left, frozenset(), frozenset()

    def expected(self) -> Fraction:
        total = sum(Fraction(s.share) for s in self.of.suspects)
        return self.best(*self.start()) / total

    def done_with(self, check: int) -> frozenset[int]:
        """The checks that ask the same, as far as one of two says so, and so on; itself, too."""
        found = {check}
        for _ in self.of.probes:
            found |= {
                other
                for other, probe in enumerate(self.of.probes)
                for one in list(found)
                if probe.same >> one & 1 or self.of.probes[one].same >> other & 1
            }
        return frozenset(found)

    def tells(self, check: int, left: Left) -> bool:
        """Whether an answer leaves fewer than all, and more than none."""
        faults = {fault for fault, _ in left}
        for answer in range(len(self.of.probes[check].gives)):
            stay = {fault for fault in faults if answer in self.gives[check][fault]}
            if stay and stay != faults:
                return True
        return False

    def rung(self, check: int) -> int | None:
        """No lower than the rungs of all that must come before."""
        own = self.of.probes[check].rung
        if own is None:
            return None
        found, todo = own, [check]
        while todo:
            for other in range(len(self.of.probes)):
                if self.of.probes[todo[0]].after >> other & 1:
                    found = max(found, self.of.probes[other].rung or 0)
                    todo.append(other)
            todo.pop(0)
        return found

    def next_ones(self, left: Left, done: frozenset[int]) -> list[int] | None:
        """The checks allowed next; None at an end."""
        probes = self.of.probes
        open_ones = [c for c in range(len(probes)) if c not in done and self.tells(c, left)]
        if not open_ones:
            return None
        found = []
        for check, probe in enumerate(probes):
            if check in done or any(
                probe.after >> o & 1 and o not in done for o in range(len(probes))
            ):
                continue
            mine = self.rung(check)
            if self.of.ladder and mine is not None:
                low = [r for o in open_ones if (r := self.rung(o)) is not None]
                if any(rung < mine for rung in low):
                    continue
            found.append(check)
        return found

    def prepared(self, check: int, held: frozenset[int]) -> tuple[Fraction, frozenset[int]]:
        cost = Fraction(self.of.probes[check].cost)
        for need in range(len(self.of.states)):
            if self.of.probes[check].needs >> need & 1 and need not in held:
                gone = held & self.excludes[need]
                cost += sum(Fraction(self.of.states[one].undo) for one in gone)
                cost += self.of.states[need].setup
                held = (held - gone) | {need}
        return cost, held

    def answered(self, check: int, left: Left) -> list[Left]:
        found = []
        for answer in range(len(self.of.probes[check].gives)):
            some = tuple(
                (fault, weight / len(self.gives[check][fault]))
                for fault, weight in left
                if answer in self.gives[check][fault]
            )
            if some:
                found.append(some)
        return found

    def tries(self, left: Left, held: frozenset[int], done: frozenset[int]) -> list[Fraction]:
        """Weight times minutes, of suspects tried in turn, then their minutes together."""
        if self.of.last == "inferred":
            return [Fraction(0), Fraction(0)]
        rows = []
        for fault, weight in left:
            suspect = self.of.suspects[fault]
            cost = Fraction(suspect.remedy)
            if suspect.confirm is not None and suspect.confirm not in done:
                cost += self.confirmed(suspect.confirm, held, done)
            rows.append((cost / weight, cost, weight))
        total = sofar = Fraction(0)
        for _, cost, weight in sorted(rows):
            sofar += cost
            total += sofar * weight
        return [total, sofar]

    def confirmed(self, check: int, held: frozenset[int], done: frozenset[int]) -> Fraction:
        """A check at the end, with all that must come before it, the lowest number first."""
        asked = {check}
        for _ in self.of.probes:
            asked |= {o for one in asked for o in self.asks_for(one)}
        cost, taken = Fraction(0), set[int]()
        while asked:
            one = min(o for o in asked if self.asks_for(o) <= taken)
            asked.remove(one)
            known = one in taken and one != check
            taken |= self.alike[one]
            if one not in done and not known:
                more, held = self.prepared(one, held)
                cost += more
        return cost

    def asks_for(self, check: int) -> set[int]:
        after = self.of.probes[check].after
        return {other for other in range(len(self.of.probes)) if after >> other & 1}

    def _best(self, left: Left, held: frozenset[int], done: frozenset[int]) -> Fraction:
        options = self.next_ones(left, done)
        if options is None:
            return self.tries(left, held, done)[0]
        weight = sum(weight for _, weight in left)
        found = []
        for check in options:
            cost, then = self.prepared(check, held)
            now = done | self.alike[check]
            after = [self.best(some, then, now) for some in self.answered(check, left)]
            found.append(weight * cost + sum(after))
        return min(found)

    def _worst(self, left: Left, held: frozenset[int], done: frozenset[int]) -> Fraction:
        options = self.next_ones(left, done)
        if options is None:
            return self.tries(left, held, done)[1]
        found = []
        for check in options:
            cost, then = self.prepared(check, held)
            now = done | self.alike[check]
            after = [self.worst(some, then, now) for some in self.answered(check, left)]
            found.append(cost + max(after))
        return min(found)


def small(seed: int, always: tuple[str, ...] = (), copies: int = 0) -> Instance:
    """A random question, small enough to try everything: each kind of demand in some of them.

    Those named are in all of them. `copies`: so many checks stand a second time, as the same as
    one that is there, with a time, needs and a rung of their own.
    """
    rng = random.Random(seed)
    faults, checks = rng.randint(2, 6), rng.randint(1, 5)
    all_kinds = ("states", "after", "ladder", "maybe", "remedy")
    kinds = {kind for kind in all_kinds if rng.random() < 0.4} | set(always)
    states = []
    if "states" in kinds:
        for at in range(rng.randint(1, 3)):
            excludes = sum(1 << other for other in range(at) if rng.random() < 0.5)
            states.append(State(f"s{at}", rng.randint(0, 9), rng.randint(0, 4), excludes))
    probes = []
    for at in range(checks):
        answers = rng.randint(2, 4)
        gives = [0] * answers
        for fault in range(faults):
            gives[rng.randrange(answers)] |= 1 << fault
            if "maybe" in kinds and rng.random() < 0.15:
                gives[rng.randrange(answers)] |= 1 << fault
        needs = 0
        for state, it in enumerate(states):
            fits = not any(
                needs >> o & 1 and (it.excludes >> o & 1 or states[o].excludes >> state & 1)
                for o in range(len(states))
            )
            if fits and rng.random() < 0.5:
                needs |= 1 << state
        after = sum(1 << o for o in range(at) if "after" in kinds and rng.random() < 0.3)
        rung = rng.choice((None, 0, 1, 2)) if "ladder" in kinds else None
        cost = Fraction(rng.randint(1, 20), rng.choice((1, 1, 2)))
        probes.append(Probe(f"c{at}", cost, tuple(gives), needs, after, rung))
    for at in range(copies):
        own = rng.randrange(len(probes))
        first, like = probes[own], probes[rng.randrange(len(probes))]
        gives = list(first.gives)
        rng.shuffle(gives)
        said = rng.choice((True, False))
        if not said:
            probes[own] = replace(first, same=first.same | 1 << len(probes))
        same, cost = 1 << own if said else 0, Fraction(rng.randint(1, 20))
        name = f"c{checks + at}"
        probes.append(Probe(name, cost, tuple(gives), like.needs, like.after, like.rung, same))
    suspects = [
        Suspect(
            f"f{at}",
            Fraction(rng.randint(1, 12), rng.choice((1, 3))),
            rng.randrange(len(probes)) if "remedy" in kinds and rng.random() < 0.6 else None,
            rng.randint(0, 9) if "remedy" in kinds else 0,
        )
        for at in range(faults)
    ]
    last: Last = rng.choice(("inferred", "confirmed"))
    return instance(suspects, probes, states, last=last, ladder="ladder" in kinds)
