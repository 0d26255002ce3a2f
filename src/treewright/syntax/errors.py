"""The one way a finding of the rule `syntax` is made, and the tools its words share.

Which words it has is said in bad_head.py and bad_line.py (text that does not parse), in
values.py and in the model (text that parses and makes no sense).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher, get_close_matches

from treewright.text.diagnostic import Finding, Fix, Level
from treewright.text.source import Span

WHY = "a line that cannot be read is left out, and the tree with it cannot be built"
NAMES = "names are lower-case letters, digits and hyphens, and begin with a letter"

_ALIKE = 0.7  # from here on two words look alike (difflib's ratio, found by trial)
_SURE = 0.85  # from here on one may be taken for the other, if no third one is as near
_SHORTEST = 4  # letters; shorter words lie a slip apart by chance


def syntax(message: str, span: Span, help: str = "", fix: Fix | None = None) -> Finding:
    """A finding of the rule `syntax`."""
    return Finding("syntax", Level.FAULT, message, span, WHY, help, fix=fix)


def near(word: str, words: Iterable[str], alike: float = _ALIKE) -> str:
    """The word that looks most like it, or ""."""
    return next(iter(get_close_matches(word, sorted(words), 1, alike)), "")


def surely(word: str, words: Iterable[str]) -> str:
    """The one word that it can only be: it, or the only one that looks much like it; else ""."""
    known = set(words)
    if word in known:
        return word
    alike = [
        other
        for other in known
        if _is_slip(word, other) or SequenceMatcher(None, word, other).ratio() >= _SURE
    ]
    return alike[0] if len(alike) == 1 else ""


def slip_of(word: str, words: Iterable[str]) -> str:
    """The one word of which it is a slip of the finger, or "".

    A slip is one letter too many, too few or wrong, or two letters that changed places. A
    figure is none: `belt-2` is not a slip of `belt-1`.
    """
    found = {other for other in words if _is_slip(word, other)}
    return found.pop() if len(found) == 1 else ""


def _is_slip(word: str, other: str) -> bool:
    shorter = min(len(word), len(other))
    if word == other or shorter < _SHORTEST or abs(len(word) - len(other)) > 1:
        return False
    start = 0
    while start < shorter and word[start] == other[start]:
        start += 1
    end = 0
    while end < shorter - start and word[-1 - end] == other[-1 - end]:
        end += 1
    written, meant = word[start : len(word) - end], other[start : len(other) - end]
    if any(sign.isdigit() for sign in written + meant):
        return False
    swapped = len(written) == 2 and written == meant[::-1]
    return swapped or max(len(written), len(meant)) == 1


def changed(place: Span, replacement: str) -> Fix:
    """The fix that writes other words."""
    return Fix(place, replacement, f"`{short(place.text)}` is now `{replacement}`")


def verb_changed(way: Span, verb: str) -> Fix | None:
    """The fix that writes another verb in front of where a way leads.

    None where the two do not stand on one row.
    """
    found = re.search(r"(?:^|\s)(go|found|stop|back to)( +[a-z][a-z0-9.-]*)$", way.text)
    if found is None:
        return None
    place = Span(way.source, way.start + found.start(1), way.start + found.end(1))
    return Fix(place, verb, f"`{found[1]}{found[2]}` is now `{verb}{found[2]}`")


def name_changed(
    text: str, span: Span, part: tuple[int, int], names: Iterable[str]
) -> Fix | None:
    """The fix that spells a name as names are spelt, where one of exactly these letters is there.

    Args:
        text: the line.
        span: its place.
        part: where in it the name stands, as it was written.
        names: those that are there.
    """
    start, end = part
    written = text[start:end]
    start += len(written) - len(written.lstrip())
    written = written.strip()
    name = name_like(written)
    if name == written or name not in names or not re.fullmatch(r"[A-Za-z0-9_ -]+", written):
        return None
    return changed(Span(span.source, span.start + start, span.start + start + len(written)), name)


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
