"""What stands at one place of a file: a text, a name, a picture, a waiver.

Cheap to import: what only passes findings on needs no more of the model.
"""

from __future__ import annotations

from treewright.record import record
from treewright.text.source import Span


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
