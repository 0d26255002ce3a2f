"""What `treewright order` says to people: the best order, the author's beside it, the few moves.

An order is a row of checks. Below each check stand its answers: those that end with what is
found, those that go on deeper, and last the one with which the row goes on below.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction

from treewright.lint.words import listed
from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree
from treewright.reason.order.moves import Gain
from treewright.reason.order.plan import deep
from treewright.report.order_plan import Found, Row, number_and_name, rows
from treewright.report.orders import Order, Orders
from treewright.report.terminal import harmless
from treewright.text.quantity import minutes_text, number_text

_STEP = "  "
_NAMED = 6  # names in one note
_MOVES = 5
_LAST = {
    "inferred": "the last cause left is inferred: neither a check that makes sure of it nor its"
    " remedy is counted (`--last confirmed` counts both)",
    "confirmed": "the last cause is confirmed: the check that makes sure of it, where it was not"
    " done on the way, and its remedy are counted (`--last inferred` counts neither)",
}
_SAFETY = (
    "An order by minutes knows nothing of safety. A check that guards the work stays in front of"
    " the work it guards, whatever it tells apart: say so in the tree, with `before`."
)


def text(found: Orders, width: int = 100) -> str:
    """All of a tree: its symptoms, then what single moves would save, then the caution."""
    tree = found.tree
    parts = [f"{tree.name}: {harmless(tree.title.text)}", *_wrapped(_LAST[found.last], "", width)]
    for order in found.orders:
        parts += ["", *_order(order, width)]
    for symptom, why in found.unasked:
        head = f"symptom {symptom.number} {symptom.name}: no order can be found ({harmless(why)})"
        parts += ["", *_wrapped(head, "", width)]
    parts += ["", *_moves(found, width), "", *_wrapped(_SAFETY, "", width)]
    return "\n".join(parts) + "\n"


def plan_text(order: Order) -> list[str]:
    """The best order as indented lines."""
    made = rows(order.tree, order.question, order.best.plan)
    with deep(len(made), 0):
        return list(_lines(order.tree, made, 0, "", order.question.instance.last == "confirmed"))


def summary(order: Order) -> list[str]:
    """What the tree's own order takes, the best, and what is saved: one line each."""
    author, best = order.author, order.best
    now = f"now    {_mean(author.expected)} on average, {minutes_text(author.worst)} at most"
    then = f"best   {_mean(best.expected)} on average, {minutes_text(order.worst)} at most, "
    if best.proven:
        then += "proven: no order takes less"
    else:
        least = _mean(best.at_least)
        then += f"not proven: no order takes less than {least}; {looked(best.points)}"
    return [now, then, _saved(order)]


def looked(points: int) -> str:
    """How far an order was looked for that is not proven to be the best."""
    return f"looked at {points:,} point{'' if points == 1 else 's'} of the job"


# ---- beside the author's ----------------------------------------------------------------------


def _saved(order: Order) -> str:
    saved = order.saved
    if saved is None:
        names = _names(order.tree, order.author.astray)
        goes = "goes" if len(order.author.astray) == 1 else "go"
        return (
            f"no comparison: in the tree {names} {goes} astray by what is shown, so that its order"
            " does less than the best one"
        )
    if saved < 0 and order.breaches:
        less = _mean(-saved)
        return f"saved  nothing: the tree's order takes {less} less, by not keeping to its demands"
    if saved < 0:
        return "saved  nothing: no better order than the tree's was found"
    if not saved:
        return "saved  nothing: no order is better than the tree's"
    part = saved / order.author.expected if order.author.expected else Fraction(0)
    return f"saved  {_mean(saved)} on average ({number_text(part * 100, 0)} %)"


def _order(order: Order, width: int) -> Iterator[str]:
    symptom = order.symptom
    head = f"symptom {symptom.number} {symptom.name}{order.on}: {harmless(symptom.title.text)}"
    yield from _wrapped(head, "", width)
    for line in summary(order):
        yield from _wrapped(line, _STEP, width, "       ")
    for note in _notes(order):
        yield from _wrapped(note, _STEP, width, _STEP)
    yield f"{_STEP}the best order"
    for line in plan_text(order):
        lead = 2 * _STEP + line[: len(line) - len(line.lstrip())]
        yield from _wrapped(harmless(line.lstrip()), lead, max(width, len(lead) + 40), 2 * _STEP)


def _notes(order: Order) -> Iterator[str]:
    """What the figures take for granted, and what they leave out."""
    tree, of = order.tree, order.question
    if order.breaches:
        said = []
        for one in order.breaches[:2]:
            by = "its `before`" if one.by == "before" else "the access ladder"
            check, first = (number_and_name(tree, name) for name in (one.check, one.first))
            said.append(f"{check} is taken while {first} was to come first, by {by}")
        more = len(order.breaches) - len(said)
        said += [f"{more} more such pairs" if more > 1 else "one more such pair"] if more else []
        yield f"the tree does not keep to its own demands, the best order does: {'; '.join(said)}"
    if order.author.besides:
        yield (
            f"besides, in neither figure: {_mean(order.author.besides)} on average for steps, and"
            " for checks that all these faults answer alike"
        )
    if of.no_share:
        taken = "each counts as the mean of the others"
        if len(of.no_share) == len(of.instance.suspects):
            taken = "all count alike"
        yield f"no share is written for {_names(tree, of.no_share)}: {taken}"
    checks = [name for name in of.no_time if name in tree.nodes]
    if checks:
        cost = next(probe.cost for probe in of.instance.probes if probe.name == checks[0])
        taken = minutes_text(Fraction(cost))
        yield f"no time is written for {_names(tree, checks)}: {taken} is taken"
    states = [name for name in of.no_time if name not in tree.nodes]
    if states:
        yield f"no set-up time is written for {_listed(states)}: it counts as nothing"
    if of.silent:
        yield f"left out, as they show nothing: {_names(tree, of.silent)}"
    if order.not_asked:
        yield f"not needed to tell these faults apart: {_names(tree, order.not_asked)}"


