"""Which printed outputs of the old edition no longer say what the new one says.

A card is what a symptom can reach or the whole tree, on all models or on one: both editions are
cut to it and compared anew, and only what that output prints counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TypeAlias

from treewright.render import prose
from treewright.render.cut import cut
from treewright.render.editions.blocks import block_changes
from treewright.render.editions.changes import Card, CardKind, CardState, Change
from treewright.render.editions.found import Files
from treewright.render.editions.nodes import node_changes
from treewright.render.editions.pairs import Renamed
from treewright.render.outline import Outline, Symptom
from treewright.render.sheet_words import Known, Standings

Stand: TypeAlias = Callable[[str | None, str | None], Standings | None]
"""What is known at each node of an edition, for a symptom and a model (None: any); None: that
cannot be told."""

_NOT_ON_SHEET = frozenset(("share", "shows"))
_NOT_ON_CHART = _NOT_ON_SHEET | {
    "how", "about", "time", "tools", "parts", "access", "picture", "words below the picture",
    "takes again",
}  # fmt: skip
# What is ruled out goes by what faults show, and by nothing else that no checklist prints.
_HIDDEN: dict[CardKind, frozenset[str]] = {
    "sheet": _NOT_ON_SHEET, "suspects": frozenset(("share",)), "chart": _NOT_ON_CHART,
}  # fmt: skip


def cards_of(
    renamed: Renamed,
    new: Outline,
    changes: Sequence[Change],
    files: Files,
    stand: tuple[Stand, Stand] | None,
) -> tuple[Card, ...]:
    """Every printed output of either edition: whole first, then by symptom; then by model.

    Args:
        renamed: the old edition under the new names.
        new: the new edition.
        changes: what changed between the two.
        files: the pictures of both.
        stand: what is known at the nodes of both; None: every fault that shows something else
            is taken to change what is printed of it.
    """
    return tuple(_Cards(renamed, new, files, stand).found(changes))


class _Cards:
    def __init__(
        self, renamed: Renamed, new: Outline, files: Files, stand: tuple[Stand, Stand] | None
    ) -> None:
        self.renamed, self.old, self.new = renamed, renamed.old, new
        self.files, self.stand = files, stand
        # A symptom's own name may be another one.
        self.symptoms = {c.new: c.old for c in renamed.changes if c.thing == "symptom"}

    def found(self, changes: Sequence[Change]) -> Iterator[Card]:
        for model in (None, *dict.fromkeys((*self.old.models, *self.new.models))):
            before, after = (_part(tree, None, model) for tree in (self.old, self.new))
            whole = changes if model is None else self._changes(before, after)
            yield from self._cards(None, model, before, after, whole)
            had, has = (_symptoms(tree) for tree in (before, after))
            for name, symptom in (had | has).items():
                left, right = (_part(t, name, model) if name in held else None
                               for t, held in ((self.old, had), (self.new, has)))  # fmt: skip
                own = self._changes(left, right)
                own += [c for c in self.renamed.changes if (c.thing, c.name) == ("symptom", name)]
                yield from self._cards(symptom, model, left, right, own)

    def _changes(self, old: Outline | None, new: Outline | None) -> list[Change]:
        if old is None or new is None:
            return []
        return [*block_changes(old, new, self.files), *node_changes(old, new, self.files)]

    def _cards(
        self,
        symptom: Symptom | None,
        model: str | None,
        old: Outline | None,
        new: Outline | None,
        changes: Sequence[Change],
    ) -> Iterator[Card]:
        """The cards of one part; None: that edition does not have it."""
        name, title = (symptom.name, _title(symptom)) if symptom else ("", "whole tree")
        for kind in _HIDDEN:
            state: CardState = "gone" if new is None else "new"
            if old is not None and new is not None:
                shown = list(changes)
                if kind == "suspects" and not self._stands_otherwise(symptom, model, new):
                    shown = [change for change in shown if change.what != "shows"]
                state = _state(kind, new, shown)
            mark = "" if old is None else self.old.mark
            yield Card(kind, name, model or "", title, mark, state)

    def _stands_otherwise(self, symptom: Symptom | None, model: str | None, new: Outline) -> bool:
        """Whether at any step other faults are ruled out or suspect."""
        if self.stand is None:
            return True
        name = symptom.name if symptom else None
        old_name = self.symptoms.get(name, name) if name else None
        printed = {node.name for node in new.nodes}
        steps = [node.name for node in new.nodes if node.kind in ("check", "reading", "step")]
        known = self.stand[0](old_name, model), self.stand[1](name, model)
        if known[0] is None or known[1] is None:
            return True
        before = {self._now(node): self._faults(one, printed) for node, one in known[0].items()}
        after = {node: self._faults(one, printed) for node, one in known[1].items()}
        return any(before.get(one) != after.get(one) for one in steps)


    def _now(self, node: str) -> str:
        """The new name of a node."""
        return self.renamed.nodes.get(node, node)

    def _faults(self, known: Known, printed: set[str]) -> tuple[set[str], ...]:
        """The faults that are told, by their new names."""
        return tuple(set(map(self._now, faults)) & printed
                     for faults in (known.ruled_out, known.suspect))  # fmt: skip


def _part(tree: Outline, symptom: str | None, model: str | None) -> Outline | None:
    """What a card prints; None: the edition has no such model."""
    if model is None:
        return cut(tree, symptom)
    if model not in tree.models:
        return None
    return replace(cut(tree, symptom, model), models=(model,))


def _symptoms(part: Outline | None) -> dict[str, Symptom]:
    return {} if part is None else {symptom.name: symptom for symptom in part.symptoms}


def _state(kind: CardKind, part: Outline, changes: Sequence[Change]) -> CardState:
    named = {*(node.stage for node in part.nodes), *_states(part)}
    shown = [change for change in changes if _shown(change, kind, named)]
    if not shown:
        return "same"
    return "stale" if any(change.meaning for change in shown) else "words"


def _shown(change: Change, kind: CardKind, named: set[str | None]) -> bool:
    """Whether a change is of something that is printed.

    What sets a state up or ends it is printed where it is asked for, and compared there.
    """
    match change.thing:
        case "case":
            return False
        case "condition":
            return change.what == "title" and change.name in named
        case "stage":
            return change.event == "changed" and change.name in named
        case _:
            return change.what not in _HIDDEN[kind]


def _states(part: Outline) -> set[str]:
    """The conditions of the job that a part names anywhere."""
    found = {name for hazard in part.hazards for name in hazard.whilst}
    for node in part.nodes:
        found.update((*node.needs, *node.sets, *node.clears))
        for setup in (*node.setup, *node.takedown, *node.undo):
            found.add(setup.condition)
    return found


def _title(symptom: Symptom) -> str:
    return f"{symptom.number} {prose.plain(symptom.title)}"
