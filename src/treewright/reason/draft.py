"""The ways of a tree that has none yet: for each symptom the best order, put together as one graph.

An order is a tree in which one check may stand many times; a diagnostic tree names each check
once. So what goes on alike is written once, also where two places of the same check only do not
contradict each other; a check that must stand twice is asked again under another name. Knows
nothing of how a tree is written down.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TypeAlias

from treewright.model.graph import Graph, entry
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.same import judged_alike
from treewright.model.tree import Tree, on_model
from treewright.reason.answers import Answers
from treewright.reason.draft_merge import Spot, merged
from treewright.reason.order.exact import best_order
from treewright.reason.order.from_tree import Question, firsts, question_of
from treewright.reason.order.instance import answers, bits
from treewright.reason.order.plan import Plan, deep
from treewright.record import record

POINTS = 20_000  # points of the job opened for one symptom: some seconds, the same everywhere


@record
class To:
    """Where a way leads: on to another place where something is asked, or to a fault.

    Attributes:
        place: of the place in `Draft.places`; of a fault -1.
        fault: the fault that is found; the likeliest where several are left.
        others: what else it may be there, the likeliest first.
    """

    place: int = -1
    fault: str = ""
    others: tuple[str, ...] = ()


@record
class Place:
    """A check at one place of the order.

    Attributes:
        check: its name in the tree.
        copy: 1 where it stands first, 2 where it has to be asked under another name, …
        ways: by the place of an answer; one that no fault suspected here gives is missing.
    """

    check: str
    copy: int
    ways: dict[int, To]


@record
class Begun:
    """Where a symptom begins, and what its order takes: minutes on average, set-up included."""

    symptom: str
    to: To
    expected: Fraction
    at_least: Fraction
    proven: bool
    no_time: tuple[str, ...]
    no_share: tuple[str, ...]


@record
class Draft:
    """The ways of a tree.

    Attributes:
        begun: the symptoms, in the order of the file.
        places: what is asked, so that every way leads further down.
        tries: for a fault that may be another one, which to try next if its remedy is no cure.
        hidden: faults that are never the likeliest where they may be, with one they are taken
            for; they are tried after it.
    """

    begun: tuple[Begun, ...]
    places: tuple[Place, ...]
    tries: dict[str, str]
    hidden: dict[str, str]


class NothingToFind(Exception):
    """A symptom to which no fault belongs; the message is its name."""


def draft(tree: Tree, graph: Graph, points: int = POINTS) -> Draft:
    """Finds the ways of a tree from what its faults show; ways already written do not count.

    Args:
        tree: at least one symptom; names and answers all there.
        graph: its ways on the model it is drafted for, as far as there are any.
        points: how many points of the job the search may open for each symptom.

    Raises:
        NothingToFind: no fault belongs to one of the symptoms.
    """
    model = graph.model
    ends = _Ends(Answers(tree, model))
    asked: dict[tuple[str, ...], tuple[Begun, _Node | _Leaf]] = {}
    roots: list[_Node | _Leaf] = []
    begun: list[Begun] = []
    with deep(len(tree.nodes), len(tree.nodes)):
        for symptom in tree.symptoms.values():
            faults = faults_of(tree, graph, symptom.name)
            if not faults:
                raise NothingToFind(symptom.name)
            key = tuple(fault.name for fault in faults)
            if key not in asked:
                checks = _once(tree, model)
                of = question_of(tree, model, [*checks, *faults], silent=True)
                assert of is not None
                best = best_order(of.instance, points=points)
                one = Begun(symptom.name, To(), best.expected, best.at_least, best.proven,
                            of.no_time, of.no_share)  # fmt: skip
                asked[key] = one, _unfold(of, best.plan, ends)
            roots.append(asked[key][1])
            begun.append(replace(asked[key][0], symptom=symptom.name))
        ends.settle()
        spots, tops = _folded(roots)
    return _numbered(spots, tops, begun, ends, firsts(tree, model))


def faults_of(tree: Tree, graph: Graph, symptom: str) -> list[Fault]:
    """The faults that a symptom may come from.

    Those that name it, and of those that name none the ones that a way leads to from it; all of
    them where no way leads to them yet.
    """
    reached = {one: set(graph.reached_from([one], retests=False)) for one in graph.entries}
    found = []
    for node in tree.nodes.values():
        if not isinstance(node, Fault) or not on_model(node.models, graph.model):
            continue
        led_from = {one for one, nodes in reached.items() if node.name in nodes}
        if node.symptoms:
            led_from = {entry(name.name) for name in node.symptoms}
        if not led_from or entry(symptom) in led_from:
            found.append(node)
    return found


def _once(tree: Tree, model: str | None) -> list[Check | Reading]:
    """The checks of a model, without those that only ask another one once more."""
    there = {
        node.name: node
        for node in tree.nodes.values()
        if isinstance(node, Check | Reading) and on_model(node.models, model)
    }
    found = []
    for node in there.values():
        seen, other = {node.name}, node.same_as
        while other is not None and other.name in there and other.name not in seen:
            first = there[other.name]
            if judged_alike(node, first):
                break
            seen.add(other.name)
            other = first.same_as
        else:
            found.append(node)
    return found


# ---- from a plan to places ------------------------------------------------------------------


@dataclass(slots=True, eq=False)
class _Leaf:
    """An end of a plan: what is left there, the likeliest first."""

    faults: list[str]


@dataclass(slots=True, eq=False)
class _Node:
    check: str
    ways: dict[int, _Node | _Leaf]


def _unfold(of: Question, plan: Plan, ends: _Ends) -> _Node | _Leaf:
    return _at(of, plan, [Fraction(one.share) for one in of.instance.suspects], ends)


def _at(of: Question, plan: Plan, weights: list[Fraction], ends: _Ends) -> _Node | _Leaf:
    """A plan's place, with how likely each fault is there."""
    if plan.probe is None:
        left = sorted(bits(plan.faults), key=lambda fault: (-weights[fault], fault))
        return ends.leaf([of.instance.suspects[fault].name for fault in left])
    probe = of.instance.probes[plan.probe]
    shared = [
        weight / answers(probe, fault).bit_count() if plan.faults >> fault & 1 else weight
        for fault, weight in enumerate(weights)
    ]
    ways: dict[int, _Node | _Leaf] = {}
    for answer, then in plan.branches:
        target = _at(of, then, shared, ends)
        ways.update(dict.fromkeys(of.answers[plan.probe][answer], target))
    return _Node(probe.name, dict(sorted(ways.items())))


