"""The question of the best order as a tree puts it, for one symptom on one model.

Checks that are the `same as` each other, judged alike, are one question: which of them is asked
is a matter of minutes. One of which a fault shows something else is a check of its own.

Checks and set-up are in it. Steps on the author's ways are not, since no other order can say
where they would stand. A fault that shows nothing cannot be followed, and is left out. What must
come `before` a check is in it wherever that check is, also if no way of the author leads there.
"""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from fractions import Fraction
from itertools import combinations
from statistics import median

from treewright.model.graph import Graph, entry
from treewright.model.nodes import Check, Fault, Node, Reading, Step
from treewright.model.same import first_of, judged_alike
from treewright.model.tree import Tree, on_model
from treewright.reason.answers import Answers
from treewright.reason.held import exclusions
from treewright.reason.order.instance import (
    Instance,
    Last,
    Probe,
    State,
    Suspect,
    bits,
    instance,
)
from treewright.record import record

_LADDER = "opened-too-soon"  # the rule that a waiver names to be free of the access ladder


@record
class Question:
    """What a tree asks for one symptom on one model.

    Attributes:
        instance: the numbers; faults, checks and conditions have their names in it.
        answers: by check, for each answer of the instance the answers of the tree that it
            stands for: answers that the same faults give are one.
        silent: faults left out, since they show nothing.
        no_share: faults without a share: they count as the mean of the others, or all alike.
        no_time: checks and conditions without a time: they count as the median check, or a
            minute if no check has a time; conditions without a time count as nothing.
    """

    instance: Instance
    answers: tuple[tuple[tuple[int, ...], ...], ...]
    silent: tuple[str, ...]
    no_share: tuple[str, ...]
    no_time: tuple[str, ...]


def question(tree: Tree, graph: Graph, symptom: str, last: Last = "inferred") -> Question | None:
    """Puts a tree's question for one symptom, on the model of the graph.

    Where the last fault is confirmed, its own check (the cheapest with an answer that it alone
    gives, or faults that are always alike) and its remedy are paid; retests are not counted.

    Returns:
        The question; None where no fault that shows anything is behind the symptom.
    """
    reached = set(graph.reached_from([entry(symptom)], retests=False))
    first = firsts(tree, graph.model)
    for name in list(reached):
        reached |= first.get(name, set())
    nodes = [node for node in tree.nodes.values() if node.name in reached]
    return question_of(tree, graph.model, nodes, last)


def question_of(
    tree: Tree,
    model: str | None,
    nodes: Sequence[Node],
    last: Last = "inferred",
    *,
    silent: bool = False,
) -> Question | None:
    """Puts the question for some of a tree's nodes, whatever ways lead to them.

    Args:
        nodes: the faults to tell apart and the checks that may be asked, in the file's order.
        silent: whether faults that show nothing are in it: every check is normal with them.
    """
    all_faults = [node for node in nodes if isinstance(node, Fault)]
    faults = [fault for fault in all_faults if fault.shows or silent]
    if not faults:
        return None
    checks = [node for node in nodes if isinstance(node, Check | Reading) and node.outcomes]
    first = demanded(tree, model)
    answers = Answers(tree, model)
    shares = [fault.share for fault in faults if fault.share is not None]
    known = sum(shares, Fraction(0))
    mean = known / len(shares) if known else Fraction(1)
    conditions = _conditions(tree, nodes)
    place = {name: at for at, (name, _, _) in enumerate(conditions)}
    number = {check.name: at for at, check in enumerate(checks)}

    classes = [_classes(answers, check, faults) for check in checks]
    same = _same(tree, checks, classes)
    pairs = [(at, one) for at, alike in enumerate(same) for one in bits(alike)]
    doubled = {checks[at].name for pair in pairs for at in pair}
    times = _times(checks, same)
    once = [time for time, alike in zip(times, same, strict=True) if time is not None and not alike]
    usual = median(once) if once else Fraction(1)
    probes = [
        Probe(
            check.name,
            usual if time is None else time,
            tuple(given),
            sum({1 << place[need.name] for need in check.needs if need.name in place}),
            sum(1 << number[one] for one in _awaited(check.name, first, number, doubled)),
            rung=_rung(tree, check),
            same=alike,
        )
        for check, given, alike, time in zip(checks, classes, same, times, strict=True)
    ]
    states = [
        State(
            name,
            setup or 0,
            undo or 0,
            sum({1 << place[other] for other in exclusions(tree, name) if other in place}),
        )
        for name, setup, undo in conditions
    ]
    suspects = [
        Suspect(
            fault.name,
            mean if fault.share is None else fault.share,
            _own_check(at, probes),
            fault.cost.minutes or 0,
        )
        for at, fault in enumerate(faults)
    ]
    return Question(
        instance(suspects, probes, states, last=last, ladder=bool(tree.access)),
        tuple(tuple(given.values()) for given in classes),
        tuple(fault.name for fault in all_faults if fault not in faults),
        tuple(fault.name for fault in faults if fault.share is None),
        (
            *(check.name for check, time in zip(checks, times, strict=True) if time is None),
            *(name for name, setup, _ in conditions if setup is None),
        ),
    )


