"""What was wrong with a way on, a limit or a reading's answer, in the trainer's words."""

from __future__ import annotations

import re
from collections.abc import Mapping

from treewright.syntax import grammar
from treewright.syntax.errors import (
    NAMES,
    article,
    name_changed,
    name_like,
    near,
    piece,
    short,
    syntax,
)
from treewright.syntax.forms import LIKE_LIMITS, LIMITS, WAYS
from treewright.text.diagnostic import Finding, Fix
from treewright.text.source import Span

_VERBS = {"go", "found", "back", "stop", "do", "next", "then"}
_LIKE_VERBS = {
    "next": "go next", "goto": "go", "jump": "go", "continue": "go next", "repeat": "back to",
    "return": "back to", "end": "stop", "fault": "found",
}  # fmt: skip
# How a way leads to each kind of block.
_TO = {
    "check": "go NAME", "reading": "go NAME", "step": "go NAME", "done": "go NAME",
    "fault": "found NAME", "handoff": "stop NAME", "procedure": "do NAME, then …",
}  # fmt: skip


def bad_way(
    text: str, colon: int, span: Span, wrong: grammar.Unread, names: Mapping[str, str]
) -> Finding:
    """Says what is wrong with a way on, which starts behind the colon.

    `names`: of the blocks of the file, each with its kind.
    """
    word = short(text[wrong.at : wrong.end])
    before = text[colon : wrong.at].split()
    here = piece(span, wrong.at, wrong.end)
    fix = _name_in_way(text, colon, span, wrong, names)
    last = before[-1].rstrip(",") if before else ""
    if not word:
        return syntax("this way on stops too soon", here, f"the ways on are {WAYS}")
    if second := re.search(r":\s*(?:go|found|back|stop|do)\b", text[colon:]):
        answer = text[len("if") : colon + second.start()].strip()
        start = text.index(answer, len("if"))
        return syntax(f"the answer `{short(answer)}` has a colon in it",
                      piece(span, start, start + len(answer)),
                      "write it without: the way on stands behind the only colon")  # fmt: skip
    if last in ("go", "found", "stop", "do", "to") and name_like(text[wrong.at :]):
        whole = text[wrong.at :].split(",")[0].strip()
        if name_like(whole) != whole:
            return syntax(f"`{short(whole)}` is not a name: {NAMES}",
                          piece(span, wrong.at, wrong.at + len(whole)),
                          f"write `{name_like(whole)}`", fix)  # fmt: skip
    if last == "back":
        return syntax(f"`to` is missing in front of `{word}`", here, f"write `back to {word}`")
    if before[-2:] in (["go", "to"], ["stop", "at"], ["found", "the"]):
        verb, extra = before[-2:]
        return syntax(f"`{extra}` is one word too many", piece(span, wrong.at - len(extra) - 1,
                      wrong.at - 1), f"write `{verb} {text.split()[-1]}`")  # fmt: skip
    if "do" in before and "then" not in before[len(before) - before[::-1].index("do") :]:
        return syntax("behind `do STEP` the way goes on with `, then …`", here,
                      "write it like `do top-up, then back to oil-level`")  # fmt: skip
    if before[-2:-1] and before[-2] in ("go", "found", "stop", "to"):
        help = "one answer has one way on; join the words of a name with hyphens"
        return syntax(f"the way on is complete in front of `{word}`", here, help, fix)
    alone = text[colon:].strip()
    kind = names.get(alone, "")
    if kind in _TO:
        return syntax(f"`{short(alone)}` is {article(kind)}, and no way on", here,
                      f"write `{_TO[kind].replace('NAME', alone)}`")  # fmt: skip
    small = text[wrong.at :].split()[0].lower().rstrip(",.")
    guess = _LIKE_VERBS.get(small) or near(small, _VERBS, 0.6)
    meant = f"did you mean `{guess}`? " if guess and guess != word else ""
    return syntax(f"`{word}` is no way on", here, f"{meant}the ways on are {WAYS}", fix)


def _name_in_way(
    text: str, colon: int, span: Span, wrong: grammar.Unread, names: Mapping[str, str]
) -> Fix | None:
    """How to spell the name at which the grammar stopped, where that is certain."""
    for found in re.finditer(r"\b(?:go|found|stop|do|back to) +([^,\n]+)", text[colon:]):
        start, end = colon + found.start(1), colon + found.end(1)
        if start <= wrong.at <= end:
            return name_changed(text, span, (start, end), names)
    return None


