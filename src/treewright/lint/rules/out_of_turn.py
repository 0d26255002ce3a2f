"""What is looked for
    Looks for a check or a reading that can be reached on a way where another one was not
    taken that must come before it: the other one says so in its `before` line.

Why it matters at the machine
    Whoever wrote `before` had a reason: the pressure is to be off before the head comes
    loose, the flow test is to condemn a pump before it is torn down. On this way the
    technician does the second without the first.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: valve-plate

    check valve-plate: Are the reeds of the valve plate whole?
      if yes: go tank-gauge
      if no: found broken-reed

    check tank-gauge: Does the tank hold its pressure overnight?
      before: valve-plate
      if yes: stop look-further
      if no: found leaky-tank

    fault broken-reed: Valve reed broken
      shows: valve-plate no
      remedy: Fit new reeds.

    fault leaky-tank: Tank leaks
      shows: tank-gauge no
      remedy: Fit a new tank.

    handoff look-further: Neither of the two
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: tank-gauge

    check tank-gauge: Does the tank hold its pressure overnight?
      before: valve-plate
      if yes: go valve-plate
      if no: found leaky-tank

    check valve-plate: Are the reeds of the valve plate whole?
      if yes: stop look-further
      if no: found broken-reed

    fault broken-reed: Valve reed broken
      shows: valve-plate no
      remedy: Fit new reeds.

    fault leaky-tank: Tank leaks
      shows: tank-gauge no
      remedy: Fit a new tank.

    handoff look-further: Neither of the two
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Reading
from treewright.model.same import same_as
from treewright.reason.trips import Seen, Stop
from treewright.text.diagnostic import Finding, Label, Level


def check(context: Context) -> Iterable[Finding]:
    nodes = context.tree.nodes
    if not any(isinstance(node, Check | Reading) and node.before for node in nodes.values()):
        return
    ways: dict[tuple[str | None, str, str], tuple[Stop, ...]] = {}

    def pairs(model: str | None) -> Iterator[tuple[str, str]]:
        for first, then in _not_surely_before(context, model):
            ways[model, first, then] = _way_past(context, model, first, then)
            if ways[model, first, then]:
                yield first, then

    for (first, then), where in context.by_model(pairs):
        early = nodes[first]
        assert isinstance(early, Check | Reading)
        demand = next(name.span for name in early.before if name.name == then)
        yield RULE.finding(
            f"`{then}` can be reached without `{first}`, which must come before it{where}",
            nodes[then].span,
            help=f"lead all ways to `{then}` through `{first}`, or take it out of that `before`",
            labels=(Label(demand, "this asks for it"),),
            way=context.shown(ways[where.model, first, then]),
        )


def _not_surely_before(context: Context, model: str | None) -> Iterator[tuple[str, str]]:
    """Pairs that a `before` names, where some arrows lead to the second past the first."""
    graph = context.graph(model)
    there = set(graph.vertices)
    last_passed = graph.dominators()
    for node in context.nodes(model):
        passed: set[str] = set()
        above = last_passed.get(node.name)
        while above is not None:
            passed.add(above)
            above = last_passed.get(above)
        for first in context.before(node.name):
            if first in there and first not in passed:
                yield first, node.name


def _way_past(context: Context, model: str | None, first: str, then: str) -> tuple[Stop, ...]:
    """A shortest way that can be taken to a check on which another was not, nor its like."""
    alike = same_as(first, context.tree.nodes)

    def watch(seen: Seen, arc: Arc) -> Seen:
        return bool(seen) or arc.source in alike

    return context.trips(model).first(watch, False, lambda at, seen: at == then and not seen)


RULE = Rule(
    name="out-of-turn",
    level=Level.DOUBT,
    why="the one was to be done before the other, and for a reason",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
