"""What is looked for
    Looks for numbers without a unit, in a spec, an answer's limit or a value of a case,
    where the reading has no `unit:` line that would give them one.

Why it matters at the machine
    Eight what? A gauge in psi held against a limit that was meant in bar passes a machine
    that is not safe to run.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlet
      if at least 8.0: stop look-further
      if below 8.0: found worn-rings

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    handoff look-further: The pressure is right
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlet
      unit: bar
      if at least 8.0: stop look-further
      if below 8.0: found worn-rings

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    handoff look-further: The pressure is right
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.model.nodes import Reading, Stated
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Span


def check(context: Context) -> Iterable[Finding]:
    # One finding for a reading and its cases: one `unit:` line mends them all.
    places: dict[str, list[Span]] = {}
    nodes = context.tree.nodes
    for node in nodes.values():
        if isinstance(node, Reading):
            bare = [spec.span for spec in node.specs if spec.unit is None]
            for outcome in node.outcomes:
                if isinstance(outcome.test, Stated) and outcome.test.unit is None:
                    bare.append(outcome.span)
            if bare:
                places[node.name] = bare
    for case in context.tree.cases.values():
        for entry in case.read:
            reading = nodes.get(entry.node.name)
            if (
                isinstance(reading, Reading)
                and reading.unit is None
                and entry.unit is None
                and entry.values
            ):
                places.setdefault(reading.name, []).append(entry.span)
    for name, spans in places.items():
        reading = nodes[name]
        unit = reading.unit if isinstance(reading, Reading) else None
        line = f"`unit: {unit.symbol}`" if unit else "a `unit:` line"
        message = f"a number without a unit for the reading `{name}`"
        if len(spans) > 1:
            message += f", and {len(spans) - 1} more of them"
        yield RULE.finding(
            message, spans[0], help=f"write the unit behind it, or give the reading {line}"
        )


RULE = Rule(
    name="bare-number",
    level=Level.FAULT,
    why="a gauge in another unit, held against this number, passes what should fail",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
