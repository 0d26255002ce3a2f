"""What is looked for
    Looks for checks at which every fault that can still be the one gives the same answer, by
    what the faults say they show. Faults that say nothing count for any answer. A check that
    guards is left alone: one whose other answer is the only way to a hand-off or a clean end,
    has a step done, or leads back. So is one that must come `before` another.

Why it matters at the machine
    The technician takes the trouble, and learns nothing that was not known before. Or a fault
    does not say what it shows here, and is never found.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the drive belt tight?
      if yes: go intake
      if no: found slack-belt

    check intake: Is the intake filter clean?
      if yes: go breather
      if no: stop look-further

    check breather: Does the breather blow oil mist?
      if no: stop look-further
      if yes: found worn-rings

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault worn-rings: Piston rings worn
      shows: breather yes
      remedy: Fit new rings.

    handoff look-further: Belt, filter and rings are good
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the drive belt tight?
      if yes: go intake
      if no: found slack-belt

    check intake: Is the intake filter clean?
      if yes: go breather
      if no: found clogged-filter

    check breather: Does the breather blow oil mist?
      if no: stop look-further
      if yes: found worn-rings

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    fault worn-rings: Piston rings worn
      shows: breather yes
      remedy: Fit new rings.

    handoff look-further: Belt, filter and rings are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed, shown
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Reading, Step
from treewright.text.diagnostic import Finding, Level

_NAMED = 3  # faults that a message names at most


def check(context: Context) -> Iterable[Finding]:
    for (name, answer), where in context.by_model(lambda model: _idle(context, model)):
        node = context.tree.nodes[name]
        assert isinstance(node, Check | Reading)
        way = context.way(where.model, name)
        if not way:
            continue
        suspects = context.suspects(where.model)
        still = suspects.open[name] & suspects.behind[name]
        names = [f"`{fault}`" for fault in suspects.named(still, _NAMED)]
        if still.bit_count() > _NAMED:
            names.append(f"{still.bit_count() - _NAMED} more")
        yield RULE.finding(
            f"`{name}` tells nothing apart: whatever can still be wrong ({listed(names)})"
            f" answers {shown(node.outcomes[answer].label)}{where}",
            node.span,
            help="take the check out, or say in `shows` which fault gives another answer here",
            way=way,
        )


def _idle(context: Context, model: str | None) -> Iterator[tuple[str, int]]:
    suspects = context.suspects(model)
    for node in context.nodes(model):
        if not isinstance(node, Check | Reading) or node.name not in suspects.open:
            continue
        if node.before:
            continue
        still = suspects.open[node.name] & suspects.behind[node.name]
        if not still:
            continue
        given = [
            at for at in range(len(node.outcomes)) if still & suspects.gives(node, at)
        ]  # fmt: skip
        if len(given) == 1 and len(node.outcomes) > 1 and not _guards(context, model, node, given):
            yield node.name, given[0]


def _guards(
    context: Context, model: str | None, node: Check | Reading, given: list[int]
) -> bool:
    """Whether an answer that no fault gives is of use all the same."""
    suspects = context.suspects(model)
    ends = ~suspects.faults
    usual = node.outcomes[given[0]].label
    by_answer = {
        answer: list(arcs)
        for answer, arcs in groupby(context.graph(model).arcs_from(node.name), lambda a: a.answer)
    }
    behind_usual = 0
    for arc in by_answer.get(usual, ()):
        behind_usual |= suspects.behind[arc.target]
    return any(
        _does_something(context, arc) or suspects.behind[arc.target] & ends & ~behind_usual
        for answer, arcs in by_answer.items()
        if answer != usual
        for arc in arcs
    )


def _does_something(context: Context, arc: Arc) -> bool:
    step = isinstance(context.tree.nodes.get(arc.target), Step)
    return bool(arc.does) or step or arc.way_kind == "back"


RULE = Rule(
    name="splits-nothing",
    level=Level.DOUBT,
    why="the technician takes the trouble and learns nothing new",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
