"""What the author's own order costs: each fault followed along the tree's ways.

It goes by the times of the same question as the best order, so that the two can be compared:
checks, and set-up where it is not done already. Reckoned apart is what no order changes: steps
that set nothing up, and checks that all faults answer alike (they guard the work).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from fractions import Fraction

from treewright.model.graph import Graph
from treewright.model.nodes import Check, Reading, Step, Way
from treewright.model.tree import Tree
from treewright.reason.order.asked import Asked, Group, Said
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import bits
from treewright.reason.order.plan import closing, deep, set_up
from treewright.record import record


@record
class Taken:
    """A check taken on a way: by its number in the instance, the place of its answer, and
    what was spent on arrival, in units of cost."""

    check: int
    answer: int
    spent: int


@record
class End:
    """Where the author's order leads a fault: how often (of 1), after how many minutes."""

    node: str | None  # None: nowhere, or round for ever
    part: Fraction
    minutes: Fraction
    besides: Fraction  # minutes of what no order changes
    way: tuple[Taken, ...]


@record
class Followed:
    """What the author's order costs.

    Attributes:
        expected: minutes, by the shares of the faults.
        worst: of the longest way that a fault can take.
        besides: expected minutes of what no order changes, not in `expected`.
        ends: for each fault all its ends.
        astray: the faults that can end elsewhere than at themselves or one of their group. Where
            there are any, the author's order does less than the best one, and is not to be
            compared with it.
    """

    expected: Fraction
    worst: Fraction
    besides: Fraction
    ends: Mapping[str, tuple[End, ...]]
    astray: tuple[str, ...]


def follow_author(tree: Tree, graph: Graph, symptom: str, of: Question) -> Followed:
    """Follows each fault of a question along the tree's own ways, from its symptom to its ends.

    What a check answers, also asked again, is said in `asked`; it is paid each time, but not where
    one that is the same has answered it, until that is in doubt. Where the last fault is confirmed,
    what that takes is paid for its group as at an end of the best order.
    """
    start = tree.symptoms[symptom].start
    suspects = of.instance.suspects
    group_of = {at: group for group in of.instance.groups() for at in bits(group)}
    walk = _Walk(tree, graph, of, group_of)
    everyone = tuple((at, Fraction(1)) for at in range(len(suspects)))
    came: list[list[End]] = [[] for _ in suspects]
    with deep(len(tree.nodes), len(tree.nodes)):
        for fault, end in walk.follow(everyone, _Job(start.name if start else None)):
            came[fault].append(end)
    ends: dict[str, tuple[End, ...]] = {}
    astray = []
    total = besides = worst = Fraction(0)
    for at, (suspect, found) in enumerate(zip(suspects, came, strict=True)):
        alike = {suspects[one].name for one in bits(group_of[at])}
        if any(end.node not in alike for end in found):
            astray.append(suspect.name)
        share = Fraction(suspect.share)
        total += share * sum((end.part * end.minutes for end in found), Fraction(0))
        besides += share * sum((end.part * end.besides for end in found), Fraction(0))
        worst = max(worst, *(end.minutes for end in found))
        ends[suspect.name] = tuple(found)
    whole = sum((Fraction(suspect.share) for suspect in suspects), Fraction(0))
    return Followed(total / whole, worst, besides / whole, ends, tuple(astray))


@record
class _Job:
    """A job under way: where it stands, and what it took so far (`spent` in units of cost)."""

    at: str | None
    spent: int = 0
    besides: Fraction = Fraction(0)
    held: int = 0
    done: int = 0
    said: Said = field(default_factory=Said)
    been: frozenset[tuple[object, ...]] = frozenset()
    way: tuple[Taken, ...] = ()


