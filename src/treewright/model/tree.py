"""The meaning of a tree: its nodes, and the blocks around them, with names resolved.

Built by `model/build` from what was parsed; read by the linter, the reasoning and the
outline. It may hold a tree that is not sound: the linter must be able to look at it. Knows
nothing of how it was written down, except the place of everything, for findings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from fractions import Fraction
from typing import Literal

from treewright.model.nodes import Cost, Node
from treewright.model.written import Name, Picture, Text, Waiver
from treewright.record import record
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, Span
from treewright.text.units import Unit

Signal = Literal["danger", "warning", "caution", "notice"]


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
    nameless: bool = False  # blocks may be lacking, and nobody can tell what they were called
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
