"""What the author's tree costs by its faults' shares: expected, at worst, where the time goes.

Each fault is followed by `weigh_walk`; here it is added up. Knows nothing of models beyond the
one it is asked about, nor of how figures are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import TypeAlias

from treewright.model.graph import Graph
from treewright.model.nodes import Fault
from treewright.model.tree import Symptom, Tree
from treewright.reason.minutes import Kind, Spent
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import Last
from treewright.reason.weigh_walk import End, Walk
from treewright.record import record

PERCENTILE = Fraction(9, 10)
"""The part of all jobs in which the fault is found within the 90th percentile."""

_Item: TypeAlias = tuple[Kind, str]


@record
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


@record
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


@record
class Bar:
    """Something that is done in some jobs.

    `minutes`: expected in a job, None where it has no time. `times`: how often it is done in a
    job, expected. `jobs`: the part of all jobs in which it is done at all.
    """

    item: Spent
    minutes: Fraction | None
    times: Fraction
    jobs: Fraction


@record
class Wanted:
    """A tool, a part or a licence, and the part of all jobs in which it is wanted."""

    kind: str  # "tool", "part", "licence", "people"
    text: str
    jobs: Fraction


@record
class Weighed:
    """The faults behind one symptom, on one model, followed along the author's ways.

    `open`: faults that leave too many answers open to be followed (`weigh_walk.MOST_ENDS`); they
    are in no figure.
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
    walk = Walk(tree, graph, symptom, of)
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
