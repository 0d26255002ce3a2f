"""The words beside a symbol's title: limits, places, remedies, whom they are for.

Each entry is one paragraph of plain text without line ends; how it is broken is decided in
shape.
"""

from __future__ import annotations

from treewright.render.chart.type import clean, plain_words
from treewright.render.outline import Node


def for_models(models: tuple[str, ...]) -> tuple[str, ...]:
    return (clean(f"Only for {', '.join(models)}"),) if models else ()


def particulars(node: Node) -> tuple[str, ...]:
    """The lines below a title."""
    lines = list(for_models(node.models))
    if node.places:
        lines.append(clean(f"At {', '.join(map(plain_words, node.places))}"))
    specs = _specs(node)
    if len(specs) == 1:
        lines.append(specs[0])
    if node.remedy:
        lines.append(plain_words(node.remedy))
    if node.to:
        lines.append(clean(f"To: {plain_words(node.to)}"))
    return tuple(lines)


def _specs(node: Node) -> tuple[str, ...]:
    """A reading's limits in both unit systems, one an entry."""
    lines = []
    for spec in node.specs:
        words = f"{spec.text}; {spec.also}" if spec.also else spec.text
        if spec.models:
            words = f"{', '.join(spec.models)}: {words}"
        elif len(node.specs) > 1:
            words = f"All others: {words}"
        lines.append(clean(words))
    return tuple(lines)


def notes(node: Node) -> tuple[str, ...]:
    """What an annotation says besides hazards."""
    found = []
    if node.cost.licence:
        found.append(clean(f"Only with a licence: {plain_words(node.cost.licence)}"))
    if node.cost.people is not None and node.cost.people > 1:
        found.append(f"{node.cost.people} people")
    specs = _specs(node)
    if len(specs) > 1:
        found.extend(("Limits:", *specs))
    return tuple(found)
