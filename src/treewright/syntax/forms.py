"""What each kind of line takes, in words and by example, for those who wrote it otherwise."""

from __future__ import annotations

import re
from functools import cache

from treewright.syntax import grammar

# What stands after the colon of each line, and an example of it.
FORMS: dict[str, tuple[str, str]] = {
    "edition": ("a number and a date", "edition: 3, 2026-10-01"),
    "units": ("a unit system", "units: metric, also us"),
    "after remedy": ("`finish` or `go on`", "after remedy: finish"),
    "language": ("the letters of a language", "language: en"),
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
    "undo by": ("the name of one procedure, or `none`", "undo by: restore-power"),
    "excludes": ("names of conditions, parted by commas", "excludes: warmed-up"),
    "at": ("names, parted by commas", "at: left, right"),
    "while": ("names of conditions, parted by commas", "while: warmed-up"),
    "start at": ("the name of one check, reading or step", "start at: oil-level"),
    "needs": ("names of conditions, parted by commas", "needs: warmed-up, locked-out"),
    "before": ("names of checks and readings, parted by commas", "before: head-strip, rod-ends"),
    "sets": ("names of conditions, parted by commas", "sets: gauge-fitted"),
    "clears": ("names of conditions, parted by commas", "clears: gauge-fitted"),
    "doubts": ("names of checks and readings, or `none`", "doubts: pump-up, oil-level"),
    "retest": ("the name of one check or reading", "retest: pump-up"),
    "as in": ("a check or reading of a library", "as in: oil.oil-level"),
    "same as": ("the name of one check or reading", "same as: pump-up"),
    "symptom": ("the name of one symptom", "symptom: slow-fill"),
    "symptoms": ("names of symptoms, parted by commas", "symptoms: slow-fill, noisy"),
    "ends": ("the name of the fault or end", "ends: hose-leak"),
    "tools": ("things, parted by commas", "tools: stopwatch, feeler gauge"),
    "parts": ("things, parted by commas", "parts: ring set, gasket"),
    "spec": ("a limit", "spec: 180 s ± 30 s"),
    "normal": ("the good answer", "normal: yes"),
    "answers": ("answers, parted by commas", "answers: yes, low, milky"),
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

# What trainers are apt to write, and what this language has for it.
LIKE_KEYS = {
    "else": "otherwise", "setup by": "set up by", "note": "about", "fix": "remedy",
    "repair": "remedy", "next": "then",
}  # fmt: skip
LIKE_LIMITS = {
    ">=": "at least", "=>": "at least", "≥": "at least", "min": "at least",
    "minimum": "at least", "not less than": "at least", "no less than": "at least",
    "from": "at least", "<=": "at most", "=<": "at most", "≤": "at most", "max": "at most",
    "maximum": "at most", "up to": "at most", "not more than": "at most",
    "no more than": "at most", ">": "above", "over": "above", "more than": "above",
    "greater than": "above", "higher than": "above", "<": "below", "under": "below",
    "less than": "below", "lower than": "below",
}  # fmt: skip


def form_of(kind: str, key: str) -> tuple[str, str]:
    """What stands after the colon of such a line, and an example of the whole line."""
    if key == "access" and kind not in ("tree", "library"):
        return "one rung of the access ladder", "access: covers"
    if key == "answers" and kind == "reading":
        what = "limits, or `within`, `below` and `above` where it has a spec, parted by commas"
        return what, "answers: 8.0 to 8.6 bar, below 8.0 bar, above 8.6 bar"
    return FORMS.get(key, ("some text", f"{key}: …"))


def key_of(kind: str, text: str) -> str | None:
    """The key a line of that block begins with, or None."""
    found = _pattern(grammar.keys(kind)).match(text)
    return found.group() if found else None


def key_of_any(text: str) -> str | None:
    """The key of any kind of block that a line begins with, or None."""
    found = _pattern(_all_keys()).match(text)
    return found.group() if found else None


@cache
def _all_keys() -> frozenset[str]:
    return frozenset().union(*map(grammar.keys, grammar.KINDS))


@cache
def _pattern(keys: frozenset[str]) -> re.Pattern[str]:
    longest_first = sorted(keys, key=lambda key: (-len(key), key))
    return re.compile(f"(?:{'|'.join(map(re.escape, longest_first))})(?![\\w-])")


def lines_of(kind: str) -> str:
    """All lines a kind of block may have, for a message."""
    keys = [f"`{key}`" for key in sorted(grammar.keys(kind))]
    keys += {"case": ["`NODE: ANSWER`"], "procedure": ["`- DO THIS`"]}.get(kind, [])
    return f"its lines are {', '.join(keys)}"
