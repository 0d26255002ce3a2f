"""What `treewright weigh` says to other programs, as JSON: `grammar/weigh.schema.json`.

Minutes and parts are numbers; minutes of what has no time count as nothing, and what lacks a
time is named.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction

from treewright.model.tree import Tree
from treewright.reason.minutes import Spent
from treewright.reason.order.instance import Last
from treewright.reason.weigh import Weighed
from treewright.report.weighed import LASTS, Ranges, Weighing

VERSION = 1


def as_json(found: Sequence[tuple[Tree, Sequence[Weighing]]]) -> str:
    """All trees with their weighings. All is ASCII."""
    trees = [
        {
            "path": tree.source.path,
            "name": tree.name,
            "title": tree.title.text,
            "symptoms": list(map(_symptom, weighings)),
        }
        for tree, weighings in found
    ]
    return json.dumps({"version": VERSION, "trees": trees}, indent=2) + "\n"


def _symptom(one: Weighing) -> dict[str, object]:
    weighed = one.weighed
    return {
        "name": one.symptom.name,
        "title": one.symptom.title.text,
        "on": one.on.removeprefix(" on "),
        "refused": one.refused or None,
        "inferred": _figures(one, weighed, "inferred") if weighed else None,
        "confirmed": _figures(one, weighed, "confirmed") if weighed else None,
        "faults": _faults(weighed) if weighed else [],
        "astray": _number(weighed.astray) if weighed else 0,
        "silent": list(one.silent),
        "left_open": [fault.name for fault in weighed.open] if weighed else [],
        "no_share": list(one.no_share),
        "no_time": list(one.no_time),
        "ranges": _ranges(one.ranges),
    }


def _figures(one: Weighing, weighed: Weighed, last: Last) -> dict[str, object]:
    figures = weighed.figures(last)
    compared = one.compared[LASTS.index(last)]
    return {
        "expected": _number(figures.expected),
        "percentile_90": _number(figures.percentile),
        "worst": _number(figures.worst),
        "worst_fault": figures.worst_fault,
        "person_minutes": _number(figures.people),
        "times_missing": list(figures.missing),
        "order": {
            "author": _number(compared.author),
            "best": _number(compared.best),
            "at_least": _number(compared.at_least),
            "proven": compared.proven,
        },
        "time_spent": [
            {
                "kind": bar.item.kind,
                "number": bar.item.number,
                "name": bar.item.name,
                "title": bar.item.title,
                "minutes": _number(bar.minutes),
                "times": _number(bar.times),
                "jobs": _number(bar.jobs),
            }
            for bar in weighed.bars(last)
        ],
        "wanted": [
            {"kind": each.kind, "text": each.text, "jobs": _number(each.jobs)}
            for each in weighed.wanted(last)
        ],
    }


def _faults(weighed: Weighed) -> list[dict[str, object]]:
    return [
        {
            "number": one.fault.number,
            "name": one.fault.name,
            "title": one.fault.title.text,
            "share": _number(one.share),
            "inferred": _number(one.minutes("inferred")),
            "confirmed": _number(one.minutes("confirmed")),
            "astray": _number(one.astray),
            "ends": [
                {
                    "node": end.node,
                    "found": end.found,
                    "part": _number(end.part),
                    "inferred": _number(end.minutes("inferred")),
                    "confirmed": _number(end.minutes("confirmed")),
                    "way": list(map(_done, end.spent)),
                    "confirming": list(map(_done, end.confirming)),
                }
                for end in one.ends
            ],
        }
        for one in weighed.faults
    ]


def _done(one: Spent) -> dict[str, object]:
    return {"kind": one.kind, "name": one.name, "minutes": _number(one.cost.minutes)}


def _ranges(one: Ranges | None) -> dict[str, object] | None:
    if one is None:
        return None
    return {
        "last": one.last,
        "order": "author" if one.of_author else "best",
        "ranges": [
            {
                "of": each.what,
                "name": each.name,
                "now": _number(each.now),
                "from": _number(each.low),
                "to": _number(each.high),
                "endless": each.endless,
            }
            for each in one.ranges
        ],
    }


def _number(value: Fraction | None) -> float | int | None:
    if value is None:
        return None
    return int(value) if value.denominator == 1 else float(value)
