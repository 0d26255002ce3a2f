"""What was written, line by line, before names mean anything.

A file is a list of blocks; a block is a head and lines; a line is a key and a value. Values
are already read (a limit is a limit), names are still only words with their place.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, TypeAlias

from treewright.record import record
from treewright.text.interval import Limits
from treewright.text.source import Source, Span
from treewright.text.units import Unit


@record
class Word:
    """A name, a model, a phrase: one piece of text with its place."""

    text: str
    span: Span


@record
class Prose:
    """CommonMark text, its common indentation taken away."""

    text: str
    span: Span


@record
class Amount:
    """A number with the unit written behind it."""

    value: Fraction
    unit: Unit | None
    span: Span


@record
class Limit:
    """Limits in `unit`. `bare`: no number had a unit (then `unit` is None)."""

    limits: Limits
    unit: Unit | None
    span: Span


@record
class WayText:
    kind: Literal["go", "next", "found", "back", "stop"]
    does: tuple[Word, ...]
    target: Word | None  # None only for `next`
    span: Span


@record
class Verdict:
    verdict: Literal["within", "below", "above"]


@record
class ReadingTest:
    quantifier: Literal["one", "all", "any", "none", "only"]
    place: Word | None
    what: Verdict | Limit


@record
class Answer:
    """`if …: way`, or `otherwise: way` with `test` None and no words.

    One of an `answers` line has no way, and its words also where they are `otherwise`.
    """

    words: Word | None
    test: ReadingTest | None  # only in a reading
    way: WayText | None


@record
class SpecText:
    models: tuple[Word, ...]
    limit: Limit


@record
class Show:
    node: Word
    answer: Word
    maybe: bool


@record
class Entry:
    """A line of a case. `measured`: amounts by place, where the value can be read so."""

    node: Word
    value: Word
    measured: tuple[tuple[Word | None, Amount], ...]


@record
class WaiveText:
    rule: Word
    reason: Prose


@record
class PictureText:
    file: Word
    caption: str


@record
class EditionText:
    number: int
    date: str


@record
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
    | tuple[Answer, ...]
    | Entry
    | WaiveText
    | PictureText
    | EditionText
    | UnitsText
)


@record
class Line:
    """`key`: the first words as the reference has them: "set up by", "if", "spec", "item"."""

    key: str
    value: Value
    span: Span


@record
class Block:
    """`span`: from its head to its last line. `broken`: something in it could not be read;
    what could be is here."""

    kind: str
    name: Word
    title: Prose
    lines: tuple[Line, ...]
    span: Span
    broken: bool = False


@record
class Use:
    path: Word


@record
class File:
    """`broken`: a line at the left edge could not be read, so that a block may be missing.
    `nameless`: and nobody can tell what that block, or a library, was called."""

    source: Source
    blocks: tuple[Block, ...]
    uses: tuple[Use, ...]
    broken: bool = False
    nameless: bool = False
