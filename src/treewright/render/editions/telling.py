"""Whether other words say something else.

A program cannot tell what prose means. What it can tell for certain is taken for a change of
meaning: another figure, or a word more or less that turns a sentence round ("not", "off",
"before"). The rest is wording, told apart for a person to read. Where the words themselves are
what is done or heeded (a remedy, a hazard, a line of a procedure), other words are other meaning.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Literal

from treewright.render import prose

Told = Literal["same", "wording", "meaning"]

# Whole numbers in groups stay one; a decimal point, a fraction and a letter run on with it.
_WORD = re.compile(r"[^\W\d_]+|\d+(?:[.,/]\d+)*|[±+<>=-](?=\s*\d)|[%°½¼¾⅛⅜⅝⅞²³]")
_DASHES = str.maketrans("‐‑–—−", "-----")

_TURNING = frozenset((
    "no", "not", "never", "none", "nothing", "nowhere", "neither", "nor", "without", "unless",
    "until", "except", "only", "cannot", "don", "doesn", "isn", "aren", "won", "mustn", "on",
    "off", "open", "opened", "close", "closed", "shut", "in", "out", "up", "down", "left",
    "right", "above", "below", "over", "under", "upper", "lower", "inner", "outer", "front",
    "rear", "before", "after", "first", "last", "more", "less", "most", "least", "higher",
    "smaller", "larger", "max", "min", "maximum", "minimum", "hot", "cold", "wet", "dry",
    "full", "empty", "tight", "loose", "clockwise", "anticlockwise", "counterclockwise", "both",
    "either", "all", "any", "each", "every", "always", "one", "two", "three", "four", "five",
    "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "half", "quarter", "third",
    "once", "twice", "second", "seconds", "minute", "minutes", "hour", "hours", "day", "days",
))  # fmt: skip
"""Words that turn a sentence round or count: English alone, as the trade's word lists are."""


def told(old: str, new: str, strict: bool = False) -> Told:
    """How two texts lie to each other.

    Args:
        old, new: CommonMark source or plain words.
        strict: the words themselves are what is done or heeded: any other word is meaning.
    """
    if old == new:
        return "same"
    before, after = _words(old), _words(new)
    if before == after:
        # Only marks, capitals or stops differ; and where not even these do, nothing does.
        return "same" if prose.plain(old) == prose.plain(new) else "wording"
    if strict or _telling(before) != _telling(after):
        return "meaning"
    return "wording"


@cache
def _words(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(prose.plain(text).translate(_DASHES).casefold()))


def _telling(words: tuple[str, ...]) -> list[str]:
    return [word for word in words if word in _TURNING or not word[0].isalpha()]
