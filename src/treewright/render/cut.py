"""The part of a tree that one symptom can reach, or that one model has.

Cutting leaves numbers, names and order as they are, so that a part can be laid beside the
whole. Limits and ways that differ by model are settled where the model is known. Knows
nothing of how a part is drawn, printed or walked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain

from treewright.render.outline import Exit, Hazard, Node, Outcome, Outline, Procedure, Spec, Symptom


def cut(outline: Outline, symptom: str | None = None, model: str | None = None) -> Outline:
    """The outline with only what a symptom can reach and a model has.

    A hazard stays where anything that is left, node or procedure, warns of it; one that nothing
    in the whole tree warns of is general, and always stays. Conditions and stages all stay:
    what is left may name them.

    Args:
        outline: the compiled tree.
        symptom: name of the symptom; None: all.
        model: None: all. With a model every reading keeps the limits of that model alone, every
            answer the limit behind it on that model (`detail`), and every way the target it has
            there (`by_model` is empty).

    Raises:
        LookupError: the tree has no such symptom or model, or not that symptom on that model.
    """
    if symptom is None and model is None:
        return outline
    if model is not None and model not in outline.models:
        raise LookupError(f"this tree has no model {model}")
    symptoms = tuple(s for s in outline.symptoms if symptom in (None, s.name) and _has(s, model))
    if symptom is not None and not symptoms:
        place = f" for {model}" if model else ""
        raise LookupError(f"this tree has no symptom {symptom}{place}")
    nodes = tuple(_settled(node, model) for node in outline.nodes if _has(node, model))
    procedures = tuple(p for p in outline.procedures if _has(p, model))
    if symptom is not None:
        reached = _reached(symptoms[0].start, nodes)
        nodes = tuple(node for node in nodes if node.name in reached)
        called = {name for node in nodes for name in procedures_of(node)}
        procedures = tuple(p for p in procedures if p.name in called)
    dropped = _warned(outline.nodes, outline.procedures) - _warned(nodes, procedures)
    return replace(
        outline,
        symptoms=symptoms,
        nodes=nodes,
        procedures=procedures,
        hazards=tuple(h for h in outline.hazards if h.name not in dropped and _has(h, model)),
    )


def exits(node: Node) -> Iterator[Exit]:
    """Every way on from a node: one an answer, or a step's own."""
    for outcome in node.outcomes:
        yield outcome.exit
    if node.exit is not None:
        yield node.exit


def targets(way: Exit) -> tuple[str, ...]:
    """Every node a way leads to, on whichever model, each once."""
    every = (way.target, *(target for _, target in way.by_model))
    return tuple(dict.fromkeys(name for name in every if name is not None))


def procedures_of(node: Node) -> Iterator[str]:
    """The names of all that may be procedures around a node.

    Set-up before it, what is undone before a retest or at the end, and what its ways do.
    """
    for setup in chain(node.setup, node.takedown, node.undo):
        if setup.procedure is not None:
            yield setup.procedure
    for way in exits(node):
        yield from way.does


def _has(part: Symptom | Node | Procedure | Hazard, model: str | None) -> bool:
    return not part.models or model is None or model in part.models


def _warned(nodes: Sequence[Node], procedures: Sequence[Procedure]) -> set[str]:
    """The hazards that nodes and procedures warn of."""
    found = {name for node in nodes for name in node.hazards}
    return found | {name for procedure in procedures for name in procedure.hazards}


def _reached(start: str, nodes: Sequence[Node]) -> set[str]:
    known = {node.name: node for node in nodes}
    reached: set[str] = set()
    waiting = [start]
    while waiting:
        node = known.get(waiting.pop())
        if node is None or node.name in reached:
            continue
        reached.add(node.name)
        for way in exits(node):
            waiting += way.does
            waiting += targets(way)
        if node.retest is not None:
            waiting.append(node.retest)
    return reached


# One model


def _settled(node: Node, model: str | None) -> Node:
    """The node with the limits and ways it has on a model."""
    if model is None:
        return node
    return replace(
        node,
        specs=_specs(node, model),
        outcomes=tuple(_outcome(outcome, model) for outcome in node.outcomes),
        exit=None if node.exit is None else _exit(node.exit, model),
    )


def _specs(node: Node, model: str) -> tuple[Spec, ...]:
    own = tuple(spec for spec in node.specs if model in spec.models)
    return own or tuple(spec for spec in node.specs if not spec.models)


def _outcome(outcome: Outcome, model: str) -> Outcome:
    return replace(
        outcome, detail=outcome.detail_for(model), details=(), exit=_exit(outcome.exit, model)
    )


def _exit(way: Exit, model: str) -> Exit:
    return replace(way, target=dict(way.by_model).get(model, way.target), by_model=())
