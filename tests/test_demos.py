"""The demo trees: sound, rich enough to show the language, and right about themselves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from demos import DEMOS, EVERY
from walk import Lost, ends_of, follow_case, models_of

from treewright.model.nodes import Fault
from treewright.model.tree import Case, Tree
from treewright.project import Project, lint_loaded
from treewright.text.diagnostic import Level

FOLDER = Path(__file__).parents[1] / "trees"
PATHS = DEMOS
TREES = {path.stem: Project().load(path) for path in PATHS}


def each_tree() -> pytest.MarkDecorator:
    return pytest.mark.parametrize("name", TREES)


def tree_of(name: str) -> Tree:
    tree = TREES[name].tree
    assert tree is not None
    return tree


def faults(tree: Tree) -> Iterator[Fault]:
    return (node for node in tree.nodes.values() if isinstance(node, Fault))


@each_tree()
def test_no_finding_keeps_it_from_being_built(name: str) -> None:
    found = lint_loaded(TREES[name])
    assert [f"{f.rule}: {f.message}" for f in found if f.level is Level.FAULT] == []


@each_tree()
def test_it_is_rich_enough(name: str) -> None:
    tree = tree_of(name)
    assert 25 <= len(tree.nodes) <= 60
    assert 2 <= len(tree.symptoms) <= 5
    assert tree.stages and tree.hazards and tree.conditions and tree.cases
    assert len(list(faults(tree))) >= 10
    assert tree.machine is not None and tree.edition and tree.date


@each_tree()
def test_every_fault_has_what_it_needs(name: str) -> None:
    lacking = [
        fault.name
        for fault in faults(tree_of(name))
        if not (fault.share and fault.cost.minutes and fault.shows and fault.remedy)
    ]
    assert lacking == []


@each_tree()
def test_every_hazard_says_the_harm_and_how_to_avoid_it(name: str) -> None:
    for hazard in tree_of(name).hazards.values():
        assert hazard.harm is not None and hazard.avoid is not None
        assert hazard.at or hazard.whilst


# Makers of the demo machines, invented. A new one is added here by hand, once it is known that
# nobody trades under it.
MAKERS = {"Brindle", "Garnholt", "Tarnmoor", "Wendle"}


def test_no_name_of_a_real_maker_or_product() -> None:
    assert {str(tree_of(name).machine).split()[0] for name in TREES} == MAKERS
    for path in EVERY:
        text = " ".join(path.read_text(encoding="utf-8").split())
        assert not re.search("[®™©]", text)
        # Names are written with a capital inside a sentence; nothing else in these trees is.
        assert set(re.findall(r"(?<=[a-z,;] )[A-Z][a-z]{2,}\w*", text)) <= MAKERS, path.name


def test_two_trees_use_the_library() -> None:
    assert sum(len(tree_of(name).sources) > 1 for name in TREES) >= 2


# ---- cases -----------------------------------------------------------------------------------


def wrong_in_case(tree: Tree, case: Case) -> list[str]:
    """How a case goes wrong, for each model it may be on; empty where it ends as it says."""
    wrong = []
    models = (case.model,) if case.model else models_of(tree)
    for model in models:
        try:
            job = follow_case(tree, case, model)
        except Lost as lost:
            wrong.append(f"{model}: {lost}")
            continue
        assert case.ends is not None
        if job.end != case.ends.name:
            wrong.append(f"{model}: ends at {job.end} by {' → '.join(job.way)}")
    return wrong


@pytest.mark.parametrize(
    ("name", "case"), [(name, case) for name in TREES for case in tree_of(name).cases]
)
def test_a_case_ends_where_it_says(name: str, case: str) -> None:
    tree = tree_of(name)
    assert wrong_in_case(tree, tree.cases[case]) == []


# ---- faults ----------------------------------------------------------------------------------


def wrong_in_fault(tree: Tree, fault: Fault) -> list[str]:
    """How a fault's own shows lead past it or to another fault; empty where they find it."""
    wrong = []
    for model in models_of(tree, fault.models):
        found = False
        for symptom in tree.symptoms.values():
            if model not in models_of(tree, symptom.models):
                continue
            try:
                ends = ends_of(tree, fault, symptom.name, model)
            except Lost as lost:
                wrong.append(f"{model}, {symptom.name}: {lost}")
                continue
            if fault.name not in ends:
                continue
            found = True
            wrong += [
                f"{model}, {symptom.name}: leads to {end} by {' → '.join(way)}"
                for end, way in ends.items()
                if end != fault.name and isinstance(tree.nodes[end], Fault)
            ]
        if not found:
            wrong.append(f"{model}: no symptom leads to it by what it shows")
    return wrong


@pytest.mark.parametrize(
    ("name", "fault"), [(name, fault.name) for name in TREES for fault in faults(tree_of(name))]
)
def test_a_fault_is_found_by_what_it_shows(name: str, fault: str) -> None:
    tree = tree_of(name)
    node = tree.nodes[fault]
    assert isinstance(node, Fault)
    assert wrong_in_fault(tree, node) == []


@each_tree()
def test_every_fault_is_reached(name: str) -> None:
    tree = tree_of(name)
    reached: set[str] = set()
    for symptom in tree.symptoms.values():
        onward = [symptom.start.name] if symptom.start else []
        while onward:
            at = onward.pop()
            if at in reached:
                continue
            reached.add(at)
            node = tree.nodes[at]
            ways = [o.way for o in getattr(node, "outcomes", ())]
            ways += [node.way] if getattr(node, "way", None) else []
            for way in ways:
                targets = (way.target, *(target for _, target in way.by_model))
                onward += [target.name for target in targets if target is not None]
    assert [fault.name for fault in faults(tree) if fault.name not in reached] == []
