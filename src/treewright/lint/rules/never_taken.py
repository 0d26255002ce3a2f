"""What is looked for
    Looks for answers that cannot be given any more where they are asked for, because every
    way there has found the contrary. What only such an answer leads to is named. A retest
    after a remedy is no such way.

Why it matters at the machine
    The way behind that answer is never gone, whatever is wrong with the machine. Mostly a
    limit is misread, or the two checks have changed places; what stands behind is lost.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: pump-up

    reading pump-up: Time from empty to full
      if at most 200 s: go works
      if above 200 s: go how-slow

    reading how-slow: The same time again
      same as: pump-up
      if below 150 s: found stuck-gauge
      if 150 to 400 s: found worn-rings
      if above 400 s: found broken-reed

    fault stuck-gauge: Gauge stuck
      remedy: Fit a new gauge.

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault broken-reed: Valve reed broken
      remedy: Fit new reeds.

    done works: It fills in time

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: pump-up

    reading pump-up: Time from empty to full
      if below 150 s: found stuck-gauge
      if 150 to 200 s: go works
      if above 200 s: go how-slow

    reading how-slow: The same time again
      same as: pump-up
      if at most 400 s: found worn-rings
      if above 400 s: found broken-reed

    fault stuck-gauge: Gauge stuck
      remedy: Fit a new gauge.

    fault worn-rings: Piston rings worn
      remedy: Fit new rings.

    fault broken-reed: Valve reed broken
      remedy: Fit new reeds.

    done works: It fills in time
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.nodes import Check, Reading
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, answer), where in context.by_model(lambda model: _never(context, model)):
        node = context.tree.nodes[name]
        assert isinstance(node, Check | Reading)
        way = context.way(where.model, name)
        if not way:
            continue
        outcome = node.outcomes[answer]
        target = outcome.way.target_on(where.model)
        lost = target is not None and not context.ways(where.model).reached(target.name)
        more = f", so that nothing leads to `{target}`" if lost else ""
        yield RULE.finding(
            f"`{name}` can never be {shown(outcome.label)} after what every way here has"
            f" found{more}{where}",
            outcome.span,
            help="take this answer out, or lead a way here that leaves it open",
            way=way,
        )


def _never(context: Context, model: str | None) -> Iterator[tuple[str, int]]:
    ways = context.ways(model)
    for node in context.nodes(model):
        if isinstance(node, Check | Reading) and ways.settled(node.name) is None:
            for answer in ways.never(node.name):
                yield node.name, answer


RULE = Rule(
    name="never-taken",
    level=Level.DOUBT,
    why="what stands behind it is never done, whatever is wrong with the machine",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
