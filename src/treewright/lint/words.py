"""How a value, a place or a model is named in a message, the same in every rule."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from treewright.model.nodes import Check
from treewright.reason.limits import Values
from treewright.text.quantity import quantity_text
from treewright.text.units import Unit


def shown(text: str, most: int = 48) -> str:
    """A name or author's words as a message quotes them, long ones cut."""
    text = text if len(text) <= most else text[: most - 1] + "…"
    return f"`{text}`"


def listed(names: Iterable[str], last: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    *first, end = names
    return f"{', '.join(first)} {last} {end}" if first else end


def values_text(values: Values, unit: Unit | None) -> str:
    """What was read: "8.7 bar", or "8.6 bar at left, 8.2 bar at mid and right"."""
    places: dict[Fraction, list[str]] = {}
    for place, value in values:
        places.setdefault(value, []).extend([place] if place else [])
    return ", ".join(
        f"{quantity_text(value, unit)} at {listed(some)}" if some else quantity_text(value, unit)
        for value, some in places.items()
    )


_OTHER_HALF = {"yes": "no", "no": "yes"}


def unasked(node: Check) -> str:
    """The half of yes or no that a check has no answer for, where the other is its only one."""
    if len(node.outcomes) != 1:
        return ""
    return _OTHER_HALF.get(node.outcomes[0].label.casefold(), "")
