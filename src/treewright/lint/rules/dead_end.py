"""What is looked for
    Looks for places where the technician has no way on: a check or reading without an
    answer, or with answers that are only named (`answers:`), a step that a way leads to and
    that has no `then:`, a symptom without a start, `go next` with nothing further in the
    file, and a way to something that is not there on one of the models.

Why it matters at the machine
    The technician stands there in the middle of the job, perhaps with the machine locked
    out and half open, and the sheet has nothing more to say.

Not so
    tree slow-fill: Compressor fills slowly
      machine: Brindle 60 compressor

    symptom slow-fill: Takes too long to fill
      start at: oil-level

    check oil-level: Is the oil between the two marks?
      if yes: go next
      if no: found low-oil

    fault low-oil: Oil level low
      remedy: Top up to the upper mark.

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
from treewright.lint.words import listed, shown
from treewright.model.graph import entry
from treewright.model.nodes import Check, Fault, Node, Reading, Step, Way, ways_of
from treewright.model.tree import on_model
from treewright.model.written import Name
from treewright.record import record
from treewright.text.diagnostic import Finding, Label, Level
from treewright.text.source import Span


@record
class _End:
    vertex: str
    answer: str
    message: str
    help: str
    span: Span
    labels: tuple[Label, ...] = ()


def check(context: Context) -> Iterable[Finding]:
    for end, where in context.by_model(lambda model: _ends(context, model)):
        way = context.way_to(end.vertex, where.model)
        if way and end.answer:
            way = (*way[:-1], f"{way[-1]}: {end.answer}")
        yield RULE.finding(
            f"{end.message}{where}", end.span, help=end.help, labels=end.labels, way=way
        )


def _ends(context: Context, model: str | None) -> Iterator[_End]:
    tree = context.tree
    for symptom in tree.symptoms.values():
        if not on_model(symptom.models, model):
            continue
        vertex = entry(symptom.name)
        if symptom.start:
            yield from _absent(context, model, vertex, "", symptom.start)
        elif not context.has_missing(symptom.span):
            message = f"the symptom `{symptom.name}` does not say where to start"
            help = "add `start at:` with the first check"
            if context.is_bare:
                help += "; `treewright draft` finds the best one"
            yield _End(vertex, "", message, help, symptom.span)
    for node in context.nodes(model):
        yield from _without_way(context, model, node)
        if isinstance(node, Fault) and node.retest:
            yield from _absent(context, model, node.name, "retest", node.retest)
        yield from _open_answers(node)
        for answer, way in ways_of(node):
            yield from _way_ends(context, model, node, answer, way)


def _without_way(context: Context, model: str | None, node: Node) -> Iterator[_End]:
    match node:
        case Check(outcomes=()) | Reading(outcomes=()):
            kind = "check" if isinstance(node, Check) else "reading"
            message = f"the {kind} `{node.name}` has no answers"
            help = "add a line for each answer, like `if yes: go next`"
            yield _End(node.name, "", message, help, node.span)
        case Step(way=None):
            arcs = context.graph(model).arcs_into(node.name)
            into = [arc for arc in arcs if arc.way_kind != "retest"]
            if into:
                message = f"the step `{node.name}` has no way on"
                help = "add `then:` with what comes next, or lead here with `do … , then …`"
                label = Label(into[0].span, "a way leads to it here")
                yield _End(node.name, "", message, help, node.span, (label,))


def _open_answers(node: Node) -> Iterator[_End]:
    """A check of which some answers are only named so far."""
    left = [(answer, way) for answer, way in ways_of(node) if way.kind == "open"]
    if left:
        answers = listed([shown(answer) for answer, _ in left])
        message = f"`{node.name}` does not say yet where it goes on after {answers}"
        help = (
            f"add a line for each answer, like `if {left[0][0]}: go next`; "
            "`treewright draft` writes them all in the best order"
        )
        yield _End(node.name, "", message, help, left[0][1].span)


def _way_ends(
    context: Context, model: str | None, node: Node, answer: str, way: Way
) -> Iterator[_End]:
    target = way.target_on(model)
    if target:
        yield from _absent(context, model, node.name, answer, target)
    elif way.kind == "next":
        message = "nothing comes after this in the file, so `go next` leads nowhere"
        help = "name where it goes on, like `go NAME`, or how it ends, like `stop NAME`"
        yield _End(node.name, answer, message, help, way.span)


def _absent(
    context: Context, model: str | None, vertex: str, answer: str, target: Name
) -> Iterator[_End]:
    """A way to something that is not there on this model."""
    node = context.tree.nodes.get(target.name)
    known = node and set(node.models) & set(context.models)  # else a model's name is missing
    if node and known and not on_model(node.models, model):
        message = f"this way leads to `{node.name}`, which is not there"
        help = f"lead elsewhere on that model, or let `{node.name}` be for it too"
        label = Label(node.span, f"only for {', '.join(node.models)}")
        yield _End(vertex, answer, message, help, target.span, (label,))


RULE = Rule(
    name="dead-end",
    level=Level.FAULT,
    why="the technician stands there in the middle of the job and does not know how to go on",
    doc=__doc__,
    check=check,
)
