"""A comparison as people read it: changes under headings and places, cards by what to do.

The one order and wording for the terminal and for paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace

from treewright.record import record
from treewright.render.editions.changes import (
    TOPICS,
    Card,
    CardKind,
    CardState,
    Change,
    Comparison,
)
from treewright.render.editions.words import place, sentence

_AROUND = 4  # words that are alike and stand on either side of those that differ
_NUMBER = re.compile(r"([A-Z]?)(\d+)")


@record
class Entry:
    """What changed at one place; `place` is "" where the sentences name it themselves."""

    place: str
    sentences: tuple[str, ...]


@record
class Group:
    heading: str
    entries: tuple[Entry, ...]


@record
class CardGroup:
    """Cards with which the same is to be done."""

    state: CardState
    heading: str
    lines: tuple[str, ...]


STATES: tuple[tuple[CardState, str], ...] = (
    ("stale", "out of date: take down, and print anew"),
    ("gone", "take down: nothing takes its place"),
    ("new", "new: put up"),
    ("words", "worded otherwise, still right: print anew when it suits"),
    ("same", "still right; only the edition mark differs"),
)
"""What can be the matter with a card, in the order in which that is told."""


def meant(comparison: Comparison) -> list[Group]:
    """The changes of meaning that were made, by topic."""
    return _groups(change for change in comparison.meant if not change.follows)


def following(comparison: Comparison) -> list[Group]:
    """The changes of meaning that follow from those."""
    return _groups(change for change in comparison.meant if change.follows)


def worded(comparison: Comparison) -> list[Group]:
    """The changes of wording alone."""
    return _groups(comparison.worded)


def cards(found: Sequence[Card]) -> list[CardGroup]:
    """The cards by what is to be done; what is printed of one part in one line.

    The usual ones are named: checklist and chart for all models. One of another kind, or for one
    model, is named where it fares otherwise.
    """
    states = {(card.kind, card.symptom, card.model): card.state for card in found}
    kinds: dict[CardState, dict[str, list[str]]] = {state: {} for state, _ in STATES}
    for card in found:
        kind: CardKind = "sheet" if card.kind == "suspects" else card.kind
        usual = [
            states.get((kind, card.symptom, card.model)),
            states.get((card.kind, card.symptom, "")),
        ]
        if card.model == "":
            named = kind == card.kind or card.state != usual[0]
        else:
            named = card.state != usual[1] and (kind == card.kind or card.state != usual[0])
        if named:
            part = f" for {card.model} alone: {card.title}" if card.model else f": {card.title}"
            kinds[card.state].setdefault(part, []).append(_KINDS[card.kind])
    return [
        CardGroup(state, heading, lines)
        for state, heading in STATES
        if (lines := tuple(f"{_and(some)}{part}" for part, some in kinds[state].items()))
    ]


_KINDS: dict[CardKind, str] = {
    "sheet": "checklist", "suspects": "checklist with suspects", "chart": "chart",
}  # fmt: skip


def _and(words: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _groups(changes: Iterable[Change]) -> list[Group]:
    by_topic: dict[str, list[Change]] = {}
    for change in changes:
        by_topic.setdefault(change.topic, []).append(change)
    groups = []
    for topic, heading in TOPICS:
        some = by_topic.get(topic, [])
        if not some:
            continue
        if topic == "number":
            groups.append(Group(heading, (Entry("", tuple(_numbers(some))),)))
            continue
        places: dict[str, list[str]] = {}
        for change in some:
            places.setdefault(place(change), []).append(_sentence(change))
        groups.append(Group(heading, tuple(Entry(at, tuple(s)) for at, s in places.items())))
    return groups


def _sentence(change: Change) -> str:
    """The change in words; of long prose and of lists only what differs."""
    old, new = change.old, change.new
    if change.event != "changed" or not (old and new):
        return sentence(change)
    if old.startswith("“") and new.startswith("“") and old.endswith("”") and new.endswith("”"):
        old, new = apart(old, new)
        return sentence(replace(change, old=old, new=new))
    before, after = old.split("; "), new.split("; ")
    if change.topic != "way" and set(before) != set(after) and len(before) + len(after) > 2:
        more = "; ".join(one for one in after if one not in before)
        less = "; ".join(one for one in before if one not in after)
        said = [f"now also {more}"] if more else []
        return f"{change.what}: " + ", ".join([*said, *([f"no longer {less}"] if less else [])])
    return sentence(change)


def _numbers(changes: Sequence[Change]) -> list[str]:
    """ "7 to 12 are now 8 to 13": runs that moved together in one sentence."""
    runs: list[list[tuple[str, str]]] = []
    for old, new in sorted((change.numbers for change in changes), key=lambda n: _parts(n[0])):
        if runs and _next(runs[-1][-1][0]) == old and _next(runs[-1][-1][1]) == new:
            runs[-1].append((old, new))
        else:
            runs.append([(old, new)])
    return [
        f"{run[0][0]} is now {run[0][1]}"
        if len(run) == 1
        else f"{run[0][0]} to {run[-1][0]} are now {run[0][1]} to {run[-1][1]}"
        for run in runs
    ]


def _parts(number: str) -> tuple[str, int]:
    found = _NUMBER.fullmatch(number)
    return (found[1], int(found[2])) if found else (number, 0)


def _next(number: str) -> str:
    letter, count = _parts(number)
    return f"{letter}{count + 1}"


def apart(old: str, new: str) -> tuple[str, str]:
    """Two texts without most of what is alike at their ends, which "…" stands for."""
    before, after = old.split(" "), new.split(" ")
    most = min(len(before), len(after))
    start = 0
    while start < most and before[start] == after[start]:
        start += 1
    end = 0
    while end < most - start and before[-1 - end] == after[-1 - end]:
        end += 1
    start, end = max(start - _AROUND, 0), max(end - _AROUND, 0)
    return _middle(before, start, end), _middle(after, start, end)


def _middle(words: list[str], start: int, end: int) -> str:
    """The words from `start` to `end` from the last; a text in quotation marks stays in them."""
    kept = words[start : len(words) - end]
    ahead = ["“…"] if start and words[0].startswith("“") else ["…"] if start else []
    behind = ["…”"] if end and words[-1].endswith("”") else ["…"] if end else []
    return " ".join([*ahead, *kept, *behind])
