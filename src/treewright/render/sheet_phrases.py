"""How the checklist says things: references, ways on, set-up, hazards, costs.

Each is put into pieces that typst/sheet.typ sets as they are: words as a string, author's prose
as render/prose parts it, a reference as {"ref": number, "name": name}. Knows nothing of the
order of the sheet, of files or of paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Literal, NamedTuple, TypeAlias

from treewright.render import prose
from treewright.render.outline import Cost, Exit, Hazard, Node, Outline, Procedure, Setup

Piece: TypeAlias = dict[str, Any]
Rich: TypeAlias = str | list[Piece]
"""An author's words; a string where nothing in them is marked. Never changed once made."""

GRAVITY = ("danger", "warning", "caution", "notice")

# By when it is done, whether it is undone, whether it is needed on every way here.
_LEADS = {
    ("before", False, True): "Set up first",
    ("before", False, False): "Set up first, if not already done",
    ("before", True, True): "Undo first",
    ("before", True, False): "Undo first, if it still holds",
    ("retest", True, True): "Before the retest",
    ("retest", True, False): "Before the retest, unless it was so when the check was first taken",
    ("leaving", True, True): "Before you leave, undo",
    ("leaving", True, False): "Before you leave, undo, if it still holds",
}
_WAYS = {"go": "go to ", "next": "go to ", "found": "found ", "back": "back to ", "stop": "stop: "}
_NO_WAY = "no way on is written here: stop and ask"


# The same words stand before many steps, and on every paper that a sheet is made for.
@lru_cache(maxsize=4096)
def rich(text: str) -> Rich:
    """A title, question or answer: inline pieces."""
    return _joined(prose.inlines(text))


@lru_cache(maxsize=4096)
def blocks(text: str) -> Rich:
    """Paragraphs and lists: block pieces; a string where there is but one plain paragraph."""
    found = prose.blocks(text)
    for piece in found:
        if piece["kind"] == "paragraph":
            piece["content"] = _joined(piece["content"])
    match found:
        case []:
            return ""
        case [{"kind": "paragraph", "content": str(content)}]:
            return content
        case _:
            return found


def _joined(pieces: list[Piece]) -> Rich:
    if all(piece["kind"] == "text" for piece in pieces):
        return "".join(piece["text"] for piece in pieces)
    return pieces


class _Goal(NamedTuple):
    """A node that a way leads to, None for none, and the models on which it does."""

    target: str | None
    models: tuple[str, ...]


