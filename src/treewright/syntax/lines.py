"""Cuts a file into logical lines and nests them into blocks by their indentation.

A logical line is a line with the deeper indented lines that continue it. Its text keeps the
length and the offsets of the file: comment lines inside it are blanked, nothing is moved.
Nothing here knows what a line says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from treewright.text.source import Source, Span

_COMMENT = re.compile(r"[ \t]*#")


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


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Trouble with the outer form of a line."""

    kind: str  # "tab", "orphan", "uneven"
    span: Span
    block: RawBlock | None


def blocks(source: Source) -> tuple[list[RawBlock], list[Misplaced]]:
    """All blocks of a file in order, and what is wrong with their indentation.

    A tab in the indentation counts as a step to the next multiple of eight and is reported
    once a block. A line that stands before any block is left out and reported.
    """
    found: list[RawBlock] = []
    trouble: list[Misplaced] = []
    block: RawBlock | None = None
    line: LogicalLine | None = None
    pieces: list[str] = []
    text = source.text
    starts = source.line_starts

    def close() -> None:
        nonlocal line, pieces
        if line is not None:
            line.text = "".join(pieces).rstrip()
            line.end = line.start + len(line.text)
        line, pieces = None, []

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
        indent = len(lead.expandtabs(8))
        if "\t" in lead and not any(t.kind == "tab" and t.block is block for t in trouble):
            trouble.append(Misplaced("tab", Span(source, begin, begin + len(lead)), block))
        at = begin + len(lead)
        if indent == 0:
            close()
            line = LogicalLine(at, end, 0, "")
            pieces = [body]
            block = RawBlock(line)
            found.append(block)
            continue
        if block is None:
            if not any(t.kind == "orphan" for t in trouble):
                trouble.append(Misplaced("orphan", _row_span(source, at, end), None))
            continue
        first = block.lines[0].indent if block.lines else indent
        if "\t" in lead:  # reported above; read on as if it were indented like its block
            indent = first
        if line is not None and block.lines and indent > first:
            pieces.append(row)
            line.rows += 1
            continue
        close()
        if indent < first:
            trouble.append(Misplaced("uneven", _row_span(source, at, end), block))
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
