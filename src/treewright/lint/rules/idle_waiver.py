"""What is looked for
    Looks for `waive` lines that let nothing pass: the finding they were written for is
    gone, the rule is misspelt, or it is one whose findings are faults, which cannot be
    waived.

Why it matters at the machine
    A waiver that waives nothing stays behind and hides the next finding of that rule, one
    that nobody has looked at.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil
      waive decides-nothing: Both answers are written down for the maker.

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
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    levels = {rule.name: rule.level for rule in context.rules}
    used = {waiver for _, waiver in context.waived}
    for waiver, _ in context.waivers:
        if waiver in used:
            continue
        level = levels.get(waiver.rule)
        if level is None:
            message = f"no rule is called {shown(waiver.rule)}"
            help = "write the rule's name as the finding shows it"
        elif level is Level.FAULT:
            message = f"what `{waiver.rule}` finds is a fault, and a fault cannot be waived"
            help = "mend what it finds, and take this line out"
        else:
            message = f"nothing here is found by `{waiver.rule}` that could be waived"
            help = "take this line out"
        yield RULE.finding(message, waiver.span, help=help)


RULE = Rule(
    name="idle-waiver",
    level=Level.DOUBT,
    why="it stays behind and hides the next finding, one that nobody has looked at",
    doc=__doc__,
    check=check,
)
