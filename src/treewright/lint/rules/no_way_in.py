"""What is looked for
    Looks for a tree without a symptom, or with none for one of its models.

Why it matters at the machine
    The technician comes with a complaint and finds no place to begin.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    handoff look-further: It is not the oil
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    tree = context.tree
    for _, where in context.by_model(lambda model: () if context.graph(model).entries else (True,)):
        yield RULE.finding(
            f"this tree has no symptom{where}",
            tree.span,
            help="add `symptom NAME: TITLE` with what the operator complains of and `start at:`",
        )


RULE = Rule(
    name="no-way-in",
    level=Level.FAULT,
    why="the technician comes with a complaint and finds no place to begin",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
