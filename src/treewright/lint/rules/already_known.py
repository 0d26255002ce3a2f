"""What is looked for
    Looks for questions that the way there has settled: a check that leaves one answer only,
    after what was found before (of itself, or of a check it is the `same as`); a way `back`
    to a check whose answer nothing on the way round put in doubt; a retest whose answer the
    remedy did not put in doubt.

Why it matters at the machine
    The technician measures again what is on the sheet already. On a way back it is worse:
    the same answer leads the same way round, and nobody gets out of it.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: do top-up, then back to oil-level

    step top-up: Top up to the upper mark

    handoff look-further: It is not the oil
      to: the workshop

But so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: stop look-further
      if no: do top-up, then back to oil-level

    step top-up: Top up to the upper mark
      doubts: oil-level

    handoff look-further: It is not the oil
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TypeAlias

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.graph import Arc, Graph
from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.reason.trips import Stop
from treewright.reason.ways import Ways
from treewright.text.diagnostic import Finding, Label, Level

# A node or a retest with the one answer that is left; or a way back to what is known, and -1.
_Known: TypeAlias = tuple[str, int] | tuple[Arc, int]


def check(context: Context) -> Iterable[Finding]:
    for (known, answer), where in context.by_model(lambda model: _known(context, model)):
        if isinstance(known, str):
            found = _settled(context, known, answer, where.model, str(where))
        elif known.way_kind == "retest":
            found = _retest(context, known, answer, where.model, str(where))
        else:
            found = _round(context, known, where.model, str(where))
        if found is not None:
            yield found


def _known(context: Context, model: str | None) -> Iterator[_Known]:
    ways = context.ways(model)
    settled = set()
    for node in context.nodes(model):
        answer = ways.settled(node.name)
        if answer is not None:
            settled.add(node.name)
            yield node.name, answer
    endless = _endless(ways.graph)
    for arc in ways.graph.arcs:
        told = arc.target in settled or arc.target in endless
        if arc.way_kind == "back" and not told and ways.still_known(arc):
            yield arc, -1
    for node in context.nodes(model):
        for arc in ways.retests(node.name) if isinstance(node, Fault) else ():
            answer = ways.settled_by(arc)
            if answer is not None and arc.target not in settled:
                yield arc, answer


def _endless(graph: Graph) -> set[str]:
    """What lies on ways round that no answer leaves: that is another rule's finding."""
    found: set[str] = set()
    for loop in graph.loops():
        members = set(loop)
        if all(arc.target in members for name in loop for arc in graph.arcs_from(name)):
            found |= members
    return found


def _label(context: Context, name: str, answer: int) -> str:
    node = context.tree.nodes[name]
    assert isinstance(node, Check | Reading)
    return node.outcomes[answer].label


def _settled(
    context: Context, name: str, answer: int, model: str | None, where: str
) -> Finding | None:
    node, ways = context.tree.nodes[name], context.ways(model)
    assert isinstance(node, Check | Reading)
    stops = context.trips(model).to(name)
    before = _asked_before(ways, stops)
    if not before:
        return None
    cut_off = [
        Label(outcome.span, f"never given, so nothing leads to `{target}`")
        for outcome in node.outcomes
        if (target := outcome.way.target_on(model)) and not ways.reached(target.name)
    ]
    return RULE.finding(
        f"`{name}` can only be {shown(node.outcomes[answer].label)} after `{before}`{where}",
        node.span,
        help="take it out and lead straight to where that answer leads",
        labels=tuple(cut_off),
        way=context.shown((*stops[:-1], Stop(name, node.outcomes[answer].label))),
    )


def _asked_before(ways: Ways, stops: tuple[Stop, ...]) -> str:
    """The last stop before the last that asks the same; "" if there is none."""
    fact = ways.facts[stops[-1].node] if stops else None
    return next((s.node for s in reversed(stops[:-1]) if ways.facts.get(s.node) is fact), "")


def _round(context: Context, arc: Arc, model: str | None, where: str) -> Finding | None:
    stops = context.trips(model).around(arc)
    if not stops:
        return None
    steps = [name for name in arc.does if isinstance(context.tree.nodes.get(name), Step)]
    if steps:
        help = f"write `doubts: {arc.target}` in the step `{steps[-1]}`, if it can change that"
    else:
        help = f"do a step on the way back that says `doubts: {arc.target}`, or lead elsewhere"
    # What was answered there is only the answer now where it is the same check.
    before = next((stop for stop in reversed(stops[:-1]) if stop.node == arc.target), None)
    known = before.answer if before else ""
    still = f"it is still {shown(known)}" if known else "its answer is known"
    return RULE.finding(
        f"this goes back to `{arc.target}`, and nothing on the way round put it in doubt{where}",
        arc.span,
        why=f"{still}, so the same way round is gone again and again",
        help=help,
        way=context.shown((*stops[:-1], Stop(arc.target, known))),
    )


def _retest(
    context: Context, arc: Arc, answer: int, model: str | None, where: str
) -> Finding | None:
    known = _label(context, arc.target, answer)
    stops = context.trips(model).along(arc)
    if not stops:
        return None
    return RULE.finding(
        f"the retest of `{arc.source}` asks `{arc.target}`, which the remedy does not put in"
        f" doubt{where}",
        arc.span,
        why=f"it is still {shown(known)}, whatever the remedy did",
        help=f"add `{arc.target}` to the `doubts` of `{arc.source}`",
        way=context.shown((*stops[:-1], Stop(arc.target, known))),
    )


RULE = Rule(
    name="already-known",
    level=Level.DOUBT,
    why="the technician measures again what is on the sheet already",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