class _Walk:
    def __init__(self, tree: Tree, graph: Graph, of: Question, group_of: dict[int, int]) -> None:
        self.group_of = group_of
        self.tree, self.model, self.of = tree, graph.model, of
        self.asked = Asked(tree, graph, of)
        self.there = set(graph.vertices)
        self.bit = {state.name: 1 << at for at, state in enumerate(of.instance.states)}
        self.idle = of.instance.idle

    def follow(self, group: Group, job: _Job) -> Iterator[tuple[int, End]]:
        """All ends that faults can come to that answered alike so far."""
        node = self.tree.nodes.get(job.at or "")
        here = (job.at, job.held, job.said.key)
        if node is None or node.name not in self.there or here in job.been:
            yield from self.ends(group, None, job)
            return
        job = replace(job, been=job.been | {here})
        if isinstance(node, Step):
            for some, then in self.do(group, node.name, job):
                yield from self.go(some, node.way, then)
        elif isinstance(node, Check | Reading) and node.name in self.asked.place:
            check, of = self.asked.place[node.name], self.of.instance
            before, known = job.spent, self.asked.known(node, job.said)
            if known:
                pass  # what was found is still there to be read
            elif self.idle >> check & 1:
                besides = job.besides + Fraction(of.costs[check], of.per_minute)
                job = replace(job, besides=besides)
            else:
                cost, held = set_up(of, job.held, of.probes[check].needs)
                spent = before + cost + of.costs[check]
                job = replace(job, spent=spent, held=held, done=job.done | of.alike[check])
            for answer, some, said in self.asked.of_group(group, node, job.said):
                passed = job.way if known else (*job.way, Taken(check, answer, before))
                then = replace(job, said=said, way=passed)
                yield from self.go(some, node.outcomes[answer].way, then)
        else:
            yield from self.ends(group, node.name, job)

    def go(self, group: Group, way: Way | None, job: _Job) -> Iterator[tuple[int, End]]:
        """Follows faults along a way: what is done on it, and where it leads."""
        target = way.target_on(self.model) if way else None
        jobs = [(group, job)]
        for name in way.does if way else ():
            jobs = [done for some, one in jobs for done in self.do(some, name.name, one)]
        for some, one in jobs:
            yield from self.follow(some, replace(one, at=target.name if target else None))

    def do(self, group: Group, name: str, job: _Job) -> list[tuple[Group, _Job]]:
        """A step or a procedure done: what it sets up is paid as set-up, all else besides.

        It may mend what some faults show and others do not: then they part here.
        """
        step, procedure = self.tree.nodes.get(name), self.tree.procedures.get(name)
        time, sets, clears, undoes = Fraction(0), 0, 0, 0
        if isinstance(step, Step):
            sets = sum({self.bit.get(one.name, 0) for one in step.sets})
            clears = sum({self.bit.get(one.name, 0) for one in step.clears})
            time = step.cost.minutes or time
        elif procedure is not None:
            for state, bit in self.bit.items():
                condition = self.tree.conditions[state]
                if condition.set_up_by is not None and condition.set_up_by.name == name:
                    sets |= bit
                if condition.undo_by is not None and condition.undo_by.name == name:
                    undoes |= bit & job.held
            time = procedure.cost.minutes or time
        of = self.of.instance
        cost, held = set_up(of, job.held & ~undoes, sets)
        cost += sum(of.undos[at] for at in bits(undoes))
        besides = job.besides if sets or undoes else job.besides + time
        spent = job.spent + cost
        job = replace(job, spent=spent, held=held & ~clears, besides=besides)
        if not isinstance(step, Step) or not step.doubts:
            return [(group, job)]
        parted: dict[tuple[object, ...], tuple[list[tuple[int, Fraction]], _Job]] = {}
        for fault, part in group:
            said = self.asked.after(fault, step, job.said)
            some, _ = parted.setdefault(said.key, ([], replace(job, said=said)))
            some.append((fault, part))
        return [(tuple(some), one) for some, one in parted.values()]

    def ends(self, group: Group, node: str | None, job: _Job) -> Iterator[tuple[int, End]]:
        of = self.of.instance
        for fault, part in group:
            spent = job.spent + closing(of, fault, self.group_of[fault], job.held, job.done)
            minutes = Fraction(spent, of.per_minute)
            yield fault, End(node, part, minutes, job.besides, job.way)
