"""The parts of a chart: symbols of ISO 5807, the arrows between them, the bands of stages.

Plain data: what they say is decided in plan, how they look in shape and svg.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from treewright.record import record

Form = Literal[
    "decision",  # check, reading
    "process",  # step
    "predefined",  # procedure done on the way
    "finding",  # fault and remedy: a process with a heavy rim
    "terminator",  # symptom, hand-off, done
    "preparation",  # set-up
    "connector",  # the way goes on where the same mark stands
    "annotation",  # what must be known before a symbol
]

GRAVITY = ("danger", "warning", "caution", "notice")
"""Signal words of ANSI Z535, the gravest first."""


@record
class Warn:
    """One hazard in an annotation."""

    name: str
    signal: str
    title: str


@record
class Symbol:
    """One symbol.

    Attributes:
        key: the engine's name for it, "n1"; never author text.
        id: its name in the SVG, "node-oil-level"; "" for what needs none.
        href: the fragment it links to, "step-oil-level"; "" for none.
        number: "7", "F3", "S1".
        title: the words beside the number.
        details: further lines, each its own paragraph.
        spoken: what a screen reader says of it beyond that.
        stage: name of the stage whose band it stands in.
        again: marks of the connector circles below it (what to take again after a remedy).
        entered: a connector circle with its own number leads to it.
        warnings: hazards (annotations only).
        origin: (check, answer) whose way this symbol stands on.
    """

    key: str
    form: Form
    number: str = ""
    title: str = ""
    details: tuple[str, ...] = ()
    id: str = ""
    href: str = ""
    spoken: str = ""
    stage: str | None = None
    again: tuple[str, ...] = ()
    entered: str = ""
    warnings: tuple[Warn, ...] = ()
    origin: tuple[str, int] | None = None


@record
class Arrow:
    """A line from one symbol to the next. kind "note" ties an annotation to its symbol."""

    tail: str
    head: str
    id: str = ""
    answer: str = ""
    detail: str = ""
    kind: Literal["flow", "good", "note"] = "flow"
    origin: tuple[str, int] | None = None


@record
class Band:
    """A stage and the keys of its symbols, in order."""

    title: str
    keys: tuple[str, ...]


@record
class Plan:
    """A chart, or a part of one, before it is laid out.

    Attributes:
        title, mark, language: of the tree.
        symbols, arrows, bands: what is drawn.
        nodes: names of the nodes that have a place of their own.
        jumps: (node, answer) of the ways that are pairs of connector circles though both their
            ends are drawn.
    """

    title: str
    mark: str
    language: str
    symbols: tuple[Symbol, ...]
    arrows: tuple[Arrow, ...]
    bands: tuple[Band, ...]
    nodes: tuple[str, ...]
    jumps: frozenset[tuple[str, int]]


def reworded(content: Plan, reword: Callable[[str], str]) -> Plan:
    """The plan with every text of it passed through `reword`."""
    return replace(
        content,
        title=reword(content.title),
        mark=reword(content.mark),
        symbols=tuple(
            replace(
                symbol,
                number=reword(symbol.number),
                title=reword(symbol.title),
                details=tuple(map(reword, symbol.details)),
                again=tuple(map(reword, symbol.again)),
                entered=reword(symbol.entered),
                warnings=tuple(
                    replace(warning, title=reword(warning.title)) for warning in symbol.warnings
                ),
            )
            for symbol in content.symbols
        ),
        arrows=tuple(
            replace(arrow, answer=reword(arrow.answer), detail=reword(arrow.detail))
            for arrow in content.arrows
        ),
        bands=tuple(replace(band, title=reword(band.title)) for band in content.bands),
    )
