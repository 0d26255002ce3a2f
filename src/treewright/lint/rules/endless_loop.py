"""What is looked for
    Looks for a way round that no answer leaves, and for a way that leads back to something
    the technician has already done without saying so. A loop on purpose is written `back
    to`; the retest after a remedy is no such loop.

Why it matters at the machine
    The technician goes round and round and never comes to an end. And where the words say
    `go`, nobody expects to be sent back: the loop is not seen on the sheet, and perhaps was
    not meant.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: go top-up

    step top-up: Top up to the upper mark
      then: go oil-level

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: go top-up

    step top-up: Top up to the upper mark
      doubts: oil-level
      then: back to oil-level

    handoff look-further: It is not the oil
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from treewright.lint.rule import Context, Rule
from treewright.lint.words import listed, shown
from treewright.model.graph import Arc
from treewright.model.nodes import ways_of
from treewright.syntax.errors import verb_changed
from treewright.text.diagnostic import Finding, Level

_NAMED = 4  # members of a loop that a message names at most


def check(context: Context) -> Iterable[Finding]:
    endless = context.by_model(lambda model: _endless(context, model))
    told = {vertex for loop, _ in endless for vertex in loop}
    for loop, where in endless:
        if len(loop) == 1:
            message = f"`{loop[0]}` only leads back to itself"
        else:
            names = [shown(name) for name in loop[:_NAMED]]
            if len(loop) > _NAMED:
                names.append(f"{len(loop) - _NAMED} more")
            message = f"no answer leads out of the way round through {listed(names)}"
        yield RULE.finding(
            f"{message}{where}",
            context.tree.nodes[loop[0]].span,
            help="let one answer lead on to a finding or an end",
            way=context.way_to(loop[0], where.model),
        )
    for arc, where in context.by_model(lambda model: _unsaid(context, model)):
        if arc.source in told and arc.target in told:
            continue
        way = context.way_to(arc.source, where.model)
        if way and arc.answer:
            way = (*way[:-1], f"{way[-1]}: {arc.answer}")
        yield RULE.finding(
            f"this way leads back to `{arc.target}` and does not say so{where}",
            arc.span,
            why="a technician who is sent on does not expect to be sent back",
            help=f"write `back to {arc.target}` if the loop is meant, else lead elsewhere",
            way=(*way, arc.target) if way else (),
            fix=verb_changed(arc.span, "back to") if _is_above(context, arc) else None,
        )


def _is_above(context: Context, arc: Arc) -> bool:
    """Whether a way leads up in the file: then it is the one that was to be `back to`."""
    head = context.tree.nodes[arc.target].span
    return head.source is arc.span.source and head.start < arc.span.start


def _endless(context: Context, model: str | None) -> Iterator[tuple[str, ...]]:
    """The loops that every way of every member stays in."""
    nodes = context.tree.nodes
    looked_at = {node.name for node in context.nodes(model)}
    for loop in context.graph(model).loops():
        members = set(loop)
        # A way that leads nowhere was meant to lead out: that is another rule's finding.
        targets = [way.target_on(model) for name in loop for _, way in ways_of(nodes[name])]
        if loop[0] in looked_at and all(to and to.name in members for to in targets):
            yield loop


def _unsaid(context: Context, model: str | None) -> Iterator[Arc]:
    looked_at = {node.name for node in context.nodes(model)}
    for arc in context.graph(model).closing:
        if arc.source in looked_at:
            yield arc


RULE = Rule(
    name="endless-loop",
    level=Level.FAULT,
    why="the technician goes round and round and never comes to an end",
    doc=__doc__,
    check=check,
)
