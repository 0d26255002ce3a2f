"""Follows a fault along the author's ways from a symptom to its ends, item by item.

Checks, steps and set-up are counted each time they are done; checks that are the same are done
once while their answer is known and not in doubt. What is left set when the job ends costs nothing.
The answers are those of `order/asked`. Where the last cause is confirmed, at the end its own check
is taken (the cheapest with an answer that it alone gives, if it was not taken on the way) and its
remedy done; faults that no check tells apart are tried in turn, the least
minutes for its share first. A retest is not counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from treewright.model.graph import Graph
from treewright.model.nodes import Check, Reading, Step
from treewright.model.tree import Tree
from treewright.reason.minutes import Job, Spent
from treewright.reason.order.asked import Asked, Said
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import Last, bits
from treewright.record import record

MOST_ENDS = 5000
"""Ways of one fault that are followed; a fault with more answers left open is not weighed."""


@record
class End:
    """Where a fault may end, how often (of 1), and all that was done by then.

    `node`: None where the way leads nowhere or goes round for ever. `found`: whether that is
    the fault, or one that no check tells from it. `confirming`: what is done besides where the
    last cause is confirmed; nothing where the fault is not found.
    """

    node: str | None
    part: Fraction
    found: bool
    spent: tuple[Spent, ...]
    confirming: tuple[Spent, ...]

    def done(self, last: Last) -> tuple[Spent, ...]:
        """All that is done."""
        return self.spent if last == "inferred" else (*self.spent, *self.confirming)

    def minutes(self, last: Last) -> Fraction:
        """What is known of what it takes."""
        return sum((one.cost.minutes or Fraction(0) for one in self.done(last)), Fraction(0))


@dataclass(slots=True)
class _Point:
    """A job under way: where it stands."""

    at: str | None
    part: Fraction
    job: Job
    said: Said
    been: frozenset[tuple[object, ...]]


class Walk:
    """Follows the faults of a question."""

    def __init__(self, tree: Tree, graph: Graph, symptom: str, of: Question) -> None:
        self.tree, self.graph, self.of = tree, graph, of
        self.asked = Asked(tree, graph, of)
        self.there = frozenset(graph.vertices)
        self.start = tree.symptoms[symptom].start
        self.group = {at: tuple(bits(all_)) for all_ in of.instance.groups() for at in bits(all_)}

    def ends(self, fault: int) -> tuple[End, ...] | None:
        """All ends of a fault, in the order of the answers; None where they are too many."""
        start = self.start.name if self.start else None
        todo = [_Point(start, Fraction(1), Job(self.tree), Said(), frozenset())]
        found: list[End] = []
        while todo:
            if len(found) + len(todo) > MOST_ENDS:
                return None
            point = todo.pop()
            node = self.tree.nodes.get(point.at or "")
            here = (point.at, frozenset(point.job.held), point.said.key)
            if node is None or node.name not in self.there or here in point.been:
                found.append(self.end(fault, None, point))
                continue
            been = point.been | {here}
            if isinstance(node, Step):
                point.job.deal_with(node)
                said = self.asked.after(fault, node, point.said)
                way = node.way
                does = way.does if way else ()
                target = way.target_on(self.graph.model) if way else None
                point.said = self.do(fault, (one.name for one in does), point.job, said)
                todo.append(
                    _Point(target.name if target else None, point.part, point.job, point.said, been)
                )
            elif isinstance(node, Check | Reading) and node.name in self.asked.place:
                if not self.asked.known(node, point.said):
                    point.job.deal_with(node)
                onward = []
                for answer, part, said in self.asked.at(fault, node, point.said):
                    job, way = point.job.fork(), node.outcomes[answer].way
                    said = self.do(fault, (one.name for one in way.does), job, said)
                    target = way.target_on(self.graph.model)
                    name = target.name if target else None
                    onward.append(_Point(name, point.part * part, job, said, been))
                todo += reversed(onward)
            else:
                found.append(self.end(fault, node.name, point))
        return tuple(found)

    def do(self, fault: int, names: Iterable[str], job: Job, said: Said) -> Said:
        for name in names:
            job.do(name)
            step = self.tree.nodes.get(name)
            said = self.asked.after(fault, step if isinstance(step, Step) else None, said)
        return said

    def end(self, fault: int, node: str | None, point: _Point) -> End:
        suspects = self.of.instance.suspects
        found = any(suspects[one].name == node for one in self.group[fault])
        spent = tuple(point.job.spent)
        confirming: Sequence[Spent] = ()
        if found:
            confirming = self.confirm(fault, point.job)[len(spent) :]
        return End(node, point.part, found, spent, tuple(confirming))

    def confirm(self, fault: int, job: Job) -> list[Spent]:
        """All that is done once the suspects left were tried in turn, up to the fault."""
        for at in sorted(self.group[fault], key=lambda one: self.rank(one, job)):
            job = job.fork()
            before = set(job.held)
            self.try_one(at, job)
            if at == fault:
                break
            job.take_down(before)
        return job.spent

    def try_one(self, at: int, job: Job) -> None:
        """Makes sure of one fault: its own check, with what must come before it, as far as these
        were not taken yet, and its remedy."""
        of = self.of.instance
        suspect = of.suspects[at]
        for one in of.rows[suspect.confirm] if suspect.confirm is not None else ():
            same = {of.probes[other].name for other in bits(of.alike[one])}
            if all(spent.kind != "check" or spent.name not in same for spent in job.spent):
                job.deal_with(self.tree.nodes[of.probes[one].name])
        job.deal_with(self.tree.nodes[suspect.name])

    def rank(self, at: int, job: Job) -> tuple[bool, Fraction, int]:
        """The least minutes for its share first; what has no share last."""
        alone = job.fork()
        self.try_one(at, alone)
        more = alone.spent[len(job.spent) :]
        minutes = sum((one.cost.minutes or Fraction(0) for one in more), Fraction(0))
        share = Fraction(self.of.instance.suspects[at].share)
        return not share, minutes / share if share else minutes, at
