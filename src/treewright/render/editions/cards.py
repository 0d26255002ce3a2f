"""Which printed outputs of the old edition no longer say what the new one says.

A card is what a symptom can reach, or the whole tree: both editions are cut to it and compared
anew, and only what that output prints counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from treewright.render import prose
from treewright.render.cut import cut
from treewright.render.editions.blocks import block_changes
from treewright.render.editions.changes import Card, CardKind, CardState, Change
from treewright.render.editions.nodes import node_changes
from treewright.render.editions.pairs import Renamed
from treewright.render.outline import Outline, Symptom

_NOT_ON_SHEET = frozenset(("share", "shows"))
_NOT_ON_CHART = _NOT_ON_SHEET | {
    "how", "about", "time", "tools", "parts", "access", "picture", "words below the picture",
    "takes again",
}  # fmt: skip
_HIDDEN: dict[CardKind, frozenset[str]] = {"sheet": _NOT_ON_SHEET, "chart": _NOT_ON_CHART}


def cards_of(
    renamed: Renamed,
    new: Outline,
    changes: Sequence[Change],
    old_pictures: Mapping[str, bytes] | None = None,
    new_pictures: Mapping[str, bytes] | None = None,
) -> tuple[Card, ...]:
    """Every printed output of either edition: whole first, then by symptom.

    Args:
        renamed: the old edition under the new names.
        new: the new edition.
        changes: what changed between the two.
        old_pictures, new_pictures: as in `compare`.
    """
    old = renamed.old
    files = (old_pictures or {}, new_pictures or {})
    found = [_card(kind, None, new, old.mark, changes) for kind in _HIDDEN]
    before, after = ({s.name: s for s in tree.symptoms} for tree in (old, new))
    for name, symptom in before.items():
        if name not in after:
            found += [Card(kind, name, _title(symptom), old.mark, "gone") for kind in _HIDDEN]
    for name, symptom in after.items():
        if name not in before:
            found += [Card(kind, name, _title(symptom), "", "new") for kind in _HIDDEN]
            continue
        left, right = cut(old, name), cut(new, name)
        own = [*block_changes(left, right, files), *node_changes(left, right, files)]
        own += [c for c in renamed.changes if (c.thing, c.name) == ("symptom", name)]
        found += [_card(kind, symptom, right, old.mark, own) for kind in _HIDDEN]
    return tuple(found)


def _card(
    kind: CardKind, symptom: Symptom | None, part: Outline, mark: str, changes: Sequence[Change]
) -> Card:
    named = {*(node.stage for node in part.nodes), *_states(part)}
    shown = [change for change in changes if _shown(change, kind, named)]
    state: CardState = "same"
    if shown:
        state = "stale" if any(change.meaning for change in shown) else "words"
    if symptom is None:
        return Card(kind, "", "whole tree", mark, state)
    return Card(kind, symptom.name, _title(symptom), mark, state)


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
