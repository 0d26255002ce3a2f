"""An interpreter of trees that shares nothing with the program but the model's dataclasses.

It goes through a tree as a technician would: reads what is given, judges limits by comparing
numbers, does the steps, goes back where the tree says so, takes retests. Tests hold the
program's own reasoning and its outputs against it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from treewright.model.nodes import (
    Against,
    Check,
    Done,
    Fault,
    Handoff,
    Node,
    Otherwise,
    Reading,
    Stated,
    Step,
    Way,
)
from treewright.model.tree import Case, Tree
from treewright.text.interval import Interval, Limits
from treewright.text.units import Unit

Values: TypeAlias = Mapping[str | None, Fraction]
# What is found at a check the first time, the second time …: an answer, or what was measured.
Given: TypeAlias = Callable[[Check | Reading, int], int | Values]


class Lost(Exception):
    """There is no way on: said in the words of somebody who stands in front of the machine."""


@dataclass(frozen=True, slots=True)
class Visit:
    """One stop. `answer`: its index, None at a step or an end. `does`: steps done after it."""

    node: str
    answer: int | None
    does: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """A job from a symptom to its end.

    `end`: the node it ended at; a check whose retest passed where the job ended with that.
    `found`: the faults that were found on the way, in order.
    """

    visits: tuple[Visit, ...]
    end: str
    found: tuple[str, ...]

    @property
    def way(self) -> tuple[str, ...]:
        return tuple(visit.node for visit in self.visits)


# ---- judging ---------------------------------------------------------------------------------


def inside(limits: Limits, value: Fraction) -> bool:
    def is_in(one: Interval) -> bool:
        above = one.low is None or value > one.low or (one.low_included and value == one.low)
        under = one.high is None or value < one.high or (one.high_included and value == one.high)
        return above and under

    return any(is_in(one) for one in limits.intervals)


def in_unit(value: Fraction, source: Unit | None, target: Unit | None) -> Fraction:
    if source is None or target is None:
        return value
    return (value * source.factor + source.offset - target.offset) / target.factor


def judge(reading: Reading, model: str | None, values: Values) -> tuple[int, ...]:
    """All answers that apply to values in the reading's unit."""
    found = []
    for index, outcome in enumerate(reading.outcomes):
        match outcome.test:
            case Stated() as test:
                limit, unit, verdict = test.limits, test.unit, "within"
            case Against() as test:
                spec = reading.spec_for(model)
                if spec is None:
                    continue
                limit, unit, verdict = spec.limits, spec.unit, test.verdict
            case _:
                continue
        passed = {
            place: _verdict(limit, in_unit(value, reading.unit, unit)) == verdict
            for place, value in values.items()
        }
        match test.quantifier:
            case "one" | "all":
                applies = all(passed.values())
            case "any":
                applies = any(passed.values())
            case "none":
                applies = not any(passed.values())
            case "only":
                applies = [place for place, ok in passed.items() if ok] == [test.place]
        if applies:
            found.append(index)
    if not found:
        found = [i for i, one in enumerate(reading.outcomes) if isinstance(one.test, Otherwise)]
    return tuple(found)


def _verdict(limits: Limits, value: Fraction) -> str:
    """Within, below all that is within, above all that is within, or between two ranges."""
    if inside(limits, value):
        return "within"
    low, high = limits.intervals[0].low, limits.intervals[-1].high
    if low is not None and value <= low:
        return "below"
    return "above" if high is not None and value >= high else "between"


# ---- going -----------------------------------------------------------------------------------


def walk(
    tree: Tree,
    symptom: str,
    given: Given,
    model: str | None = None,
    *,
    remedies: bool = False,
    visits: int = 1000,
) -> Job:
    """Goes from a symptom to an end.

    Args:
        given: what is found at each check.
        remedies: go on after a fault: do its remedy and take the retest. Otherwise the first
            fault is the end.
        visits: how many stops a job may have.

    Raises:
        Lost: there is no way on, no answer or more than one applies, or it goes on for ever.
    """
    start = tree.symptoms[symptom].start
    if start is None:
        raise Lost(f"symptom {symptom} leads nowhere")
    at, taken, asked = start.name, list[Visit](), dict[str, int]()
    found: list[str] = []
    last_check = retest = ""
    while len(taken) < visits:
        node = tree.nodes[at]
        if node.models and model is not None and model not in node.models:
            raise Lost(f"{at} is not there on {model}")
        way: Way | None = None
        match node:
            case Handoff() | Done():
                return Job((*taken, Visit(at, None)), at, tuple(found))
            case Fault():
                taken.append(Visit(at, None))
                found.append(at)
                if not remedies:
                    return Job(tuple(taken), at, tuple(found))
                at = retest = node.retest.name if node.retest else last_check
                continue
            case Check() | Reading():
                asked[at] = asked.get(at, 0) + 1
                answer = _answer(node, model, given(node, asked[at]))
                if retest == at and answer in node.normal and tree.after_remedy == "finish":
                    return Job((*taken, Visit(at, answer)), at, tuple(found))
                way, last_check, retest = node.outcomes[answer].way, at, ""
                taken.append(Visit(at, answer, tuple(do.name for do in way.does)))
            case Step():
                if node.way is None:
                    raise Lost(f"step {at} has no way on")
                way = node.way
                taken.append(Visit(at, None, tuple(do.name for do in way.does)))
        for do in way.does:
            if not isinstance(tree.nodes.get(do.name), Step) and do.name not in tree.procedures:
                raise Lost(f"{do.name} cannot be done: it is no step and no procedure")
        at = _target(node, way, model)
    raise Lost(f"still not at an end after {visits} stops, last {at}")


