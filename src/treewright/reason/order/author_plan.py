"""The author's own order as a plan, where it is one that a best order could be.

That is where, steps and checks that all faults answer alike left out of account, no check is
asked twice, and answers that no fault tells apart lead on alike. Then it can be asked how long
it stays the best.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from treewright.model.answers import squeeze
from treewright.model.graph import Graph
from treewright.model.nodes import Check, Reading, Step, Way
from treewright.model.tree import Tree
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import bits
from treewright.reason.order.plan import Plan, deep


def author_plan(tree: Tree, graph: Graph, symptom: str, of: Question) -> Plan | None:
    """The author's order for a question; None where it cannot be put as a plan.

    Whether it costs what `follow_author` says is for the caller to see: a step may set up
    what no check needs, or put right what a fault shows.
    """
    start = tree.symptoms[symptom].start
    with deep(len(tree.nodes), len(tree.nodes)):
        return _Made(tree, graph, of).plan(
            start.name if start else None, of.instance.everything, frozenset(), {}
        )


class _Made:
    def __init__(self, tree: Tree, graph: Graph, of: Question) -> None:
        self.tree, self.model, self.of = tree, graph.model, of
        self.there = frozenset(graph.vertices)
        self.place = {probe.name: at for at, probe in enumerate(of.instance.probes)}
        self.idle = of.instance.idle

    def plan(
        self, at: str | None, faults: int, been: frozenset[str], known: Mapping[int, str]
    ) -> Plan | None:
        """What is done from a node on while some faults are suspected.

        `known`: what was answered, by the first of the checks that are the same; "" where a
        step may have put it in doubt.
        """
        node = self.tree.nodes.get(at or "")
        if node is None or node.name not in self.there:
            return None
        if isinstance(node, Step):
            if node.name in been:
                return None
            known = dict.fromkeys(known, "") if node.doubts else known
            return self.onward(node.way, faults, been | {node.name}, known)
        if not isinstance(node, Check | Reading) or node.name not in self.place:
            return Plan(faults)
        if node.name in been:
            return None
        check, been = self.place[node.name], been | {node.name}
        first = next(bits(self.of.instance.alike[check]))
        if first in known:
            ways = [one.way for one in node.outcomes if squeeze(one.label) == known[first]]
            return self.onward(ways[0], faults, been, known) if ways else None
        noted = self.of.instance.alike[check] != 1 << check
        branches = []
        for answer, given in enumerate(self.of.instance.probes[check].gives):
            if not faults & given:
                continue
            plans = [
                self.onward(
                    node.outcomes[one].way,
                    faults & given,
                    been,
                    {**known, first: squeeze(node.outcomes[one].label)} if noted else known,
                )
                for one in self.of.answers[check][answer]
            ]
            plan = self.same(plans)
            if plan is None:
                return None
            branches.append((answer, plan))
        if self.idle >> check & 1:
            return self.same(plan for _, plan in branches)
        return Plan(faults, check, tuple(branches))

    def onward(
        self, way: Way | None, faults: int, been: frozenset[str], known: Mapping[int, str]
    ) -> Plan | None:
        target = way.target_on(self.model) if way else None
        return self.plan(target.name if target else None, faults, been, known)

    def same(self, plans: Iterable[Plan | None]) -> Plan | None:
        """The one plan that all of some are."""
        first, *others = plans
        return first if all(other == first for other in others) else None
