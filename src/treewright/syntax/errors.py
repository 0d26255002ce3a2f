"""The one way a finding of the rule `syntax` is made, and the tools its words share.

Which words it has is said in bad_head.py and bad_line.py (text that does not parse), in
values.py and in the model (text that parses and makes no sense).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span

WHY = "a line that cannot be read is left out, and the tree with it cannot be built"
NAMES = "names are lower-case letters, digits and hyphens, and begin with a letter"

_ALIKE = 0.7  # from here on two words look alike (difflib's ratio, found by trial)


def syntax(message: str, span: Span, help: str = "") -> Finding:
    """A finding of the rule `syntax`."""
    return Finding("syntax", Level.FAULT, message, span, WHY, help)


def near(word: str, words: Iterable[str], alike: float = _ALIKE) -> str:
    """The word that looks most like it, or ""."""
    return next(iter(get_close_matches(word, sorted(words), 1, alike)), "")


def name_like(text: str) -> str:
    """What a text would be as a name: "Oil Level" is "oil-level"; "" where nothing is left."""
    slug = re.sub(r"[^a-z0-9]+", "-", text[:200].strip().lower()).strip("-")
    return re.sub(r"^[0-9-]+", "", slug)[:60].rstrip("-")


def article(noun: str) -> str:
    """The noun with its article: "an edition", "a unit", "a hand-off"."""
    noun = noun.replace("handoff", "hand-off")
    vowel = noun[0] in "aeiou" and not noun.startswith(("unit", "use"))
    return f"an {noun}" if vowel else f"a {noun}"


def line_of(key: str) -> str:
    """A kind of line with its article: "an `if` line"."""
    return f"{article(key).split()[0]} `{key}` line"


def listed(words: Sequence[str], last: str) -> str:
    """ "a", "a or b", "a, b or c"."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if words[1:] else words)


def short(text: str) -> str:
    """Author text as a message quotes it: on one line, 40 letters at most."""
    text = " ".join(text[:400].split())
    return text if len(text) <= 40 else text[:39] + "…"


def first_row(text: str) -> str:
    return text.split("\n", 1)[0].rstrip()


def piece(span: Span, start: int, end: int) -> Span:
    """A piece of a line's span; an empty one takes the last word before it."""
    if end <= start:
        before = list(re.finditer(r"[^\s,:]+|[,:]", span.text[:start]))
        start, end = before[-1].span() if before else (0, 1)
    return Span(span.source, span.start + start, span.start + end)