@dataclass(slots=True)
class _Ends:
    """All ends of all plans: which fault each is said to be, and what is tried after it."""

    answers: Answers
    leaves: list[_Leaf] = field(default_factory=list)
    tries: dict[str, str] = field(default_factory=dict)
    hidden: dict[str, str] = field(default_factory=dict)

    def leaf(self, faults: list[str]) -> _Leaf:
        self.leaves.append(_Leaf(faults))
        return self.leaves[-1]

    def settle(self) -> None:
        """Lets each fault be found somewhere, if that can be, and finds what is tried next."""
        group_of = self.answers.group_of
        firsts = [leaf.faults[0] for leaf in self.leaves]
        for leaf in self.leaves:
            for fault in leaf.faults[1:]:
                alike = set(group_of[fault])
                first = leaf.faults[0]
                if first not in alike and not alike & set(firsts) and firsts.count(first) > 1:
                    firsts.remove(first)
                    firsts.append(fault)
                    leaf.faults.remove(fault)
                    leaf.faults.insert(0, fault)
        found = {leaf.faults[0] for leaf in self.leaves}
        for leaf in self.leaves:
            first = leaf.faults[0]
            for fault in leaf.faults[1:]:
                if fault in found:
                    continue
                chain = list(self.chain(first))
                if fault not in chain and fault not in self.tries.values():
                    self.tries[chain[-1]] = fault
                if not found & set(group_of[fault]):
                    self.hidden.setdefault(fault, first)

    def chain(self, fault: str) -> Iterator[str]:
        """A fault and what is tried after it."""
        yield fault
        while fault in self.tries:
            fault = self.tries[fault]
            yield fault


# ---- what goes on alike is one ---------------------------------------------------------------


_Others: TypeAlias = tuple[str, ...]


def _folded(roots: Sequence[_Node | _Leaf]) -> tuple[list[Spot], list[tuple[int | str, _Others]]]:
    """The places with what goes on alike as one, and where each root is in them."""
    spots: list[Spot] = []
    known: dict[tuple[object, ...], int] = {}
    done: dict[int, int] = {}

    def place(node: _Node) -> int:
        if id(node) in done:
            return done[id(node)]
        ways: dict[int, int | str] = {}
        others: dict[int, tuple[str, ...]] = {}
        for answer, then in node.ways.items():
            if isinstance(then, _Leaf):
                ways[answer] = then.faults[0]
                others[answer] = tuple(then.faults[1:])
            else:
                ways[answer] = place(then)
        key = (node.check, tuple(ways.items()))
        if key not in known:
            known[key] = len(spots)
            spots.append(Spot(node.check, ways, others))
        else:
            spots[known[key]].add_others(others)
        done[id(node)] = known[key]
        return known[key]

    tops: list[tuple[int | str, _Others]] = []
    for root in roots:
        if isinstance(root, _Leaf):
            tops.append((root.faults[0], tuple(root.faults[1:])))
        else:
            tops.append((place(root), ()))
    return spots, tops


def _numbered(
    spots: list[Spot],
    tops: list[tuple[int | str, _Others]],
    begun: list[Begun],
    ends: _Ends,
    first: dict[str, set[str]],
) -> Draft:
    """The places in an order in which every way leads down, each check's copies counted."""
    spots, moved = merged(spots, [top for top, _ in tops if isinstance(top, int)], first)
    order: list[int] = []
    seen: set[int] = set()

    def visit(at: int) -> None:
        if at in seen:
            return
        seen.add(at)
        for then in reversed(list(dict(sorted(spots[at].ways.items())).values())):
            if isinstance(then, int):
                visit(then)
        order.append(at)

    with deep(len(spots), len(spots)):
        for top, _ in reversed(tops):
            if isinstance(top, int):
                visit(moved[top])
    order.reverse()
    at_of = {spot: at for at, spot in enumerate(order)}
    copies: dict[str, int] = {}
    places = []
    for spot in (spots[at] for at in order):
        copies[spot.check] = copies.get(spot.check, 0) + 1
        ways = {
            answer: To(at_of[then]) if isinstance(then, int)
            else To(-1, then, spot.others.get(answer, ()))
            for answer, then in sorted(spot.ways.items())
        }  # fmt: skip
        places.append(Place(spot.check, copies[spot.check], ways))
    started = [
        replace(one, to=To(at_of[moved[top]]) if isinstance(top, int) else To(-1, top, others))
        for one, (top, others) in zip(begun, tops, strict=True)
    ]
    return Draft(tuple(started), tuple(places), ends.tries, ends.hidden)
