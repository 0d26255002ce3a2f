"""What is looked for
    Follows each `case` through the tree by what was read. What is asked again, after a step or a
    remedy, is good by then. Says so where it does not end where it says, where the tree asks what
    the case does not say, and where the case says what the tree never asks.

Why it matters at the machine
    A job that is known would be led somewhere else today: the tree was changed, and not for the
    better; or the job was not as it is told here.

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
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are good
      to: the workshop

    case joinery: Slower month by month
      symptom: slow-fill
      belt: yes
      intake: yes
      ends: clogged-filter

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

    case joinery: Slower month by month
      symptom: slow-fill
      belt: yes
      intake: no
      ends: clogged-filter
"""

from __future__ import annotations

from collections.abc import Iterable

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.reason.cases import CaseFollowed, follow_case, models_of_case
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for case in context.tree.cases.values():
        followed = [
            follow_case(context.tree, context.suspects(model), case, model)
            for model in models_of_case(context.tree, case)
        ]
        for one in dict.fromkeys(one for one in followed if one.outcome not in ("ends", "unread")):
            message, help = said(one, case.ends.name if case.ends else "")
            span = one.entry.span if one.entry else case.ends.span if case.ends else case.span
            yield RULE.finding(message, span, help=help, way=context.shown(one.way))


def said(one: CaseFollowed, ends: str) -> tuple[str, str]:
    """How a case goes astray, and what to do about it."""
    match one.outcome:
        case "elsewhere":
            at = f": it leaves at `{one.left.node}: {one.left.answer}`" if one.left else ""
            return (
                f"case `{one.case}` ends at `{one.end}` and not at `{ends}`{at}",
                "mend the tree, or what the case says",
            )
        case "not-said":
            return (
                f"case `{one.case}` does not say what `{one.end}` was, and the tree asks it",
                f"add a line `{one.end}:` with what was read",
            )
        case "no-answer":
            read = shown(one.entry.text) if one.entry else ""
            return (
                f"case `{one.case}` read {read} at `{one.end}`, and no one answer covers that",
                "mend the limits there, or what the case says",
            )
        case "not-asked":
            name = one.entry.node.name if one.entry else ""
            return (
                f"case `{one.case}` says what `{name}` was, and the tree never asks it on this way",
                "take the line out, or mend the tree so that it asks",
            )
        case "round":
            return (
                f"case `{one.case}` goes round for ever at `{one.end}`",
                "mend the tree, or what the case says",
            )
        case _:
            return (
                f"case `{one.case}` finds no way on at `{one.end}`",
                "mend the tree, or what the case says",
            )


RULE = Rule(
    name="case-astray",
    level=Level.FAULT,
    why="a job that is known would be led somewhere else today",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
