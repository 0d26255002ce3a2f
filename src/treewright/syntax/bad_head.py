"""What was wrong with a line at the left edge, in the trainer's words.

Besides the finding it says what the line was most likely meant to be, so that what stands
below it can still be read.
"""

from __future__ import annotations

import re

from treewright.record import record
from treewright.syntax import grammar
from treewright.syntax.errors import (
    NAMES,
    changed,
    first_row,
    line_of,
    listed,
    name_like,
    near,
    piece,
    short,
    surely,
    syntax,
)
from treewright.syntax.forms import key_of_any
from treewright.text.diagnostic import Finding
from treewright.text.source import Span

_STARTS = "a block starts with one of " + ", ".join(f"`{kind}`" for kind in grammar.KINDS)


@record
class Meant:
    """What a broken head was most likely meant to be.

    `kind`: "" where it is no head at all, "?" where it is one of a kind that nobody knows.
    """

    kind: str
    name: str = ""
    title: str = ""


def bad_head(text: str, span: Span) -> tuple[Finding, Meant]:
    """Says what is wrong with a line at the left edge.

    Args:
        text: the logical line.
        span: its place.
    """
    row = first_row(text)
    before, colon, title = row.partition(":")
    first = before.split(" ", 1)[0]
    rest = before[len(first) :].strip()
    if first not in grammar.KINDS:
        return _no_kind(row, span, colon != "")
    meant = Meant(first, name_like(rest), title.strip())
    whole = piece(span, 0, len(row))
    form = f"`{first} {meant.name or 'oil-level'}: …`"
    if not rest:
        help = f"write a name and a title, like {form}"
        return syntax(f"this {first} has no name", whole, help), meant
    if not colon:
        name, _, title = rest.partition(" ")
        if name_like(name) != name:
            name, title = name_like(rest), ""
        help = f"write a colon behind the name, like `{first} {name}: {short(title) or '…'}`"
        return syntax(f"this {first} has no colon", whole, help), Meant(first, name, title)
    if meant.name == rest:
        help = f"write what it is behind the colon, like {form}"
        return syntax(f"this {first} has no title", whole, help), meant
    start = before.index(rest, len(first))
    named = f"; write `{first} {meant.name}: {short(meant.title) or '…'}`" if meant.name else ""
    place = piece(span, start, start + len(rest))
    return syntax(f"`{short(rest)}` is not a name", place, NAMES + named), meant


def _no_kind(row: str, span: Span, colon: bool) -> tuple[Finding, Meant]:
    first = row[:100].split(" ", 1)[0].rstrip(":")
    key = key_of_any(row)
    behind = r".*:" if key in ("if", "spec") else r"\s*:"
    if key is not None and re.match(behind, row[len(key) :]):
        help = "indent it by two spaces, under the block it belongs to"
        place = piece(span, 0, len(key))
        return syntax(f"{line_of(key)} stands at the left edge", place, help), Meant("")
    kind = near(first.lower(), grammar.KINDS) if colon else ""
    rest = row.partition(":")[0][len(first) :].strip()
    name, title = name_like(rest), row.partition(":")[2].strip()
    help = f"did you mean `{kind}`?" if kind else (
        f"{_STARTS}; text that goes on from a line above is indented deeper than it"
    )  # fmt: skip
    if first.lower() == "hazard":
        words = listed([f"`{one}`" for one in grammar.HAZARDS], "or")
        help = f"a hazard begins with how grave it is: {words}"
    place = piece(span, 0, len(first))
    sure = surely(first.lower(), grammar.KINDS) if colon and name and name == rest else ""
    fix = changed(place, sure) if sure else None
    finding = syntax(f"`{short(first)}` starts no block", place, help, fix)
    if not kind and re.match(r"[\w-]+ [a-z][\w-]*\s*:", row):
        kind = "?"
    return finding, Meant(kind, name, title)


def bad_use(text: str, span: Span) -> Finding:
    """Says what is wrong with a `use` line."""
    help = "write one file below the folder of this one, like `use lib/isolation.tree`"
    path = text[len("use") :].strip()
    if not path:
        return syntax("this `use` line names no file", span, help)
    start = text.index(path)
    place = piece(span, start, start + len(path))
    if '"' in path:
        bare = path.strip('"')
        return syntax(f"the file `{short(bare)}` is written in quotes", place,
                      f"write it without, like `use {short(bare)}`")  # fmt: skip
    return syntax(f"`{short(path)}` is not one file", place, f"{help}; its name has no blanks")
