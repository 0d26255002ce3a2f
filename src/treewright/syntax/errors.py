"""What was wrong with a line, in the trainer's words.

Given the kind of block, the line and the offset at which the grammar stopped, says which
word is wrong and what to write instead. No message names a rule or terminal of the grammar.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

from treewright.syntax import grammar
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span

WHY = "a line that cannot be read is left out, and the tree with it cannot be built"

# What stands after the colon of each line, and an example of it.
_FORMS: dict[str, tuple[str, str]] = {
    "edition": ("a number and a date", "edition: 3, 2026-10-01"),
    "units": ("a unit system", "units: metric, also us"),
    "after remedy": ("`finish` or `go on`", "after remedy: finish"),
    "language": ("a language", "language: en"),
    "time": ("a length of time", "time: 2 min"),
    "people": ("a whole number", "people: 2"),
    "share": ("a plain number without a unit", "share: 22"),
    "unit": ("a unit", "unit: bar"),
    "picture": ("a file and, in quotes, what it shows",
                'picture: ports.jpg "Test ports, left side"'),
    "models": ("models, parted by commas", "models: B60, B80"),
    "only for": ("models, parted by commas", "only for: B80"),
    "model": ("one model", "model: B60"),
    "access": ("rungs of the access ladder", "access: outside, covers, strip-down"),
    "set up by": ("the name of one procedure", "set up by: warm-up"),
    "undo by": ("the name of one procedure", "undo by: restore-power"),
    "excludes": ("names of conditions, parted by commas", "excludes: warmed-up"),
    "at": ("names, parted by commas", "at: left, right"),
    "while": ("names of conditions, parted by commas", "while: warmed-up"),
    "start at": ("the name of one check, reading or step", "start at: oil-level"),
    "needs": ("names of conditions, parted by commas", "needs: warmed-up, locked-out"),
    "sets": ("names of conditions, parted by commas", "sets: gauge-fitted"),
    "clears": ("names of conditions, parted by commas", "clears: gauge-fitted"),
    "doubts": ("names of checks and readings, or `none`", "doubts: pump-up, oil-level"),
    "retest": ("the name of one check or reading", "retest: pump-up"),
    "as in": ("a check or reading of a library", "as in: oil.oil-level"),
    "symptom": ("the name of one symptom", "symptom: slow-fill"),
    "ends": ("the name of the fault or end", "ends: hose-leak"),
    "tools": ("things, parted by commas", "tools: stopwatch, feeler gauge"),
    "parts": ("things, parted by commas", "parts: ring set, gasket"),
    "spec": ("a limit", "spec: 180 s ± 30 s"),
    "normal": ("the good answer", "normal: yes"),
    "shows": ("what checks answer, parted by commas", "shows: pump-up above, oil-level low"),
    "waive": ("a rule, a colon and the reason", "waive gap: the gauge ends at 10 bar"),
    "if": ("an answer, a colon and the way on", "if yes: go next"),
    "otherwise": ("a way on", "otherwise: go next"),
    "then": ("a way on", "then: go next"),
}  # fmt: skip

WAYS = (
    "`go NAME`, `go next`, `found FAULT`, `stop HANDOFF`, `back to NAME`, "
    "or `do STEP, then …` in front of one of these"
)
LIMITS = (
    "a limit is written `180 s ± 30 s`, `180 s +30 -20`, `8.0 to 8.6 bar`, `at least 8 bar`, "
    "`at most 8 bar`, `below 8 bar` or `above 8 bar`"
)


def syntax(message: str, span: Span, help: str = "") -> Finding:
    """A finding of the rule `syntax`."""
    return Finding("syntax", Level.FAULT, message, span, WHY, help)


def near(word: str, words: object) -> str:
    """The word that looks most like it, or ""."""
    found = get_close_matches(word, sorted(words), 1, 0.6)  # type: ignore[call-overload]
    return str(found[0]) if found else ""


def name_like(text: str) -> str:
    """What a text would be as a name: "Oil Level" is "oil-level"; "" where nothing is left."""
    slug = re.sub(r"[^a-z0-9]+", "-", text.strip().lower()).strip("-")
    return re.sub(r"^[0-9-]+", "", slug)[:60].rstrip("-")


def article(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def key_of(kind: str, text: str) -> str | None:
    """The key a line of that block begins with, or None."""
    found = [k for k in grammar.keys(kind) if re.match(re.escape(k) + r"(?![\w-])", text)]
    return max(found, key=len, default=None)


def bad_line(kind: str, text: str, span: Span, wrong: grammar.Unread) -> Finding:
    """Says what is wrong with a line of a block.

    Args:
        kind: the kind of block.
        text: the logical line, from its first letter.
        span: its place; offsets of `wrong` count from there.
        wrong: where the grammar stopped.
    """
    key = key_of(kind, text)
    if key is None:
        return _unknown_key(kind, text, span)
    head, colon, _ = text.partition(":")
    what, example = _FORMS.get(key, ("some text", f"{key}: …"))
    here = _at(span, wrong.at, wrong.end)
    if not colon:
        return syntax(
            f"the `{key}` line has no colon", _at(span, 0, len(_first_row(text))),
            f"write it like `{example}`",
        )  # fmt: skip
    if wrong.at >= len(text) and text.rstrip().endswith(":"):
        return syntax(
            f"nothing stands after the colon of this `{key}` line",
            _at(span, 0, len(text)),
            f"write it like `{example}`" + (f"; the ways on are {WAYS}" if _way_key(key) else ""),
        )
    if _way_key(key) and wrong.at >= _colon(key, text):
        return _bad_way(text, span, wrong)
    if key == "if" and kind == "reading":
        return _bad_test(text, span, wrong)
    if (key == "spec" and wrong.at > len(head)) or _decimal_comma(text, wrong):
        return _bad_limit(text, span, wrong)
    start = max(text.rfind(mark, 0, wrong.at) for mark in " ,:\n") + 1
    if re.match(r"[\w-]+$", text[start : wrong.at]):  # the slip is inside a word: take it whole
        here = _at(span, start, wrong.end)
        word = text[start : wrong.end].strip()
    else:
        word = text[wrong.at : wrong.end].strip()
    if wrong.at < len(head) and key not in ("waive", "spec", "if"):
        return syntax(
            f"a colon belongs straight after `{key}`", here, f"write it like `{example}`"
        )
    if name_like(word) and name_like(word) != word and re.match(r"[^\W\d_]", word):
        return syntax(
            f"`{_short(word)}` is not a name: names are lower-case letters, digits and hyphens",
            here,
            f"write `{name_like(word)}`, or {what}, like `{example}`",
        )
    if not word:
        return syntax(f"this `{key}` line stops too soon: it takes {what}", here,
                      f"write it like `{example}`")  # fmt: skip
    return syntax(
        f"`{_short(word)}` does not fit here: a `{key}` line takes {what}",
        here,
        f"write it like `{example}`",
    )


def _unknown_key(kind: str, text: str, span: Span) -> Finding:
    row = _first_row(text)
    head = row.partition(":")[0].strip() if ":" in row else row.split(" ")[0]
    word = head if len(head) <= 30 else head.split(" ")[0]
    here = _at(span, 0, len(word))
    mine = sorted(grammar.keys(kind))
    others = [k for k in grammar.KINDS if key_of(k, word) == word]
    close = get_close_matches(word, mine, 1, 0.85)
    if close:
        return syntax(
            f"{article(kind)} has no line `{word}`", here, f"did you mean `{close[0]}`?"
        )
    if others:
        owner = " or ".join(article(k) for k in _plain(others))
        return syntax(
            f"{article(kind)} has no line `{word}`: it belongs to {owner}",
            here,
            f"its lines are {', '.join(f'`{k}`' for k in mine)}",
        )
    guess = near(word, mine)
    if guess:
        return syntax(
            f"{article(kind)} has no line `{_short(word)}`", here, f"did you mean `{guess}`?"
        )
    if word in grammar.KINDS:
        return syntax(
            f"`{word}` starts a block of its own and stands here inside {article(kind)}",
            here,
            "move it to the left edge",
        )
    if re.match(r"(go|found|back|stop|do)\b", row):
        return syntax(
            "a way on stands here without its answer", _at(span, 0, len(row)),
            f"write `then: {_short(row)}`" if kind == "step" else f"write `if …: {_short(row)}`",
        )  # fmt: skip
    return syntax(
        f"{article(kind)} has no line that begins with `{_short(word)}`",
        here,
        f"its lines are {', '.join(f'`{k}`' for k in mine)}; "
        "text that goes on from the line above is indented deeper than it",
    )


def _plain(kinds: list[str]) -> list[str]:
    if set(kinds) >= set(grammar.HAZARDS):
        kinds = [k for k in kinds if k not in grammar.HAZARDS] + ["hazard"]
    return kinds[:4]


def _bad_way(text: str, span: Span, wrong: grammar.Unread) -> Finding:
    word = text[wrong.at : wrong.end].strip()
    before = text[: wrong.at].split(":")[-1].split()
    here = _at(span, wrong.at, wrong.end)
    last = before[-1].rstrip(",") if before else ""
    if not word:
        return syntax("this way on stops too soon", here, f"ways on are {WAYS}")
    if last in ("go", "found", "stop", "do", "to") and name_like(text[wrong.at :]):
        whole = text[wrong.at :].split(",")[0].strip()
        if name_like(whole) != whole:
            return syntax(
                f"`{_short(whole)}` is not a name: names are lower-case letters, digits and "
                "hyphens",
                _at(span, wrong.at, wrong.at + len(whole)),
                f"write `{name_like(whole)}`",
            )
    if "do" in before and "then" not in before:
        return syntax(
            "after `do STEP` the way goes on with `, then …`", here,
            f"write it like `do top-up, then back to oil-level`; got `{_short(word)}`",
        )  # fmt: skip
    if len(before) >= 2 and before[-2] in ("go", "found", "stop", "to"):
        return syntax(
            f"the way on is complete before `{_short(word)}`", here,
            "one answer has one way on; join the words of a name with hyphens",
        )  # fmt: skip
    guess = near(word, ("go", "found", "back", "stop", "do", "next", "then"))
    return syntax(
        f"`{_short(word)}` is no way on",
        here,
        (f"did you mean `{guess}`? " if guess and guess != word else "") + f"ways on are {WAYS}",
    )


def _bad_test(text: str, span: Span, wrong: grammar.Unread) -> Finding:
    if _decimal_comma(text, wrong):
        return _bad_limit(text, span, wrong)
    words = text[2 : _colon("if", text)].strip().rstrip(":").strip()
    at = text.find(words, 2)
    return syntax(
        f"`{_short(words)}` is no answer of a reading: its answers are limits",
        _at(span, at, at + len(words)),
        "write `within`, `below` or `above` where it has a spec, or a limit such as "
        "`8.0 to 8.6 bar`, `below 8 bar`, `at least 8 bar`; a question answered in words is a "
        "check of its own",
    )


def _bad_limit(text: str, span: Span, wrong: grammar.Unread) -> Finding:
    comma = _decimal_comma(text, wrong)
    if comma:
        written = comma.group()
        help = f"write decimals with a point: `{written.replace(',', '.')}`"
        if len(written) - written.index(",") == 4:
            help += f"; thousands without a mark: `{written.replace(',', '')}`"
        place = _at(span, comma.start(), comma.end())
        return syntax(f"`{written}` has a comma in the number", place, help)
    word = text[wrong.at : wrong.end].strip()
    here = _at(span, wrong.at, wrong.end)
    return syntax(
        f"`{_short(word)}` is no limit" if word else "this limit stops too soon", here, LIMITS
    )


def _decimal_comma(text: str, wrong: grammar.Unread) -> re.Match[str] | None:
    for found in re.finditer(r"\d+,\d+", text):
        if found.start() <= wrong.at <= found.end():
            return found
    return None


def bad_head(text: str, span: Span) -> tuple[Finding, str, str, str]:
    """Says what is wrong with a line at the left edge.

    Returns:
        the finding, and what the line was most likely meant to be: the kind of block ("" where
        that cannot be told), its name ("" likewise) and its title.
    """
    row = _first_row(text)
    before, colon, title = row.partition(":")
    first, _, rest = before.strip().partition(" ")
    kind = first if first in grammar.KINDS else near(first.lower(), grammar.KINDS)
    name = name_like(rest)
    form = f"`{kind or 'check'} {name or 'oil-level'}: …`"
    if first not in grammar.KINDS:
        key = next((k for k in _FORMS if re.match(re.escape(k) + r"\b", row)), None)
        if key and not kind:
            finding = syntax(
                f"a `{key}` line stands at the left edge",
                _at(span, 0, len(key)),
                "indent it by two spaces, under the block it belongs to",
            )
            return finding, "", "", ""
        help = f"did you mean `{kind}`?" if kind else (
            "a block starts with one of " + ", ".join(f"`{k}`" for k in grammar.KINDS)
            + "; text that goes on from a line above is indented deeper than it"
        )  # fmt: skip
        return (
            syntax(f"`{_short(first)}` starts no block", _at(span, 0, len(first)), help),
            kind, name, title.strip(),
        )  # fmt: skip
    if not rest.strip():
        help = f"write a name and a title, like {form}"
        return (
            syntax(f"this {kind} has no name", _at(span, 0, len(row)), help),
            kind, "", title.strip(),
        )  # fmt: skip
    start = before.index(rest, len(first)) if rest in before else len(first)
    if name != rest.strip():
        named = f"; write `{kind} {name}: {title.strip() or '…'}`" if name else ""
        return (
            syntax(
                f"`{_short(rest.strip())}` is not a name",
                _at(span, start, start + len(rest.rstrip())),
                "names are lower-case letters, digits and hyphens, and begin with a letter"
                + named,
            ),
            kind, name, title.strip(),
        )  # fmt: skip
    if not colon:
        help = f"write a colon and a title behind the name, like {form}"
        return syntax(f"this {kind} has no title", _at(span, 0, len(row)), help), kind, name, ""
    help = f"write what it is behind the colon, like {form}"
    return syntax(f"this {kind} has no title", _at(span, 0, len(row)), help), kind, name, ""


def _way_key(key: str) -> bool:
    return key in ("if", "otherwise", "then")


def _colon(key: str, text: str) -> int:
    at = text.find(":")
    return len(text) if at < 0 else at + 1


def _first_row(text: str) -> str:
    return text.split("\n", 1)[0].rstrip()


def _at(span: Span, start: int, end: int) -> Span:
    """A piece of a line; an empty one takes the last letter before it."""
    if end <= start:
        start, end = max(0, start - 1), max(1, start)
    return Span(span.source, span.start + start, span.start + end)


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:39] + "…"
