"""The compiled tree: render-ready, one numbering, one wording for every output.

`compile_tree` turns the model into an `Outline`: plain frozen data in which every number,
limit text, set-up and hazard is already decided. The chart, the sheet, the walk-through and
the JSON of `treewright data` all read this and nothing else, so that they cannot disagree.
Nothing here knows what a page, a file or a colour is.

Prose stays CommonMark source text here; `render/prose` turns it into each output's form.
Numbers that decide (limits) are exact and written as fractions: "43/5".
"""

from __future__ import annotations

from typing import Literal

from treewright.record import record

Signal = Literal["danger", "warning", "caution", "notice"]
NodeKind = Literal["check", "reading", "step", "fault", "handoff", "done"]
WayKind = Literal["go", "next", "found", "back", "stop"]


@record
class Picture:
    """A picture beside a node."""

    file: str  # its path below the tree's folder, "pictures/ports.png"
    caption: str  # plain text, may be ""


@record
class Cost:
    """What a node costs. Every field may be empty."""

    minutes: str | None  # exact, "4" or "3/2"
    minutes_text: str  # "4 h", "1 h 30 min", "" where nothing is written
    people: int | None
    tools: tuple[str, ...]
    parts: tuple[str, ...]
    licence: str  # "" where anyone may do it
    access: str  # rung of the access ladder, "" where none


@record
class Range:
    """One interval, in the reading's unit. None at an end means: no end there."""

    low: str | None  # exact fraction, "8" or "43/5"
    low_included: bool
    high: str | None
    high_included: bool


@record
class Test:
    """What an answer asks of what was read.

    kind "answer": the words themselves (checks). kind "limit": ranges (readings).
    kind "otherwise": all that no other answer covers.
    `ranges` maps a model to its ranges; the key "*" stands for every model not named.
    """

    kind: Literal["answer", "limit", "otherwise"]
    quantifier: Literal["one", "all", "any", "none", "only"]  # "one" without places
    place: str | None  # for "only"
    verdict: Literal["within", "below", "above"] | None  # where it was written against the spec
    ranges: tuple[tuple[str, tuple[Range, ...]], ...]


@record
class Exit:
    """The way an answer (or a step) goes on.

    `does`: names of steps or procedures done first, in order. `target`: a node's name;
    None where the tree gives no way on (such a tree is never built, but may be drawn for a
    reviewer).
    """

    kind: WayKind
    does: tuple[str, ...]
    target: str | None
    # `go next` where what comes next is not there on every model: model and its target.
    by_model: tuple[tuple[str, str | None], ...] = ()


@record
class Outcome:
    """One answer of a check or reading."""

    label: str  # "yes", "within", "any below 8.0 bar": the author's words, units added
    detail: str  # the limit behind it in both unit systems: "150 to 210 s", "" for words
    test: Test
    exit: Exit
    normal: bool  # this is the good answer
    # The limit behind a verdict for each model; "*": every model not named.
    details: tuple[tuple[str, str], ...] = ()

    def detail_for(self, model: str | None) -> str:
        """The limit behind it on one model (None: on all, each named)."""
        texts = dict(self.details)
        if model is None or not texts:
            return self.detail
        return texts.get(model, texts.get("*", ""))


@record
class Unit:
    """A unit in which a reading may be typed: value in the reading's unit = x * factor + offset."""

    symbol: str
    factor: str  # exact fraction
    offset: str  # exact fraction


@record
class Spec:
    """A reading's limit for some models. `models` is empty where it holds for all not named."""

    models: tuple[str, ...]
    text: str  # "180 s ± 30 s (150 to 210 s)"
    also: str  # the same in the second unit system, rounded inward; "" where there is none


@record
class Setup:
    """One piece of set-up in front of a node, in order.

    `always`: on every way here it is still to be done. Otherwise: "if not already done".
    `undo`: the condition is ended, not set up. `procedure` is None where the tree names none.
    """

    condition: str
    procedure: str | None
    undo: bool
    always: bool


