"""What was wrong with a line of a block, in the trainer's words.

Given the kind of block, the line and the offset at which the grammar stopped, says which
word is wrong and what to write instead. No message names a rule or terminal of the grammar.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from treewright.syntax import grammar
from treewright.syntax.errors import (
    NAMES,
    article,
    changed,
    first_row,
    line_of,
    listed,
    name_changed,
    name_like,
    near,
    piece,
    short,
    surely,
    syntax,
)
from treewright.syntax.forms import (
    LIKE_KEYS,
    WAYS,
    form_of,
    key_of,
    key_of_any,
    lines_of,
)
from treewright.text.diagnostic import Finding
from treewright.text.source import Span

_WAY = r"(?:go|found|back|stop|do)\b"
_WITH_WAY = ("if", "otherwise", "then")
_NONE: Mapping[str, str] = {}

# Lines whose words are names, so that what is none can be said to be none.
_OF_NAMES = (
    "access", "set up by", "undo by", "excludes", "at", "while", "start at", "needs", "before",
    "sets", "clears", "doubts", "retest", "as in", "same as", "symptom", "symptoms", "ends",
    "shows", "waive",
)  # fmt: skip


def bad_line(
    kind: str, text: str, span: Span, wrong: grammar.Unread, names: Mapping[str, str] = _NONE
) -> Finding:
    """Says what is wrong with a line of a block.

    Args:
        kind: the kind of block.
        text: the logical line, from its first letter.
        span: its place; offsets of `wrong` count from there.
        wrong: where the grammar stopped.
        names: of the blocks of the file, each with its kind.
    """
    from treewright.syntax.bad_value import bad_limit, bad_test, bad_way, decimal_comma

    key = key_of(kind, text)
    if key is None:
        return _no_key(kind, text, span)
    what, example = form_of(kind, key)
    like = f"write it like `{example}`"
    if ":" not in text:
        return _no_colon(key, text, span, like)
    colon = text.index(":") + 1
    lacking = {"if": "answer", "waive": "rule", "spec for": "model"}
    for start, lack in lacking.items():
        if re.match(rf"{start}\s*:", text):
            return syntax(f"this `{start}` line names no {lack}", piece(span, 0, colon - 1), like)
    if not text[colon:].strip():
        ways = f"; the ways on are {WAYS}" if key in _WITH_WAY else ""
        return syntax(f"nothing stands after the colon of this `{key}` line",
                      piece(span, 0, colon), like + ways)  # fmt: skip
    if key in _WITH_WAY and wrong.at >= colon:
        return bad_way(text, colon, span, wrong, names)
    if key == "if" and kind == "reading":
        return bad_test(text, colon, span, wrong)
    if (key == "spec" and wrong.at >= colon) or decimal_comma(text, wrong):
        return bad_limit(text, colon, span, wrong)
    return _unfit(key, text, span, wrong, what, example, names)


def _unfit(
    key: str, text: str, span: Span, wrong: grammar.Unread, what: str, example: str,
    names: Mapping[str, str],
) -> Finding:  # fmt: skip
    """A word where another was to be."""
    like = f"write it like `{example}`"
    between = text[len(key) : text.index(":")].strip()
    if between and key not in ("if", "spec", "waive"):
        return syntax(f"a colon belongs straight after `{key}`", piece(span, 0, len(key)), like)
    start, end = _word(text, wrong.at)
    end -= text[start:end].endswith(":")
    here, word = piece(span, start, end), short(text[start:end])
    if not word:
        return syntax(f"this `{key}` line stops too soon: it takes {what}", here, like)
    name = name_like(word)
    fix = None
    if key in _OF_NAMES and key not in ("shows", "waive"):
        fix = name_changed(text, span, _entry(text, wrong.at), names)
    if key in _OF_NAMES and name and name != word and re.match(r"[^\W\d_]", word):
        return syntax(f"`{word}` is not a name: {NAMES}", here,
                      f"write `{name}`, or {what}, like `{example}`", fix)  # fmt: skip
    if key == "picture" and re.search(r"\.(png|jpe?g|gif)$", word, re.I):
        return syntax(f"the picture's name has a blank in front of `{word}`", here,
                      "give the file a name without blanks, like `ports.jpg`")  # fmt: skip
    return syntax(f"`{word}` does not fit here: {line_of(key)} takes {what}", here, like, fix)


def _entry(text: str, at: int) -> tuple[int, int]:
    """The entry of a list around a place, as far as it stands on one row."""
    start = max(text.rfind(mark, 0, at) for mark in ",:\n") + 1
    ends = [end for mark in ",\n" if (end := text.find(mark, start)) >= 0]
    return start, min(ends, default=len(text))


def _word(text: str, at: int) -> tuple[int, int]:
    """The whole word around a place; a comma takes the word behind it along."""
    if at >= len(text):
        return at, at
    if text[at] == ",":
        found = re.compile(r",\s*[^\s,]*").match(text, at)
        return at, found.end() if found else at + 1
    start = max(text.rfind(mark, 0, at) for mark in " ,:\n") + 1
    found = re.compile(r"[^\s,]+").match(text, at)
    return start, found.end() if found else at + 1


def _no_colon(key: str, text: str, span: Span, like: str) -> Finding:
    row = first_row(text)
    rest = row[len(key) :].strip()
    way = re.search(rf" (?:->|=>|→|,|then)? ?({_WAY}.*)", row)
    if key in ("if", "spec", "waive"):
        if key == "if" and way is not None:
            like = f"write `{short(row[: way.start()])}: {short(way[1])}`"
    elif rest:
        like = f"write `{key}: {short(rest)}`"
    return syntax(f"the `{key}` line has no colon", piece(span, 0, len(row)), like)


def _no_key(kind: str, text: str, span: Span) -> Finding:
    """A line that begins with no word of this kind of block."""
    row = first_row(text)
    a_kind = article(kind)
    if small := key_of(kind, row.lower()):
        return _did_you_mean(a_kind, row[: len(small)], small, span, sure=True)
    other = key_of_any(row)
    block = re.match(rf"({'|'.join(grammar.KINDS)})(\s+[\w-]+)?\s*:", row)
    if block and (block[2] or not other):
        return syntax(
            f"`{block[1]}` starts a block of its own and stands here inside {a_kind}",
            piece(span, 0, len(block[1])), "move it to the left edge",
        )  # fmt: skip
    if re.match(_WAY, row):
        wanted = "then" if kind == "step" else "if …"
        return syntax("a way on stands here without its answer", piece(span, 0, len(row)),
                      f"write `{wanted}: {short(row)}`")  # fmt: skip
    if other:
        owners = listed([article(k) for k in _together(grammar.owners(other))], "or")
        return syntax(f"{a_kind} has no line `{other}`: it belongs to {owners}",
                      piece(span, 0, len(other)), lines_of(kind))  # fmt: skip
    head = row.partition(":")[0].strip()[:100]
    mine = grammar.keys(kind)
    for word in (head, head.split(" ")[0]):
        guess = LIKE_KEYS.get(word.lower(), "") or near(word.lower(), mine)
        guess = guess or next((k for k in sorted(mine) if k.startswith(f"{word} ")), "")
        if guess in mine:
            return _did_you_mean(a_kind, word, guess, span, surely(word.lower(), mine) == guess)
    word = head if len(head) <= 30 and ":" in row else head.split(" ")[0]
    if kind == "procedure" and (item := re.match(r"([*+•–—]|\d+[.)])\s*", row)):
        return syntax(f"a step of a procedure does not begin with `{item[1]}`",
                      piece(span, 0, len(item[1])),
                      f"write `- {short(row[item.end() :])}`")  # fmt: skip
    if row == "-" and kind == "procedure":
        return syntax("nothing stands behind this dash", piece(span, 0, 1),
                      "write what to do, like `- Close the drain.`")  # fmt: skip
    if word.lower() in ("hazard", "hazards") and "at" not in mine:
        return syntax(f"{a_kind} has no line `{word}`", piece(span, 0, len(word)),
                      "a hazard says itself where it is met: name this block in the `at` line of "
                      "the hazard")  # fmt: skip
    return syntax(
        f"{a_kind} has no line that begins with `{short(word)}`", piece(span, 0, len(word)),
        f"{lines_of(kind)}; text that goes on from the line above is indented deeper than it",
    )  # fmt: skip


def _did_you_mean(a_kind: str, word: str, guess: str, span: Span, sure: bool) -> Finding:
    place = piece(span, 0, len(word))
    return syntax(f"{a_kind} has no line `{short(word)}`", place, f"did you mean `{guess}`?",
                  changed(place, guess) if sure else None)  # fmt: skip


def _together(kinds: tuple[str, ...]) -> list[str]:
    """The hazards as one; four kinds are enough to get the idea."""
    plain = [kind for kind in kinds if kind not in grammar.HAZARDS]
    return [*plain, *(["hazard"] if len(plain) < len(kinds) else [])][:4]
