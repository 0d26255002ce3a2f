"""Which block of the old edition is which of the new one.

Blocks of the same kind and name are the same. Of what is left over, a block that is gone and one
that is new are taken for one that was renamed where all else in them is alike, and no other has
that likeness. The old outline is then written with the new names, so that everything after this
can compare name by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

from treewright.record import record
from treewright.render.editions.changes import Change, Thing, Topic
from treewright.render.editions.words import head
from treewright.render.outline import (
    Case,
    Condition,
    Exit,
    Hazard,
    Node,
    Outline,
    Procedure,
    Setup,
    Stage,
    Symptom,
)

Block: TypeAlias = Symptom | Stage | Node | Condition | Procedure | Hazard | Case

KINDS = ("symptoms", "stages", "nodes", "conditions", "procedures", "hazards", "cases")
"""The fields of an outline that hold blocks; each has names of its own."""


@record
class Renamed:
    """The old outline under the new names, and the changes that is.

    Attributes:
        nodes: the new name of each node that has another.
    """

    old: Outline
    changes: tuple[Change, ...]
    nodes: Mapping[str, str]


def paired(old: Outline, new: Outline) -> Renamed:
    """The old outline with the names that its blocks have in the new one."""
    names: dict[str, dict[str, str]] = {}
    changes: list[Change] = []
    for kind in KINDS:
        before, after = _blocks(old, kind), _blocks(new, kind)
        names[kind] = _renames(before, after)
        for was, now in names[kind].items():
            block = after[now]
            thing, number, title = head(block, new)
            numbers = (head(before[was], old)[1], number)
            changes.append(
                # A symptom's name is in the address that its card's square code leads to.
                Change(_TOPICS.get(thing, "check"), "renamed", thing, now, numbers, title,
                       "name", was, now, meaning=kind == "symptoms")
            )  # fmt: skip
    return Renamed(_written(old, names), tuple(changes), names["nodes"])


_TOPICS: dict[Thing, Topic] = {
    "fault": "finding", "condition": "set-up", "procedure": "set-up", "danger": "hazard",
    "warning": "hazard", "caution": "hazard", "notice": "hazard", "case": "case",
}  # fmt: skip


def _blocks(outline: Outline, kind: str) -> dict[str, Block]:
    return {block.name: block for block in getattr(outline, kind)}


# ---- what was renamed ----------------------------------------------------------------------


def _renames(before: Mapping[str, Block], after: Mapping[str, Block]) -> dict[str, str]:
    """The new name of each block that was renamed."""
    gone = _by_likeness(block for name, block in before.items() if name not in after)
    added = _by_likeness(block for name, block in after.items() if name not in before)
    return {
        gone[like][0]: added[like][0]
        for like in gone
        if like in added and len(gone[like]) == len(added[like]) == 1
    }


def _by_likeness(blocks: Iterable[Block]) -> dict[object, list[str]]:
    found: dict[object, list[str]] = {}
    for block in blocks:
        found.setdefault(_likeness(block), []).append(block.name)
    return found


def _likeness(block: Block) -> object:
    """All that is written in a block but names: its own, and those it refers to."""
    match block:
        case Node():
            answers = tuple(
                (o.label, o.test, o.normal, o.exit.kind, len(o.exit.does)) for o in block.outcomes
            )
            return (
                block.kind, block.title, block.how, block.models, block.cost, block.picture,
                answers, block.places, block.units, block.specs, block.share, len(block.shows),
                block.remedy, block.to,
            )  # fmt: skip
        case Procedure():
            return block.title, block.how, block.items, block.cost, block.picture, block.models
        case Hazard():
            return block.signal, block.title, block.harm, block.avoid, block.models
        case Symptom() | Stage():
            return block.title, block.about, block.models
        case Condition():
            return block.title, block.about
        case Case():
            return block.title, block.model, tuple(entry.text for entry in block.read)


# ---- the old outline under new names -------------------------------------------------------


def _written(old: Outline, names: Mapping[str, Mapping[str, str]]) -> Outline:
    """An outline with blocks renamed, wherever they are named."""
    if not any(names.values()):
        return old
    symptoms, stages, nodes, conditions, procedures, hazards, cases = (
        _namer(names[kind]) for kind in KINDS
    )
    either = _namer({**names["procedures"], **names["nodes"]})

    def each(some: Sequence[str], name: Callable[[str], str]) -> tuple[str, ...]:
        return tuple(map(name, some))

    def maybe(one: str | None, name: Callable[[str], str]) -> str | None:
        return None if one is None else name(one)

    def setups(some: Sequence[Setup]) -> tuple[Setup, ...]:
        return tuple(
            replace(s, condition=conditions(s.condition), procedure=maybe(s.procedure, procedures))
            for s in some
        )

    def way(one: Exit) -> Exit:
        by_model = tuple((model, maybe(target, nodes)) for model, target in one.by_model)
        return Exit(one.kind, each(one.does, either), maybe(one.target, nodes), by_model)

    def node(n: Node) -> Node:
        return replace(
            n,
            name=nodes(n.name),
            stage=maybe(n.stage, stages),
            needs=each(n.needs, conditions),
            sets=each(n.sets, conditions),
            clears=each(n.clears, conditions),
            first=each(n.first, conditions),
            before=each(n.before, nodes),
            setup=setups(n.setup),
            takedown=setups(n.takedown),
            undo=setups(n.undo),
            hazards=each(n.hazards, hazards),
            outcomes=tuple(replace(o, exit=way(o.exit)) for o in n.outcomes),
            exit=None if n.exit is None else way(n.exit),
            same=tuple(replace(s, node=nodes(s.node)) for s in n.same),
            doubts=None if n.doubts is None else each(n.doubts, nodes),
            shows=tuple(replace(s, node=nodes(s.node)) for s in n.shows),
            retest=maybe(n.retest, nodes),
        )

    return replace(
        old,
        symptoms=tuple(
            replace(s, name=symptoms(s.name), start=nodes(s.start)) for s in old.symptoms
        ),
        stages=tuple(replace(s, name=stages(s.name)) for s in old.stages),
        nodes=tuple(map(node, old.nodes)),
        conditions=tuple(
            replace(
                c,
                name=conditions(c.name),
                set_up_by=maybe(c.set_up_by, procedures),
                undo_by=maybe(c.undo_by, procedures),
                excludes=each(c.excludes, conditions),
            )
            for c in old.conditions
        ),
        procedures=tuple(
            replace(p, name=procedures(p.name), hazards=each(p.hazards, hazards))
            for p in old.procedures
        ),
        hazards=tuple(
            replace(
                h, name=hazards(h.name), at=each(h.at, either), whilst=each(h.whilst, conditions)
            )
            for h in old.hazards
        ),
        cases=tuple(
            replace(
                c,
                name=cases(c.name),
                symptom=symptoms(c.symptom),
                read=tuple(replace(e, node=nodes(e.node)) for e in c.read),
                ends=nodes(c.ends),
            )
            for c in old.cases
        ),
    )


def _namer(names: Mapping[str, str]) -> Callable[[str], str]:
    return lambda name: names.get(name, name)
