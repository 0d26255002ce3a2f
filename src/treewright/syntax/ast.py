"""What was written, line by line, before names mean anything.

A file is a list of blocks; a block is a head and lines; a line is a key and a value. Values
are already read (a limit is a limit), names are still only words with their place.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.text.interval import Limits
from treewright.text.source import Source, Span
from treewright.text.units import Unit


@dataclass(frozen=True, slots=True)
class Word:
    """A name, a model, a phrase: one piece of text with its place."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Prose:
    """CommonMark text, its common indentation taken away."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with the unit written behind it."""

    value: Fraction
    unit: Unit | None
    span: Span


@dataclass(frozen=True, slots=True)
class Limit:
    """Limits in `unit`. `bare`: no number had a unit (then `unit` is None)."""

    limits: Limits
    unit: Unit | None
    span: Span


@dataclass(frozen=True, slots=True)
class WayText:
    kind: Literal["go", "next", "found", "back", "stop"]
    does: tuple[Word, ...]
    target: Word | None  # None only for `next`
    span: Span


@dataclass(frozen=True, slots=True)
class Verdict:
    verdict: Literal["within", "below", "above"]


@dataclass(frozen=True, slots=True)
class ReadingTest:
    quantifier: Literal["one", "all", "any", "none", "only"]
    place: Word | None
    what: Verdict | Limit


@dataclass(frozen=True, slots=True)
class Answer:
    """`if …: way`, or `otherwise: way` with `test` None and no words."""

    words: Word | None
    test: ReadingTest | None  # only in a reading
    way: WayText


@dataclass(frozen=True, slots=True)
class SpecText:
    models: tuple[Word, ...]
    limit: Limit


@dataclass(frozen=True, slots=True)
class Show:
    node: Word
    answer: Word
    maybe: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a case. `measured`: amounts by place, where the value can be read so."""

    node: Word
    value: Word
    measured: tuple[tuple[Word | None, Amount], ...]


@dataclass(frozen=True, slots=True)
class WaiveText:
    rule: Word
    reason: Prose


@dataclass(frozen=True, slots=True)
class PictureText:
    file: Word
    caption: str


@dataclass(frozen=True, slots=True)
class EditionText:
    number: int
    date: str


@dataclass(frozen=True, slots=True)
class UnitsText:
    main: str
    also: str


Value: TypeAlias = (
    Prose
    | Word
    | tuple[Word, ...]
    | Fraction
    | Unit
    | WayText
    | Answer
    | SpecText
    | tuple[Show, ...]
    | Entry
    | WaiveText
    | PictureText
    | EditionText
    | UnitsText
)


@dataclass(frozen=True, slots=True)
class Line:
    """`key`: the first words as the reference has them: "set up by", "if", "spec", "item"."""

    key: str
    value: Value
    span: Span


@dataclass(frozen=True, slots=True)
class Block:
    """`span`: from its head to its last line. `broken`: something in it could not be read;
    what could be is here."""

    kind: str
    name: Word
    title: Prose
    lines: tuple[Line, ...]
    span: Span
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Use:
    path: Word


@dataclass(frozen=True, slots=True)
class File:
    """`broken`: a line at the left edge could not be read, so that a block may be missing."""

    source: Source
    blocks: tuple[Block, ...]
    uses: tuple[Use, ...]
    broken: bool = False
