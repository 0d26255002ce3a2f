"""Checks that are the `same as` another: which those are, what a fault shows there, and what an
answer at one says at another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from treewright.model.answers import squeeze
from treewright.model.nodes import Check, Node, Reading, Shown
from treewright.record import record


@record
class Same:
    """Another check that asks the same thing.

    Attributes:
        node: its name.
        answers: for each of its answers the one here that says the same; None where that cannot
            be told from the answer alone (a reading with other limits).
    """

    node: str
    answers: tuple[int | None, ...]


def copies(nodes: dict[str, Node]) -> dict[str, Check | Reading]:
    """The checks and readings that are the `same as` another, in the order of the file."""
    return {
        name: node
        for name, node in nodes.items()
        if isinstance(node, Check | Reading) and node.same_as is not None
    }


def with_same(
    shows: tuple[Shown, ...], nodes: dict[str, Node], same: dict[str, Check | Reading]
) -> tuple[Shown, ...]:
    """What a fault shows, with that of checks that are the `same as` one that it lists.

    Args:
        shows: as written.
        nodes: of the tree; `same`: its `copies`.

    A check that it lists itself is left as written, and so is a reading with other limits:
    what it gives cannot be told from the other's answer.
    """
    if not same:
        return shows
    found = {one.node.name: [two for two in shows if two.node.name == one.node.name]
             for one in shows}  # fmt: skip
    for name, node in same.items():
        if name in found:
            continue
        other = next((one for one in _onward(node, nodes) if one in found), "")
        first = nodes.get(other)
        if not isinstance(first, Check | Reading) or not judged_alike(node, first):
            continue
        here = _places(node)
        found[name] = [
            replace(one, node=replace(one.node, name=name), outcome=here.get(squeeze(one.text)))
            for one in found[other]
        ]
    listed = {one.node.name for one in shows}
    return (*shows, *(one for name, some in found.items() if name not in listed for one in some))


def _onward(node: Check | Reading, nodes: Mapping[str, Node]) -> Iterator[str]:
    """The names that a check leads to by `same as`, one after the other, each once."""
    seen: set[str] = {node.name}
    at: Node | None = node
    while isinstance(at, Check | Reading) and at.same_as and at.same_as.name not in seen:
        yield at.same_as.name
        seen.add(at.same_as.name)
        at = nodes.get(at.same_as.name)


def _places(node: Check | Reading) -> dict[str, int]:
    """The place of each answer, by its words."""
    return {squeeze(one.label): at for at, one in enumerate(node.outcomes)}


def judged_alike(one: Check | Reading, other: Check | Reading) -> bool:
    """Whether two checks have the same answers, and readings the same limits."""
    return _judged(one) == _judged(other)


def same_as(name: str, nodes: Mapping[str, Node]) -> frozenset[str]:
    """A check and all that are the same as it, at one remove or more, judged alike."""
    first = nodes[name]
    assert isinstance(first, Check | Reading)
    found = {name}
    asked = [node for node in nodes.values() if isinstance(node, Check | Reading)]
    grown = True
    while grown:
        more = {
            node.name
            for node in asked
            if node.same_as is not None and node.same_as.name in found and judged_alike(node, first)
        }
        grown = not more <= found
        found |= more
    return frozenset(found)


def _judged(node: Check | Reading) -> tuple[object, ...]:
    """All that an answer of a check or reading hangs on."""
    labels = {squeeze(one.label): one.test for one in node.outcomes}
    if isinstance(node, Check):
        return (labels,)
    return labels, node.places, {(s.models, s.limits, s.unit) for s in node.specs}


def first_of(node: Check | Reading, nodes: Mapping[str, Node]) -> str:
    """The name that all that ask the same as a check share, however they judge it."""
    names = [node.name]
    while node.same_as is not None:
        if node.same_as.name in names:  # a circle: the same for all of it
            return min(names[names.index(node.same_as.name) :])
        other = nodes.get(node.same_as.name)
        if not isinstance(other, Check | Reading):
            break
        node = other
        names.append(node.name)
    return node.name


def same(nodes: Mapping[str, Node]) -> dict[str, tuple[Same, ...]]:
    """For each check and reading that has any: the others that ask the same, in the order of the
    tree. Two whose answers cannot be compared at all (other places, say) are left out."""
    groups: dict[str, list[Check | Reading]] = {}
    for node in nodes.values():
        if isinstance(node, Check | Reading):
            groups.setdefault(first_of(node, nodes), []).append(node)
    found = {
        node.name: tuple(
            Same(other.name, _answers(node, other))
            for other in group
            if other is not node and _comparable(node, other)
        )
        for group in groups.values()
        if len(group) > 1
        for node in group
    }
    return {name: others for name, others in found.items() if others}


def _comparable(one: Check | Reading, other: Check | Reading) -> bool:
    if isinstance(one, Reading) and isinstance(other, Reading):
        return set(one.places) == set(other.places)
    return isinstance(one, Check) and isinstance(other, Check)


def _answers(node: Check | Reading, other: Check | Reading) -> tuple[int | None, ...]:
    here = _places(node)
    alike = isinstance(node, Check) or judged_alike(node, other)
    return tuple(here.get(squeeze(one.label)) if alike else None for one in other.outcomes)
