"""What is looked for
    Looks for faults without a `share` in a tree where others have one. A tree in which no fault
    has one is left alone: nothing is known there of how often each is the cause.

Why it matters at the machine
    What a job takes on average, and which check is best asked first, cannot be worked out; what
    is rare and what is common cannot be seen.

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
      share: 3
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

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
      share: 3
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      share: 1
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed
from treewright.model.nodes import Fault
from treewright.text.diagnostic import Finding, Label, Level

_NAMED = 3  # faults that the message names at most


def check(context: Context) -> Iterable[Finding]:
    faults = [node for node in context.tree.nodes.values() if isinstance(node, Fault)]
    lacking = [fault for fault in faults if fault.share is None]
    if not lacking or len(lacking) == len(faults):
        return
    names = [f"`{fault.name}`" for fault in lacking[:_NAMED]]
    if len(lacking) > _NAMED:
        names.append(f"{len(lacking) - _NAMED} more")
    has = "has" if len(lacking) == 1 else "have"
    yield RULE.finding(
        f"{listed(names)} {has} no share, and the other faults have one",
        lacking[0].span,
        help="add `share:` with how often it is the cause, beside the others: a guess is better"
        " than none",
        labels=tuple(Label(fault.span, "has none either") for fault in lacking[1:]),
    )


RULE = Rule(
    name="no-share",
    level=Level.DOUBT,
    why="what is common and what is rare cannot be weighed against each other",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
