"""What a way takes: minutes of its checks, steps and set-up, exact.

Where a time is missing there is no sum, only what lacks it. Judges no way: whether it can be
taken is for others to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from treewright.model.tree import Check, Fault, Node, Reading, Step, Tree, Way
from treewright.reason.held import exclusions
from treewright.reason.trips import Stop
from treewright.record import record


@record
class Minutes:
    """What a way takes.

    `steps`: of the checks, readings and steps on it, each time one is done. `setup`: of the
    procedures that set up (or undo) what these need, each counted once. `procedures`: their
    names. `missing`: nodes, procedures and conditions of which no time is known.
    """

    steps: Fraction
    setup: Fraction
    procedures: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def known(self) -> Fraction:
        """What is known of it."""
        return self.steps + self.setup

    @property
    def total(self) -> Fraction | None:
        """All of it; None where a time is missing."""
        return None if self.missing else self.known


def minutes(tree: Tree, way: Sequence[Stop]) -> Minutes:
    """What it takes to come along a way to its last stop, which itself is not counted."""
    job = _Job(tree)
    for stop in way[1:-1]:
        node = tree.nodes[stop.node]
        job.deal_with(node)
        taken = _taken(node, stop.answer)
        for name in taken.does if taken else ():
            job.do(name.name)
    return job.took()


def _taken(node: Node, answer: str) -> Way | None:
    """The way on that an answer takes."""
    if isinstance(node, Step):
        return node.way
    if isinstance(node, Check | Reading):
        return next((o.way for o in node.outcomes if o.label == answer), None)
    return None


@dataclass(slots=True)
class _Job:
    """A job on its way: what holds now, and what it took so far."""

    tree: Tree
    held: set[str] = field(default_factory=set)
    steps: Fraction = Fraction(0)
    procedures: dict[str, None] = field(default_factory=dict)
    missing: dict[str, None] = field(default_factory=dict)

    def deal_with(self, node: Node) -> None:
        before = set(self.held)
        for need in node.needs:
            if need.name not in self.held:
                self.end(self.against(need.name), at_once=False)
                condition = self.tree.conditions.get(need.name)
                if condition is not None and condition.set_up_by is not None:
                    self.procedures[condition.set_up_by.name] = None
                else:
                    self.missing[f"condition {need.name}"] = None
                self.held.add(need.name)
        self.take(f"{node.number} {node.name}", node.cost.minutes)
        if isinstance(node, Step):
            for name in node.sets:
                self.end(self.against(name.name), at_once=True)
                self.held.add(name.name)
            self.held -= {name.name for name in node.clears}
        if isinstance(node, Fault):  # what its remedy alone needed is undone before the retest
            self.end(self.held - before, at_once=False, only_undone=True)

    def do(self, name: str) -> None:
        """A step or procedure that is done on the way of an answer."""
        node = self.tree.nodes.get(name)
        if node is not None:
            self.deal_with(node)
            return
        procedure = self.tree.procedures.get(name)
        if procedure is None:
            self.missing[name] = None
            return
        self.take(f"{procedure.number} {name}", procedure.cost.minutes)
        conditions = self.tree.conditions.values()
        self.held -= {c.name for c in conditions if c.undo_by and c.undo_by.name == name}
        for condition in conditions:
            if condition.set_up_by and condition.set_up_by.name == name:
                self.end(self.against(condition.name), at_once=True)
                self.held.add(condition.name)

    def take(self, name: str, time: Fraction | None) -> None:
        if time is None:
            self.missing[name] = None
        else:
            self.steps += time

    def against(self, name: str) -> set[str]:
        """What holds now and cannot hold together with a condition."""
        return self.held.intersection(exclusions(self.tree, name))

    def end(self, names: Iterable[str], *, at_once: bool, only_undone: bool = False) -> None:
        """Conditions end; unless that comes of itself, by the procedure that undoes them."""
        for name in sorted(names):
            condition = self.tree.conditions.get(name)
            undo = condition.undo_by if condition else None
            if undo is not None and not at_once:
                self.procedures[undo.name] = None
            if undo is not None or not only_undone:
                self.held.discard(name)

    def took(self) -> Minutes:
        setup = Fraction(0)
        for name in self.procedures:
            procedure = self.tree.procedures.get(name)
            if procedure is None or procedure.cost.minutes is None:
                self.missing[f"{procedure.number} {name}" if procedure else name] = None
            else:
                setup += procedure.cost.minutes
        return Minutes(self.steps, setup, tuple(self.procedures), tuple(self.missing))
