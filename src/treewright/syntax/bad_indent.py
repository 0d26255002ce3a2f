"""What was wrong with the indentation of a line, and how to mend it where that is certain."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping

from treewright.syntax import grammar
from treewright.syntax.errors import syntax
from treewright.syntax.forms import key_of
from treewright.syntax.lines import LogicalLine, Misplaced, RawBlock, blocks, dedent
from treewright.text.diagnostic import Finding, Fix
from treewright.text.source import Source, Span

_USUAL = 2  # blanks in front of the lines of a block, where it does not say itself


def bad_indent(source: Source, trouble: Misplaced) -> Finding:
    """Says what is wrong with the outer form of a line."""
    if trouble.kind == "edge":
        return syntax(
            "the file's first block does not start at the left edge", trouble.span,
            "take out the blanks in front of every block's first line",
        )  # fmt: skip
    fix = _evened(source, trouble.block) if trouble.block is not None else None
    if trouble.kind == "tab":
        return syntax(
            "this line is indented with a tab", trouble.span,
            "indent with spaces, two for each block; a tab is wide on one screen and narrow on "
            "another", fix,
        )  # fmt: skip
    odd = _odd(source, trouble.block) if trouble.block is not None else None
    if odd is not None:
        return syntax(
            "this line is indented deeper than the lines below it in the same block",
            Span(source, odd.start, odd.start + len(odd.text.split("\n", 1)[0].rstrip())),
            "indent all lines of a block alike", fix,
        )  # fmt: skip
    return syntax(
        "this line is indented less than the lines above it in the same block", trouble.span,
        "indent all lines of a block alike", fix,
    )  # fmt: skip


def _odd(source: Source, block: RawBlock) -> LogicalLine | None:
    """The first line of a block where it alone stands deeper than all others. Where there is but
    one other, the file says which indentation is the usual one."""
    first, *others = block.lines
    depths = {line.indent for line in others}
    if len(depths) != 1 or (depth := depths.pop()) >= first.indent:
        return None
    if len(others) > 1:
        return first
    written = (row for row in source.text.split("\n") if row.strip())
    rows = Counter(len(row) - len(row.lstrip(" ")) for row in written)
    return first if rows[depth] > rows[first.indent] else None


def swallowed(source: Source, kind: str, line: LogicalLine, prose: bool) -> Finding | None:
    """A line of its own that is indented so deep that it reads as part of the one above."""
    if line.rows == 1:
        return None
    at = 0
    keys: dict[int, str] = {}  # by where the key stands
    depth, certain = 0, not prose  # of the last such row; whether what follows it is deeper
    for row in line.text.split("\n"):
        body = row.lstrip(" ")
        key = _key(kind, body, prose) if at and "\x00" not in row else ""
        if key:
            depth = len(row) - len(body)
            keys[line.start + at + depth] = key
        elif keys and body and "\x00" not in row:
            certain = certain and len(row) - len(body) > depth
        at += len(row) + 1
    if not keys:
        return None
    start, key = next(iter(keys.items()))
    lead = _lead(source, line.start)
    fix = None
    if certain and not lead.strip(" "):
        fix = _indented(source, dict.fromkeys(keys, len(lead)))
    return syntax(
        f"this `{key}` line is indented as if it went on from the line above",
        Span(source, start, start + len(key)),
        f"indent it like the first line of the {kind}", fix,
    )  # fmt: skip


def _key(kind: str, row: str, prose: bool) -> str:
    """The word with which a row begins as a line of the block does; "" where it goes on."""
    if kind == "procedure" and not prose and row.startswith("- "):
        return "-"
    key = key_of(kind, row) if ":" in row else None
    # In prose `if in doubt: ask` is none; elsewhere no line goes on with such a word.
    ours = key is not None and (not prose or row[len(key) :].lstrip().startswith(":"))
    return key if key is not None and ours else ""


# ---- mending -------------------------------------------------------------------------------


def _evened(source: Source, block: RawBlock) -> Fix | None:
    """The fix that indents all lines of a block alike.

    None where a line begins with no word of the block, so that it may have been meant to go on
    from the one above; and where anything would then be read otherwise.
    """
    kind = block.head.text.split(" ", 1)[0]
    if block.head.indent or kind not in grammar.KINDS or kind == "case":
        return None
    for line in block.lines:
        if key_of(kind, line.text) is None and not line.text.startswith("- "):
            return None
    first = _lead(source, block.lines[0 if _odd(source, block) is None else 1].start)
    width = _USUAL if "\t" in first else len(first)
    leads = {line.start: width for line in block.lines}
    for start, lead in _continued(source, block):
        if "\t" in lead:
            leads[start] = width + _USUAL * max(1, lead.count("\t") - 1)
    fix = _indented(source, leads)
    return fix if fix is not None and _says_the_same(source, block, fix) else None


def _lead(source: Source, start: int) -> str:
    """What stands in front of a place in its row."""
    return source.text[source.text.rfind("\n", 0, start) + 1 : start]


def _continued(source: Source, block: RawBlock) -> Iterator[tuple[int, str]]:
    """Where the further rows of the lines of a block begin, and what stands before that."""
    for line in block.lines:
        for row in re.finditer(r"\n([ \t]*)(?=[^\s\x00])", line.text):
            yield line.start + row.end(1), row[1]


def _indented(source: Source, leads: Mapping[int, int]) -> Fix | None:
    """The fix that gives rows so many blanks in front; None where all have them already.

    Args:
        source: the file.
        leads: where a row's words begin, and how many blanks are to be in front of them.
    """
    wrong = {
        start: width for start, width in leads.items() if _lead(source, start) != " " * width
    }
    if not wrong:
        return None
    begin = min(start - len(_lead(source, start)) for start in wrong)
    at, pieces = begin, []
    for start in sorted(wrong):
        pieces += [source.text[at : start - len(_lead(source, start))], " " * wrong[start]]
        at = start
    return Fix(Span(source, begin, at), "".join(pieces), "indented like the rest of the block")


def _says_the_same(source: Source, block: RawBlock, fix: Fix) -> bool:
    """Whether all lines of a block are read as before, and nothing is wrong with them."""
    head, end = block.head.start, block.lines[-1].end
    span = fix.span
    text = source.text[head : span.start] + fix.replacement + source.text[span.end : end]
    again, trouble = blocks(Source(source.path, text))
    if trouble or len(again) != 1:
        return False
    before, after = ([dedent(line.text) for line in one.lines] for one in (block, again[0]))
    return before == after
