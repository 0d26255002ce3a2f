"""A check taken ahead of others in the author's own tree, and what that saves.

`then` is moved in front of `first`, so that a fault that `then` finds costs the checks between no
more; the one answer of `then` that the other faults give leads on to `first`. A move is only
proposed where nothing but minutes speaks (see `movable`) and each fault ends where it ended.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from treewright.model.graph import Graph, graph
from treewright.model.nodes import Check, Outcome, Reading, Step, Way, WayKind
from treewright.model.tree import Tree
from treewright.model.written import Name
from treewright.reason.order.author import Followed, follow_author
from treewright.reason.order.from_tree import Question
from treewright.reason.order.keeps import breaches
from treewright.reason.order.movable import AuthorsOrder, Movable, Move, number_of, on_the_way
from treewright.record import record


@record
class Saved:
    """Expected minutes from one symptom, before and after."""

    symptom: str
    before: Fraction
    after: Fraction

    @property
    def minutes(self) -> Fraction:
        return self.before - self.after


@record
class Gain:
    """A move that costs no symptom anything, and what it saves from each that passes it."""

    move: Move
    saved: tuple[Saved, ...]

    @property
    def most(self) -> Saved:
        """From the symptom where it saves most, the first of them."""
        return max(self.saved, key=lambda one: one.minutes)


def gains(
    tree: Tree,
    ways: Graph,
    asked: Sequence[AuthorsOrder],
    worth: Mapping[str, Fraction],
    unsure: Collection[str] = (),
    *,
    swaps_only: bool = False,
) -> list[Gain]:
    """The moves that save something from some symptom and cost nothing from any.

    Each is proven by following the faults through the tree with the check moved.

    Args:
        tree: the tree.
        ways: its ways on one model.
        asked: for the symptoms that can be asked about.
        worth: by symptom the minutes that a move must save from one of them.
        unsure: nodes that other symptoms lead to: a move there may cost what is not seen.
        swaps_only: only neighbouring checks.

    Returns:
        The moves, what saves most first.
    """
    found = []
    for move in Movable(tree, ways, asked).all(swaps_only):
        if any(name in unsure for name in (move.then, *move.between)):
            continue
        passing = [one for one in asked if _passes(one, move)]
        if not any(_about(one, move) >= worth[one.symptom] for one in passing):
            continue
        gain = _gain(tree, ways, move, passing)
        if gain and any(saved.minutes >= worth[saved.symptom] for saved in gain.saved):
            found.append(gain)
    return sorted(found, key=lambda gain: -gain.most.minutes)


def moved(tree: Tree, move: Move) -> Tree:
    """The tree with a check moved."""
    nodes = dict(tree.nodes)
    then = nodes[move.then]
    assert isinstance(then, Check | Reading)
    onward = then.outcomes[move.on].way

    def led(source: str, answer: int, way: Way, model: str | None) -> tuple[Name | None, WayKind]:
        target = way.target_on(model)
        if source == move.then and answer == move.on:
            return Name(move.first, way.span), "go"
        if target is not None and target.name == move.then and source != move.then:
            return onward.target_on(model), onward.kind
        if target is not None and target.name == move.first and source not in move.between:
            return Name(move.then, way.span), "go"
        return target, way.kind

    def turned(source: str, answer: int, way: Way) -> Way:
        target, kind = led(source, answer, way, None)
        by_model = [(model, led(source, answer, way, model)[0]) for model in tree.models]
        kind = "go" if kind == "next" else kind
        return Way(kind, way.does, target, way.span, tuple(by_model))

    for name, node in tree.nodes.items():
        if isinstance(node, Step) and node.way is not None:
            nodes[name] = replace(node, way=turned(name, 0, node.way))
        elif isinstance(node, Check | Reading):
            outcomes = tuple(
                Outcome(one.label, one.test, turned(name, at, one.way), one.span)
                for at, one in enumerate(node.outcomes)
            )
            nodes[name] = replace(node, outcomes=outcomes)
    symptoms = {
        name: replace(one, start=Name(move.then, one.start.span))
        if one.start is not None and one.start.name == move.first
        else one
        for name, one in tree.symptoms.items()
    }
    return replace(tree, nodes=nodes, symptoms=symptoms)


def _gain(tree: Tree, ways: Graph, move: Move, passing: Sequence[AuthorsOrder]) -> Gain | None:
    other = moved(tree, move)
    other_ways = graph(other, ways.model)
    saved = []
    for one in passing:
        after = follow_author(other, other_ways, one.symptom, one.question)
        if _ends(after) != _ends(one.followed) or after.expected > one.followed.expected:
            return None
        if set(breaches(one.question, after)) - set(breaches(one.question, one.followed)):
            return None
        saved.append(Saved(one.symptom, one.followed.expected, after.expected))
    return Gain(move, tuple(saved))


def _ends(followed: Followed) -> dict[str, Counter[str | None]]:
    found: dict[str, Counter[str | None]] = {}
    for fault, ends in followed.ends.items():
        parts = found[fault] = Counter()
        for end in ends:
            parts[end.node] += end.part  # type: ignore[assignment]
    return found


# ---- what a move brings, about ----------------------------------------------------------------


def _passes(asked: AuthorsOrder, move: Move) -> bool:
    number = number_of(asked.question)
    first = number.get(move.first)
    return first is not None and any(
        taken.check == first
        for ends in asked.followed.ends.values()
        for end in ends
        for taken in end.way
    )


def _about(asked: AuthorsOrder, move: Move) -> Fraction:
    """What a move saves, but for what the set-up changes."""
    of, number = asked.question.instance, number_of(asked.question)
    first, then = number[move.first], number[move.then]
    total = Fraction(0)
    for suspect, weight in zip(of.suspects, of.weights, strict=True):
        for end in asked.followed.ends[suspect.name]:
            one, other = on_the_way(end, first, then)
            if one is None:
                continue
            if other is None:
                total -= weight * end.part * of.costs[then]
            elif other.answer != move.on:
                total += weight * end.part * (other.spent - one.spent)
    return total / (of.total * of.per_minute)


def ways_of(of: Question) -> int:
    """How many ways the fault with the most `maybe` may have; for those who fear too many."""
    faults = range(len(of.instance.suspects))
    most = 1
    for fault in faults:
        count = 1
        for probe in of.instance.probes:
            count *= sum(given >> fault & 1 for given in probe.gives)
        most = max(most, count)
    return most
