"""What is looked for
    Looks for faults that every check answers alike (an ambiguity group), by what they `show`;
    and for a fault that is found, but by answers that it may give is also taken for another.
    Faults that show nothing are left alone.

Why it matters at the machine
    The technician can only guess which of them it is, and changes parts until one helps.

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
      if no: go breather

    check breather: Does the breather blow oil mist?
      normal: no
      if yes: found worn-rings
      if no: found clogged-filter

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.
      retest: intake

    fault worn-rings: Piston rings worn
      shows: intake no, maybe breather yes
      remedy: Fit new rings.

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
      if no: go breather

    check breather: Does the breather blow oil mist?
      normal: no
      if yes: found worn-rings
      if no: found clogged-filter

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.
      retest: intake

    fault worn-rings: Piston rings worn
      shows: intake no, breather yes
      remedy: Fit new rings.

    handoff look-further: Belt and filter are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed
from treewright.reason.trips import Stop
from treewright.text.diagnostic import Finding, Label, Level


def check(context: Context) -> Iterable[Finding]:
    nodes = context.tree.nodes
    for group, where in context.by_model(lambda model: _groups(context, model)):
        yield RULE.finding(
            f"nothing tells {listed(f'`{name}`' for name in group)} apart: every check answers"
            f" them alike{where}",
            nodes[group[0]].span,
            help="add a check that they answer differently, or make one fault of them whose"
            " remedy covers all",
            labels=tuple(Label(nodes[name].span, "answers the same") for name in group[1:]),
        )
    for (name, other, way), where in context.by_model(lambda model: _taken(context, model)):
        yield RULE.finding(
            f"`{name}` may be taken for `{other}`: answers that it may give lead there{where}",
            nodes[name].span,
            help="take out the `maybe` where it is not so, or ask something that only one of"
            " them shows",
            way=context.shown(way),
        )


def _groups(context: Context, model: str | None) -> Iterable[tuple[str, ...]]:
    """Of each group those that could be found; not where nothing of it is found at all."""
    found: dict[str, list[str]] = {}  # by the first of each group
    for one in context.prover(model).faults:
        if one.verdict == "alike":
            found.setdefault(one.group[0], []).append(one.fault)
    return [tuple(names) for names in found.values() if len(names) > 1]


def _taken(context: Context, model: str | None) -> Iterator[tuple[str, str, Sequence[Stop]]]:
    for one in context.prover(model).faults:
        if one.verdict == "perhaps":
            for other, way in one.taken_for:
                yield one.fault, other, way


RULE = Rule(
    name="cannot-tell",
    level=Level.DOUBT,
    why="the technician can only guess which of them it is",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
