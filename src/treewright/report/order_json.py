"""What `treewright order` says to other programs: as grammar/order.schema.json has it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction

from treewright.model.tree import Tree
from treewright.reason.order.moves import Gain
from treewright.report.order_plan import Row, rows
from treewright.report.orders import Order, Orders


def as_json(found: Sequence[Orders]) -> str:
    """All trees; minutes are numbers. All is ASCII."""
    shown = {"version": 1, "trees": [_tree(one) for one in found]}
    return json.dumps(shown, indent=2) + "\n"


def _tree(found: Orders) -> dict[str, object]:
    return {
        "path": found.tree.source.path,
        "name": found.tree.name,
        "last": found.last,
        "orders": [_order(one) for one in found.orders],
        "moves": [_move(gain, on) for gain, on in found.moves],
        "not_ordered": [
            {"symptom": symptom.name, "why": why} for symptom, why in found.unasked
        ],
    }  # fmt: skip


def _order(order: Order) -> dict[str, object]:
    of, author, best = order.question, order.author, order.best
    return {
        "symptom": order.symptom.name,
        "number": order.symptom.number,
        "title": order.symptom.title.text,
        "on": order.on.strip(),
        "now": {
            "expected": _number(author.expected),
            "worst": _number(author.worst),
            "besides": _number(author.besides),
            "astray": list(author.astray),
            "breaks": [
                {"check": one.check, "first": one.first, "by": one.by} for one in order.breaches
            ],
        },
        "best": {
            "expected": _number(best.expected),
            "worst": _number(order.worst),
            "at_least": _number(best.at_least),
            "proven": best.proven,
        },
        "saved": None if order.saved is None else _number(order.saved),
        "assumed": {
            "no_share": list(of.no_share), "no_time": list(of.no_time), "silent": list(of.silent),
        },
        "not_asked": list(order.not_asked),
        "plan": [_row(order.tree, one) for one in rows(order.tree, of, best.plan)],
    }  # fmt: skip


def _row(tree: Tree, row: Row) -> dict[str, object]:
    if row.check is None:
        return {
            "after": _number(row.after),
            "found": [
                {
                    "fault": one.fault,
                    "number": tree.nodes[one.fault].number,
                    "after": _number(one.after),
                    "confirm": list(one.confirm),
                    "remedy": None if one.remedy is None else _number(one.remedy),
                }
                for one in row.found
            ],
        }
    return {
        "after": _number(row.after),
        "check": row.check,
        "number": tree.nodes[row.check].number,
        "minutes": _number(row.minutes),
        "first": [
            {"condition": one.condition, "undone": one.undone, "minutes": _number(one.minutes)}
            for one in row.prepared
        ],
        "answers": [{"labels": list(one.labels), "to": one.to} for one in row.answers],
    }


def _move(gain: Gain, on: str) -> dict[str, object]:
    move = gain.move
    return {
        "check": move.then,
        "in_front_of": move.first,
        "neighbours": move.swap,
        "on": on.strip(),
        "saved": [
            {"symptom": one.symptom, "before": _number(one.before), "after": _number(one.after)}
            for one in gain.saved
        ],
    }  # fmt: skip


def _number(value: Fraction) -> float | int:
    return int(value) if value.denominator == 1 else float(value)
