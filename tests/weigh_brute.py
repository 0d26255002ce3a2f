"""What a tree costs by following each fault by hand: shares nothing with the program but the
model's dataclasses and the interpreter of the tests.

Every way of a fault is written down as a list of what is done; minutes are added up after.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from walk import _target

from treewright.model.nodes import Check, Cost, Fault, Reading, Step
from treewright.model.tree import Tree

Told = dict[str, tuple[int, ...]]


@dataclass(frozen=True)
class Way:
    """One way of a fault: how often it is gone, what it takes, where it ends, what holds there."""

    part: Fraction
    minutes: Fraction
    end: str
    held: frozenset[str]
    asked: frozenset[str]


class Simulation:
    """Follows faults on one model from one symptom.

    Args:
        faults, checks: those behind the symptom: what is told apart depends on them.
    """

    def __init__(
        self, tree: Tree, symptom: str, model: str | None, faults: list[Fault], checks: list[str]
    ) -> None:
        self.tree, self.symptom, self.model, self.faults = tree, symptom, model, faults
        nodes = [tree.nodes[name] for name in checks]
        self.checks = [node for node in nodes if isinstance(node, Check | Reading)]

    def shown(self, fault: Fault, check: Check | Reading) -> set[int]:
        lines = [one for one in fault.shows if one.node.name == check.name]
        found = {one.outcome for one in lines if one.outcome is not None}
        if all(one.maybe for one in lines):
            found |= set(check.normal)
        return found

    def alike(self, one: Fault, other: Fault) -> bool:
        """Whether no check behind the symptom tells two faults apart."""
        return all(self.shown(one, c) == self.shown(other, c) for c in self.checks)

    def parts(
        self, fault: Fault, check: Check | Reading, told: Told, mended: set[str], open_: set[str]
    ) -> dict[int, Fraction]:
        """The answers that can come, with how often: first by what tells faults apart."""
        before = told.get(check.name, ())
        if before and check.name not in open_:
            return {before[-1]: Fraction(1)}
        by = {
            at: frozenset(f.name for f in self.faults if at in self.shown(f, check))
            for at in range(len(check.outcomes))
        }
        can = self.shown(fault, check)
        if check.name in mended:
            can |= set(check.normal)
        can |= {at for at in by if by[at] and any(by[at] == by[one] for one in can)}
        left = can - set(before)
        if not left:
            return {before[-1]: Fraction(1)}
        kinds = {by[at] for at in left}
        same = {kind: [at for at in left if by[at] == kind] for kind in kinds}
        return {at: Fraction(1, len(kinds) * len(same[by[at]])) for at in left}

    def ways(self, fault: Fault) -> Iterator[Way]:
        start = self.tree.symptoms[self.symptom].start
        assert start is not None
        yield from self._go(fault, start.name, Fraction(1), Bench(self.tree), {}, set(), set(), [])

    def _go(
        self, fault: Fault, at: str, part: Fraction, bench: Bench, told: Told,
        mended: set[str], open_: set[str], been: list[object],
    ) -> Iterator[Way]:  # fmt: skip
        node = self.tree.nodes[at]
        here = (at, frozenset(bench.held), tuple(sorted(told.items())), frozenset(mended),
                frozenset(open_))  # fmt: skip
        if here in been:
            yield Way(part, bench.minutes, "round", frozenset(bench.held), frozenset(told))
            return
        been = [*been, here]
        if isinstance(node, Check | Reading):
            bench.reach(node.cost, [need.name for need in node.needs])
            for answer, chance in self.parts(fault, node, told, mended, open_).items():
                asked = node.name not in told or node.name in open_
                new = told
                if asked and answer not in told.get(node.name, ()):
                    new = {**told, node.name: (*told.get(node.name, ()), answer)}
                yield from self._on(
                    fault, node, answer, part * chance, bench.copy(), new, set(mended),
                    open_ - {node.name} if new is not told else set(open_), been,
                )  # fmt: skip
        elif isinstance(node, Step):
            self._step(fault, node, bench, mended, open_)
            yield from self._on(fault, node, None, part, bench, told, mended, open_, been)
        else:
            yield Way(part, bench.minutes, at, frozenset(bench.held), frozenset(told))

    def _on(
        self, fault: Fault, node: Check | Reading | Step, answer: int | None, part: Fraction,
        bench: Bench, told: Told, mended: set[str], open_: set[str], been: list[object],
    ) -> Iterator[Way]:  # fmt: skip
        way = node.way if isinstance(node, Step) else node.outcomes[answer or 0].way
        assert way is not None
        for name in way.does:
            step = self.tree.nodes.get(name.name)
            if isinstance(step, Step):
                self._step(fault, step, bench, mended, open_)
            else:
                bench.by_the_way(name.name)
        target = _target(node, way, self.model)
        yield from self._go(fault, target, part, bench, told, mended, open_, been)

    def _step(
        self, fault: Fault, step: Step, bench: Bench, mended: set[str], open_: set[str]
    ) -> None:
        bench.reach(step.cost, [need.name for need in step.needs])
        for one in step.sets:
            bench.end(bench.against(one.name))
            bench.held.add(one.name)
        bench.held -= {one.name for one in step.clears}
        for one in step.doubts or ():
            check = self.tree.nodes[one.name]
            assert isinstance(check, Check | Reading)
            if self.shown(fault, check) != set(check.normal):
                mended.add(one.name)
                open_.add(one.name)

    # ---- the last cause confirmed ----------------------------------------------------------

    def confirmed(self, fault: Fault, way: Way) -> Fraction:
        """What is done besides, at the end of a way that finds the fault."""
        alike = [other for other in self.faults if self.alike(fault, other)]
        total = Fraction(0)
        bench = Bench(self.tree)
        bench.held = set(way.held)
        asked = set(way.asked)
        rows = []
        for at, other in enumerate(alike):
            alone = bench.copy()
            self._try(other, alone, set(asked))
            share = other.share
            assert share is not None
            rows.append((alone.minutes / share, at, other))
        for _, _, other in sorted(rows):
            before = set(bench.held)
            self._try(other, bench, asked)
            total = bench.minutes
            if other is fault:
                break
            bench.end({one for one in bench.held - before
                       if self.tree.conditions[one].undo_by is not None})  # fmt: skip
        return total

    def _try(self, fault: Fault, bench: Bench, asked: set[str]) -> None:
        own = []
        for at, check in enumerate(self.checks):
            given = {f.name: self.shown(f, check) for f in self.faults}
            others = [f for f in self.faults if not self.alike(fault, f)]
            if any(all(one not in given[f.name] for f in others) for one in given[fault.name]):
                own.append((check.cost.minutes or Fraction(0), at, check))
        if own and min(own)[2].name not in asked:
            asked.add(min(own)[2].name)
            bench.reach(min(own)[2].cost, [need.name for need in min(own)[2].needs])
        bench.reach(fault.cost, [need.name for need in fault.needs])


class Bench:
    """What holds on the machine, and the minutes so far."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.held: set[str] = set()
        self.minutes = Fraction(0)

    def copy(self) -> Bench:
        other = Bench(self.tree)
        other.held, other.minutes = set(self.held), self.minutes
        return other

    def reach(self, cost: Cost, needs: list[str]) -> None:
        for need in needs:
            if need not in self.held:
                self.end(self.against(need))
                made = self.tree.conditions[need].set_up_by
                if made is not None:
                    self.pay(made.name)
                    for one in self.made_by(made.name):
                        self.held -= self.against(one)
                        self.held.add(one)
                self.held -= self.against(need)
                self.held.add(need)
        self.minutes += cost.minutes or 0

    def by_the_way(self, procedure: str) -> None:
        self.pay(procedure)
        self.held -= {c.name for c in self.tree.conditions.values()
                      if c.undo_by and c.undo_by.name == procedure}  # fmt: skip
        for one in self.made_by(procedure):
            self.held -= self.against(one)
            self.held.add(one)

    def made_by(self, procedure: str) -> list[str]:
        return [c.name for c in self.tree.conditions.values()
                if c.set_up_by and c.set_up_by.name == procedure]  # fmt: skip

    def against(self, name: str) -> set[str]:
        own = {one.name for one in self.tree.conditions[name].excludes}
        other = {c.name for c in self.tree.conditions.values()
                 if any(one.name == name for one in c.excludes)}  # fmt: skip
        return (own | other) & self.held

    def end(self, names: set[str]) -> None:
        for name in sorted(names):
            undo = self.tree.conditions[name].undo_by
            if undo is not None and name in self.held:
                self.pay(undo.name)
                self.held -= {c.name for c in self.tree.conditions.values()
                              if c.undo_by and c.undo_by.name == undo.name}  # fmt: skip
            self.held.discard(name)

    def pay(self, procedure: str) -> None:
        self.minutes += self.tree.procedures[procedure].cost.minutes or 0


