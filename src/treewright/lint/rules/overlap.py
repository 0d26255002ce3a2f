"""What is looked for
    Works out, for each model, whether two answers of a reading can apply at once: for one
    value, or where it is taken at several places, for one mixture of values. An example
    shows what both of them cover.

Why it matters at the machine
    Two ways on are right at the same time. One technician takes the first and another the
    second, and they repair different things.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlets
      at: left, right
      unit: bar
      if all 8.0 to 8.6: stop look-further
      if any below 8.0: found worn-rings
      if any above 8.6: found regulator

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault regulator: Regulator set too high
      remedy: Set it to 8.3 bar.

    handoff look-further: The pressure is right
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: delivery

    reading delivery: Pressure at the outlets
      at: left, right
      unit: bar
      if all 8.0 to 8.6: stop look-further
      if any below 8.0: found worn-rings
      otherwise: found regulator

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault regulator: Regulator set too high
      remedy: Set it to 8.3 bar.

    handoff look-further: The pressure is right
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown, values_text
from treewright.model.nodes import Outcome, Reading
from treewright.text.diagnostic import Finding, Label, Level


def check(context: Context) -> Iterable[Finding]:
    examples: dict[tuple[str, Outcome, Outcome], dict[str, str]] = {}

    def find(model: str | None) -> Iterator[tuple[str, Outcome, Outcome]]:
        for name, first, second, values in _overlaps(context, model):
            examples.setdefault((name, first, second), {}).setdefault(values, model or "")
            yield name, first, second

    for (name, first, second), where in context.by_model(find):
        values = examples[name, first, second]
        example, model = next(iter(values.items()))
        answers = f"{shown(first.label)} and {shown(second.label)} both apply"
        if len(values) == 1:
            message = f"{example}: {answers}{where}"
        else:
            message = f"{example} on {model}: {answers}, and on other models as well"
        yield RULE.finding(
            message,
            second.span,
            labels=(Label(first.span, "this answer applies too"),),
            help="draw the limits so that they do not meet, or write `otherwise:` for one of them",
            way=context.way_to(name, where.model),
        )


def _overlaps(context: Context, model: str | None) -> Iterator[tuple[str, Outcome, Outcome, str]]:
    for node in context.nodes(model):
        if isinstance(node, Reading):
            for overlap in context.coverage(node, model).overlaps:
                first, second = node.outcomes[overlap.first], node.outcomes[overlap.second]
                yield node.name, first, second, values_text(overlap.values, node.unit)


RULE = Rule(
    name="overlap",
    level=Level.FAULT,
    why="two ways on are right at once, and two technicians would repair different things",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
