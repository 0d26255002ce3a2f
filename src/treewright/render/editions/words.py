"""How the parts of an edition, and a change in one, are said to people.

Takes author text as data and gives plain words; references carry the number they have in the
edition that is spoken of.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from treewright.render import prose
from treewright.render.editions.changes import Change, Thing
from treewright.render.outline import (
    Case,
    Condition,
    Exit,
    Hazard,
    Node,
    Outline,
    Procedure,
    Setup,
    Stage,
    Symptom,
)
from treewright.render.sheet_words import shortened

_TITLE = 60  # letters of a title that stands beside a number
_WAYS = {"go": "go to", "next": "go to", "found": "found", "back": "back to", "stop": "stop:"}


def head(
    block: Symptom | Stage | Node | Condition | Procedure | Hazard | Case, outline: Outline
) -> tuple[Thing, str, str]:
    """What kind of block it is, its number ("" for none) and its title as plain words."""
    title = prose.plain(block.title)
    match block:
        case Node():
            return block.kind, block.number, title
        case Symptom():
            return "symptom", block.number, title
        case Procedure():
            return "procedure", block.number, title
        case Stage():
            return "stage", "", title
        case Condition():
            return "condition", "", title
        case Hazard():
            return block.signal, "", title
        case Case():
            return "case", "", title


class Sayer:
    """Says what one outline refers to: its nodes and procedures by number and title."""

    def __init__(self, outline: Outline) -> None:
        self.titles = {p.name: f"{p.number} {_short(p.title)}" for p in outline.procedures}
        self.titles |= {n.name: f"{n.number} {_short(n.title)}" for n in outline.nodes}
        self.conditions = {c.name: prose.plain(c.title) for c in outline.conditions}
        self.hazards = {
            h.name: f"{h.signal.upper()} {prose.plain(h.title)}" for h in outline.hazards
        }
        self.stages = {s.name: prose.plain(s.title) for s in outline.stages}

    def ref(self, name: str | None) -> str:
        """ "7 Is the valve open?"."""
        return "nowhere" if name is None else self.titles.get(name, name)

    def refs(self, names: Iterable[str]) -> str:
        return "; ".join(map(self.ref, names))

    def states(self, names: Iterable[str]) -> str:
        return "; ".join(self.conditions.get(name, name) for name in names)

    def warnings(self, names: Iterable[str]) -> str:
        return "; ".join(self.hazards.get(name, name) for name in names)

    def way(self, way: Exit | None) -> str:
        """ "do P2 Top up, then back to 3 Oil level"."""
        if way is None:
            return "back to where you came from"
        does = "".join(f"do {self.ref(name)}, then " for name in way.does)
        words = f"{does}{_WAYS[way.kind]} {self.ref(way.target)}"
        if way.target is None:
            words = f"{does}no way on"
        for model, target in way.by_model:
            if target != way.target:
                words += f"; on {model}: {self.ref(target)}"
        return words

    def setup(self, setups: Sequence[Setup]) -> str:
        """ "P1 Lock out; if not already done: P2 Drain"."""
        return "; ".join(
            f"{'' if one.always else 'if need be: '}{'undo: ' if one.undo else ''}"
            + (
                self.ref(one.procedure)
                if one.procedure
                else self.conditions.get(one.condition, one.condition)
            )
            for one in setups
        )


def _short(title: str) -> str:
    return shortened(prose.plain(title), _TITLE)


def place(change: Change) -> str:
    """What a change is at: "7 Is the valve open?", "WARNING Hot water", "the tree"."""
    if change.thing == "tree":
        return "the tree"
    old, new = change.numbers
    title = shortened(change.title, _TITLE)
    if change.thing in ("danger", "warning", "caution", "notice"):
        return f"{change.thing.upper()} {title}"
    number = new or old
    return f"{number} {title}" if number else f"{change.thing} “{title}”"


def sentence(change: Change) -> str:
    """The change in words, without what it is at: "spec: was 8 bar, now 9 bar"."""
    what = change.what
    match change.event:
        case "added":
            return f"new {change.thing}" + (f": {change.new}" if change.new else "")
        case "gone":
            return f"this {change.thing} is gone" + (f": {change.old}" if change.old else "")
        case "renamed":
            return f"renamed: `{change.old}` is now `{change.new}`"
        case "changed":
            if not change.old:
                return f"{what}: now {change.new}"
            if not change.new:
                return f"{what}: no longer {change.old}"
            return f"{what}: was {change.old}, now {change.new}"
