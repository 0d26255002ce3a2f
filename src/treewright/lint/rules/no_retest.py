"""What is looked for
    Looks for faults whose retest gives a good answer although the fault is still there, by what
    the fault `shows`. Where no `retest:` is written the check that led to the fault is taken
    again; where that one gave a good answer, it will again.

Why it matters at the machine
    The job is closed on a good answer that says nothing about the repair.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: belt

    check belt: Is the drive belt tight?
      normal: yes
      if yes: go intake
      if no: go mount

    check intake: Is the intake filter clean?
      normal: yes
      if yes: stop look-further
      if no: found clogged-filter

    check mount: Is the motor mount firm?
      normal: yes
      if yes: found slack-belt
      if no: found loose-mount

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.

    fault loose-mount: Motor mount loose
      shows: belt no, mount no
      remedy: Tighten the mount, then the belt.

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
      if no: go mount

    check intake: Is the intake filter clean?
      normal: yes
      if yes: stop look-further
      if no: found clogged-filter

    check mount: Is the motor mount firm?
      normal: yes
      if yes: found slack-belt
      if no: found loose-mount

    fault slack-belt: Drive belt slack
      shows: belt no
      remedy: Tighten the belt.
      retest: belt

    fault loose-mount: Motor mount loose
      shows: belt no, mount no
      remedy: Tighten the mount, then the belt.

    fault clogged-filter: Intake filter clogged
      shows: intake no
      remedy: Fit a new filter.

    handoff look-further: Belt and filter are good
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.nodes import Check, Fault, Reading
from treewright.reason.prove import Proven
from treewright.reason.trips import Stop
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, retest, way), where in context.by_model(lambda model: _idle(context, model)):
        fault, again = context.tree.nodes[name], context.tree.nodes[retest]
        assert isinstance(fault, Fault) and isinstance(again, Check | Reading)
        good = shown(again.outcomes[again.normal[0]].label)
        yield RULE.finding(
            f"the retest of `{name}` proves nothing: `{retest}` answers {good} with the fault"
            f" still there{where}",
            fault.retest.span if fault.retest else fault.span,
            help="write `retest:` with a check that gives another answer while the fault is there",
            way=context.shown(way),
        )


def _idle(context: Context, model: str | None) -> Iterator[tuple[str, str, Sequence[Stop]]]:
    answers = context.prover(model).answers
    for one in context.prover(model).faults:
        fault = context.tree.nodes[one.fault]
        assert isinstance(fault, Fault)
        if not one.way or one.way[-1].node != one.fault:
            continue
        again = context.tree.nodes.get(fault.retest.name if fault.retest else _led_by(context, one))
        if (
            isinstance(again, Check | Reading)
            and again.normal
            and answers.given(one.fault, again) <= set(again.normal)
        ):
            yield one.fault, again.name, one.way


def _led_by(context: Context, one: Proven) -> str:
    """The last check on the way to a fault: it is taken again where no retest is written."""
    return next(
        (
            stop.node
            for stop in reversed(one.way)
            if isinstance(context.tree.nodes.get(stop.node), Check | Reading)
        ),
        "",
    )


RULE = Rule(
    name="no-retest",
    level=Level.DOUBT,
    why="the job is closed on an answer that says nothing about the repair",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