def _answer(node: Check | Reading, model: str | None, given: int | Values) -> int:
    if isinstance(given, int):
        return given
    assert isinstance(node, Reading)
    found = judge(node, model, given)
    if len(found) != 1:
        read = ", ".join(f"{place or 'read'} {float(value):g}" for place, value in given.items())
        labels = [node.outcomes[index].label for index in found]
        raise Lost(f"{node.name}, {read}: answers that apply are {labels}")
    return found[0]


def _target(node: Node, way: Way, model: str | None) -> str:
    target = way.target
    for name, other in way.by_model:
        if name == model:
            target = other
    if target is None:
        raise Lost(f"{node.name} leads nowhere")
    return target.name


def models_of(tree: Tree, *limits: tuple[str, ...]) -> tuple[str | None, ...]:
    """The models on which everything limited to these models is there."""
    if not tree.models:
        return (None,)
    return tuple(m for m in tree.models if all(not limit or m in limit for limit in limits))


# ---- a known job -----------------------------------------------------------------------------


def follow_case(tree: Tree, case: Case, model: str | None) -> Job:
    """Goes as a case was read. What is asked again, after a step or a remedy, is good by then.

    A fault that is not where the case ends is remedied and the job goes on.

    Raises:
        Lost: besides the reasons of `walk`: the tree asks what the case does not say, or the
            case says what the tree did not ask.
    """
    assert case.symptom is not None and case.ends is not None
    read: dict[str, int | Values] = {}
    for entry in case.read:
        if entry.outcome is None and not entry.values:
            raise Lost(f"{entry.node}: `{entry.text}` is no answer and no value")
        read[entry.node.name] = dict(entry.values) if entry.outcome is None else entry.outcome

    def given(node: Check | Reading, time: int) -> int | Values:
        if node.name not in read:
            raise Lost(f"the tree asks {node.name}, and the case does not say")
        return read[node.name] if time == 1 else node.normal[0]

    job = walk(tree, case.symptom.name, given, model)
    if job.end != case.ends.name and job.found:
        job = walk(tree, case.symptom.name, given, model, remedies=True)
    if unasked := [name for name in read if name not in job.way]:
        raise Lost(f"ends at {job.end} and the tree never asks {', '.join(unasked)}")
    return job


# ---- a fault by what it shows ----------------------------------------------------------------


def ends_of(
    tree: Tree, fault: Fault, symptom: str, model: str | None
) -> dict[str, tuple[str, ...]]:
    """Where a machine with this fault may end, each with a shortest way there.

    Every check answers what the fault shows there, else its normal answer; where the fault
    may or may not show, both. Each fault found is an end.

    Raises:
        Lost: some way leads nowhere.
    """
    start = tree.symptoms[symptom].start
    if start is None:
        raise Lost(f"symptom {symptom} leads nowhere")
    came: dict[str, tuple[str, ...]] = {start.name: (start.name,)}
    queue = deque([start.name])
    ends = {}
    while queue:
        name = queue.popleft()
        node = tree.nodes[name]
        if isinstance(node, Fault | Handoff | Done):
            ends[name] = came[name]
        for way in _ways(node, fault):
            target = _target(node, way, model)
            if target not in came:
                came[target] = (*came[name], target)
                queue.append(target)
    return ends


def _ways(node: Node, fault: Fault) -> Iterator[Way]:
    if isinstance(node, Step):
        if node.way is None:
            raise Lost(f"step {node.name} has no way on")
        yield node.way
    elif isinstance(node, Check | Reading):
        shown = [one for one in fault.shows if one.node.name == node.name]
        answers = {one.outcome for one in shown if one.outcome is not None}
        if all(one.maybe for one in shown):
            answers |= set(node.normal)
        for answer in sorted(answers):
            yield node.outcomes[answer].way
