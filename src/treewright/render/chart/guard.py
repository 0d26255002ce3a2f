"""What must be read and set up before a symbol, in words: hazards, set-up, what is undone.

Looks up procedures and hazards once for a whole chart. Knows no symbol and no arrow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from treewright.render.chart.symbols import GRAVITY, Warn
from treewright.render.chart.type import clean, plain_words
from treewright.render.outline import Hazard, Outline, Procedure, Setup


@dataclass(slots=True)
class Guard:
    """The hazards and procedures of an outline."""

    outline: Outline
    procedures: dict[str, Procedure] = field(default_factory=dict)
    hazards: dict[str, Hazard] = field(default_factory=dict)
    _warns: dict[str, Warn] = field(default_factory=dict)
    _conditions: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.procedures = {entry.name: entry for entry in self.outline.procedures}
        self.hazards = {entry.name: entry for entry in self.outline.hazards}
        self._warns = {
            entry.name: Warn(entry.name, entry.signal, plain_words(entry.title))
            for entry in self.outline.hazards
        }
        self._conditions = {c.name: plain_words(c.title) for c in self.outline.conditions}

    def warnings(self, names: tuple[str, ...], setups: tuple[Setup, ...] = ()) -> tuple[Warn, ...]:
        """All hazards that must be read before a symbol, the gravest first.

        One bracket says them all, each once: those of the symbol itself and of its set-up, at
        whichever of the two is met first.
        """
        every = list(names)
        for setup in setups:
            if setup.procedure in self.procedures:
                every.extend(self.procedures[setup.procedure].hazards)
        found = [self._warns[name] for name in dict.fromkeys(every) if name in self._warns]
        return tuple(sorted(found, key=lambda warn: GRAVITY.index(warn.signal)))

    def spoken(self, names: Iterable[str]) -> str:
        """What hazards do and how they are avoided, for a screen reader."""
        return " ".join(
            f"{entry.signal.upper()}: {plain_words(entry.harm)} {plain_words(entry.avoid)}"
            for entry in (self.hazards[name] for name in names if name in self.hazards)
        )

    def setup(self, setup: Setup, unless: str = "if not already done") -> str:
        """ "P1 Lock out, if not already done"."""
        entry = self.procedures.get(setup.procedure or "")
        if entry is not None:
            words = f"{entry.number} {plain_words(entry.title)}"
        else:
            words = self._conditions.get(setup.condition, setup.condition)
            words = f"undo: {words}" if setup.undo else words
        return clean(words if setup.always else f"{words}, {unless}")

    def undone(
        self, when: str, setups: tuple[Setup, ...], unless: str = "if not already done"
    ) -> tuple[str, ...]:
        """What is to be undone, and when: before a test is taken again, at an end."""
        words = "; ".join(self.setup(setup, unless) for setup in setups)
        return (f"{when}: {words}.",) if words else ()
