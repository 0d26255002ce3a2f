"""Rows of text for a drafted tree: comments, and what is written in the author's file as it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap

from treewright.syntax.rows import WrittenBlock, WrittenLine

_WIDTH = 92


def above(block: WrittenBlock) -> Iterator[str]:
    """The comments above a block; the last ones directly on it where they stood so."""
    yield ""
    for at, group in enumerate(block.before, 1):
        yield from group
        if not (block.close and at == len(block.before)):
            yield ""


def values(line: WrittenLine) -> tuple[object, ...]:
    """What a list has in it; nothing where a line is none."""
    value = line.line.value
    return value if isinstance(value, tuple) else ()


def rows_of(line: WrittenLine) -> Iterator[str]:
    """The rows of a line as they are written, with the comments above them."""
    yield from (f"  {row}" for row in line.above)
    first, *more = line.rows
    span = line.line.span
    source = span.source.text
    indent = span.start - (source.rfind("\n", 0, span.start) + 1)
    yield "  " + first
    for row in more:
        # As deep below the first row as it was; a comment may stand anywhere.
        deep = len(row) - len(row.lstrip(" "))
        yield " " * max(3, deep - indent + 2) + row.lstrip(" ") if row.strip() else ""


def comment(text: str, indent: str = "") -> list[str]:
    """A text as rows of comment."""
    return [f"{indent}# {row}" for row in wrap(text, _WIDTH - len(indent), break_on_hyphens=False)]


def joined(groups: Iterable[Iterable[str]]) -> list[str]:
    """Groups of comments, a blank row between them."""
    made: list[str] = []
    for group in groups:
        made += [*([""] if made else []), *group]
    return made