@record
class Node:
    """A check, reading, step, fault, hand-off or done. Fields that do not apply are empty."""

    name: str
    kind: NodeKind
    number: str  # "7"; faults "F3", hand-offs "H1", dones "D1"
    title: str
    how: str
    stage: str | None  # name of the stage it stands in
    models: tuple[str, ...]  # empty: all models
    cost: Cost
    picture: Picture | None
    needs: tuple[str, ...]
    sets: tuple[str, ...]
    clears: tuple[str, ...]
    setup: tuple[Setup, ...]  # to be put in front, decided from all ways here
    hazards: tuple[str, ...]  # names, the gravest first: all that must show before this node
    # conditions that may hold when it is first come to, not for a retest
    first: tuple[str, ...] = ()
    # checks and readings
    outcomes: tuple[Outcome, ...] = ()
    before: tuple[str, ...] = ()  # checks and readings that may only be taken after this one
    same: tuple[Same, ...] = ()  # others that ask the same thing
    # readings
    places: tuple[str, ...] = ()
    place_titles: tuple[str, ...] = ()  # what the places are called, in the outline's language
    units: tuple[Unit, ...] = ()  # the first is the reading's own
    specs: tuple[Spec, ...] = ()
    # steps
    exit: Exit | None = None  # None for a step that is only reached by `do`
    # steps and faults: what must be taken again; None: nothing written
    doubts: tuple[str, ...] | None = None
    # faults
    share: str | None = None
    shows: tuple[Shown, ...] = ()
    remedy: str = ""
    retest: str | None = None  # None: the check that led here
    takedown: tuple[Setup, ...] = ()  # undone between the remedy and the retest
    undo: tuple[Setup, ...] = ()  # ends: what may still be set and has to be undone
    # hand-offs
    to: str = ""


@record
class Same:
    """Another check that asks the same thing; for each of its answers the one here that says the
    same, None where that cannot be told without a number."""

    node: str
    answers: tuple[int | None, ...]


@record
class Shown:
    """What a fault shows at one check."""

    node: str
    outcome: int  # index into the node's outcomes
    maybe: bool


@record
class Symptom:
    name: str
    number: str  # "S1"
    title: str
    about: str
    start: str
    models: tuple[str, ...]


@record
class Stage:
    name: str
    title: str
    about: str
    models: tuple[str, ...]


@record
class Condition:
    name: str
    title: str
    about: str
    set_up_by: str | None
    undo_by: str | None
    excludes: tuple[str, ...]


@record
class Procedure:
    name: str
    number: str  # "P1"
    title: str
    how: str
    items: tuple[str, ...]  # CommonMark, one an entry
    cost: Cost
    picture: Picture | None
    hazards: tuple[str, ...]
    models: tuple[str, ...]


@record
class Hazard:
    name: str
    signal: Signal
    title: str
    harm: str
    avoid: str
    at: tuple[str, ...]  # nodes and procedures
    whilst: tuple[str, ...]  # conditions
    models: tuple[str, ...]


@record
class CaseEntry:
    node: str
    text: str  # what was read, as written


@record
class Case:
    name: str
    title: str
    symptom: str
    model: str | None
    read: tuple[CaseEntry, ...]
    ends: str


@record
class Outline:
    name: str
    title: str
    machine: str
    models: tuple[str, ...]
    edition: int | None
    date: str | None  # "2026-10-01"
    fingerprint: str  # 8 hexadecimal digits of the content
    mark: str  # "slow-fill · edition 3 · 2026-10-01 · 1a2b3c4d": on every output
    language: str  # BCP 47, "en"
    units: str  # "metric" or "us"
    also: str  # the second unit system, or ""
    after_remedy: Literal["finish", "go on"]
    access: tuple[str, ...]
    about: str
    symptoms: tuple[Symptom, ...]
    stages: tuple[Stage, ...]
    nodes: tuple[Node, ...]  # in the order of their numbers
    conditions: tuple[Condition, ...]
    procedures: tuple[Procedure, ...]
    hazards: tuple[Hazard, ...]
    cases: tuple[Case, ...]

    def node(self, name: str) -> Node:
        """The node of that name.

        Raises:
            KeyError: there is none.
        """
        for node in self.nodes:
            if node.name == name:
                return node
        raise KeyError(name)
