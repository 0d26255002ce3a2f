"""What is looked for
    Follows each fault through the tree by what it `shows`, as `never-found` does, and says so
    where no way ends at the fault, but one ends at another. A fault need not show at every
    symptom; so one that is found from some symptom is not reported for the others. Faults that
    every check answers alike are left to `cannot-tell`.

Why it matters at the machine
    A sound part is taken out and a new one fitted, and the machine still has its fault.

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
      shows: belt no, intake no
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
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from treewright.lint.rule import Context, Rule
from treewright.reason.trips import Stop
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, other, way), where in context.by_model(lambda model: _wrong(context, model)):
        yield RULE.finding(
            f"`{name}` is found as `{other}`: its own answers lead there, and never to"
            f" itself{where}",
            context.tree.nodes[name].span,
            help=f"mend what `{name}` shows, or look for it before `{other}`",
            way=context.shown(way),
        )


def _wrong(context: Context, model: str | None) -> Iterator[tuple[str, str, Sequence[Stop]]]:
    for one in context.prover(model).faults:
        if one.verdict == "wrong":
            other, way = one.taken_for[0]
            yield one.fault, other, way


RULE = Rule(
    name="wrong-finding",
    level=Level.FAULT,
    why="a sound part is changed, and the fault stays in the machine",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
