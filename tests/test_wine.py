"""Fitted decision trees of another library, written in this language, decide alike.

scikit-learn fits a tree on its bundled data sets (random_state fixed); every split becomes a
reading, every leaf a fault. Each row of the data is then walked through the tree. The library
casts features to 32 bit and goes left where value <= threshold, a 64-bit number. Thresholds
are written with 15 decimals, the most that the language takes: no 32-bit value lies between
such a number and the threshold itself, and a test below looks at the nearest ones.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from sklearn import datasets
from sklearn.tree import DecisionTreeClassifier
from test_lint import load
from walk import Values, judge, walk

from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason import limits

SETS = {
    "wine": datasets.load_wine,
    "iris": datasets.load_iris,
    "breast-cancer": datasets.load_breast_cancer,
}


def decimal(number: float) -> str:
    """A binary fraction as a decimal of at most 15 places, rounded up where it has more."""
    up = Decimal(float(number)).quantize(Decimal("1e-15"), ROUND_CEILING)
    return format(up.normalize(), "f")


def written(name: str, classifier: DecisionTreeClassifier) -> Iterator[str]:
    """The fitted tree in the language."""
    fitted = classifier.tree_
    yield f"tree {name}: Which one is it?"
    yield "  machine: None, a table of measured samples"
    yield "symptom unknown: It is not known which one it is"
    yield "  start at: split-0"
    leaves = []
    for at in range(fitted.node_count):
        if fitted.children_left[at] == fitted.children_right[at]:
            leaves.append(at)
            continue
        threshold = decimal(fitted.threshold[at])
        yield f"reading split-{at}: Feature {fitted.feature[at]}"
        yield "  unit: mm"
        for words, child in (
            (f"at most {threshold}", fitted.children_left[at]),
            (f"above {threshold}", fitted.children_right[at]),
        ):
            is_leaf = fitted.children_left[child] == fitted.children_right[child]
            yield f"  if {words}: " + (f"found leaf-{child}" if is_leaf else f"go split-{child}")
    for at in leaves:
        yield f"fault leaf-{at}: Class {int(fitted.value[at][0].argmax())}"
        yield "  remedy: None."


def fit(name: str) -> tuple[DecisionTreeClassifier, Any]:
    table = SETS[name]()
    classifier = DecisionTreeClassifier(random_state=0).fit(table.data, table.target)
    return classifier, table.data.astype(np.float32)


def read_in(name: str, classifier: DecisionTreeClassifier) -> Tree:
    loaded = load("\n".join(written(name, classifier)) + "\n")
    assert [finding.message for finding in loaded.findings] == []
    assert loaded.tree is not None
    return loaded.tree


@pytest.mark.parametrize("name", SETS)
def test_every_row_ends_at_the_same_leaf(name: str) -> None:
    classifier, rows = fit(name)
    tree = read_in(name, classifier)
    leaves = classifier.apply(rows)
    assert len(set(leaves)) == sum(isinstance(n, Fault) for n in tree.nodes.values())
    for row, leaf in zip(rows, leaves, strict=True):

        def given(node: Check | Reading, time: int, row: Any = row) -> int | Values:
            assert isinstance(node, Reading)
            values = {None: Fraction(float(row[int(node.title.text.split()[-1])]))}
            assert judge(node, None, values) == limits.judge(node, None, values)
            return values

        assert walk(tree, "unknown", given).end == f"leaf-{leaf}"


@pytest.mark.parametrize("name", SETS)
def test_the_last_value_below_a_threshold_goes_left_and_the_next_one_right(name: str) -> None:
    classifier, _ = fit(name)
    tree = read_in(name, classifier)
    readings = [node for node in tree.nodes.values() if isinstance(node, Reading)]
    assert len(readings) == (classifier.tree_.feature >= 0).sum()
    for node in readings:
        threshold = classifier.tree_.threshold[int(node.name.removeprefix("split-"))]
        near = np.float32(threshold)
        left = near if near <= threshold else np.nextafter(near, np.float32(-np.inf))
        right = np.nextafter(left, np.float32(np.inf))
        assert left <= threshold < right
        assert limits.judge(node, None, {None: Fraction(float(left))}) == (0,)
        assert limits.judge(node, None, {None: Fraction(float(right))}) == (1,)