def bad_test(text: str, colon: int, span: Span, wrong: grammar.Unread) -> Finding:
    """Says what is wrong with the answer of a reading."""
    words = text[len("if") : colon - 1].strip()
    if wrong.at < colon - 1 and re.search(r"\d", words):
        return bad_limit(text[: colon - 1], len("if"), span, wrong)
    at = text.find(words, len("if"))
    return syntax(
        f"`{short(words)}` is no answer of a reading: its answers are limits",
        piece(span, at, at + len(words)),
        "write `within`, `below` or `above` where it has a spec, or a limit such as "
        "`8.0 to 8.6 bar`, `below 8 bar`, `at least 8 bar`; a question answered in words is a "
        "check of its own",
    )


def bad_limit(text: str, colon: int, span: Span, wrong: grammar.Unread) -> Finding:
    """Says what is wrong with a limit, which starts behind the colon."""
    if comma := decimal_comma(text, wrong):
        written = comma.group()
        help = f"write decimals with a point: `{written.replace(',', '.')}`"
        if len(written) - written.index(",") == 4:
            help += f"; thousands without a mark: `{written.replace(',', '')}`"
        return syntax(f"`{written}` has a comma in the number", piece(span, *comma.span()), help)
    if power := re.search(r"[0-9.]+[eE][+-]?[0-9]+", text[colon:]):
        here = piece(span, colon + power.start(), colon + power.end())
        return syntax(f"`{short(power.group())}` is no number", here,
                      "write it out in figures, like `1500000`")  # fmt: skip
    number = r"[0-9][0-9./]*"
    unit = r"(?:[^\W\d_]|[%°])[^\s:,–—-]*"
    both = rf"({number})\s*({unit})\s*[-–—]\s*({number})\s*({unit})"
    for dash in re.finditer(rf"{both}|({number})\s*[-–—]\s*({number})", text):
        if dash.start() <= wrong.at <= dash.end():
            one, its, other, of, plain, end = dash.groups()
            low = plain or (one if its == of else f"{one} {its}")
            high = end or f"{other} {of}"
            return syntax(f"`{short(dash.group())}` has a dash between its ends",
                          piece(span, *dash.span()),
                          f"write a range with `to`: `{low} to {high}`")  # fmt: skip
    word = text[wrong.at : wrong.end].strip()
    here = piece(span, wrong.at, wrong.end)
    if not word:
        return syntax("this limit stops too soon", here, LIMITS)
    if other := _other_words(text[wrong.at :].lower()):
        written, meant = other
        return syntax(f"`{written}` begins no limit", piece(span, wrong.at,
                      wrong.at + len(written)), f"did you mean `{meant}`? {LIMITS}")  # fmt: skip
    start = re.match(r"(?:for\b[^:]*:|all\b|any\b|none\b|only\s+\S+)?\s*", text[colon:])
    before = text[colon + (start.end() if start else 0) : wrong.at].strip()
    if before and not isinstance(grammar.read("limits", before), grammar.Unread):
        return syntax(f"the limit is complete in front of `{short(word)}`", here,
                      f"take the rest out, or join two limits with `or`; {LIMITS}")  # fmt: skip
    return syntax(f"`{short(word)}` is no limit", here, LIMITS)


def _other_words(rest: str) -> tuple[str, str] | None:
    """What stands there for a word of ours: (">", "above"), ("at lest", "at least")."""
    for written in sorted(LIKE_LIMITS, key=len, reverse=True):
        if rest.startswith(written) and not rest[len(written) :][:1].isalpha():
            return written, LIKE_LIMITS[written]
    if found := re.match(r"at [a-z]+|[a-z]{3,}", rest):
        guess = near(found.group(), ("at least", "at most", "below", "above"))
        return (found.group(), guess) if guess else None
    return None


def decimal_comma(text: str, wrong: grammar.Unread) -> re.Match[str] | None:
    """The number with a comma at which the grammar stopped."""
    for found in re.finditer(r"[0-9]+,[0-9]+", text):
        if found.start() <= wrong.at <= found.end():
            return found
    return None
