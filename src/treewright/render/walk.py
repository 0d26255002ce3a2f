"""What the script of a walk-through decides by: ways, limits, set-up, hazards.

Less than `treewright data` writes: words that only show stay in the page's document, where
the script finds them. Knows nothing of HTML.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from treewright.render import prose
from treewright.render.outline import Cost, Exit, Node, Outcome, Outline


def data(outline: Outline) -> dict[str, Any]:
    """The tree as JSON-able values, under the names that the script in site/js reads.

    Args:
        outline: the compiled tree.
    """
    same = {node.name: [one.node for one in node.same] for node in outline.nodes}
    return {
        "name": outline.name,
        "machine": outline.machine,
        "models": outline.models,
        "edition": outline.edition,
        "date": outline.date,
        "fingerprint": outline.fingerprint,
        "mark": outline.mark,
        "after": outline.after_remedy,
        "symptoms": [
            {"name": one.name, "start": one.start, "models": one.models} for one in outline.symptoms
        ],
        "stages": [
            {"name": one.name, "title": prose.plain(one.title), "models": one.models}
            for one in outline.stages
        ],
        "nodes": [_node(node, same) for node in outline.nodes],
        "conditions": [
            {
                "name": one.name,
                "title": prose.plain(one.title),
                "setUp": one.set_up_by,
                "undo": one.undo_by,
                "excludes": one.excludes,
            }
            for one in outline.conditions
        ],
        "procedures": [
            {
                "name": one.name,
                "number": one.number,
                "items": len(one.items),
                "models": one.models,
                "hazards": one.hazards,
                **_cost(one.cost),
            }
            for one in outline.procedures
        ],
        "hazards": [
            {
                "name": one.name,
                "signal": one.signal,
                "whilst": one.whilst,
                "models": one.models,
            }
            for one in outline.hazards
        ],
    }


def _node(node: Node, same: Mapping[str, list[str]]) -> dict[str, Any]:
    return {
        "name": node.name,
        "kind": node.kind,
        "number": node.number,
        "stage": node.stage,
        "models": node.models,
        "needs": node.needs,
        "sets": node.sets,
        "clears": node.clears,
        "hazards": node.hazards,
        "same": [(one.node, one.answers) for one in node.same],
        "outcomes": [_outcome(outcome) for outcome in node.outcomes],
        "places": node.places,
        "placeTitles": node.place_titles or node.places,
        "units": [
            {"symbol": unit.symbol, "factor": unit.factor, "offset": unit.offset}
            for unit in node.units
        ],
        "specs": [
            {"models": spec.models, "text": spec.text, "also": spec.also} for spec in node.specs
        ],
        "exit": _exit(node.exit),
        "retest": node.retest,
        "first": node.first,
        # What is in doubt at one check is so at all that ask the same.
        "doubts": node.doubts
        and list(dict.fromkeys(n for one in node.doubts for n in (one, *same.get(one, ())))),
        "share": node.share,
        "shows": [(shown.node, shown.outcome, shown.maybe) for shown in node.shows],
        **_cost(node.cost),
    }


def _outcome(outcome: Outcome) -> dict[str, Any]:
    test = outcome.test
    return {
        "label": prose.plain(outcome.label),
        "detail": outcome.detail,
        "details": outcome.details,
        "normal": outcome.normal,
        "exit": _exit(outcome.exit),
        "test": {
            "kind": test.kind,
            "quantifier": test.quantifier,
            "place": test.place,
            "ranges": [
                (model, [(r.low, r.low_included, r.high, r.high_included) for r in ranges])
                for model, ranges in test.ranges
            ],
        },
    }


def _exit(way: Exit | None) -> dict[str, Any] | None:
    if way is None:
        return None
    return {"does": way.does, "target": way.target, "byModel": way.by_model}


def _cost(cost: Cost) -> dict[str, Any]:
    return {"tools": cost.tools, "parts": cost.parts, "licence": cost.licence}