def random_tree(seed: int) -> str:
    """A small tree of checks one after the other, with all that makes minutes hard to add up:
    conditions that exclude each other, steps that set, clear, doubt and lead back, `maybe`."""
    rng = random.Random(f"weigh {seed}")
    count, faults = rng.randint(2, 5), rng.randint(2, 5)
    lines = ["tree made: Made", "", "symptom all: All of it", "  start at: c0", ""]
    for at in range(3):
        lines += [f"condition s{at}: State", f"  set up by: up{at}",
                  f"  undo by: {rng.choice((f'down{at}', 'none'))}"]  # fmt: skip
        others = [f"s{o}" for o in range(at) if rng.random() < 0.5]
        lines += [f"  excludes: {', '.join(others)}"] if others else []
        for name in (f"up{at}", f"down{at}"):
            lines += ["", f"procedure {name}: Do it", f"  time: {rng.randint(0, 9)} min", "  - Do."]
        lines.append("")
    states = [f"s{at}" for at in range(3)]
    for at in range(count):
        # Each answer of a check has its own way on: to a fault, to a later check, or out.
        lines += [f"check c{at}: Is it so?", f"  time: {rng.randint(1, 20)} min"]
        if rng.random() < 0.5:
            lines.append(f"  needs: {rng.choice(states)}")
        for label in ("yes", "no", "odd"):
            onward = [f"go c{o}" for o in range(at + 1, count)]
            ends = [f"found f{rng.randrange(faults)}", "stop shop"]
            way = rng.choice((*onward, *onward, *ends))
            match rng.randrange(6):
                case 0:
                    way = f"do k{rng.randrange(2)}, then back to c{at}"
                case 1:
                    way = f"do {rng.choice(('k0', 'k1', 'up0', 'down1'))}, then {way}"
                case 2 if onward:
                    way = f"go w{at}"
                case _:
                    pass
            lines.append(f"  if {label}: {way}")
        later = f"c{at + 1}" if at + 1 < count else "shop"
        verb = "go" if at + 1 < count else "stop"
        lines += ["", f"step w{at}: Work", f"  time: {rng.randint(1, 9)} min",
                  f"  then: {verb} {later}", ""]  # fmt: skip
    for at in range(2):
        lines += [f"step k{at}: Work", f"  time: {rng.randint(1, 9)} min"]
        for key, chance in (("needs", 0.3), ("sets", 0.4), ("clears", 0.3)):
            if rng.random() < chance:
                lines.append(f"  {key}: {rng.choice(states)}")
        if rng.random() < 0.7:
            doubted = rng.sample(range(count), rng.randint(1, 2))
            lines.append(f"  doubts: {', '.join(f'c{o}' for o in doubted)}")
        lines.append("")
    for at in range(faults):
        lines += [f"fault f{at}: Broken", f"  share: {rng.randint(1, 9)}",
                  f"  time: {rng.randint(1, 60)} min", "  remedy: Mend it."]  # fmt: skip
        if rng.random() < 0.4:
            lines.append(f"  needs: {rng.choice(states)}")
        shows = [
            f"{rng.choice(('', '', 'maybe '))}c{o} {rng.choice(('no', 'odd'))}"
            for o in rng.sample(range(count), rng.randint(1, min(3, count)))
        ]
        lines += [f"  shows: {', '.join(shows)}", ""]
    return "\n".join([*lines, "handoff shop: Not here", "  to: the workshop", ""])
