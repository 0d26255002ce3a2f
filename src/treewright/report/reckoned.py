"""What a tree costs and what would be better, as the reviewer's page shows it.

The same as `treewright matrix`, `weigh`, `order` and `split` say, but with a shorter search: a
page is made of many trees at once. What is not proven by then says so.
"""

from __future__ import annotations

from treewright.model.graph import graph
from treewright.model.nodes import Fault
from treewright.model.tree import Tree
from treewright.record import record
from treewright.report import order, split, weigh
from treewright.report.matrix import matrices
from treewright.report.matrix_picture import matrix_picture
from treewright.report.orders import find_orders
from treewright.report.weigh_picture import weigh_picture
from treewright.report.weighed import weigh_tree

POINTS = 400
"""Points of a job that are opened for one symptom."""

SPLIT_POINTS = 20
"""Points that are opened for one of the many divisions that are tried."""

_WIDTH = 100


@record
class Reckoned:
    """Pictures as SVG, all else as text in lines.

    Attributes:
        matrix, bars: faults by checks; where the time goes.
        minutes, orders, advice: what `weigh`, `order` and `split` say.
    """

    matrix: str
    bars: str
    minutes: str
    orders: str
    advice: str


def reckoned(tree: Tree) -> Reckoned | None:
    """What a sound tree costs, and what would be better; None where it has no faults."""
    if not any(isinstance(node, Fault) for node in tree.nodes.values()):
        return None
    weighed = weigh_tree(tree, points=POINTS)
    graphs = [graph(tree, model) for model in tree.models or (None,)]
    return Reckoned(
        matrix=matrix_picture(matrices(tree), tree.title.text, tree.language),
        bars=weigh_picture(weighed, "inferred", tree.title.text, tree.language),
        minutes=weigh.text(tree, weighed, "inferred", _WIDTH),
        orders=order.text(find_orders(tree, points=POINTS), _WIDTH),
        advice=split.text(split.advise(tree, graphs, points=SPLIT_POINTS)),
    )