class Phrases:
    """Says what the parts of one outline have to say of one another."""

    def __init__(self, outline: Outline) -> None:
        self.outline = outline
        self.nodes = {node.name: node for node in outline.nodes}
        self.procedures = {procedure.name: procedure for procedure in outline.procedures}
        self.hazards = {hazard.name: hazard for hazard in outline.hazards}
        self.conditions = {condition.name: condition for condition in outline.conditions}
        listed = sorted(outline.hazards, key=_gravity)
        self.letters = {hazard.name: letter(at) for at, hazard in enumerate(listed)}

    def numbered(self, name: str) -> str:
        found: Node | Procedure | None = self.nodes.get(name) or self.procedures.get(name)
        return found.number if found else ""

    def ref(self, name: str) -> Piece:
        """A reference to a node or procedure; without a number where the sheet lacks it."""
        return {"ref": self.numbered(name), "name": name}

    def titled(self, procedure: Procedure) -> Piece:
        return {"ref": self.ref(procedure.name), "title": rich(procedure.title)}

    def condition(self, name: str) -> Rich:
        found = self.conditions.get(name)
        return rich(found.title if found else name)

    def way(self, way: Exit | None, models: Sequence[str] = ()) -> list[str | Piece]:
        """Words and references: "do ", 14, ", then back to ", 3.

        Args:
            way: None: of a step that is only done on the way of an answer.
            models: the models that have what it goes on from; empty: all.
        """
        if way is None:
            return ["then back to where you came from"]
        pieces: list[str | Piece] = []
        for name in way.does:
            pieces += [", then do " if pieces else "do ", self.ref(name)]
        lead = ", then " if pieces else ""
        first, *others = _goals(way, models)
        if first.target is None:
            pieces.append(lead + _NO_WAY)
        else:
            pieces += [lead + _WAYS[way.kind], self.ref(first.target)]
        for goal in others:
            pieces.append(f"; on {', '.join(goal.models)}: ")
            pieces.append(_NO_WAY if goal.target is None else self.ref(goal.target))
        return pieces

    def setups(
        self, setups: Sequence[Setup], when: Literal["before", "retest", "leaving"]
    ) -> list[Piece]:
        """In groups with the same lead: what does each, and the state that is meant.

        The state is said where nothing does it, and where it has to be looked at first.
        """
        groups: list[Piece] = []
        for setup in setups:
            procedure = self.procedures.get(setup.procedure or "")
            undone = setup.undo or when != "before"
            said = procedure is None or (undone and not setup.always)
            move = {
                "condition": self.condition(setup.condition) if said else "",
                "procedure": self.titled(procedure) if procedure else None,
            }
            lead = _LEADS[when, undone, setup.always]
            if groups and groups[-1]["lead"] == lead:
                groups[-1]["moves"].append(move)
            else:
                groups.append({"lead": lead, "moves": [move]})
        return groups

    def warnings(self, names: Sequence[str]) -> list[Piece]:
        """What stands before a step, the gravest first."""
        found = [self.hazards[name] for name in names if name in self.hazards]
        return [
            {
                "name": hazard.name,
                "letter": self.letters[hazard.name],
                "signal": hazard.signal,
                "title": rich(hazard.title),
                "only": hazard.models,
                "avoid": prose.plain(hazard.avoid),
            }
            for hazard in sorted(found, key=_gravity)
        ]

    def panels(self) -> list[Piece]:
        """Every hazard with all there is to say about it, the gravest first."""
        return [self.panel(hazard) for hazard in sorted(self.outline.hazards, key=_gravity)]

    def panel(self, hazard: Hazard) -> Piece:
        order = [*self.nodes, *self.procedures]
        return {
            "name": hazard.name,
            "letter": self.letters[hazard.name],
            "signal": hazard.signal,
            "title": rich(hazard.title),
            "harm": blocks(hazard.harm),
            "avoid": blocks(hazard.avoid),
            "at": [self.ref(name) for name in order if name in hazard.at],
            "whilst": [self.condition(name) for name in hazard.whilst],
            "only": hazard.models,
        }


def _goals(way: Exit, models: Sequence[str]) -> list[_Goal]:
    """Where a way leads, first where it does on every model that is not named with another."""
    goals: dict[str | None, list[str]] = {}
    for model, target in way.by_model:
        if not models or model in models:
            goals.setdefault(target, []).append(model)
    first = way.target if way.target in goals or not goals else next(iter(goals))
    others = [_Goal(target, tuple(on)) for target, on in goals.items() if target != first]
    return [_Goal(first, ()), *others]


def _gravity(hazard: Hazard) -> int:
    return GRAVITY.index(hazard.signal)


def letter(at: int) -> str:
    """The mark of a hazard in the list: A to Z, then AA, AB …

    Args:
        at: its place in the list, from 0 on.
    """
    found = ""
    while at >= 0:
        found = chr(ord("A") + at % 26) + found
        at = at // 26 - 1
    return found


def facts(cost: Cost) -> list[str]:
    """What it costs, but for the licence, which stands out."""
    found = [cost.minutes_text] if cost.minutes_text else []
    if cost.people and cost.people > 1:
        found.append(f"{cost.people} people")
    for words, listed in (("tools: ", cost.tools), ("parts: ", cost.parts)):
        if listed:
            found.append(words + ", ".join(listed))
    return found + ([f"access: {cost.access}"] if cost.access else [])