def demanded(tree: Tree, model: str | None) -> dict[str, set[str]]:
    """By check what must come before it on a model, as it is written."""
    found: dict[str, set[str]] = {}
    for node in tree.nodes.values():
        if isinstance(node, Check | Reading) and on_model(node.models, model):
            for later in node.before:
                found.setdefault(later.name, set()).add(node.name)
    return found


def _awaited(
    check: str, first: Mapping[str, set[str]], there: Mapping[str, int], doubled: Container[str]
) -> set[str]:
    """What is to come before a check of those that are there, at one remove or more; but not
    what one is to wait for that another can stand in for."""
    todo, found = list(first.get(check, ())), set[str]()
    for one in todo:  # grows while it is walked
        if one not in found:
            found.add(one)
            todo += () if one in doubled else first.get(one, ())
    return found & there.keys()


def firsts(tree: Tree, model: str | None) -> dict[str, set[str]]:
    """By check all that must come before it on a model, at one remove or more."""
    found = demanded(tree, model)
    for name in found:
        todo = list(found[name])
        for one in todo:  # grows while it is walked
            todo += found.get(one, set()) - found[name]
            found[name] |= found.get(one, set())
    return found


def _classes(
    answers: Answers, check: Check | Reading, faults: list[Fault]
) -> dict[int, tuple[int, ...]]:
    """The answers of a check by the faults that give them, as bits."""
    given = [answers.given(fault.name, check) for fault in faults]
    # One that gives no answer at all (another finding) may give any.
    given = [some or frozenset(range(len(check.outcomes))) for some in given]
    found: dict[int, tuple[int, ...]] = {}
    for answer in range(len(check.outcomes)):
        those = sum(1 << at for at, some in enumerate(given) if answer in some)
        if those:
            found[those] = (*found.get(those, ()), answer)
    return found


def _same(
    tree: Tree, checks: Sequence[Check | Reading], classes: Sequence[dict[int, tuple[int, ...]]]
) -> list[int]:
    """For each check those before it that are the same: judged alike, with one answer in them
    all, whichever fault there is."""
    found = [0] * len(checks)
    groups: dict[str, list[int]] = {}
    for at, check in enumerate(checks):
        groups.setdefault(first_of(check, tree.nodes), []).append(at)
    for group in groups.values():
        for at, one in combinations(group, 2):
            alike = judged_alike(checks[at], checks[one])
            if alike and sorted(classes[at]) == sorted(classes[one]):
                found[one] |= 1 << at
    return found


def _times(checks: Sequence[Check | Reading], same: Sequence[int]) -> list[Fraction | None]:
    """What each check takes: where it does not say, what one before it that is the same does."""
    found: list[Fraction | None] = []
    for check, alike in zip(checks, same, strict=True):
        told = (found[at] for at in bits(alike) if found[at] is not None)
        own = check.cost.minutes
        found.append(next(told, None) if own is None else own)
    return found


def _own_check(fault: int, probes: list[Probe]) -> int | None:
    """The cheapest check with an answer that a fault gives, and no other that is ever unlike."""
    alike = -1
    for probe in probes:
        for given in probe.gives:
            alike &= given if given >> fault & 1 else ~given
    own = [
        (Fraction(probe.cost), at)
        for at, probe in enumerate(probes)
        if any(given >> fault & 1 and not given & ~alike for given in probe.gives)
    ]
    return min(own)[1] if own else None


def _conditions(
    tree: Tree, nodes: Sequence[Node]
) -> list[tuple[str, Fraction | None, Fraction | None]]:
    """The conditions that checks need, or that exclude those, with what set-up and undo take."""
    needed = {
        need.name for node in nodes for need in node.needs if isinstance(node, Check | Reading)
    }
    wanted = needed | {other for name in needed for other in exclusions(tree, name)}
    by_step: dict[str, Fraction] = {}
    for node in nodes:
        if isinstance(node, Step) and node.cost.minutes is not None:
            for one in node.sets:
                known = by_step.get(one.name, node.cost.minutes)
                by_step[one.name] = min(known, node.cost.minutes)
    found = []
    for name, condition in tree.conditions.items():
        if name in wanted:
            made, undone = condition.set_up_by, condition.undo_by
            setup = _time(tree, made.name) if made else by_step.get(name)
            found.append((name, setup, _time(tree, undone.name) if undone else None))
    return found


def _time(tree: Tree, procedure: str) -> Fraction | None:
    there = tree.procedures.get(procedure)
    return there.cost.minutes if there is not None else None


def _rung(tree: Tree, check: Check | Reading) -> int | None:
    """How deep a check goes; None where it does not say, or where its author has said why it
    may be opened this early."""
    access = check.cost.access
    if any(waiver.rule == _LADDER for waiver in (*tree.waivers, *check.waivers)):
        return None
    return tree.access.index(access.name) if access and access.name in tree.access else None
