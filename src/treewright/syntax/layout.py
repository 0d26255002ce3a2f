"""The one settled form of a file: indentation, order of lines, blanks, blank rows.

Changes no word and no number. Blocks keep their order, which has a meaning; the lines of a
block have none, but for answers, steps of a procedure and what a case read, which keep theirs.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import TypeAlias

from treewright.syntax import ast
from treewright.syntax.lines import dedent
from treewright.syntax.rows import WrittenBlock, WrittenFile, WrittenLine, is_comment
from treewright.syntax.wrap import INDENT, starts_block, wrap_list, wrap_prose

SameProse: TypeAlias = Callable[[str, str], bool]

# What it is, what it asks for and costs, what is measured, where it leads.
ORDER = (
    "only for", "as in", "same as",
    "machine", "models", "edition", "units",
    "set up by", "undo by", "excludes",
    "start at", "symptom", "model",
    "share", "symptoms", "shows", "harm", "avoid", "to",
    "how", "needs", "before", "remedy", "time", "people", "tools", "parts", "licence", "access",
    "picture",
    "at", "while", "unit", "spec", "item",
    "retest", "sets", "clears", "doubts",
    "after remedy", "language", "about",
    "waive", "normal", "answers", "if", "otherwise", "then", "entry", "ends",
)  # fmt: skip
_PLACE = {key: place for place, key in enumerate(ORDER)}

_LINE = "  "
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/?-|plus or minus)\s*")
_DEGREES = re.compile(r"(?<![^\W\d_])deg([CF])(?![^\W\d_])")


def in_order(lines: Iterable[ast.Line]) -> list[ast.Line]:
    """The lines of a block in the settled order."""
    return sorted(lines, key=lambda line: _PLACE[line.key])


def lay_out(written: WrittenFile, same: SameProse) -> str:
    """The text of a file in its settled form.

    Args:
        written: its blocks and comments.
        same: whether two texts of CommonMark are shown alike everywhere.
    """
    paragraphs: list[list[str]] = []
    uses = False  # whether the paragraph above ends in a `use` line
    for block in written.blocks:
        apart = block.before[:-1] if block.close else block.before
        paragraphs += apart
        above = block.before[-1] if block.close else []
        rows = [*above, *_block(block, same)]
        use = block.block is None
        if use and uses and not block.before:
            paragraphs[-1] += rows
        else:
            paragraphs.append(rows)
        uses = use
    paragraphs += written.end
    return "\n\n".join("\n".join(rows) for rows in paragraphs) + ("\n" if paragraphs else "")


def _block(written: WrittenBlock, same: SameProse) -> list[str]:
    block = written.block
    if block is None:
        return [" ".join(written.head.split())]
    rows = [f"{block.kind} {block.name.text}: {block.title.text}"]
    for line in sorted(written.lines, key=lambda line: _PLACE[line.line.key]):
        rows += _line(block.kind, line, same)
    return [*rows, *(_LINE + comment for comment in written.after)]


def _line(kind: str, written: WrittenLine, same: SameProse) -> list[str]:
    """The rows of a line with the comments above it."""
    match written.line.value:
        case ast.Prose() as text:
            label = "-" if written.line.key == "item" else f"{written.line.key}:"
            above, rows = _prose(kind, label, text, written, same)
        case ast.WaiveText(rule, reason):
            above, rows = _prose(kind, f"waive {rule.text}:", reason, written, same)
        case ast.PictureText(file, caption):
            above = [row.strip() for row in written.rows if is_comment(row)]
            rows = [f"picture: {file.text}" + (f' "{caption}"' if caption else "")]
        case _:
            above, rows = _list(written)
            rows = wrap_list(kind, rows, len(_LINE))
    first, *later = rows
    return [
        *(_LINE + comment for comment in (*written.above, *above)),
        _LINE + first,
        *(" " * INDENT + row if row else "" for row in later),
    ]


# ---- prose ---------------------------------------------------------------------------------


def _prose(
    kind: str, label: str, text: ast.Prose, written: WrittenLine, same: SameProse
) -> tuple[list[str], list[str]]:
    """Comments that stand in front of its first word, and the rows from the label on."""
    offset = text.span.start - written.line.span.start
    whole = "\n".join(written.rows)
    before = whole[:offset].split("\n")
    first, *later = whole[offset:].split("\n")
    above = [row.strip() for row in before if is_comment(row)]
    own_row = len(before) > 1 and not before[-1].strip(" ")
    if own_row and label != "-" and starts_block(first.rstrip()):  # keeps its shape there
        rows = _moved([before[-1] + first, *later])
        return above, [label, *_wrapped(kind, rows, INDENT, same)]
    lead = len(_LINE) + len(label) + 1
    rows = _wrapped(kind, [first.strip(), *_moved(later)], lead, same)
    first, *later = rows
    return above, [f"{label} {first}", *_moved(later)]


def _moved(rows: list[str]) -> list[str]:
    """Rows moved left together as far as they can be; comments stand at the edge."""
    texts = [row for row in rows if row.strip() and not is_comment(row)]
    margin = min((len(row) - len(row.lstrip(" ")) for row in texts), default=0)
    return [row.strip() if is_comment(row) else row[margin:].rstrip() for row in rows]


def _wrapped(kind: str, rows: list[str], lead: int, same: SameProse) -> list[str]:
    """The rows with what is too long parted, or, where that would mean another thing, as they
    are."""
    better = wrap_prose(kind, rows, lead)
    return better if better == rows or same(_text(rows), _text(better)) else rows


def _text(rows: list[str]) -> str:
    """The CommonMark of these rows, as the parser will read it."""
    return dedent("\n".join("\x00" if row.startswith("#") and i else row
                            for i, row in enumerate(rows)))  # fmt: skip


# ---- lines that are no prose ---------------------------------------------------------------


def _list(written: WrittenLine) -> tuple[list[str], list[str]]:
    """Comments that stand in front of the value, and the rows from the label on."""
    line = written.line
    above: list[str] = []
    label, labelled = "", False
    rows: list[str] = []
    for raw in written.rows:
        row = " ".join(raw.split())
        if is_comment(raw):
            (rows if rows else above).append(raw.strip())
            continue
        if not labelled:
            words, colon, row = row.partition(":")
            label = f"{label} {words.strip()}".strip()
            labelled = colon != ""
        row = _value(line, row.strip())
        if rows and row.startswith(",") and _parts_at_commas(line):
            last = max(i for i, text in enumerate(rows) if not text.startswith("#"))
            rows[last] += ","
            row = row[1:].strip()
        if row:
            rows.append(row)
    if line.key == "spec":
        label = _commas(label)
    return above, [f"{label}: {rows[0]}", *rows[1:]]


def _value(line: ast.Line, row: str) -> str:
    """A row of a value with single blanks, and with the marks that stand for others."""
    if line.key == "spec":
        row = _PLUS_MINUS.sub(" ± ", row).strip()
    if line.key in ("spec", "unit"):
        row = _DEGREES.sub(r"°\1", row)
    return _commas(row) if _parts_at_commas(line) else row


def _parts_at_commas(line: ast.Line) -> bool:
    """Whether a comma parts things; in an answer it belongs to the trainer's own words."""
    match line.value:
        case ast.Entry(measured=measured):
            return len(measured) > 1
        case _:
            return line.key != "normal"


def _commas(row: str) -> str:
    return re.sub(r"\s*,\s*", ", ", row).strip()
