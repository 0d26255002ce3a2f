"""A plan of checks as rows, ready to be shown: what is set up, asked, answered and found.

The same rows for people and for programs. What costs no choice stands in one place: numbers,
names and minutes, where a job stands on arrival.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import bits
from treewright.reason.order.plan import Plan, closing, set_up
from treewright.record import record


@record
class Prepared:
    """A condition set up, or undone, in front of a check."""

    condition: str
    undone: bool
    minutes: Fraction


@record
class Found:
    """A fault at an end of a plan.

    `after`: minutes from the start, with all that is paid at the end. `confirm`: the checks that
    are left to do to make sure of it, and `remedy` its minutes: where the last is confirmed.
    """

    fault: str
    after: Fraction
    confirm: tuple[str, ...]
    remedy: Fraction | None


@record
class Answered:
    """Answers of a check that lead to the same row, by its place."""

    labels: tuple[str, ...]
    to: int


@record
class Row:
    """A place of a plan: a check with its answers, or an end with the faults that are left.

    `after`: minutes from the start on arrival. `minutes`: of the check alone.
    """

    after: Fraction
    check: str | None = None
    minutes: Fraction = Fraction(0)
    prepared: tuple[Prepared, ...] = ()
    answers: tuple[Answered, ...] = ()
    found: tuple[Found, ...] = ()


def rows(tree: Tree, of: Question, plan: Plan) -> tuple[Row, ...]:
    """The rows of a plan, the first one first; each before those it leads to."""
    it = of.instance
    made: list[Row] = []
    places: list[Plan] = [plan]
    came = [(0, 0, 0)]  # by row: spent, held and done on arrival
    for at, here in enumerate(places):  # grows while it is walked
        spent, held, done = came[at]
        if here.probe is None:
            found = tuple(_found(of, here, fault, came[at]) for fault in bits(here.faults))
            made.append(Row(Fraction(spent, it.per_minute), found=found))
            continue
        check = here.probe
        node = tree.nodes[it.probes[check].name]
        assert isinstance(node, Check | Reading)
        cost, then = set_up(it, held, it.probes[check].needs)
        answers = []
        for klass, branch in here.branches:
            labels = tuple(node.outcomes[one].label for one in of.answers[check][klass])
            answers.append(Answered(labels, len(places)))
            places.append(branch)
            came.append((spent + cost + it.costs[check], then, done | it.alike[check]))
        made.append(
            Row(
                Fraction(spent, it.per_minute), node.name,
                Fraction(it.costs[check], it.per_minute),
                tuple(_prepared(tree, of, held, it.probes[check].needs)), tuple(answers),
            )
        )  # fmt: skip
    return tuple(made)


def _prepared(tree: Tree, of: Question, held: int, needs: int) -> Iterator[Prepared]:
    """What is undone and set up, in the order in which it is done (see `plan.set_up`).

    What needs no undoing (`undo by: none`) just ends.
    """
    it = of.instance
    for need in bits(needs & ~held):
        for other in bits(it.states[need].excludes & held):
            name = it.states[other].name
            if tree.conditions[name].undo_by is not None:
                yield Prepared(name, True, Fraction(it.undos[other], it.per_minute))
            held &= ~(1 << other)
        yield Prepared(it.states[need].name, False, Fraction(it.setups[need], it.per_minute))
        held |= 1 << need


def _found(of: Question, end: Plan, fault: int, came: tuple[int, int, int]) -> Found:
    it = of.instance
    spent, held, done = came
    confirm: tuple[str, ...] = ()
    remedy = None
    if it.last == "confirmed":
        own = it.suspects[fault].confirm
        row = () if own is None or done >> own & 1 else it.rows[own]
        confirm = tuple(it.probes[one].name for one in row if not done >> one & 1)
        remedy = Fraction(it.remedies[fault], it.per_minute)
    spent += closing(it, fault, end.faults, held, done)
    return Found(it.suspects[fault].name, Fraction(spent, it.per_minute), confirm, remedy)


def number_and_name(tree: Tree, name: str) -> str:
    """ "14 gauge", "F3 worn-rings"."""
    node = tree.nodes[name]
    return f"{node.number} {name}"
