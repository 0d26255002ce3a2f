"""The meaning of a tree: nodes, outcomes, ways, conditions, faults, with names resolved.

Built by `model/build` from what was parsed; read by the linter, the reasoning and the
outline. It may hold a tree that is not sound (a way that leads nowhere has no target): the
linter must be able to look at it. Knows nothing of how it was written down, except the place
of everything, for findings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.record import record
from treewright.text.diagnostic import Finding
from treewright.text.interval import Limits
from treewright.text.source import Source, Span
from treewright.text.units import Unit

Signal = Literal["danger", "warning", "caution", "notice"]
WayKind = Literal["go", "next", "found", "back", "stop", "open"]
Verdict = Literal["within", "below", "above"]
Quantifier = Literal["one", "all", "any", "none", "only"]


@record
class Text:
    """Author text with its place. Titles are one line; prose is CommonMark source."""

    text: str
    span: Span

    def __str__(self) -> str:
        return self.text


@record
class Name:
    """A name as written at one place."""

    name: str  # resolved: "lock-out", or "isolation.lock-out" for a library's
    span: Span

    def __str__(self) -> str:
        return self.name


@record
class Waiver:
    rule: str
    reason: str
    span: Span


@record
class Picture:
    """`file` as written, below the folder of the file it is written in; `path` below the
    folder of the tree."""

    file: str
    path: str
    caption: str
    span: Span


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


@record
class Symptom:
    name: str
    title: Text
    span: Span
    start: Name | None
    number: str = ""
    about: Text | None = None
    models: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()


@record
class Stage:
    name: str
    title: Text
    span: Span
    about: Text | None = None
    models: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()


@record
class Condition:
    name: str
    title: Text
    span: Span
    set_up_by: Name | None = None
    undo_by: Name | None = None
    excludes: tuple[Name, ...] = ()
    about: Text | None = None
    models: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    may_stay: bool = False  # `undo by: none`: it does no harm where it is left


@record
class Procedure:
    name: str
    title: Text
    span: Span
    number: str = ""
    items: tuple[Text, ...] = ()
    how: Text | None = None
    cost: Cost = Cost()
    picture: Picture | None = None
    models: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()


@record
class Hazard:
    name: str
    signal: Signal
    title: Text
    span: Span
    harm: Text | None = None
    avoid: Text | None = None
    at: tuple[Name, ...] = ()  # nodes and procedures
    whilst: tuple[Name, ...] = ()  # conditions
    models: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()


@record
class CaseEntry:
    """What a case read. For words and verdicts: the text; for values: in the reading's unit."""

    node: Name
    text: str
    span: Span
    outcome: int | None = None  # the answer it names, where it names one
    values: tuple[tuple[str | None, Fraction], ...] = ()  # by place; (None, v) without places
    unit: Unit | None = None


@record
class Case:
    name: str
    title: Text
    span: Span
    symptom: Name | None
    model: str | None
    read: tuple[CaseEntry, ...]
    ends: Name | None
    waivers: tuple[Waiver, ...] = ()


@record
class Missing:
    """A name written somewhere that nothing has.

    `near`: names in scope that look like it. `meant`: the one of which it is a slip of the
    finger; "" where there is none, or several.
    """

    what: str  # what was looked for: "node", "condition", "stage", "place", "answer", "model" …
    written: str
    near: tuple[str, ...]
    span: Span
    meant: str = ""


@record
class Twice:
    """A name that two blocks (or two lines that must differ) share."""

    what: str  # "node", "condition", "answer", "place", "spec" …
    name: str
    first: Span
    second: Span


@record
class Translation:
    """The texts of a tree in another language.

    `texts`: by the place of what they translate: the path of its source and an offset.
    `names`: of places and rungs, by "place left", "access outside". `lacking`: a finding for
    each block that has a text without its translation; `slips`: those, and what else is wrong.
    """

    language: str
    path: str  # of the file beside the tree
    texts: dict[tuple[str, int], str]
    names: dict[str, str]
    lacking: tuple[Finding, ...] = ()
    slips: tuple[Finding, ...] = ()

    @property
    def whole(self) -> bool:
        """Every text of the tree is there in this language."""
        return not self.lacking


@record
class Tree:
    """One tree, whole. Mappings keep the order of the file, a library's after the tree's own.

    `library` is true for a file that is only used by others. Only what the tree uses of a
    library is in here.
    """

    name: str
    title: Text
    span: Span
    source: Source
    library: bool = False
    sources: tuple[Source, ...] = ()  # this file first, then the libraries
    machine: Text | None = None
    models: tuple[str, ...] = ()
    edition: int | None = None
    date: str | None = None
    units: str = "metric"
    also: str = ""
    after_remedy: Literal["finish", "go on"] = "finish"
    access: tuple[str, ...] = ()
    language: str = "en"
    about: Text | None = None
    symptoms: dict[str, Symptom] = field(default_factory=dict)
    stages: dict[str, Stage] = field(default_factory=dict)
    nodes: dict[str, Node] = field(default_factory=dict)
    conditions: dict[str, Condition] = field(default_factory=dict)
    procedures: dict[str, Procedure] = field(default_factory=dict)
    hazards: dict[str, Hazard] = field(default_factory=dict)
    cases: dict[str, Case] = field(default_factory=dict)
    waivers: tuple[Waiver, ...] = ()
    missing: tuple[Missing, ...] = ()  # the linter's missing-name
    twice: tuple[Twice, ...] = ()  # the linter's duplicate-name
    unused: tuple[tuple[str, str, Span], ...] = ()  # what, name, place: never named in this file
    broken: tuple[Span, ...] = ()  # blocks that could not be read whole
    translations: tuple[Translation, ...] = ()  # those beside it, by language
    place_titles: dict[str, str] = field(default_factory=dict)  # where another language has them


def pictures_of(tree: Tree) -> Iterator[Picture]:
    """The pictures of a tree's nodes and procedures."""
    for block in (*tree.nodes.values(), *tree.procedures.values()):
        if block.picture is not None:
            yield block.picture


def on_model(models: tuple[str, ...], model: str | None) -> bool:
    """Whether something limited to `models` (empty: no limit) is there on this model."""
    return not models or model is None or model in models


def ways_of(node: Node) -> tuple[tuple[str, Way], ...]:
    """The ways on from a node with the answer that takes each ("" for a step's one way)."""
    match node:
        case Check() | Reading():
            return tuple((outcome.label, outcome.way) for outcome in node.outcomes)
        case Step(way=Way() as way):
            return (("", way),)
        case _:
            return ()
