"""What `treewright compare` says for programs: grammar/compare.schema.json is its shape."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from treewright.render.editions import Change, Comparison
from treewright.render.editions.words import place, sentence
from treewright.render.outline import Outline

VERSION = 1


def as_json(pairs: Sequence[tuple[Outline | None, Outline | None, Comparison | None]]) -> str:
    """Trees in two editions as one JSON document, in ASCII.

    Args:
        pairs: the old edition, the new one, and what changed between them; None where there
            is no such edition, and then for what changed as well.
    """
    trees = [_tree(old, new, comparison) for old, new, comparison in pairs]
    shown = {"version": VERSION, "changed": any(tree["changed"] for tree in trees), "trees": trees}
    return json.dumps(shown, indent=1) + "\n"


def _tree(
    old: Outline | None, new: Outline | None, comparison: Comparison | None
) -> dict[str, Any]:
    return {
        "old": _edition(old),
        "new": _edition(new),
        "changed": comparison is None or bool(comparison.meant),
        "mark_trouble": comparison.mark_trouble if comparison else "",
        "changes": [_change(change) for change in comparison.changes] if comparison else [],
        "cards": [
            {"kind": c.kind, "symptom": c.symptom, "model": c.model, "title": c.title,
             "mark": c.mark, "state": c.state}
            for c in (comparison.cards if comparison else ())
        ],
    }  # fmt: skip


def _edition(outline: Outline | None) -> dict[str, Any] | None:
    if outline is None:
        return None
    return {
        "name": outline.name,
        "edition": outline.edition,
        "date": outline.date,
        "fingerprint": outline.fingerprint,
        "mark": outline.mark,
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "topic": change.topic,
        "event": change.event,
        "thing": change.thing,
        "name": change.name,
        "old_number": change.numbers[0],
        "new_number": change.numbers[1],
        "title": change.title,
        "what": change.what,
        "old": change.old,
        "new": change.new,
        "meaning": change.meaning,
        "follows": change.follows,
        "text": f"{place(change)}: {sentence(change)}",
    }
