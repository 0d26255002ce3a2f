"""Cuts a file into logical lines and nests them into blocks by their indentation.

A logical line is a line with the deeper indented lines that continue it. Its text keeps the
length and the offsets of the file: comment lines inside it are blanked, nothing is moved.
Nothing here knows what a line says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Literal

from treewright.record import record
from treewright.text.source import Source, Span

_COMMENT = re.compile(r"[ \t]*#")
_TAB = 8


@dataclass(slots=True)
class LogicalLine:
    """`text` without its indentation, starting at offset `start` of the source."""

    start: int
    end: int
    indent: int
    text: str
    rows: int = 1


@dataclass(slots=True)
class RawBlock:
    head: LogicalLine
    lines: list[LogicalLine] = field(default_factory=list)


@record
class Misplaced:
    """Trouble with the outer form of a line."""

    kind: Literal["tab", "edge", "uneven"]
    span: Span
    block: RawBlock | None


def blocks(source: Source) -> tuple[list[RawBlock], list[Misplaced]]:
    """All blocks of a file in order, and what is wrong with their indentation.

    Where the first block is indented, its indentation is taken for the left edge until a
    line stands further left. A tab in the indentation is read as one indentation more. Each
    kind of trouble is reported once a block.
    """
    found: list[RawBlock] = []
    trouble: list[Misplaced] = []
    reported: set[tuple[str, int]] = set()
    block: RawBlock | None = None
    line: LogicalLine | None = None
    pieces: list[str] = []
    text = source.text.replace("\x00", "\ufffd")  # the mark of a comment, see below
    starts = source.line_starts
    edge: int | None = None  # the indentation of heads

    def close() -> None:
        nonlocal line, pieces
        if line is not None:
            line.text = "".join(pieces).rstrip()
            line.end = line.start + len(line.text)
        line, pieces = None, []

    def report(kind: Literal["tab", "edge", "uneven"], span: Span) -> None:
        if (kind, len(found)) not in reported:
            reported.add((kind, len(found)))
            trouble.append(Misplaced(kind, span, block))

    for number, begin in enumerate(starts):
        end = starts[number + 1] if number + 1 < len(starts) else len(text)
        row = text[begin:end]
        body = row.lstrip(" \t")
        if not body.strip() or _COMMENT.match(row):
            if line is not None:  # a blank keeps the offsets right, and parts paragraphs
                pieces.append(" " * (len(row) - 1) + "\n" if row.endswith("\n") else "")
                if body.strip():
                    pieces[-1] = "\x00" * (len(row) - 1) + "\n"  # a comment parts nothing
            continue
        lead = row[: len(row) - len(body)]
        indent = len(lead.expandtabs(_TAB))
        at = begin + len(lead)
        if edge is None or indent <= edge:
            close()
            line = LogicalLine(at, end, indent, "")
            pieces = [body]
            block = RawBlock(line)
            found.append(block)
            if edge is None and indent:
                report("edge", _row_span(source, at, end))
            edge = indent
            continue
        assert block is not None
        first = block.lines[0].indent if block.lines else indent
        if "\t" in lead:
            report("tab", Span(source, begin, begin + len(lead)))
            if indent <= max(first, _TAB):  # read on as if it were indented like its block
                indent = first
        if line is not None and block.lines and indent > first:
            pieces.append(row)
            line.rows += 1
            continue
        close()
        if indent < first:
            report("uneven", _row_span(source, at, end))
        line = LogicalLine(at, end, indent, "")
        pieces = [body]
        block.lines.append(line)
    close()
    return found, trouble


def _row_span(source: Source, start: int, end: int) -> Span:
    return Span(source, start, start + len(source.text[start:end].rstrip()))


def visible(text: str) -> str:
    """A logical line's text for the grammar: blanked comments become blanks."""
    return text.replace("\x00", " ")


def dedent(text: str) -> str:
    """Prose of a logical line: comments dropped, common indentation of its later lines taken.

    The first line has lost its indentation already; a prose that continues over lines keeps
    the shape of its lists and quotes.
    """
    rows = [row for row in text.split("\n") if "\x00" not in row]
    later = [row for row in rows[1:] if row.strip()]
    margin = min((len(row) - len(row.lstrip(" \t")) for row in later), default=0)
    kept = [rows[0].strip(), *(row[margin:].rstrip() for row in rows[1:])]
    return "\n".join(kept).strip("\n")
