"""What a job has brought to light: answers, and what steps and remedies put in doubt since.

The same as site/js/facts.js works out on the phone. Knows nothing of ways.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.model.same import Same
from treewright.model.tree import Tree
from treewright.model.written import Name
from treewright.reason.job.frames import Entry
from treewright.reason.limits import judge
from treewright.record import record
from treewright.text.units import convert, typable


@record
class Told:
    """An answer that was given. `mended`: if it is good, a step may have made it so."""

    check: str
    answer: int
    mended: bool


@dataclass(slots=True)
class Facts:
    """What is known by now.

    Attributes:
        same: for each check the others that ask the same thing.
        known: by check, its last answer that nothing has put in doubt since.
        told: every answer that speaks about the fault, in the order in which they were given.
        mending: the checks whose good answer may only say that a step has mended what was bad.
    """

    same: Mapping[str, tuple[Same, ...]]
    known: dict[str, Entry] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)
    mending: set[str] = field(default_factory=set)

    def answer(self, check: str, entry: Entry) -> None:
        """A check is answered. What was found at others that ask the same is out of date then,
        unless the answer is only what was found there."""
        assert entry.answer is not None
        if not entry.by:
            for one in self.same.get(check, ()):
                self.known.pop(one.node, None)
        self.known[check] = entry
        self.told.append(Told(check, entry.answer, entry.mended or check in self.mending))

    def known_elsewhere(self, tree: Tree, node: Check | Reading, model: str | None) -> Entry | None:
        """What an answer that stands at another check says at this one, which was not asked yet."""
        if node.name in self.known:
            return None
        for one in self.same.get(node.name, ()):
            if one.node in self.known:
                entry = self.known[one.node]
                answer = _answer_of(tree, node, model, entry, one)
                if answer is None:
                    return None
                return Entry(
                    f"node/{node.name}", answer, kept=True, mended=entry.mended,
                    by=entry.by or one.node, values=entry.values,
                )  # fmt: skip
        return None

    def doubted(self, names: Iterable[Name]) -> dict[str, None]:
        """What is in doubt at one check is so at all that ask the same."""
        return {
            name: None
            for one in names
            for name in (one.name, *(other.node for other in self.same.get(one.name, ())))
        }

    def step(self, step: Step) -> None:
        """A step is done."""
        for name in self.doubted(step.doubts or ()):
            self.known.pop(name, None)
            self.mending.add(name)

    def remedy(self, fault: Fault) -> None:
        """A remedy is done: where it says nothing of what it puts in doubt, everything is."""
        if fault.doubts is None:
            self.known.clear()
            self.mending.clear()
            self.told.clear()
            return
        doubts = self.doubted(fault.doubts)
        for name in doubts:
            self.known.pop(name, None)
        self.told = [one for one in self.told if one.check not in doubts]


def _answer_of(
    tree: Tree, node: Check | Reading, model: str | None, entry: Entry, same: Same
) -> int | None:
    """Numbers are judged by the limits that hold here; None where they cannot be written here."""
    assert entry.answer is not None
    if not isinstance(node, Reading) or not entry.values:
        return same.answers[entry.answer]
    systems = (tree.units, tree.also) if tree.also else (tree.units,)
    units = typable(node.unit, systems) if node.unit else ()
    read = {}
    for place, value, unit in entry.values:
        if unit not in units or node.unit is None:
            return None
        read[place] = convert(value, unit, node.unit)
    return next(iter(judge(node, model, read)), None)
