"""Known good and still suspect as a job stands: faults, their shares, checks that would decide.

One fault is taken to be there, not several. What each fault shows is judged as in `suspects` and
`answers`. The same as site/js/suspects.js works out on the phone.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from treewright.model.graph import entry, graph
from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason.answers import Answers
from treewright.reason.job.facts import Facts
from treewright.reason.job.places import Place
from treewright.reason.suspects import Suspects
from treewright.record import record


@record
class Weighed:
    """The faults behind a symptom: still open, the most frequent first; and ruled out, each with
    the check that did it (None: its remedy was done)."""

    open: tuple[str, ...]
    out: dict[str, str | None]


class Standing:
    """Weighs the faults of a tree on one model."""

    def __init__(self, tree: Tree, model: str | None = None) -> None:
        self.tree = tree
        self.graph = graph(tree, model)
        self.suspects = Suspects(tree, self.graph)
        self.answers = Answers(tree, model)
        self._order = {fault.name: at for at, fault in enumerate(self.answers.faults)}

    def behind(self, vertex: str) -> tuple[str, ...]:
        """The faults that answers lead to, no remedy being done on the way."""
        return self.suspects.named(self.suspects.behind.get(vertex, 0) & self.suspects.faults)

    def weigh(self, symptom: str, facts: Facts, mended: Sequence[str] = ()) -> Weighed:
        """What the answers leave of the faults behind a symptom.

        Args:
            symptom: its name.
            facts: what the job has brought to light.
            mended: faults whose remedy was done.
        """
        left = dict.fromkeys(self.behind(entry(symptom)))
        out: dict[str, str | None] = {}
        for name in mended:
            if name in left:
                del left[name]
                out[name] = None
        for told in facts.told:
            check = self.tree.nodes[told.check]
            assert isinstance(check, Check | Reading)
            if told.mended and told.answer in check.normal:
                continue
            giving = set(self.suspects.named(self.suspects.gives(check, told.answer)))
            for name in [name for name in left if name not in giving]:
                del left[name]
                out[name] = told.check
        return Weighed(self.by_share(left), out)

    def possible(self, weighed: Weighed, places: Sequence[Place]) -> tuple[str, ...]:
        """The faults that ways still open lead to and that no answer rules out; where the answers
        rule out all of them, the ways alone count."""
        led: dict[str, None] = {}
        for place in places:
            target = place.due or place.node
            if place.state == "end":
                led.update({target.name: None} if isinstance(target, Fault) else {})
            elif target is not None:
                led.update(dict.fromkeys(self.behind(target.name)))
        return tuple(name for name in weighed.open if name in led) or self.by_share(led)

    def by_share(self, faults: dict[str, None]) -> tuple[str, ...]:
        """The most frequent first; those of which no share is written last."""

        def key(name: str) -> tuple[bool, Fraction, int]:
            share = self._share(name)
            return share is None, -(share or Fraction(0)), self._order[name]

        return tuple(sorted(faults, key=key))

    def percents(self, faults: Sequence[str]) -> dict[str, int | None]:
        """Whole per cent of those with a share, halves up; None where none is written."""
        shares = {name: self._share(name) for name in faults}
        whole = sum((share for share in shares.values() if share is not None), Fraction(0))
        return {
            name: None
            if share is None or not whole
            else floor(share / whole * 100 + Fraction(1, 2))
            for name, share in shares.items()
        }

    def deciding(self, faults: Sequence[str]) -> tuple[str, ...]:
        """The checks that differ among faults: those that leave the fewest at worst first."""
        found: list[tuple[int, int, str]] = []
        names = {shown.node.name for name in faults for shown in self._fault(name).shows}
        for at, check in enumerate(self.answers.checks):
            if check.name not in names:
                continue
            left = [
                [name for name in faults if self._gives(name, check, answer)]
                for answer in range(len(check.outcomes))
            ]
            if any(0 < len(row) < len(faults) for row in left):
                found.append((max(map(len, left)), at, check.name))
        return tuple(name for *_, name in sorted(found))

    def _gives(self, fault: str, check: Check | Reading, answer: int) -> bool:
        if not self._fault(fault).shows:
            return True
        return answer in self.answers.given(fault, check)

    def _fault(self, name: str) -> Fault:
        fault = self.tree.nodes[name]
        assert isinstance(fault, Fault)
        return fault

    def _share(self, name: str) -> Fraction | None:
        return self._fault(name).share
