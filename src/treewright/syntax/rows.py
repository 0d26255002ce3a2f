"""Where every row of a file belongs: to a head, to a line of a block, or to the comments.

The parser drops comments and blank rows; whoever writes a file anew must keep the first and
knows by the second what stands together. Takes a file that was read without a finding.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from treewright.syntax import ast
from treewright.syntax.lines import blocks


@dataclass(slots=True)
class WrittenLine:
    """A line of a block with the comments above it.

    `rows`: its rows from its first letter on; comments and blank rows inside it are kept.
    """

    line: ast.Line
    above: list[str]
    rows: list[str]


@dataclass(slots=True)
class WrittenBlock:
    """A block, or a `use` line (then `block` is None), with the comments around it.

    `before`: groups of comments above it, parted by blank rows; where `close` is true the last
    one stands directly on it. `after`: comments under its last line, indented like a line.
    """

    block: ast.Block | None
    head: str
    before: list[list[str]]
    close: bool
    lines: list[WrittenLine] = field(default_factory=list)
    after: list[str] = field(default_factory=list)


@dataclass(slots=True)
class WrittenFile:
    blocks: list[WrittenBlock]
    end: list[list[str]]  # groups of comments under the last block


def is_comment(row: str) -> bool:
    return row.lstrip(" \t").startswith("#")


def written(file: ast.File) -> WrittenFile:
    """A file's rows, each where it belongs.

    Args:
        file: as parsed; nothing of it may be broken.
    """
    text = file.source.text
    heads = {block.span.start: block for block in file.blocks}
    lines = {line.span.start: line for block in file.blocks for line in block.lines}
    edges = {raw.head.start for raw in blocks(file.source)[0]}
    found: list[WrittenBlock] = []
    pending: list[str] = []  # comments and blank rows of which it is not known yet whose they are
    for begin, row in zip(file.source.line_starts, text.split("\n"), strict=True):
        body = row.lstrip(" \t")
        at = begin + len(row) - len(body)
        if not body.strip() or is_comment(row):
            pending.append(row)
        elif at in edges:
            groups = _take_end(found, pending)
            close = bool(pending) and bool(pending[-1].strip()) and bool(groups)
            found.append(WrittenBlock(heads.get(at), body.strip(), groups, close))
            pending = []
        elif at in lines:
            found[-1].lines.append(WrittenLine(lines[at], _comments(pending), [body]))
            pending = []
        else:
            found[-1].lines[-1].rows += [*pending, row]
            pending = []
    return WrittenFile(found, _take_end(found, pending))


def _comments(rows: list[str]) -> list[str]:
    return [row.strip() for row in rows if row.strip()]


def _take_end(found: list[WrittenBlock], rows: list[str]) -> list[list[str]]:
    """Gives the block above its indented comments; groups of what stands at the left edge."""
    edge = next((i for i, row in enumerate(rows) if row.startswith("#")), len(rows))
    if found and found[-1].block is not None:
        found[-1].after = _comments(rows[:edge])
        rows = rows[edge:]
    groups: list[list[str]] = [[]]
    for row in rows:
        if row.strip():
            groups[-1].append(row.strip())
        elif groups[-1]:
            groups.append([])
    return [group for group in groups if group]


def comments(written_file: WrittenFile) -> Iterator[tuple[object, str]]:
    """Every comment with what it belongs to: a block by its number, a line by its key and
    its number among the block's lines of that key. Lines of a block come by their keys, so
    that the answer does not hang on their order."""
    for number, block in enumerate(written_file.blocks):
        for group in block.before:
            yield from (((number, "before"), comment) for comment in group)
        count: dict[str, int] = {}
        told: list[tuple[tuple[int, str, int], str]] = []
        for line in block.lines:
            key = line.line.key
            count[key] = count.get(key, 0) + 1
            inside = [row.strip() for row in line.rows[1:] if is_comment(row)]
            told += [((number, key, count[key]), comment) for comment in (*line.above, *inside)]
        yield from sorted(told, key=lambda one: one[0])
        yield from (((number, "after"), comment) for comment in block.after)
    yield from ((("end",), comment) for group in written_file.end for comment in group)
