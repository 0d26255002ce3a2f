"""Writes a file in its settled form, and proves at every run that nothing was lost by it.

Proven are three things: the new text is read as the same tree, every comment is there and
belongs to the same line, and a second pass changes nothing. Where a proof fails there is no
new text. What prose looks like in an output is no matter of this room, so that whoever asks
says when two texts of CommonMark are shown alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any

from treewright.syntax import ast
from treewright.syntax.layout import SameProse, in_order, lay_out
from treewright.syntax.lines import blocks
from treewright.syntax.parse import parse
from treewright.syntax.rows import comments, is_comment, written
from treewright.text.diagnostic import Finding
from treewright.text.interval import Limits
from treewright.text.source import Source, Span
from treewright.text.units import Unit


class Unproven(Exception):
    """The settled form could not be proven to say the same; the message says what failed."""


def tidy(source: Source, shown: Callable[[str], object]) -> tuple[str, list[Finding]]:
    """A file in its settled form.

    Args:
        source: its text.
        shown: what the outputs make of a text of CommonMark, blanks and line ends that no
            reader sees left out: two texts are the same where this is equal.

    Returns:
        The new text, or, where the file cannot be read, its own text and the findings.

    Raises:
        Unproven: the new text might not say the same.
    """

    def same(one: str, other: str) -> bool:
        return one == other or (one.split() == other.split() and shown(one) == shown(other))

    plain = _without_tabs(source)
    file, findings = parse(plain)
    if findings:
        return source.text, findings if plain is source else parse(source)[1]
    text = lay_out(written(file), same)
    _prove(file, text, same)
    return text, []


def _without_tabs(source: Source) -> Source:
    """The file with blanks where lines are indented with tabs, as deep as the parser takes it."""
    rows = source.text.split("\n")
    leads = [row[: len(row) - len(row.lstrip(" \t"))] for row in rows]
    if not any("\t" in lead for lead in leads):
        return source
    starts = {line.start: line.indent for block in blocks(source)[0] for line in block.lines}
    made = []
    for begin, row, lead in zip(source.line_starts, rows, leads, strict=True):
        depth = starts.get(begin + len(lead), len(lead.expandtabs(8)))
        made.append(" " * depth + row[len(lead) :])
    return Source(source.path, "\n".join(made))


# ---- the proof -----------------------------------------------------------------------------


def _prove(file: ast.File, text: str, same: SameProse) -> None:
    again, findings = parse(Source(file.source.path, text))
    if findings:
        raise Unproven(f"its tidy form could not be read: {findings[0].message}")
    if not _same(file, again, same):
        raise Unproven("its tidy form would not mean the same")
    before, after = written(file), written(again)
    kept = _comment_rows(file.source.text) == _comment_rows(text)
    if not kept or list(comments(before)) != list(comments(after)):
        raise Unproven("a comment would be lost or stand elsewhere in its tidy form")
    if lay_out(after, same) != text:
        raise Unproven("its tidy form would change again when tidied once more")


def _comment_rows(text: str) -> Counter[str]:
    return Counter(row.strip() for row in text.split("\n") if is_comment(row))


def _same(one: Any, other: Any, prose: SameProse) -> bool:
    """Whether two pieces of a file mean the same, wherever they stand."""
    if type(one) is not type(other):
        return False
    match one:
        case Span() | Source():
            return True
        case ast.Prose():
            return prose(one.text, other.text)
        case Unit() | Limits():
            return bool(one == other)
        case ast.Word():
            return bool(one.text == other.text)
        case ast.Block():
            head = (one.kind, one.name.text, one.title.text, one.broken)
            return head == (other.kind, other.name.text, other.title.text, other.broken) and (
                _same(tuple(in_order(one.lines)), tuple(in_order(other.lines)), prose)
            )
        case ast.Entry(node, _, measured) if len(measured) > 1:  # blanks at commas are free
            return _same((node, measured), (other.node, other.measured), prose)
        case tuple():
            return len(one) == len(other) and all(
                _same(a, b, prose) for a, b in zip(one, other, strict=True)
            )
        case _ if is_dataclass(one):
            return all(
                _same(getattr(one, name), getattr(other, name), prose) for name in _names(one)
            )
        case _:
            return bool(one == other)


def _names(piece: Any) -> tuple[str, ...]:
    return tuple(field.name for field in fields(piece))
