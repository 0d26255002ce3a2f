"""What is looked for
    Looks for two neighbouring checks that cost less time the other way round, by the times and
    by the shares of the faults. It is only said where every time and share it takes is
    written, where each fault still ends where it ended, where no symptom loses by it, and where
    a job gets shorter by a minute and by a twentieth on average. Nothing is said where more
    than minutes speaks for the order: a `before`, the access ladder, a hazard or a licence that
    only the second one has, or a first one that guards the work or has something done.

Why it matters at the machine
    The long test is done on every job, and most of them would have ended at the short one.

Not so
    tree no-water: Pump gives no water
      machine: Brindle garden pump

    symptom dry: No water
      start at: pull-up

    check pull-up: Pull the pump up. Is the screen clean?
      time: 40 min
      if yes: go valve
      if no: found clogged

    check valve: Is the valve at the tank open?
      time: 2 min
      if yes: stop look-further
      if no: found shut

    fault clogged: Screen clogged
      share: 1
      shows: pull-up no
      remedy: Clean the screen.

    fault shut: Valve shut
      share: 4
      shows: valve no
      remedy: Open the valve.

    handoff look-further: Neither of the two
      to: the workshop

But so
    tree no-water: Pump gives no water
      machine: Brindle garden pump

    symptom dry: No water
      start at: valve

    check valve: Is the valve at the tank open?
      time: 2 min
      if yes: go pull-up
      if no: found shut

    check pull-up: Pull the pump up. Is the screen clean?
      time: 40 min
      if yes: stop look-further
      if no: found clogged

    fault clogged: Screen clogged
      share: 1
      shows: pull-up no
      remedy: Clean the screen.

    fault shut: Valve shut
      share: 4
      shows: valve no
      remedy: Open the valve.

    handoff look-further: Neither of the two
      to: the workshop
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from treewright.lint.rule import Context, Rule
from treewright.lint.words import shown
from treewright.model.graph import Graph, entry
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason.order.author import follow_author
from treewright.reason.order.from_tree import question
from treewright.reason.order.movable import AuthorsOrder
from treewright.reason.order.moves import Gain, gains, ways_of
from treewright.text.diagnostic import Finding, Label, Level
from treewright.text.quantity import number_text

LEAST = Fraction(1)  # minutes that a job must get shorter on average to be worth a word
PART = Fraction(1, 20)  # and this part of what it takes
MOST_WAYS = 64  # of one fault, by its `maybe`; past it nothing is said
MOST_NODES = 150  # behind one symptom; past it nothing is said, since each swap is followed anew


def check(context: Context) -> Iterable[Finding]:
    nodes = context.tree.nodes
    if not any(isinstance(node, Fault) and node.share for node in nodes.values()):
        return
    known: dict[Graph, list[Gain]] = {}  # models with the same blocks have the same order

    def swaps(model: str | None) -> list[Gain]:
        graph = context.graph(model)
        if graph not in known:
            known[graph] = list(_swaps(context, graph))
        return known[graph]

    for gain, where in context.by_model(swaps):
        first, then = gain.move.first, gain.move.then
        arcs = context.graph(where.model).arcs_into(then)
        stops = context.trips(where.model).along(next(a for a in arcs if a.source == first))
        if not stops:
            continue
        node, most = nodes[then], gain.most
        assert isinstance(node, Check | Reading)
        yield RULE.finding(
            f"`{then}` in front of `{first}` saves {number_text(most.minutes, 1)} of"
            f" {number_text(most.before, 1)} min on average from symptom {most.symptom}{where}",
            node.span,
            help=f"ask `{then}` first, and go on to `{first}` where it answers"
            f" {shown(node.outcomes[gain.move.on].label)}; if the order must stay as it is, write"
            f" `before: {then}` at `{first}`",
            labels=(Label(nodes[first].span, "this is asked first now"),),
            way=context.shown(stops),
        )


def _swaps(context: Context, graph: Graph) -> Iterator[Gain]:
    """Pairs of neighbours to be swapped, none of them with a check of another."""
    tree = context.tree
    asked: list[AuthorsOrder] = []
    unsure: set[str] = set()  # what is passed from a symptom of which not all is known
    for symptom in tree.symptoms:
        if entry(symptom) not in graph.entries:
            continue
        one = _asked(tree, graph, symptom)
        if one is None:
            unsure.update(graph.reached_from([entry(symptom)], retests=False))
        else:
            asked.append(one)
    worth = {one.symptom: max(LEAST, PART * one.followed.expected) for one in asked}
    told: set[str] = set()
    for gain in gains(tree, graph, asked, worth, unsure, swaps_only=True):
        pair = {gain.move.first, gain.move.then}
        if not pair & told:
            told |= pair
            yield gain


def _asked(tree: Tree, graph: Graph, symptom: str) -> AuthorsOrder | None:
    """The author's order for a symptom; None where something it takes is not written."""
    if len(graph.reached_from([entry(symptom)], retests=False)) > MOST_NODES:
        return None
    try:
        of = question(tree, graph, symptom)
    except ValueError:  # it cannot be asked: another rule says why
        return None
    if of is None or of.silent or of.no_share or of.no_time or ways_of(of) > MOST_WAYS:
        return None
    return AuthorsOrder(symptom, of, follow_author(tree, graph, symptom, of))


RULE = Rule(
    name="dear-before-cheap",
    level=Level.DOUBT,
    why="most jobs would have ended at the short check, and now take the long one first",
    doc=__doc__,
    check=check,
    in_libraries=False,
)
