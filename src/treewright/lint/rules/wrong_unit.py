"""What is looked for
    Looks for a spec, an answer's limit or a value in a case that is in a unit which does
    not measure what the reading measures: a pressure limit for a time.

Why it matters at the machine
    What the gauge shows cannot be held against such a limit. One of the two was mistyped,
    and nobody knows which.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: pump-up

    reading pump-up: Time from empty tank to cut-out
      unit: s
      spec: at most 210 bar
      if within: stop look-further
      if above: found worn-rings

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    handoff look-further: The time is right
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: pump-up

    reading pump-up: Time from empty tank to cut-out
      unit: s
      spec: at most 210 s
      if within: stop look-further
      if above: found worn-rings

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    handoff look-further: The time is right
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.model.nodes import Reading, Stated
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span
from treewright.text.units import Unit


def check(context: Context) -> Iterable[Finding]:
    for reading, unit, span in _written(context):
        own = reading.unit
        if unit and own and unit.dimension != own.dimension:
            yield RULE.finding(
                f"this is in {unit.symbol}, which measures {unit.dimension}; the reading "
                f"`{reading.name}` is in {own.symbol}, which measures {own.dimension}",
                span,
                help=f"write it in {own.symbol}, or mend the unit of the reading",
            )


def _written(context: Context) -> Iterator[tuple[Reading, Unit | None, Span]]:
    """Every unit that is written for a reading, with its place."""
    nodes = context.tree.nodes
    for node in nodes.values():
        if isinstance(node, Reading):
            for spec in node.specs:
                yield node, spec.unit, spec.span
            for outcome in node.outcomes:
                if isinstance(outcome.test, Stated):
                    yield node, outcome.test.unit, outcome.span
    for case in context.tree.cases.values():
        for entry in case.read:
            reading = nodes.get(entry.node.name)
            if isinstance(reading, Reading) and entry.values:
                yield reading, entry.unit, entry.span


RULE = Rule(
    name="wrong-unit",
    level=Level.FAULT,
    why="what the gauge shows cannot be held against such a limit",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
