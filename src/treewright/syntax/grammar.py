"""The grammar of a line, loaded once: the only place that knows lark.

What a line may be is read off grammar/tree.lark itself, so that messages, the editor and the
parser cannot disagree about it.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import Any, TypeAlias, cast

import lark

from treewright import resources
from treewright.record import record
from treewright.syntax import kept_tables

Node: TypeAlias = "lark.Tree[lark.Token]"

KINDS = (
    "tree", "library", "condition", "procedure", "danger", "warning", "caution", "notice",
    "symptom", "stage", "check", "reading", "step", "fault", "handoff", "done", "case",
)  # fmt: skip
HAZARDS = ("danger", "warning", "caution", "notice")

_STARTS = ("head", "use", "measured", "limits", *(f"{kind}_line" for kind in KINDS if kind
           not in HAZARDS), "hazard_line")  # fmt: skip


def line_rule(kind: str) -> str:
    """The grammar's start rule for the lines of a kind of block."""
    return "hazard_line" if kind in HAZARDS else f"{kind}_line"


@cache
def _parser() -> lark.Lark:
    text = (resources.grammar() / "tree.lark").read_text(encoding="utf-8")

    def make() -> lark.Lark:
        return lark.Lark(text, parser="lalr", start=list(_STARTS), maybe_placeholders=True)

    return kept_tables.load(f"{lark.__version__} {_STARTS} {text}", make)


@record
class Unread:
    """A line that the grammar does not take.

    `at`: the offset in the line where it stopped making sense; `end`: the end of the word there.
    """

    at: int
    end: int


_SHORT = 120  # letters; lines such as `time: 2 min` come again and again, long prose does not


def read(rule: str, text: str) -> Node | Unread:
    """Reads one logical line (or a piece of one) by a start rule. Never raises."""
    return _read_again(rule, text) if len(text) <= _SHORT else _read(rule, text)


@lru_cache(maxsize=8192)
def _read_again(rule: str, text: str) -> Node | Unread:
    return _read(rule, text)


def _read(rule: str, text: str) -> Node | Unread:
    try:
        return _parser().parse(text, start=rule)
    except lark.UnexpectedToken as wrong:
        token: Any = wrong.token
        if token.type == "$END":
            return Unread(len(text), len(text))
        return Unread(token.start_pos, token.end_pos)
    except lark.UnexpectedCharacters as wrong:
        at = cast(int, wrong.pos_in_stream)
        word = re.compile(r"\S+").match(text, at)
        return Unread(at, word.end() if word else at + 1)


def _literals(names: set[str] | frozenset[str]) -> frozenset[str]:
    """The fixed words among the terminals of those names (patterns and `$END` left out)."""
    found = set()
    for name in names:
        if name.startswith("$"):
            continue
        pattern = _parser().get_terminal(name).pattern
        if pattern.type == "str":
            found.add(pattern.value)
    return frozenset(found)


@cache
def keys(kind: str) -> frozenset[str]:
    """The words with which a line of such a block can begin ("time", "set up by", "if")."""
    interactive: Any = _parser().parse_interactive("", start=line_rule(kind))
    return _literals(frozenset(interactive.accepts())) - {"-"}


@cache
def owners(key: str) -> tuple[str, ...]:
    """The kinds of block that have a line of that key."""
    return tuple(kind for kind in KINDS if key in keys(kind))
