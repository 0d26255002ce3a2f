"""What is looked for
    Looks for two blocks that share a name, for an answer that a check has twice, for two
    specs of a reading for the same model, and for a place that is named twice.

Why it matters at the machine
    Of two blocks with one name only the first is ever reached, and of two limits only one
    holds. Which one the writer meant, nobody can tell at the machine.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil
      if yes: found low-oil

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
from treewright.lint.words import shown
from treewright.text.diagnostic import Finding, Label, Level

_MESSAGES = {
    "node": "two blocks are called {}",
    "answer": "the answer {} is written twice",
    "place": "the place {} is named twice",
    "model": "the model {} is named twice",
    "spec": "the {} is written twice",
}


def check(context: Context) -> Iterable[Finding]:
    for twice in context.tree.twice:
        name = twice.name if twice.what == "spec" else shown(twice.name)
        message = _MESSAGES.get(twice.what, f"two {twice.what}s are called {{}}")
        yield RULE.finding(
            message.replace("{}", name),
            twice.second,
            help="give this one another name, or take one of the two out",
            labels=(Label(twice.first, "first written here"),),
        )


RULE = Rule(
    name="duplicate-name",
    level=Level.FAULT,
    why="only one of the two counts, and nobody at the machine can tell which was meant",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
