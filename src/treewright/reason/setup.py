"""Conditions of the job on every way: what holds on arrival, what has to be set up first.

A dataflow over the graph, not a listing of ways: for each node the conditions that hold on
every way there (`surely`) and on some way there (`maybe`). Set-up is put in front of a node
for each condition it needs that does not surely hold; a condition that excludes a needed one
is undone first. Remedies and retests are ways too; what was set up for a remedy alone is
taken down again before the retest, so that the check is taken as it was the first time.
"""

from __future__ import annotations

from collections import deque

from treewright.model.nodes import Check, Done, Fault, Handoff, Node, Reading, Step, ways_of
from treewright.model.tree import Tree
from treewright.model.written import Name
from treewright.record import record


@record
class Holding:
    """Conditions that hold on every way (`surely`), or on at least one (`maybe`)."""

    surely: frozenset[str]
    maybe: frozenset[str]

    def join(self, other: Holding) -> Holding:
        return Holding(self.surely & other.surely, self.maybe | other.maybe)


@record
class Move:
    """One thing to do in front of a node: set a condition up, or undo it.

    `always`: on every way here. Otherwise only where it is not done (or still set) already.
    """

    condition: str
    undo: bool
    always: bool


NOTHING = Holding(frozenset(), frozenset())


@record
class Setup:
    """What is known of the conditions of a tree.

    `arrival`: by node, before its set-up; only nodes that some symptom leads to. `moves`: the
    set-up in front of a node, `during`: what holds while it is dealt with. `takedown`: what
    is undone between a fault's remedy and its retest. `leaving`: what holds when the job ends
    at an end or at a fault whose retest passed. `first`: what may hold on the ways without a
    retest; before a retest all else that can be undone is undone, so that the check is taken
    in a state in which it may have been taken the first time.
    """

    arrival: dict[str, Holding]
    moves: dict[str, tuple[Move, ...]]
    during: dict[str, Holding]
    takedown: dict[str, tuple[Move, ...]]
    leaving: dict[str, Holding]
    first: dict[str, frozenset[str]]


def setup(tree: Tree) -> Setup:
    """Works out the conditions over all ways of a tree.

    Time grows with nodes times ways times conditions at worst, since each node's state can
    change at most twice for each condition.
    """
    return _Flow(tree).run()


