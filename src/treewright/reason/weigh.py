"""What the author's tree costs: each fault followed from a symptom to its ends, item by item.

Checks, steps and set-up are counted each time they are done; what is left set when the job ends
costs nothing. The answers are those of `order/asked`. Where the last cause is `confirmed`, at
the end its own check is taken (the cheapest with an answer that it alone gives, if it was not
taken on the way) and its remedy done; faults that no check tells apart are tried in turn, the
least minutes for its share first. A retest is not counted. Knows nothing of models beyond the
one it is asked about, nor of how figures are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from treewright.model.graph import Graph
from treewright.model.tree import Check, Fault, Reading, Step, Symptom, Tree
from treewright.reason.minutes import Job, Kind, Spent
from treewright.reason.order.asked import Asked, Said
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import Last, bits

PERCENTILE = Fraction(9, 10)
"""The part of all jobs in which the fault is found within the 90th percentile."""

MOST_ENDS = 5000
"""Ways of one fault that are followed; a fault with more answers left open is not weighed."""

_Item: TypeAlias = tuple[Kind, str]


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class FaultWeighed:
    """A fault: its share of all (of 1) and its ends."""

    fault: Fault
    share: Fraction
    ends: tuple[End, ...]

    @property
    def astray(self) -> Fraction:
        """How often (of 1) it is not found."""
        return sum((end.part for end in self.ends if not end.found), Fraction(0))

    def minutes(self, last: Last) -> Fraction:
        """Expected, of what is known; to where the way ends, where it is not found."""
        return sum((end.part * end.minutes(last) for end in self.ends), Fraction(0))

    def worst(self, last: Last) -> Fraction:
        """Of its longest way, of what is known."""
        return max(end.minutes(last) for end in self.ends)


@dataclass(frozen=True, slots=True)
class Figures:
    """What a job takes; where times are missing, all minutes are at least these.

    Attributes:
        expected: minutes, by the shares of the faults.
        worst: minutes of the longest way, and the fault that takes it.
        percentile: the fewest minutes such that the shares of the faults found within them are
            at least 90 % of all; None where less than that is found at all.
        people: expected minutes of all people together.
        missing: what has no time, of all that is done on some way.
    """

    expected: Fraction
    worst: Fraction
    worst_fault: str
    percentile: Fraction | None
    people: Fraction
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """Something that is done in some jobs.

    `minutes`: expected in a job, None where it has no time. `times`: how often it is done in a
    job, expected. `jobs`: the part of all jobs in which it is done at all.
    """

    item: Spent
    minutes: Fraction | None
    times: Fraction
    jobs: Fraction


@dataclass(frozen=True, slots=True)
class Wanted:
    """A tool, a part or a licence, and the part of all jobs in which it is wanted."""

    kind: str  # "tool", "part", "licence", "people"
    text: str
    jobs: Fraction


@dataclass(frozen=True, slots=True)
class Weighed:
    """The faults behind one symptom, on one model, followed along the author's ways.

    `open`: faults that leave too many answers open to be followed, see `MOST_ENDS`; they are in
    no figure.
    """

    symptom: Symptom
    faults: tuple[FaultWeighed, ...]
    open: tuple[Fault, ...]

    @property
    def astray(self) -> Fraction:
        """The part of all jobs in which the fault is not found."""
        return sum((one.share * one.astray for one in self.faults), Fraction(0))

    def figures(self, last: Last) -> Figures:
        """The figures, with the last cause inferred or confirmed."""
        ends = [(one.share * end.part, end) for one in self.faults for end in one.ends]
        longest = max(self.faults, key=lambda one: one.worst(last))
        done = [(part, spent) for part, end in ends for spent in end.done(last)]
        return Figures(
            sum((part * end.minutes(last) for part, end in ends), Fraction(0)),
            longest.worst(last),
            longest.fault.name,
            within(PERCENTILE, [(end.minutes(last), part) for part, end in ends if end.found]),
            sum((part * _of_all_people(one) for part, one in done), Fraction(0)),
            tuple(dict.fromkeys(one.label for _, one in done if one.cost.minutes is None)),
        )

    def bars(self, last: Last) -> tuple[Bar, ...]:
        """Where the time goes: the most minutes first; what has no time comes last."""
        times: dict[_Item, Fraction] = {}
        jobs: dict[_Item, Fraction] = {}
        items: dict[_Item, Spent] = {}
        for one in self.faults:
            for end in one.ends:
                part = one.share * end.part
                for spent in end.done(last):
                    item = (spent.kind, spent.label)
                    items.setdefault(item, spent)
                    times[item] = times.get(item, Fraction(0)) + part
                for item in {(spent.kind, spent.label) for spent in end.done(last)}:
                    jobs[item] = jobs.get(item, Fraction(0)) + part
        found = []
        for item, spent in items.items():
            time = spent.cost.minutes
            minutes = None if time is None else time * times[item]
            found.append(Bar(spent, minutes, times[item], jobs[item]))
        return tuple(sorted(found, key=lambda bar: (bar.minutes is None, -(bar.minutes or 0))))

    def wanted(self, last: Last) -> tuple[Wanted, ...]:
        """Licences, tools and parts, each kind with what is wanted most often first."""
        jobs: dict[tuple[str, str], Fraction] = {}
        for one in self.faults:
            for end in one.ends:
                for what in dict.fromkeys(
                    want for spent in end.done(last) for want in _wants(spent)
                ):
                    jobs[what] = jobs.get(what, Fraction(0)) + one.share * end.part
        order = ("people", "licence", "tool", "part")
        found = [Wanted(kind, text, part) for (kind, text), part in jobs.items()]
        return tuple(sorted(found, key=lambda one: (order.index(one.kind), -one.jobs)))


def within(part: Fraction, found: Iterable[tuple[Fraction, Fraction]]) -> Fraction | None:
    """The fewest minutes in which at least a part (of 1) of all is found.

    Args:
        part: more than 0.
        found: minutes, and the part of all that is found then.

    Returns:
        The minutes; None where less than the part is found at all.
    """
    so_far = Fraction(0)
    for minutes, more in sorted(found):
        so_far += more
        if so_far >= part:
            return minutes
    return None


def _of_all_people(one: Spent) -> Fraction:
    return (one.cost.minutes or Fraction(0)) * (one.cost.people or 1)


def _wants(one: Spent) -> Iterator[tuple[str, str]]:
    cost = one.cost
    if cost.people is not None and cost.people > 1:
        yield "people", f"{cost.people} people"
    if cost.licence is not None:
        yield "licence", cost.licence.text
    yield from (("tool", tool.text) for tool in cost.tools)
    yield from (("part", part.text) for part in cost.parts)


def weigh(tree: Tree, graph: Graph, symptom: str, of: Question) -> Weighed:
    """Follows each fault of a question along the tree's own ways, from its symptom to its ends."""
    walk = _Walk(tree, graph, symptom, of)
    whole = sum((Fraction(one.share) for one in of.instance.suspects), Fraction(0))
    followed: list[tuple[Fault, Fraction, tuple[End, ...]]] = []
    left: list[Fault] = []
    for at, suspect in enumerate(of.instance.suspects):
        fault = tree.nodes[suspect.name]
        assert isinstance(fault, Fault)
        ends = walk.ends(at)
        if ends is None:
            left.append(fault)
            whole -= Fraction(suspect.share)
        else:
            followed.append((fault, Fraction(suspect.share), ends))
    faults = tuple(FaultWeighed(one, share / whole if whole else share, ends)
                   for one, share, ends in followed)  # fmt: skip
    return Weighed(tree.symptoms[symptom], faults, tuple(left))


@dataclass(slots=True)
class _Point:
    """A job under way: where it stands."""

    at: str | None
    part: Fraction
    job: Job
    said: Said
    been: frozenset[tuple[object, ...]]


class _Walk:
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
        """Makes sure of one fault: its own check, if it was not taken yet, and its remedy."""
        suspect = self.of.instance.suspects[at]
        if suspect.confirm is not None:
            check = self.tree.nodes[self.of.instance.probes[suspect.confirm].name]
            if all(one.kind != "check" or one.name != check.name for one in job.spent):
                job.deal_with(check)
        job.deal_with(self.tree.nodes[suspect.name])

    def rank(self, at: int, job: Job) -> tuple[bool, Fraction, int]:
        """The least minutes for its share first; what has no share last."""
        alone = job.fork()
        self.try_one(at, alone)
        more = alone.spent[len(job.spent) :]
        minutes = sum((one.cost.minutes or Fraction(0) for one in more), Fraction(0))
        share = Fraction(self.of.instance.suspects[at].share)
        return not share, minutes / share if share else minutes, at
