"""The best order of each symptom of a tree beside the author's, on each model: what was found.

Puts together what `reason/order` finds; says nothing of it in words.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from fractions import Fraction

from treewright.lint.rule import Context
from treewright.model.graph import Graph, entry
from treewright.model.tree import Symptom, Tree
from treewright.reason.order.author import End, Followed, follow_author
from treewright.reason.order.exact import Best, best_order
from treewright.reason.order.from_tree import Question, question
from treewright.reason.order.instance import Last, bits
from treewright.reason.order.keeps import Breach, breaches
from treewright.reason.order.movable import AuthorsOrder
from treewright.reason.order.moves import Gain, gains
from treewright.reason.order.plan import reckon
from treewright.record import record

POINTS = 20_000  # points of a job that are opened for one symptom, where no time is given
WORTH = Fraction(1, 10)  # minutes that a move has to save to be named


@record
class Order:
    """The best order for one symptom on some models.

    Attributes:
        on: "" or " on B60 and B80".
        author: what the tree's own order costs.
        breaches: what it does not keep to, and the best order does.
        best: the best order found, and its proof or bound.
        worst: minutes of its longest way.
        not_asked: checks on the ways of the tree that the best order has no need of.
    """

    tree: Tree
    symptom: Symptom
    on: str
    question: Question
    author: Followed
    breaches: tuple[Breach, ...]
    best: Best
    worst: Fraction
    not_asked: tuple[str, ...]

    @property
    def saved(self) -> Fraction | None:
        """Minutes on average; None where the author's order leads a fault astray, so that it
        does less than the best one. Below zero where it does not keep to what the best does."""
        return None if self.author.astray else self.author.expected - self.best.expected


@record
class Orders:
    """The best orders of a tree.

    Attributes:
        orders: by symptom, in the order of the file.
        moves: checks that could be moved ahead in the tree itself, with the models ("" or
            " on B60"), what saves most first.
        unasked: symptoms that no order can be found for, each with the reason.
    """

    tree: Tree
    last: Last
    orders: tuple[Order, ...]
    moves: tuple[tuple[Gain, str], ...]
    unasked: tuple[tuple[Symptom, str], ...]


def find_orders(
    tree: Tree,
    last: Last = "inferred",
    seconds: float | None = None,
    points: int = POINTS,
    only: Collection[str] | None = None,
) -> Orders:
    """The best order for each symptom of a sound tree, on each model where they differ.

    Args:
        tree: the tree.
        last: whether the last cause left is inferred, or confirmed and remedied.
        seconds: how long to search for each symptom; None: go by `points`, which gives the
            same order on every machine.
        points: how many points of a job to open for each symptom at most.
        only: the symptoms to find an order for; moves are weighed from all in any case.
    """
    context = Context(tree)
    finder = _Finder(context, last)
    found = []
    most = points if seconds is None else None
    for one, where in context.by_model(finder.orders):
        if only is not None and one.symptom not in only:
            continue
        of, author = one.question, finder.followed[one]
        best = finder.best(of, seconds, most)
        asked = {plan.probe for plan in best.plan.nodes()}
        for plan in best.plan.nodes():
            if plan.probe is None and last == "confirmed":
                for fault in bits(plan.faults):
                    confirm = of.instance.suspects[fault].confirm
                    asked |= set() if confirm is None else set(of.instance.rows[confirm])
        passed = {step.check for ends in author.ends.values() for end in ends for step in end.way}
        found.append(
            Order(
                tree, tree.symptoms[one.symptom], str(where), of, author, breaches(of, author),
                best, reckon(of.instance, best.plan).worst,
                tuple(of.instance.probes[at].name for at in sorted(passed - asked)),
            )
        )  # fmt: skip
    place = {name: at for at, name in enumerate(tree.symptoms)}
    found.sort(key=lambda order: place[order.symptom.name])
    moves = [(gain, str(where)) for gain, where in context.by_model(finder.moves)]
    moves.sort(key=lambda move: -move[0].most.minutes)
    return Orders(tree, last, tuple(found), tuple(moves), tuple(finder.unasked.values()))


@record
class _Key:
    """What makes one order for several models: the same question, and the same ways."""

    symptom: str
    question: Question
    ends: tuple[tuple[str, tuple[End, ...]], ...]


class _Finder:
    """Finds everything once, however many models share it."""

    def __init__(self, context: Context, last: Last) -> None:
        self.context, self.tree, self.last = context, context.tree, last
        self.followed: dict[_Key, Followed] = {}
        self.unasked: dict[str, tuple[Symptom, str]] = {}
        self._asked: dict[Graph, tuple[list[AuthorsOrder], frozenset[str]]] = {}
        self._best: dict[Question, Best] = {}

    def orders(self, model: str | None) -> Iterator[_Key]:
        for one in self.asked(model)[0]:
            key = _Key(one.symptom, one.question, tuple(one.followed.ends.items()))
            self.followed[key] = one.followed
            yield key

    def moves(self, model: str | None) -> list[Gain]:
        asked, unsure = self.asked(model)
        worth = {one.symptom: WORTH for one in asked}
        return gains(self.tree, self.context.graph(model), asked, worth, unsure)

    def best(self, of: Question, seconds: float | None, points: int | None) -> Best:
        if of not in self._best:
            self._best[of] = best_order(of.instance, seconds, points)
        return self._best[of]

    def asked(self, model: str | None) -> tuple[list[AuthorsOrder], frozenset[str]]:
        """The symptoms that can be asked about, and what is passed from the others."""
        graph = self.context.graph(model)
        if graph not in self._asked:
            asked: list[AuthorsOrder] = []
            unsure: set[str] = set()
            for name, symptom in self.tree.symptoms.items():
                if entry(name) not in graph.entries:
                    continue
                why = "no fault that shows anything lies behind it"
                try:
                    of = question(self.tree, graph, name, self.last)
                except ValueError as wrong:
                    of, why = None, str(wrong)
                if of is None:
                    self.unasked.setdefault(name, (symptom, why))
                    unsure.update(graph.reached_from([entry(name)], retests=False))
                else:
                    followed = follow_author(self.tree, graph, name, of)
                    asked.append(AuthorsOrder(name, of, followed))
            self._asked[graph] = asked, frozenset(unsure)
        return self._asked[graph]
