"""What a tree covers: for each fault the way that finds it, what that takes, and its doubles.

The way is a shortest one that a technician can take: no answer on it contradicts an earlier
one. Its minutes are exact; where a time is missing there is no sum, only what lacks it.
Knows nothing of pages.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from treewright.lint.rule import Context
from treewright.model.tree import Check, Fault, Node, Reading, Step, Tree, Way, on_model
from treewright.reason.held import exclusions
from treewright.reason.trips import Stop


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Covered:
    """A fault. `way` starts with the symptom; empty where none leads here.

    `models`: those on which this way can be taken; empty: all on which the fault can be.
    `lost`: models on which the fault can be but no way leads to it.
    `alike`: faults that show the same as this one at every check, in the order of the tree.
    """

    fault: Fault
    way: tuple[Stop, ...]
    minutes: Minutes | None
    models: tuple[str, ...]
    lost: tuple[str, ...]
    alike: tuple[str, ...]


def coverage(tree: Tree) -> tuple[Covered, ...]:
    """Every fault of a tree, in the order of their numbers."""
    context = Context(tree)
    twins = _alike(tree, [group[0] for group in context.groups])
    found = []
    for fault in tree.nodes.values():
        if not isinstance(fault, Fault):
            continue
        there = [
            (tuple(m for m in group if m is not None), context.trips(group[0]).to(fault.name))
            for group in context.groups
            if on_model(fault.models, group[0])
        ]
        best = min((way for _, way in there if way), key=len, default=())
        on = tuple(model for group, way in there if way == best for model in group)
        lost = tuple(model for group, way in there if not way for model in group)
        everywhere = all(way == best for _, way in there)
        found.append(
            Covered(
                fault,
                best,
                minutes(tree, best) if best else None,
                () if everywhere or not best else on,
                lost if best else (),
                twins.get(fault.name, ()),
            )
        )
    return tuple(found)


# ---- what a way takes ----------------------------------------------------------------------


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


# ---- who shares its answers ----------------------------------------------------------------


def _alike(tree: Tree, models: Sequence[str | None]) -> dict[str, tuple[str, ...]]:
    """For each fault those that every check of some model answers alike."""
    alike: dict[str, set[str]] = {}
    for model in models:
        checks = [
            node
            for node in tree.nodes.values()
            if isinstance(node, Check | Reading) and on_model(node.models, model)
        ]
        groups: dict[tuple[frozenset[int], ...], list[str]] = {}
        for fault in tree.nodes.values():
            if isinstance(fault, Fault) and on_model(fault.models, model):
                groups.setdefault(_answers(fault, checks), []).append(fault.name)
        for names in groups.values():
            for name in names:
                alike.setdefault(name, set()).update(names)
    return {
        name: tuple(other for other in tree.nodes if other in others and other != name)
        for name, others in alike.items()
    }


def _answers(fault: Fault, checks: Sequence[Check | Reading]) -> tuple[frozenset[int], ...]:
    """The answers that each check may give with a fault: what it shows, else the normal ones."""
    shown: dict[str, set[int]] = {}
    surely: set[str] = set()
    for one in fault.shows:
        if one.outcome is not None:
            shown.setdefault(one.node.name, set()).add(one.outcome)
            if not one.maybe:
                surely.add(one.node.name)
    return tuple(
        frozenset(shown.get(check.name, ()))
        | (frozenset() if check.name in surely else frozenset(check.normal))
        for check in checks
    )
