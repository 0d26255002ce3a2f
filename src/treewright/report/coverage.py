"""What a tree covers: for each fault the way that finds it, what that takes, and its doubles.

The way is a shortest one that a technician can take: no answer on it contradicts an earlier
one. Knows nothing of pages.
"""

from __future__ import annotations

from collections.abc import Sequence

from treewright.lint.rule import Context
from treewright.model.nodes import Fault
from treewright.model.tree import Tree, on_model
from treewright.reason.answers import Answers
from treewright.reason.minutes import Minutes, minutes
from treewright.reason.trips import Stop
from treewright.record import record


@record
class Covered:
    """A fault. `way` starts with the symptom; empty where none leads here.

    `models`: those on which this way can be taken; empty: all on which the fault can be.
    `lost`: models on which the fault can be but no way leads to it.
    `alike`: faults that show the same as this one at every check, in the order of the tree.
    """

    fault: Fault
    way: tuple[Stop, ...]
    minutes: Minutes | None
    models: tuple[str, ...]
    lost: tuple[str, ...]
    alike: tuple[str, ...]


def coverage(tree: Tree) -> tuple[Covered, ...]:
    """Every fault of a tree, in the order of their numbers."""
    context = Context(tree)
    twins = _alike(tree, [group[0] for group in context.groups])
    found = []
    for fault in tree.nodes.values():
        if not isinstance(fault, Fault):
            continue
        there = [
            (tuple(m for m in group if m is not None), context.trips(group[0]).to(fault.name))
            for group in context.groups
            if on_model(fault.models, group[0])
        ]
        best = min((way for _, way in there if way), key=len, default=())
        on = tuple(model for group, way in there if way == best for model in group)
        lost = tuple(model for group, way in there if not way for model in group)
        everywhere = all(way == best for _, way in there)
        found.append(
            Covered(
                fault,
                best,
                minutes(tree, best) if best else None,
                () if everywhere or not best else on,
                lost if best else (),
                twins.get(fault.name, ()),
            )
        )
    return tuple(found)


def _alike(tree: Tree, models: Sequence[str | None]) -> dict[str, tuple[str, ...]]:
    """For each fault those that every check of some model answers alike."""
    alike: dict[str, set[str]] = {}
    for model in models:
        for names in Answers(tree, model).groups:
            for name in names:
                alike.setdefault(name, set()).update(names)
    return {
        name: tuple(other for other in tree.nodes if other in others and other != name)
        for name, others in alike.items()
    }
