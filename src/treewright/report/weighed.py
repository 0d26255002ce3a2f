"""Each symptom of a tree weighed over all models: minutes now, beside what the best order takes.

Puts together what `reason/weigh` and `reason/order` found. Knows nothing of tables, files and
pictures.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from treewright.lint.rule import Context
from treewright.model.graph import Graph
from treewright.model.tree import Symptom, Tree, on_model
from treewright.reason.order.author import follow_author
from treewright.reason.order.author_plan import author_plan
from treewright.reason.order.exact import Best, best_order
from treewright.reason.order.from_tree import Question, question
from treewright.reason.order.instance import Instance, Last
from treewright.reason.order.keeps import breaches
from treewright.reason.order.plan import Plan, reckon
from treewright.reason.order.ranges import Range, ranges
from treewright.reason.weigh import Weighed, weigh
from treewright.record import record

POINTS = 3000
"""How many points of the job are opened at most, each time an order is looked for."""

LASTS: tuple[Last, ...] = ("inferred", "confirmed")


@record
class Compared:
    """The author's order beside the best one: the same checks, and the set-up they need.

    Attributes:
        author: expected minutes; None where a fault goes astray, so that the author's order
            does less than the best one, or where it breaks a `before`.
        best: of the best order found.
        at_least: what every order takes; the same as `best` where that is proven.
        proven: whether `best` is the best there is.
        points: how many points of the job were looked at for it.
    """

    author: Fraction | None
    best: Fraction
    at_least: Fraction
    proven: bool
    points: int = 0

    @property
    def is_best(self) -> bool:
        """Whether the author's order is proven to be a best one."""
        return self.proven and self.author == self.best


@record
class Ranges:
    """The ranges over which an order stays the best.

    Attributes:
        last: which meaning of the last cause they are for.
        of_author: whether it is the author's order; otherwise the best one.
        ranges: nothing where the best order is not proven.
    """

    last: Last
    of_author: bool
    ranges: tuple[Range, ...]


@record
class Weighing:
    """A symptom on some models.

    Attributes:
        on: "" or " on B60 and B80".
        weighed: the author's tree followed; None where there is nothing to follow.
        compared: for each of `LASTS`, against the best order.
        silent: faults left out, since they show nothing.
        no_share: faults without a share, which count as the mean of the others.
        no_time: checks and conditions without a time; in `compared` they count as the middle
            check and as nothing.
        ranges: where they were asked for.
        refused: why there is nothing to weigh; "" where there is.
    """

    symptom: Symptom
    on: str = ""
    weighed: Weighed | None = None
    compared: tuple[Compared, ...] = ()
    silent: tuple[str, ...] = ()
    no_share: tuple[str, ...] = ()
    no_time: tuple[str, ...] = ()
    ranges: Ranges | None = None
    refused: str = ""


def weigh_tree(
    tree: Tree,
    symptom: str | None = None,
    points: int = POINTS,
    ranges_of: Last | None = None,
) -> tuple[Weighing, ...]:
    """Weighs a tree that could be read whole.

    Args:
        tree: the tree.
        symptom: only this one; None: all.
        points: how many points of the job to open at most, each time an order is looked for.
        ranges_of: find the ranges of shares and times, for this meaning of the last cause.

    Returns:
        By the order of the symptoms; several of one symptom where models differ.
    """
    context = Context(tree)
    weigher = _Weigher(context, points, ranges_of)
    found = []
    for one in tree.symptoms.values():
        if symptom in (None, one.name):

            def on(model: str | None, one: Symptom = one) -> Iterator[Weighing]:
                if on_model(one.models, model):
                    yield weigher.weighing(one, context.graph(model))

            for weighing, where in context.by_model(on):
                several = "" if _everywhere(where.named, one, tree) else str(where)
                found.append(replace(weighing, on=several))
    return tuple(found)


def _everywhere(named: tuple[str, ...], symptom: Symptom, tree: Tree) -> bool:
    """Whether the models named are all on which a symptom can be."""
    return not named or set(named) == {m for m in tree.models if on_model(symptom.models, m)}


@dataclass(slots=True)
class _Weigher:
    context: Context
    points: int
    ranges_of: Last | None
    known: dict[Instance, Best] = field(default_factory=dict)
    known_ranges: dict[tuple[Instance, bool], tuple[Range, ...]] = field(default_factory=dict)

    def weighing(self, symptom: Symptom, graph: Graph) -> Weighing:
        tree = self.context.tree
        try:
            asked = [(last, question(tree, graph, symptom.name, last)) for last in LASTS]
        except ValueError as wrong:
            return Weighing(symptom, refused=str(wrong))
        questions = [(last, of) for last, of in asked if of is not None]
        if not questions:
            return Weighing(symptom, refused="no fault that shows anything is behind it")
        first = questions[0][1]
        weighed = weigh(tree, graph, symptom.name, first)
        if not weighed.faults:
            return Weighing(symptom, refused="every fault behind it leaves too many answers open")
        compared, ranged = [], None
        for last, of in questions:
            one, of_author = self.compare(symptom, graph, of, bool(weighed.open))
            compared.append(one)
            if last == self.ranges_of:
                ranged = Ranges(last, of_author is not None, self.ranges(of, of_author, one))
        left = first.silent, first.no_share, first.no_time
        return Weighing(symptom, "", weighed, tuple(compared), *left, ranged)

    def compare(
        self, symptom: Symptom, graph: Graph, of: Question, left_open: bool
    ) -> tuple[Compared, Plan | None]:
        """The author against the best order; and the author's plan, where that is a best one."""
        tree, best = self.context.tree, self.best(of.instance)
        if left_open:
            return Compared(None, best.expected, best.at_least, best.proven, best.points), None
        author = follow_author(tree, graph, symptom.name, of)
        # An order that finds less, or breaks a `before`, is not to be compared.
        alike = not author.astray and not breaches(of, author)
        compared = Compared(
            author.expected if alike else None, best.expected, best.at_least, best.proven,
            best.points,
        )  # fmt: skip
        if not compared.is_best:
            return compared, None
        plan = author_plan(tree, graph, symptom.name, of)
        as_good = plan is not None and reckon(of.instance, plan).expected == best.expected
        return compared, plan if as_good else None

    def best(self, of: Instance) -> Best:
        if of not in self.known:
            self.known[of] = best_order(of, points=self.points)
        return self.known[of]

    def ranges(self, of: Question, author: Plan | None, one: Compared) -> tuple[Range, ...]:
        if not one.proven:
            return ()
        key = of.instance, author is not None
        if key not in self.known_ranges:
            plan = author or self.best(of.instance).plan
            self.known_ranges[key] = ranges(of.instance, plan, self.points)
        return self.known_ranges[key]
