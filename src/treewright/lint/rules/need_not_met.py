"""What is looked for
    Looks for conditions that a node needs and that nothing has set up on some way there: the
    condition has no `set up by`, and no step on that way `sets` it. From the first node that
    needs it the condition is taken to hold, so only that one is reported.

Why it matters at the machine
    The technician reads "oil hot" in front of a measurement and is not told how to get
    there, or takes it for done. Cold oil, a gauge that is not there, power that is still on:
    the reading is wrong, or somebody is hurt.

Not so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition oil-hot: Oil at 50 °C or hotter

    symptom weak: Ram is slow
      start at: relief-pressure

    reading relief-pressure: Pressure at the end of the stroke
      needs: oil-hot
      if at least 170 bar: stop look-further
      if below 170 bar: found relief-low

    fault relief-low: Relief valve set too low
      remedy: Set it by the gauge.

    handoff look-further: The pressure is there
      to: the workshop

But so
    tree weak: Log splitter is weak
      machine: Garnholt log splitter

    condition oil-hot: Oil at 50 °C or hotter
      set up by: warm-oil
      undo by: none

    procedure warm-oil: Warm the oil
      - Run the ram out and in without a log until the tank wall shows 50 °C.

    symptom weak: Ram is slow
      start at: relief-pressure

    reading relief-pressure: Pressure at the end of the stroke
      needs: oil-hot
      if at least 170 bar: stop look-further
      if below 170 bar: found relief-low

    fault relief-low: Relief valve set too low
      remedy: Set it by the gauge.

    handoff look-further: The pressure is there
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeAlias

from treewright.lint.rule import Context, Rule
from treewright.model.graph import Arc
from treewright.model.nodes import Step
from treewright.model.tree import Condition, on_model
from treewright.model.written import Name
from treewright.reason.held import Held
from treewright.reason.trips import Seen, Stop
from treewright.text.diagnostic import Finding, Level

# A condition, and the node that lacks it; and the way there, on each model.
_Lack: TypeAlias = tuple[str, str]
_Proofs: TypeAlias = dict[tuple[str | None, _Lack], tuple[Stop, ...]]


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    proofs: _Proofs = {}
    told: set[str] = set()
    for (name, at), where in context.by_model(lambda model: _lacks(context, model, proofs)):
        if name in told and not _set_somewhere(context, name):
            continue  # one cause
        told.add(name)
        need = _need(context, name, at)
        if _set_somewhere(context, name):
            message = f"`{at}` needs `{name}`, and on some way here nothing has set it{where}"
            help = f"give `{name}` a `set up by: PROCEDURE`, or do a step that sets it on the way"
        else:
            nodes = [node for node in tree.nodes.values() if _needs(context, name, node.name)]
            others = f" and {len(nodes) - 1} more" if len(nodes) > 1 else ""
            verb = "need" if others else "needs"
            message = f"nothing sets up `{name}`, which `{at}`{others} {verb}{where}"
            help = f"give `{name}` a `set up by: PROCEDURE`, or a step that `sets` it"
        yield RULE.finding(message, need.span, help=help,
                           way=context.shown(proofs[where.model, (name, at)]))  # fmt: skip


def _lacks(context: Context, model: str | None, proofs: _Proofs) -> Iterator[_Lack]:
    for condition in context.tree.conditions.values():
        if condition.set_up_by is None and on_model(condition.models, model):
            for at, stops in _ways_without(context, model, condition):
                proofs[model, (condition.name, at)] = stops
                yield condition.name, at


def _ways_without(
    context: Context, model: str | None, condition: Condition
) -> Iterator[tuple[str, tuple[Stop, ...]]]:
    """The nodes that need a condition and can be met without it, with a way there."""
    tree, trips = context.tree, context.trips(model)
    held = context.held(condition)
    if not any(held.needed_at(node) for node in tree.nodes.values()):
        return

    def watch(seen: Seen, arc: Arc) -> Seen:
        return held.along(arc, bool(seen))

    def lacks(at: str, seen: Seen) -> bool:
        return at in tree.nodes and not seen and held.needed_at(tree.nodes[at])

    found = dict(trips.each(watch, False, lacks))
    for node in tree.nodes.values():
        if node.name in found:
            yield node.name, found[node.name]
        elif node.name in trips.ways.graph.done_on and held.needed_at(node):
            stops = _way_to_done(context, model, held, node.name)
            if stops:
                yield node.name, stops


def _way_to_done(
    context: Context, model: str | None, held: Held, step: str
) -> tuple[Stop, ...]:
    """A way on which a step is done while the condition does not hold."""
    nodes = context.tree.nodes

    def watch(seen: Seen, arc: Arc) -> Seen:
        now = bool(seen)
        if step in arc.does:
            before = held.after(nodes[arc.source], now)
            for name in arc.does:
                done = nodes.get(name)
                if name == step and not before:
                    return "lacks"
                before = held.after(done, before) if done else before
        return held.along(arc, now)

    stops = context.trips(model).first(watch, False, lambda _, seen: seen == "lacks")
    return (*stops[:-1], Stop(step, "")) if stops else ()


def _needs(context: Context, name: str, at: str) -> bool:
    return any(need.name == name for need in context.tree.nodes[at].needs)


def _need(context: Context, name: str, at: str) -> Name:
    return next(need for need in context.tree.nodes[at].needs if need.name == name)


def _set_somewhere(context: Context, name: str) -> bool:
    return any(
        isinstance(node, Step) and any(one.name == name for one in node.sets)
        for node in context.tree.nodes.values()
    )


RULE = Rule(
    name="need-not-met",
    level=Level.FAULT,
    why="the reading is taken in the wrong state, or somebody is hurt",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
