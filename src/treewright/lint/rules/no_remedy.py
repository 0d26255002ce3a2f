"""What is looked for
    Looks for faults without a `remedy`.

Why it matters at the machine
    The technician knows what is wrong and is not told what to do about it.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the drive belt tight?
      normal: yes
      if yes: go intake
      if no: found slack-belt

    check intake: Is the intake filter clean?
      normal: yes
      if yes: stop look-further
      if no: found clogged-filter

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no

    handoff look-further: Belt and filter are good
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the drive belt tight?
      normal: yes
      if yes: go intake
      if no: found slack-belt

    check intake: Is the intake filter clean?
      normal: yes
      if yes: stop look-further
      if no: found clogged-filter

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.model.nodes import Fault
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for node in context.nodes(None):
        if isinstance(node, Fault) and node.remedy is None:
            yield RULE.finding(
                f"`{node.name}` has no remedy",
                node.span,
                help="add `remedy:` with what to do about it, or `stop` at a hand-off instead",
            )


RULE = Rule(
    name="no-remedy",
    level=Level.DOUBT,
    why="the technician knows what is wrong and not what to do about it",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
