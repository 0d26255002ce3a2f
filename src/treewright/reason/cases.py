"""Follows a known job through the tree by what was read: does it end where it says?

Each check answers what the case says. What is asked again, after a step or a remedy, is good
by then. A fault that is not where the case ends is remedied, its retest taken, and the job
goes on. Judges limits exactly; knows nothing of what faults show.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from treewright.model.graph import entry
from treewright.model.nodes import Check, Done, Fault, Handoff, Node, Reading, Step, Way
from treewright.model.tree import Case, CaseEntry, Tree, on_model
from treewright.reason.limits import judge
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Stop
from treewright.record import record

Outcome: TypeAlias = Literal[
    "ends", "elsewhere", "not-said", "no-answer", "nowhere", "round", "not-asked", "unread"
]
"""ends: where it says. elsewhere: at another end. not-said: the tree asks what the case does not
say. no-answer: none, or more than one, covers what was read. nowhere: there is no way on. round:
it goes round for ever. not-asked: it ends where it says, but the tree never asked all that the
case has. unread: a name or an answer of the case is not there, which is another finding."""


@record
class CaseFollowed:
    """How a case goes on one model.

    Attributes:
        outcome: see there.
        way: from the symptom to where it ended or stuck. The last stop has no answer, but for
            nowhere; "retest" is the answer at a fault whose remedy was done.
        end: the last node of the way; where a passed retest ended the job, the fault mended.
        left: for elsewhere the node and answer after which no way leads to the case's end.
        entry: what the case read there; for not-asked the first that was not asked; for
            no-answer what was read.
    """

    case: str
    outcome: Outcome
    way: tuple[Stop, ...] = ()
    end: str = ""
    left: Stop | None = None
    entry: CaseEntry | None = None


def follow_case(tree: Tree, suspects: Suspects, case: Case, model: str | None) -> CaseFollowed:
    """Goes as a case was read.

    Args:
        suspects: of this model.
        case: a case of the tree.
        model: the machine's model.
    """
    if (
        case.symptom is None
        or case.ends is None
        or case.symptom.name not in tree.symptoms
        or case.ends.name not in tree.nodes
        or any(one.outcome is None and not one.values for one in case.read)
    ):
        return CaseFollowed(case.name, "unread")
    return _Job(tree, suspects, case, case.ends.name, model).go(case.symptom.name)


def models_of_case(tree: Tree, case: Case) -> tuple[str | None, ...]:
    """The models a case may be on: the one it names, else all that have its symptom and end."""
    if case.model is not None:
        return (case.model,)
    symptom = tree.symptoms.get(case.symptom.name) if case.symptom else None
    end = tree.nodes.get(case.ends.name) if case.ends else None
    limits = [one.models for one in (symptom, end) if one is not None]
    there = tuple(m for m in tree.models if all(on_model(limit, m) for limit in limits))
    return there or (None,)


@dataclass(slots=True)
class _Job:
    tree: Tree
    suspects: Suspects
    case: Case
    ends: str
    model: str | None
    stops: list[Stop] = field(default_factory=list)
    asked: dict[str, int] = field(default_factory=dict)
    read: dict[str, CaseEntry] = field(default_factory=dict)
    fresh: int = 0  # how often something was asked the first or the second time
    left: Stop | None = None
    mended: str = ""  # the last fault whose remedy was done

    def go(self, symptom: str) -> CaseFollowed:
        for one in self.case.read:
            self.read.setdefault(one.node.name, one)
        start = self.tree.symptoms[symptom]
        self.stops.append(Stop(entry(symptom), ""))
        if start.start is None or not on_model(start.models, self.model):
            return self.over("nowhere", entry(symptom))
        at, led_by, retest = start.start.name, "", ""
        been: set[tuple[str, str, str, int]] = set()
        while True:
            node = self.tree.nodes.get(at)
            if node is None or not on_model(node.models, self.model):
                return self.over("nowhere", self.stops[-1].node)
            # What is asked a second time is answered alike for ever: so a job that comes to
            # where it was, and has asked nothing new since, goes round.
            here = (at, led_by, retest, self.fresh)
            if here in been:
                return self.over("round", at)
            been.add(here)
            answer = ""
            way: Way
            match node:
                case Done() | Handoff():
                    return self.over("ends" if at == self.ends else "elsewhere", at)
                case Fault():
                    if at == self.ends:
                        return self.over("ends", at)
                    again = node.retest.name if node.retest else led_by
                    if not again:
                        return self.over("elsewhere", at)
                    self.stops.append(Stop(at, "retest"))
                    self.mended, at, retest = at, again, again
                    continue
                case Check() | Reading():
                    given = self.answer(node)
                    if isinstance(given, CaseFollowed):
                        return given
                    passed = retest == at and given in node.normal
                    if passed and self.tree.after_remedy == "finish":
                        return self.over("elsewhere", at, mended=self.mended)
                    answer, way = node.outcomes[given].label, node.outcomes[given].way
                    led_by, retest = at, ""
                case Step():
                    if node.way is None:
                        return self.over("nowhere", at)
                    way = node.way
            self.stops.append(Stop(at, answer))
            at = self.onward(node, answer, way)

    def answer(self, node: Check | Reading) -> int | CaseFollowed:
        """The answer that is given now."""
        self.asked[node.name] = self.asked.get(node.name, 0) + 1
        self.fresh += self.asked[node.name] <= 2
        read = self.read.get(node.name)
        if read is None:
            return self.over("not-said", node.name)
        if self.asked[node.name] > 1:
            return node.normal[0] if node.normal else 0
        if read.outcome is not None:
            return read.outcome
        assert isinstance(node, Reading)
        try:
            found = judge(node, self.model, dict(read.values))
        except KeyError:  # a place has no value: that is another finding
            return CaseFollowed(self.case.name, "unread")
        return found[0] if len(found) == 1 else self.over("no-answer", node.name, read)

    def onward(self, node: Node, answer: str, way: Way) -> str:
        target = way.target_on(self.model)
        onward = target.name if target else ""
        suspects, ends = self.suspects, self.ends
        if ends in suspects.ends and onward in suspects.behind and suspects.leads(node.name, ends):
            self.left = None if suspects.leads(onward, ends) else Stop(node.name, answer)
        return onward

    def over(
        self, outcome: Outcome, at: str, read: CaseEntry | None = None, mended: str = ""
    ) -> CaseFollowed:
        """The job is over at a node; the way there ends with it, unless it does already."""
        if self.stops[-1].node != at:
            self.stops.append(Stop(at, ""))
        if outcome == "ends":
            read = next((one for one in self.case.read if one.node.name not in self.asked), None)
            outcome = "not-asked" if read else "ends"
        left = self.left if outcome == "elsewhere" else None
        if left is not None:
            read = self.read.get(left.node)
        return CaseFollowed(self.case.name, outcome, tuple(self.stops), mended or at, left, read)
