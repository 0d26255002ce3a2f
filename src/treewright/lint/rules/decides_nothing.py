"""What is looked for
    Looks for checks and readings whose every answer leads to the same place, with the same
    things done on the way.

Why it matters at the machine
    The technician takes the trouble to look or to measure, and whatever comes of it changes
    nothing. Mostly one of the ways is wrong; if not, it is a step and no check.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: stop look-further

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

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.lint.words import unasked
from treewright.model.nodes import Check, Otherwise, Reading, Words
from treewright.text.diagnostic import Finding, Level


def check(context: Context) -> Iterable[Finding]:
    for (name, target), where in context.by_model(lambda model: _pointless(context, model)):
        node = context.tree.nodes[name]
        alone = isinstance(node, Check | Reading) and len(node.outcomes) == 1
        message = "the one answer of" if alone else "every answer of"
        yield RULE.finding(
            f"{message} `{name}` leads to `{target}`{where}",
            node.span,
            help="lead one answer elsewhere, or write it as a step",
            way=context.way_to(name, where.model),
        )


def _pointless(context: Context, model: str | None) -> Iterator[tuple[str, str]]:
    for node in context.nodes(model):
        if not isinstance(node, Check | Reading):
            continue
        if isinstance(node, Check) and unasked(node):  # a gap, which is another rule's finding
            continue
        ways: set[tuple[str, ...]] = set()
        for outcome in node.outcomes:
            target = outcome.way.target_on(model)
            if target is None:  # another rule's finding
                break
            ways.add((target.name, *(name.name for name in outcome.way.does)))
        else:
            # One answer with a limit leaves a gap: that is another rule's finding too.
            if len(ways) == 1 and (
                len(node.outcomes) > 1 or isinstance(node.outcomes[0].test, Words | Otherwise)
            ):
                yield node.name, next(iter(ways))[0]


RULE = Rule(
    name="decides-nothing",
    level=Level.DOUBT,
    why="the technician takes the trouble, and whatever comes of it changes nothing",
    doc=__doc__,
    check=check,
    of_one_block=True,
)