# ---- the plan ---------------------------------------------------------------------------------


def _lines(tree: Tree, made: Sequence[Row], at: int, lead: str, sure: bool) -> Iterator[str]:
    while True:
        row = made[at]
        if row.check is None:
            yield f"{lead}{_ends(tree, row.found, sure)}"
            return
        yield f"{lead}{_asked(tree, row)}"
        onward = [one for one in row.answers if made[one.to].check is not None]
        # The row goes on with the normal answer, if it goes on there, else with the last one.
        last = next((one for one in onward if _normal(tree, row, one.labels)), None)
        last = last or (onward[-1] if onward else None)
        for one in row.answers:
            words = listed(one.labels, "or")
            if made[one.to].check is None:
                yield f"{lead}{_STEP}{words}: {_ends(tree, made[one.to].found, sure)}"
            elif one is not last:
                yield f"{lead}{_STEP}{words}:"
                yield from _lines(tree, made, one.to, lead + 2 * _STEP, sure)
        if last is None:
            return
        yield f"{lead}{_STEP}{listed(last.labels, 'or')}: go on"
        at = last.to


def _normal(tree: Tree, row: Row, labels: Sequence[str]) -> bool:
    node = tree.nodes[row.check or ""]
    assert isinstance(node, Check | Reading)
    return any(node.outcomes[at].label in labels for at in node.normal)


def _asked(tree: Tree, row: Row) -> str:
    """ "14 gauge, 2 min; first pump-running (4 min)"."""
    assert row.check is not None
    line = f"{number_and_name(tree, row.check)}, {minutes_text(row.minutes)}"
    if row.prepared:
        first = [
            f"{'undo ' if one.undone else ''}{one.condition} ({minutes_text(one.minutes)})"
            for one in row.prepared
        ]
        line += f"; first {', '.join(first)}"
    return line


def _ends(tree: Tree, found: Sequence[Found], sure: bool) -> str:
    """ "F3 worn-rings, after 12 min"; several where no check tells them apart."""
    said = []
    for one in found:
        words = f"{number_and_name(tree, one.fault)}"
        if len(found) == 1 or sure:
            words += f", after {minutes_text(one.after)}"
        if sure:
            with_it = [f"{number_and_name(tree, name)}" for name in one.confirm]
            with_it += [f"remedy {minutes_text(one.remedy)}"] if one.remedy else []
            words += f" with {listed(with_it)}" if with_it else ""
        said.append(words)
    if len(found) == 1:
        return said[0]
    alike = f"{'; or ' .join(said) if sure else listed(said, 'or')}: no check tells them apart"
    return alike if sure else f"{alike}, after {minutes_text(found[0].after)}"


# ---- moves ------------------------------------------------------------------------------------


def _moves(found: Orders, width: int) -> Iterator[str]:
    if not found.moves:
        nothing = "no single check moved ahead in the tree would save anything worth a word"
        yield from _wrapped(nothing, "", width)
        return
    yield from _wrapped("single moves in the tree, what saves most first", "", width)
    for gain, on in found.moves[:_MOVES]:
        yield from _wrapped(move_text(found.tree, gain, on), _STEP, width, 2 * _STEP)
    if len(found.moves) > _MOVES:
        yield f"{_STEP}{len(found.moves) - _MOVES} more that save less"


def move_text(tree: Tree, gain: Gain, on: str = "") -> str:
    """ "14 gauge in front of 12 look-in (its neighbour): saves 4.2 of 44.3 min from weak"."""
    move = gain.move
    saves = [
        f"{number_text(one.minutes, 1)} of {number_text(one.before, 1)} min from {one.symptom}"
        for one in sorted(gain.saved, key=lambda one: -one.minutes)
        if one.minutes
    ]
    names = (number_and_name(tree, name) for name in (move.then, move.first))
    swap = " (its neighbour)" if move.swap else ""
    return harmless(f"{' in front of '.join(names)}{swap}{on}: saves {listed(saves)}")


# ---- words ------------------------------------------------------------------------------------


def _mean(minutes: Fraction) -> str:
    return f"{number_text(minutes, 1)} min"


def _names(tree: Tree, names: Sequence[str]) -> str:
    return _listed([number_and_name(tree, name) for name in names])


def _listed(names: Sequence[str]) -> str:
    shown = list(names[:_NAMED])
    if len(names) > _NAMED:
        shown.append(f"{len(names) - _NAMED} more")
    return listed(shown)


def _wrapped(line: str, lead: str, width: int, after: str = "") -> Iterable[str]:
    return textwrap.wrap(
        line, max(width, 40), break_on_hyphens=False, initial_indent=lead,
        subsequent_indent=lead + after,
    )  # fmt: skip
