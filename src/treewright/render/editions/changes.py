"""What a change between two editions is, and in which order changes are told.

Plain frozen data: made by the comparison, read by everything that shows it.
"""

from __future__ import annotations

from typing import Literal

from treewright.record import record
from treewright.render.outline import Outline

Topic = Literal[
    "hazard", "limit", "way", "check", "finding", "set-up", "means", "model", "tree", "case",
    "number", "words",
]  # fmt: skip
Event = Literal["added", "gone", "renamed", "changed"]
Thing = Literal[
    "tree", "symptom", "stage", "check", "reading", "step", "fault", "handoff", "done",
    "condition", "procedure", "danger", "warning", "caution", "notice", "case",
]  # fmt: skip

TOPICS: tuple[tuple[Topic, str], ...] = (
    ("hazard", "Hazards"),
    ("limit", "Limits"),
    ("way", "Ways"),
    ("check", "Checks, steps, ends"),
    ("finding", "Findings"),
    ("set-up", "Set-up and procedures"),
    ("means", "Time, people, tools, parts"),
    ("model", "Models"),
    ("tree", "The tree as a whole"),
    ("case", "Known jobs"),
    ("number", "Numbers"),
    ("words", "Words"),
)
"""In the order in which changes are told, the gravest first, with their headings."""


@record
class Change:
    """One thing that differs.

    Attributes:
        topic: what it is about, for order and headings.
        event: whether a block is new, gone or renamed, or something in it has changed.
        thing: what kind of block; its signal word where it is a hazard.
        name: the block's name in the new edition; in the old one where it is gone.
        numbers: its number in the old and the new edition; "" where it has none.
        title: its title as plain words, of the new edition where there is one.
        what: which of its particulars: "remedy", "spec", "answer within"; "" where it is all.
        old, new: as people say it; "" for nothing.
        meaning: whether it changes what is done, read or heeded; otherwise it is wording.
        follows: whether it follows from other changes: numbers that moved up, set-up that is
            asked for on other ways.
    """

    topic: Topic
    event: Event
    thing: Thing
    name: str
    numbers: tuple[str, str] = ("", "")
    title: str = ""
    what: str = ""
    old: str = ""
    new: str = ""
    meaning: bool = True
    follows: bool = False


CardKind = Literal["sheet", "suspects", "chart"]
CardState = Literal["stale", "words", "same", "gone", "new"]


@record
class Card:
    """A printed output as it hangs on a wall.

    Attributes:
        kind: the checklist, the checklist with what is ruled out and still suspect at each step,
            or the chart.
        symptom: its symptom's name in the new edition (old, where gone); "" for the whole tree.
        model: the model that it is for; "" for all.
        title: what stands at its head.
        mark: the edition mark on the old one; "" where there was none.
        state: "stale": its content changed in meaning; "words": in wording alone; "same": not
            at all, but for the mark; "gone": nothing takes its place; "new": there was none.
    """

    kind: CardKind
    symptom: str
    model: str
    title: str
    mark: str
    state: CardState


@record
class Comparison:
    """Two editions of a tree, what changed, and which cards that puts out of date."""

    old: Outline
    new: Outline
    changes: tuple[Change, ...]
    cards: tuple[Card, ...]

    @property
    def meant(self) -> tuple[Change, ...]:
        """The changes of meaning."""
        return tuple(change for change in self.changes if change.meaning)

    @property
    def worded(self) -> tuple[Change, ...]:
        """The changes of wording alone."""
        return tuple(change for change in self.changes if not change.meaning)

    @property
    def mark_trouble(self) -> str:
        """What is wrong with the edition mark, in one sentence; "" for nothing."""
        old, new = self.old.edition, self.new.edition
        if old is not None and new is not None and new < old:
            return f"the edition went back from {old} to {new}"
        if not self.meant:
            return ""
        if new is None:
            return "the meaning changed, and the tree has no edition to tell the two apart by"
        if new == old:
            return (
                f"the meaning changed, but it is still edition {new}:"
                " give it the next number, and its date"
            )
        return ""


def in_order(changes: list[Change]) -> tuple[Change, ...]:
    """By topic, the gravest first; within one in the order in which they were found."""
    order = [topic for topic, _ in TOPICS]
    return tuple(sorted(changes, key=lambda one: (one.follows, order.index(one.topic))))
