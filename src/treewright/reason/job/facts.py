"""What a job has brought to light: answers, and what steps and remedies put in doubt since.

The same as site/js/facts.js works out on the phone. Knows nothing of ways.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from treewright.model.nodes import Fault, Step
from treewright.record import record


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
        known: by check, its last answer that nothing has put in doubt since.
        told: every answer that speaks about the fault, in the order in which they were given.
        mending: the checks whose good answer may only say that a step has mended what was bad.
    """

    known: dict[str, int] = field(default_factory=dict)
    told: list[Told] = field(default_factory=list)
    mending: set[str] = field(default_factory=set)

    def answer(self, check: str, answer: int, *, mended: bool = False) -> None:
        self.known[check] = answer
        self.told.append(Told(check, answer, mended or check in self.mending))

    def step(self, step: Step) -> None:
        """A step is done."""
        for doubt in step.doubts or ():
            self.known.pop(doubt.name, None)
            self.mending.add(doubt.name)

    def remedy(self, fault: Fault) -> None:
        """A remedy is done: where it says nothing of what it puts in doubt, everything is."""
        if fault.doubts is None:
            self.known.clear()
            self.mending.clear()
            self.told.clear()
            return
        doubts = {doubt.name for doubt in fault.doubts}
        for name in doubts:
            self.known.pop(name, None)
        self.told = [one for one in self.told if one.check not in doubts]
