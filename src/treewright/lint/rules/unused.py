"""What is looked for
    Looks for faults, conditions, hazards, procedures and stages that nothing in the tree
    names. A file that is only used by other trees is left alone, and so are the faults of one
    in which the ways on are still to be written.

Why it matters at the machine
    A hazard that is shown nowhere warns nobody, and a fault that no answer finds is never
    repaired. If it is only left over, it makes the next writer doubt what counts.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: go belt
      if no: found low-oil

    check belt: Is the drive belt tight?
      if yes: stop look-further
      if no: found slack-belt

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

    fault slack-belt: Drive belt slack
      remedy: Tighten the belt.

    handoff look-further: Neither oil nor belt
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.text.diagnostic import Finding, Level

_HELP = {
    "fault": "lead to it with `found {}`, or take it out",
    "condition": "name it where it is needed, with `needs: {}`, or take it out",
    "hazard": "say where it holds, with `at:` or `while:`, or take it out",
    "procedure": "name it with `do {}` or in a condition's `set up by:`, or take it out",
    "stage": "put it in front of the checks that belong to it, or take it out",
}
_WHY = {
    "fault": "a fault that no answer finds is never repaired",
    "condition": "a condition that nothing needs is never set up",
    "hazard": "a hazard that is shown nowhere warns nobody",
    "procedure": "a procedure that nothing asks for is never done",
    "stage": "an empty heading makes the technician look for what is not there",
}


def check(context: Context) -> Iterable[Finding]:
    bare = context.is_bare
    for what, name, span in context.tree.unused:
        if name in context.hoped_for or (bare and what == "fault"):
            continue
        message = "no check, reading or step stands in the stage {}"
        if what != "stage":
            message = f"nothing names the {what} {{}}"
        yield RULE.finding(
            message.replace("{}", shown(name)),
            span,
            why=_WHY.get(what, ""),
            help=_HELP.get(what, "name it where it belongs, or take it out").replace("{}", name),
        )


RULE = Rule(
    name="unused",
    level=Level.DOUBT,
    why="what nothing names is never seen at the machine",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
