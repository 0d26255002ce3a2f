"""What a way takes: minutes of its checks, steps and set-up, exact.

A job keeps account of what holds. What a node needs is set up where it does not hold already;
what was undone, or excluded by something else, has to be set up again, and is paid again.
Where a time is missing there is no sum, only what lacks it. Judges no way: whether it can be
taken is for others to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.model.nodes import Check, Cost, Done, Fault, Handoff, Node, Reading, Step, Way
from treewright.model.tree import Procedure, Tree
from treewright.reason.held import exclusions
from treewright.reason.trips import Stop
from treewright.record import record

Kind: TypeAlias = Literal["check", "step", "set-up", "undo", "remedy"]
"""What minutes go to. check: a reading as well. step: a procedure that a way asks for as well.
set-up and undo: what a node needs before it can be dealt with. remedy: of a fault."""


@record
class Spent:
    """Something that is done once: what it is, and what it costs.

    `name`: of a node, of a procedure, or "condition NAME" where the tree does not say how that
    is set up.
    """

    kind: Kind
    name: str
    number: str
    title: str
    cost: Cost

    @property
    def label(self) -> str:
        """As findings name it."""
        return f"{self.number} {self.name}" if self.number else self.name


@record
class Minutes:
    """What a way takes.

    `steps`: of the checks, readings and steps on it, each time one is done. `setup`: of what is
    done to set up (or undo) what these need, each time it is done. `procedures`: the names of
    those procedures. `missing`: nodes, procedures and conditions of which no time is known.
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
    job = Job(tree)
    for stop in way[1:-1]:
        node = tree.nodes[stop.node]
        before = set(job.held)
        job.deal_with(node)
        if isinstance(node, Fault):
            job.take_down(before)
        taken = _taken(node, stop.answer)
        for name in taken.does if taken else ():
            job.do(name.name)
    return took(job.spent)


def took(spent: Iterable[Spent]) -> Minutes:
    """What some doings take together."""
    steps = setup = Fraction(0)
    procedures: dict[str, None] = {}
    missing: dict[str, None] = {}
    for one in spent:
        around = one.kind in ("set-up", "undo")
        if around and not one.name.startswith("condition "):
            procedures[one.name] = None
        if one.cost.minutes is None:
            missing[one.label] = None
        elif around:
            setup += one.cost.minutes
        else:
            steps += one.cost.minutes
    return Minutes(steps, setup, tuple(procedures), tuple(missing))


def _taken(node: Node, answer: str) -> Way | None:
    """The way on that an answer takes."""
    if isinstance(node, Step):
        return node.way
    if isinstance(node, Check | Reading):
        return next((o.way for o in node.outcomes if o.label == answer), None)
    return None


class Job:
    """A job on its way: what holds now, and what was done so far, in order."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.held: set[str] = set()
        self.spent: list[Spent] = []
        self._excluded = {name: frozenset(exclusions(tree, name)) for name in tree.conditions}

    def fork(self) -> Job:
        """The same job, to go on another way."""
        other = object.__new__(Job)
        other.tree, other._excluded = self.tree, self._excluded
        other.held, other.spent = set(self.held), list(self.spent)
        return other

    def deal_with(self, node: Node) -> None:
        """A check is taken, a step or a remedy done: what it needs first, then itself."""
        for need in node.needs:
            if need.name not in self.held:
                self._set_up(need.name)
        match node:
            case Check() | Reading():
                self._spend("check", node)
            case Step():
                self._spend("step", node)
                for name in node.sets:
                    self._end(self._against(name.name))
                    self.held.add(name.name)
                self.held -= {name.name for name in node.clears}
            case Fault():
                self._spend("remedy", node)
            case Handoff() | Done():
                pass

    def take_down(self, before: set[str]) -> None:
        """What a remedy alone needed is undone before its retest; what nothing undoes stays."""
        conditions = self.tree.conditions
        self._end(
            name
            for name in self.held - before
            if name in conditions and conditions[name].undo_by is not None
        )

    def do(self, name: str) -> None:
        """A step or procedure that is done on the way of an answer."""
        node = self.tree.nodes.get(name)
        if node is not None:
            self.deal_with(node)
            return
        procedure = self.tree.procedures.get(name)
        if procedure is None:
            self._lacks("step", name)
            return
        self._spend("step", procedure)
        self._undone_by(name)
        self._made_by(name)

    def _set_up(self, need: str) -> None:
        self._end(self._against(need))
        condition = self.tree.conditions.get(need)
        if condition is None or condition.set_up_by is None:
            self._lacks("set-up", f"condition {need}")
        else:
            self._spend_procedure("set-up", condition.set_up_by.name)
            self._made_by(condition.set_up_by.name)
        self.held -= self._against(need)
        self.held.add(need)

    def _made_by(self, procedure: str) -> None:
        """All that a procedure sets up holds once it is done; what that excludes does not."""
        for condition in self.tree.conditions.values():
            if condition.set_up_by is not None and condition.set_up_by.name == procedure:
                self.held -= self._against(condition.name)
                self.held.add(condition.name)

    def _undone_by(self, procedure: str) -> None:
        for condition in self.tree.conditions.values():
            if condition.undo_by is not None and condition.undo_by.name == procedure:
                self.held.discard(condition.name)

    def _against(self, name: str) -> set[str]:
        """What holds now and cannot hold together with a condition."""
        return self.held & self._excluded.get(name, frozenset())

    def _end(self, names: Iterable[str]) -> None:
        """Conditions end, by the procedure that undoes each, where there is one."""
        for name in sorted(names):
            condition = self.tree.conditions.get(name)
            undo = condition.undo_by if condition else None
            if undo is not None and name in self.held:
                self._spend_procedure("undo", undo.name)
                self._undone_by(undo.name)
            self.held.discard(name)

    def _spend(self, kind: Kind, what: Node | Procedure) -> None:
        self.spent.append(Spent(kind, what.name, what.number, what.title.text, what.cost))

    def _spend_procedure(self, kind: Kind, name: str) -> None:
        procedure = self.tree.procedures.get(name)
        if procedure is None:
            self._lacks(kind, name)
        else:
            self._spend(kind, procedure)

    def _lacks(self, kind: Kind, name: str) -> None:
        """Something is done of which the tree says nothing."""
        self.spent.append(Spent(kind, name, "", "", Cost()))