class _Flow:
    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.excluded = _exclusions(tree)
        self.arrival: dict[str, Holding] = {}
        self.going: dict[str, Holding] = {}  # the same without the ways that only do a step
        self.kept: dict[str, frozenset[str]] = {}  # by fault: what is not undone for its retest
        self.first: dict[str, frozenset[str]] = {}
        self.retesting = True
        self.queue: deque[str] = deque()
        self.led_by: dict[str, list[str]] = {}
        for node in tree.nodes.values():
            for _, way in ways_of(node):
                for target in {way.target, *(t for _, t in way.by_model)}:
                    if target is not None and isinstance(tree.nodes.get(target.name), Fault):
                        self.led_by.setdefault(target.name, []).append(node.name)

    def run(self) -> Setup:
        # What a retest is come to with depends on all that may hold before the remedy. That is
        # only known in the end; so these ways are gone twice.
        # What may hold the first time at a check is seen on the ways without retests.
        self.retesting = False
        self.go_all_ways()
        self.first = {name: held.maybe for name, held in self.arrival.items()}
        self.retesting = True
        self.arrival, self.going = {}, {}
        self.go_all_ways()
        self.kept = {name: held.maybe for name, held in self.arrival.items()}
        self.arrival, self.going = {}, {}
        self.go_all_ways()
        nodes = self.tree.nodes
        moves = {name: self.moves(nodes[name], held) for name, held in self.arrival.items()}
        leaving = {
            name: self.leaving(nodes[name])
            for name in self.arrival
            if isinstance(nodes[name], Fault | Done | Handoff)
        }
        during = {name: self.during(nodes[name], held) for name, held in self.arrival.items()}
        takedown = {
            name: self.takedown(node)
            for name in self.arrival
            if isinstance(node := nodes[name], Fault)
        }
        return Setup(self.arrival, moves, during, takedown, leaving, self.first)

    def go_all_ways(self) -> None:
        for symptom in self.tree.symptoms.values():
            if symptom.start is not None:
                self.arrive(symptom.start.name, NOTHING)
        while self.queue:
            self.pass_on(self.queue.popleft())

    def arrive(self, name: str, held: Holding, *, done: bool = False) -> None:
        """Notes what holds on a way here; `done`: the step is only done, the way goes on."""
        if name not in self.tree.nodes:
            return
        at = self.arrival.get(name)
        self.arrival[name] = held if at is None else at.join(held)
        if done:
            return
        before = self.going.get(name)
        now = held if before is None else before.join(held)
        if now != before:
            self.going[name] = now
            self.queue.append(name)

    def pass_on(self, name: str) -> None:
        node = self.tree.nodes[name]
        after = self.after(node, self.going[name])
        for _, way in ways_of(node):
            held = after
            for do in way.does:
                step = self.tree.nodes.get(do.name)
                if step is not None:
                    self.arrive(do.name, held, done=True)
                    held = self.after(step, held)
                else:
                    held = self.after_procedure(do.name, held)
            for target in {way.target, *(t for _, t in way.by_model)}:
                if target is not None:
                    self.arrive(target.name, held)
        for check in self.retests(node) if self.retesting else ():
            self.arrive(check, self.before_retest(node, check))

    def retests(self, node: Node) -> list[str]:
        """Where the job goes on after a fault's remedy."""
        if not isinstance(node, Fault):
            return []
        if node.retest is not None:
            return [node.retest.name]
        return [
            name
            for name in self.led_by.get(node.name, [])
            if isinstance(self.tree.nodes[name], Check | Reading)
        ]

    def moves(self, node: Node, held: Holding) -> tuple[Move, ...]:
        found: list[Move] = []
        for need in node.needs:
            if need.name in held.surely:
                continue
            held = self._clear(need, held, found)
            found.append(Move(need.name, False, need.name not in held.maybe))
            held = Holding(held.surely | {need.name}, held.maybe | {need.name})
        return tuple(found)

    def _clear(self, need: Name, held: Holding, found: list[Move] | None = None) -> Holding:
        against = self.excluded.get(need.name, frozenset())
        if found is not None:
            for other, condition in self.tree.conditions.items():
                if other in against & held.maybe and condition.undo_by is not None:
                    found.append(Move(other, True, other in held.surely))
        return Holding(held.surely - against, held.maybe - against)

    def during(self, node: Node, held: Holding) -> Holding:
        """What holds while a node is dealt with: what was there, and all it needs or sets."""
        sets = node.sets if isinstance(node, Step) else ()
        for need in (*node.needs, *sets):
            held = self._clear(need, held)
            held = Holding(held.surely | {need.name}, held.maybe | {need.name})
        return held

    def after(self, node: Node, held: Holding) -> Holding:
        """What holds once a node is dealt with: the same, less what it clears."""
        held = self.during(node, held)
        if isinstance(node, Step):
            gone = frozenset(name.name for name in node.clears)
            held = Holding(held.surely - gone, held.maybe - gone)
        return held

    def after_procedure(self, name: str, held: Holding) -> Holding:
        """What holds once a procedure is done on the way: what it sets up, less what it undoes."""
        for condition in self.tree.conditions.values():
            if condition.undo_by is not None and condition.undo_by.name == name:
                gone = frozenset({condition.name})
                held = Holding(held.surely - gone, held.maybe - gone)
        for condition in self.tree.conditions.values():
            if condition.set_up_by is not None and condition.set_up_by.name == name:
                held = self._clear(Name(condition.name, condition.span), held)
                held = Holding(held.surely | {condition.name}, held.maybe | {condition.name})
        return held

    def before_retest(self, fault: Node, check: str) -> Holding:
        """What holds on arrival at a retest.

        Undone is what the remedy alone needed, and what cannot have held when the check was
        first taken; not what the check needs, and what nothing undoes.
        """
        held = self.arrival[fault.name]
        after = self.after(fault, held)
        there = self.tree.nodes.get(check)
        keep = self.kept.get(fault.name, held.maybe)
        keep &= self.first.get(check, keep)
        keep |= {need.name for need in (there.needs if there else ())}
        conditions = self.tree.conditions
        keep |= {name for name in after.maybe if conditions[name].undo_by is None}
        return Holding(after.surely & keep, after.maybe & keep)

    def takedown(self, fault: Node) -> tuple[Move, ...]:
        """What is undone between a remedy and its retest.

        Always: what holds after the remedy and is undone for every check it may be taken with.
        Otherwise: what is undone unless it held already when that check was first taken.
        """
        held = self.arrival[fault.name]
        after = self.after(fault, held)
        checks = self.retests(fault)
        states = [self.before_retest(fault, check).maybe for check in checks]
        needed = [{need.name for need in self.needs(check)} for check in checks]
        remedy = {need.name for need in fault.needs} - held.surely
        moves = []
        for name in reversed(self.tree.conditions):
            if not checks or name not in after.maybe or self.lasts(name):
                continue
            gone = [name not in state for state in states]
            for_remedy = name in remedy and not all(name in some for some in needed)
            if any(gone) or for_remedy:
                moves.append(Move(name, True, all(gone) and name in after.surely))
        return tuple(moves)

    def needs(self, name: str) -> tuple[Name, ...]:
        node = self.tree.nodes.get(name)
        return node.needs if node else ()

    def lasts(self, name: str) -> bool:
        return self.tree.conditions[name].undo_by is None

    def leaving(self, node: Node) -> Holding:
        """What may hold at an end; for a fault, once its retest has passed."""
        found: Holding | None = None
        for name in self.retests(node):
            check = self.tree.nodes.get(name)
            if check is not None and name in self.arrival:
                one = self.after(check, self.before_retest(node, name))
                found = one if found is None else found.join(one)
        return found if found is not None else self.after(node, self.arrival[node.name])


def _exclusions(tree: Tree) -> dict[str, frozenset[str]]:
    """For each condition those it cannot hold with, whichever of the two says so."""
    found: dict[str, set[str]] = {}
    for condition in tree.conditions.values():
        for other in condition.excludes:
            found.setdefault(condition.name, set()).add(other.name)
            found.setdefault(other.name, set()).add(condition.name)
    return {name: frozenset(others) for name, others in found.items()}
