"""The nodes of a tree: checks, readings, steps and ends, with their answers and ways on.

A node may be unsound (a way that leads nowhere has no target): the linter must be able to look
at it. Knows nothing of the tree around it but names.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.model.written import Name, Picture, Text, Waiver
from treewright.record import record
from treewright.text.interval import Limits
from treewright.text.source import Span
from treewright.text.units import Unit

WayKind = Literal["go", "next", "found", "back", "stop", "open"]
Verdict = Literal["within", "below", "above"]
Quantifier = Literal["one", "all", "any", "none", "only"]


@record
class Cost:
    """What a node costs; None or empty where nothing is written. `minutes` is exact."""

    minutes: Fraction | None = None
    people: int | None = None
    tools: tuple[Text, ...] = ()
    parts: tuple[Text, ...] = ()
    licence: Text | None = None
    access: Name | None = None


@record
class Way:
    """The way an answer or a step goes on.

    `does`: steps or procedures done first. `target`: a node; None where the written name is
    not there, or where `go next` finds nothing further in the file. `kind` is open, and the
    target None, where no way on is written yet.
    """

    kind: WayKind
    does: tuple[Name, ...]
    target: Name | None
    span: Span
    # `go next` where what comes next is not there on every model: model and its target.
    by_model: tuple[tuple[str, Name | None], ...] = ()

    def target_on(self, model: str | None) -> Name | None:
        """The target on one model (None: on the model that has every node)."""
        for name, target in self.by_model:
            if name == model:
                return target
        return self.target


@record
class Words:
    """An answer of a check, in the trainer's words."""


@record
class Against:
    """An answer of a reading, judged against its spec."""

    verdict: Verdict
    quantifier: Quantifier = "one"
    place: str | None = None


@record
class Stated:
    """An answer of a reading that carries its own limits, in the unit written or the reading's."""

    limits: Limits
    unit: Unit | None  # None: a bare number and no `unit:` line (a finding)
    quantifier: Quantifier = "one"
    place: str | None = None
    bare: bool = False  # the numbers stand without a unit (the reading may have given one)


@record
class Otherwise:
    """All that no other answer covers."""


Test: TypeAlias = Words | Against | Stated | Otherwise


@record
class Outcome:
    """One answer. `label` is normalised: single blanks, as written otherwise."""

    label: str
    test: Test
    way: Way
    span: Span  # of the answer's words


@record
class Spec:
    """A limit of a reading. `models` empty: for every model that no other spec names."""

    models: tuple[str, ...]
    limits: Limits  # in `unit`
    unit: Unit | None  # None: a bare number and no `unit:` line
    text: str  # as written, single blanks
    span: Span
    bare: bool = False


@record
class Common:
    """What every node has."""

    name: str
    title: Text
    span: Span  # of the head line's name
    number: str = ""  # "7", "F3", "H1", "D1"
    stage: str | None = None
    models: tuple[str, ...] = ()  # from `only for`; empty: all
    how: Text | None = None
    cost: Cost = Cost()
    needs: tuple[Name, ...] = ()
    picture: Picture | None = None
    waivers: tuple[Waiver, ...] = ()


@record
class Check(Common):
    outcomes: tuple[Outcome, ...] = ()
    normal: tuple[int, ...] = ()  # indices of the good answers
    same_as: Name | None = None  # asks the same thing as that one
    before: tuple[Name, ...] = ()  # checks and readings that may only be taken after this one


@record
class Reading(Common):
    outcomes: tuple[Outcome, ...] = ()
    normal: tuple[int, ...] = ()
    unit: Unit | None = None  # its own: from `unit:`, else the first one written
    places: tuple[str, ...] = ()
    specs: tuple[Spec, ...] = ()
    same_as: Name | None = None  # measures the same thing as that one
    before: tuple[Name, ...] = ()  # as of a check

    def spec_for(self, model: str | None) -> Spec | None:
        """The spec that holds for a model: the one that names it, else the one for all."""
        general = None
        for spec in self.specs:
            if model is not None and model in spec.models:
                return spec
            if not spec.models:
                general = spec
        return general


@record
class Step(Common):
    way: Way | None = None  # None: only reached by `do`
    sets: tuple[Name, ...] = ()
    clears: tuple[Name, ...] = ()
    doubts: tuple[Name, ...] | None = None  # None: nothing written (nothing is in doubt)


@record
class Shown:
    """What a fault shows at a check. `outcome`: index; None where no answer has these words."""

    node: Name
    outcome: int | None
    maybe: bool
    text: str
    span: Span


@record
class Fault(Common):
    share: Fraction | None = None
    symptoms: tuple[Name, ...] = ()  # that it comes with; empty: any
    shows: tuple[Shown, ...] = ()
    remedy: Text | None = None
    retest: Name | None = None  # None: the check that led here
    doubts: tuple[Name, ...] | None = None  # None: everything measured so far


@record
class Handoff(Common):
    to: Text | None = None


@record
class Done(Common):
    pass


Node: TypeAlias = Check | Reading | Step | Fault | Handoff | Done


def ways_of(node: Node) -> tuple[tuple[str, Way], ...]:
    """The ways on from a node with the answer that takes each ("" for a step's one way)."""
    match node:
        case Check() | Reading():
            return tuple((outcome.label, outcome.way) for outcome in node.outcomes)
        case Step(way=Way() as way):
            return (("", way),)
        case _:
            return ()
