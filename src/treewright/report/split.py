"""What `treewright split` says: which one new check would help most, in words and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from fractions import Fraction
from textwrap import fill

from treewright.model.graph import Graph
from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree, on_model
from treewright.reason.draft import faults_of
from treewright.reason.order.from_tree import Question, question, question_of
from treewright.reason.order.instance import bits
from treewright.reason.split import (
    POINTS,
    Broken,
    Division,
    best_division,
    broken_group,
    usual_minutes,
)
from treewright.record import record
from treewright.report.terminal import harmless

_WIDTH = 96
_NAMED = 8  # faults on the no side that are named; more are only counted (in JSON all are)


@record
class Advice:
    """The advice for one symptom.

    Attributes:
        models: for which it holds; empty where the tree has none.
        time: minutes that the new check is taken to need.
        question: what the answers of bits stand for.
        division, broken: the two pieces of advice, None where there is nothing to divide.
    """

    tree: Tree
    symptom: str
    models: tuple[str, ...]
    time: Fraction
    question: Question
    division: Division | None
    broken: Broken | None

    def names(self, some: int) -> tuple[str, ...]:
        """The faults of some bits."""
        return tuple(self.question.instance.suspects[at].name for at in bits(some))

    def others(self, yes: int) -> int:
        return self.question.instance.everything & ~yes


def advise(
    tree: Tree, graphs: Sequence[Graph], time: Fraction | None = None, points: int = POINTS
) -> list[Advice]:
    """The advice for each symptom; models that ask the same question have it once.

    Args:
        tree: the tree; where its ways are not written yet, all its checks are taken to be asked.
        graphs: its ways, on each model.
        time: minutes of the new check; None: the median of the checks that are there.
        points: how many points of the job may be opened for one division.
    """
    made: list[Advice] = []
    for symptom in tree.symptoms.values():
        asked: dict[Question, list[str]] = {}
        for graph in graphs:
            if not on_model(symptom.models, graph.model):
                continue
            of = _question(tree, graph, symptom.name)
            if of is not None:
                asked.setdefault(of, []).append(graph.model or "")
        for of, models in asked.items():
            minutes = usual_minutes(of.instance) if time is None else time
            made.append(
                Advice(tree, symptom.name, tuple(filter(None, models)), minutes, of,
                       best_division(of.instance, minutes, points),
                       broken_group(of.instance, minutes, points))
            )  # fmt: skip
    return made


def _question(tree: Tree, graph: Graph, symptom: str) -> Question | None:
    start = tree.symptoms[symptom].start
    if start is not None:
        return question(tree, graph, symptom)
    nodes = [n for n in tree.nodes.values() if on_model(n.models, graph.model)]
    checks = [node for node in nodes if isinstance(node, Check | Reading)]
    faults = faults_of(tree, graph, symptom)
    return question_of(tree, graph.model, [*checks, *faults], silent=True)


# ---- in words --------------------------------------------------------------------------------


def text(advice: Sequence[Advice]) -> str:
    """The advice for people."""
    return "\n".join("\n".join(map(_wrapped, _told(one))) + "\n" for one in advice)


def _wrapped(line: str) -> str:
    indent = " " * (len(line) - len(line.lstrip()))
    return fill(harmless(line.strip()), _WIDTH, initial_indent=indent, subsequent_indent=indent,
                break_on_hyphens=False, break_long_words=False)  # fmt: skip


def _told(one: Advice) -> Iterator[str]:
    models = f" on {', '.join(one.models)}" if one.models else ""
    yield f"{one.tree.name}, {one.symptom}{models}: {one.tree.symptoms[one.symptom].title.text}"
    division, broken = one.division, one.broken
    if division is None:
        yield "  no check tells any of its faults apart, or there is only one"
    elif division.saved <= 0:
        found = "would shorten the job" if division.exact else "was found that shortens the job"
        yield f"  no new check of {_min(one.time)} min {found}"
    else:
        yes, no = one.names(division.yes), one.names(one.others(division.yes))
        rest = _list(no) if len(no) <= _NAMED else f"the {len(no)} others"
        sure = "proven the best division" if division.exact else "the best found, not proven"
        yield (
            f"  a check of {_min(one.time)} min that says yes with {_list(yes)} and no with"
            f" {rest} would bring the expected time from {_min(division.before)} min to"
            f" {_min(division.after)} min ({sure})"
        )
    if broken is None:
        if division is not None:
            yield "  every fault is told apart from every other: there is no group to break"
        return
    yes, no = one.names(broken.yes), one.names(broken.group & ~broken.yes)
    sure = "" if broken.exact else " (the best found)"
    yield (
        f"  no check tells {_list((*yes, *no))} apart: the largest group. It is best broken by a"
        f" check that says yes with {_list(yes)} and no with {_list(no)}: {_percent(broken.part)}"
        f" against {_percent(1 - broken.part)} of its share{sure}"
    )
    yield (
        f"  then {_percent(broken.alone[1])} of all faults, by their shares, are found alone"
        f" instead of {_percent(broken.alone[0])}; on average a fault shares its answers in a"
        f" group of {_number(broken.size[1])} instead of {_number(broken.size[0])}; with"
        f" {_min(one.time)} min the check brings the expected time from {_min(broken.before)} min"
        f" to {_min(broken.after)} min"
    )


def _list(names: Sequence[str]) -> str:
    *first, last = [f"`{name}`" for name in names]
    return f"{', '.join(first)} and {last}" if first else last


def _number(value: Fraction) -> str:
    return f"{float(value):.2f}".rstrip("0").rstrip(".")


def _min(value: Fraction) -> str:
    return f"{float(value):.1f}".removesuffix(".0")


def _percent(value: Fraction) -> str:
    return f"{float(100 * value):.1f}".removesuffix(".0") + " %"


# ---- as JSON ---------------------------------------------------------------------------------


def as_json(advice: Sequence[Advice]) -> str:
    """{"version": 1, "advice": […]}, as grammar/split.schema.json has it; all is ASCII."""
    shown = {"version": 1, "advice": [_one(one) for one in advice]}
    return json.dumps(shown, indent=2) + "\n"


def _one(one: Advice) -> dict[str, object]:
    division, broken = one.division, one.broken
    return {
        "tree": one.tree.name,
        "path": one.tree.source.path,
        "symptom": one.symptom,
        "models": list(one.models),
        "minutes_of_check": float(one.time),
        "division": division
        and {
            "yes": list(one.names(division.yes)),
            "no": list(one.names(one.others(division.yes))),
            "expected_before": float(division.before),
            "expected_after": float(division.after),
            "proven": division.exact,
        },
        "group": broken
        and {
            "faults": list(one.names(broken.group)),
            "yes": list(one.names(broken.yes)),
            "no": list(one.names(broken.group & ~broken.yes)),
            "share_of_yes": float(broken.part),
            "alone_before": float(broken.alone[0]),
            "alone_after": float(broken.alone[1]),
            "mean_size_before": float(broken.size[0]),
            "mean_size_after": float(broken.size[1]),
            "expected_before": float(broken.before),
            "expected_after": float(broken.after),
            "proven": broken.exact,
        },
    }
