"""What a check answers along one way of the tree, with a fault present: first, and asked again.

A check says what the fault shows there. Where it may say several things, each comes equally
often; answers that no fault tells apart count as one. Asked again it says the same, until a
step has put it in doubt: then what the fault shows may have been put right, so that the normal
answer can come as well, and what was answered before does not come again as long as there is
another. Checks that are the same say the same: asked at one of them is asked at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from fractions import Fraction
from functools import cached_property
from typing import TypeAlias

from treewright.model.answers import squeeze
from treewright.model.graph import Graph
from treewright.model.nodes import Check, Reading, Step
from treewright.model.tree import Tree
from treewright.reason.order.from_tree import Question
from treewright.reason.order.instance import answers, bits
from treewright.reason.prove import Prover
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Trips
from treewright.reason.ways import ways
from treewright.record import record

NOTHING: frozenset[str] = frozenset()

# Faults that are followed together, each with how often it comes this way (of 1).
Group: TypeAlias = tuple[tuple[int, Fraction], ...]


@record
class Said:
    """What was answered on a way so far.

    `answers`: by check its answers, in order. `mended`: checks where the normal answer can come
    as well by now. `doubted`: those of them that were put in doubt since they were asked. All by
    the first of those checks that are the same.
    """

    answers: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    mended: frozenset[str] = NOTHING
    doubted: frozenset[str] = NOTHING

    @property
    def key(self) -> tuple[object, ...]:
        """The same where the same was said."""
        return tuple(sorted(self.answers.items())), self.mended, self.doubted


class Asked:
    """Answers for the faults of a question."""

    def __init__(self, tree: Tree, graph: Graph, of: Question) -> None:
        self.of, self.tree, self.graph = of, tree, graph
        self.place = {probe.name: at for at, probe in enumerate(of.instance.probes)}
        names = [probe.name for probe in of.instance.probes]
        self._first = {name: names[next(bits(alike))] for name, alike in
                       zip(names, of.instance.alike, strict=True)}  # fmt: skip

    def known(self, node: Check | Reading, said: Said) -> bool:
        """Whether checks that are the same were asked, and nothing put the answer in doubt."""
        first = self._first[node.name]
        alone = self.of.instance.alike[self.place[first]] == 1 << self.place[first]
        return not alone and first in said.answers and first not in said.doubted

    def _here(self, node: Check | Reading, first: Check | Reading, answer: int) -> int:
        """An answer of the first of those that are the same, as this one has it."""
        if node.name == first.name:
            return answer
        label = squeeze(first.outcomes[answer].label)
        return next(at for at, one in enumerate(node.outcomes) if squeeze(one.label) == label)

    @cached_property
    def _prover(self) -> Prover:
        """Only there where a step puts something in doubt."""
        trips = Trips(ways(self.tree, self.graph, self.graph.model))
        return Prover(trips, Suspects(self.tree, self.graph))

    def at(
        self, fault: int, node: Check | Reading, said: Said
    ) -> Iterator[tuple[int, Fraction, Said]]:
        """The answers that can come, how often each does (of 1), and what is said by then."""
        for answer, ((_, part),), then in self.of_group(((fault, Fraction(1)),), node, said):
            yield answer, part, then

    def of_group(
        self, group: Group, node: Check | Reading, said: Said
    ) -> Iterator[tuple[int, Group, Said]]:
        """The same for faults that said the same so far: those that can give each answer."""
        first = self.tree.nodes[self._first[node.name]]
        assert isinstance(first, Check | Reading)
        for answer, some, then in self._of_first(group, first, said):
            yield self._here(node, first, answer), some, then

    def _of_first(
        self, group: Group, node: Check | Reading, said: Said
    ) -> Iterator[tuple[int, Group, Said]]:
        before = said.answers.get(node.name, ())
        if before and node.name not in said.doubted:
            yield before[-1], group, said
            return
        new: dict[int, list[tuple[int, Fraction]]] = {}
        again = []
        for fault, part in group:
            classes = self._classes(fault, node, node.name in said.mended)
            fresh = [tuple(answer for answer in same if answer not in before) for same in classes]
            left = [same for same in fresh if same]
            again += [] if left else [(fault, part)]
            for same in left:
                ways_on = len(left) * len(same)
                for answer in same:
                    one = fault, part / ways_on if ways_on > 1 else part
                    new.setdefault(answer, []).append(one)
        if again:
            yield before[-1], tuple(again), said
        for answer, some in new.items():
            then = replace(
                said,
                answers={**said.answers, node.name: (*before, answer)},
                doubted=said.doubted - {node.name},
            )
            yield answer, tuple(some), then

    def _classes(
        self, fault: int, node: Check | Reading, mended: bool
    ) -> list[tuple[int, ...]]:
        """The answers that can come, those together that no fault tells apart."""
        at = self.place[node.name]
        classes = self.of.answers[at]
        given = set(bits(answers(self.of.instance.probes[at], fault)))
        rest: tuple[int, ...] = ()
        if mended:
            normal = set(node.normal)
            given |= {one for one, same in enumerate(classes) if normal & set(same)}
            known = {answer for same in classes for answer in same}
            rest = tuple(sorted(normal - known))
        found = [classes[one] for one in sorted(given)]
        return [*found, rest] if rest else found

    def after(self, fault: int, step: Step | None, said: Said) -> Said:
        """What is said once a step is done."""
        if step is None or not step.doubts:
            return said
        mends = self._prover.mends(self.of.instance.suspects[fault].name, step.name)
        if not mends:
            return said
        mends = frozenset(self._first.get(name, name) for name in mends)
        return replace(said, mended=said.mended | mends, doubted=said.doubted | mends)
