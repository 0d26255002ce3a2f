"""What must be read and set up before a symbol, in words: hazards, set-up, what is undone.

Looks up procedures and hazards, and words what stands beside each node, once for a whole chart
and all parts it is cut into. Knows no symbol and no arrow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from treewright.record import record
from treewright.render.chart.symbols import GRAVITY, Warn
from treewright.render.chart.type import clean, plain_words
from treewright.render.chart.words import notes, particulars
from treewright.render.outline import Hazard, Node, Outline, Procedure, Setup


@record
class Said:
    """What stands at a node, wherever it is drawn.

    Attributes:
        setup: in the symbol before it.
        details: below its title; then what is to be taken again, then `leaving`.
        warnings, remarks: in the annotation before it.
        spoken: what a screen reader says of it; of its hazards alone.
    """

    setup: tuple[str, ...]
    details: tuple[str, ...]
    leaving: tuple[str, ...]
    warnings: tuple[Warn, ...]
    remarks: tuple[str, ...]
    spoken: str
    spoken_hazards: str


@dataclass(slots=True)
class Guard:
    """The hazards and procedures of an outline."""

    outline: Outline
    procedures: dict[str, Procedure] = field(default_factory=dict)
    hazards: dict[str, Hazard] = field(default_factory=dict)
    _warns: dict[str, Warn] = field(default_factory=dict)
    _conditions: dict[str, str] = field(default_factory=dict)
    _said: dict[str, Said] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.procedures = {entry.name: entry for entry in self.outline.procedures}
        self.hazards = {entry.name: entry for entry in self.outline.hazards}
        self._warns = {
            entry.name: Warn(entry.name, entry.signal, plain_words(entry.title))
            for entry in self.outline.hazards
        }
        self._conditions = {c.name: plain_words(c.title) for c in self.outline.conditions}

    def said(self, node: Node) -> Said:
        """What stands at a node."""
        if node.name not in self._said:
            spoken = self.spoken(node.hazards)
            again = "unless it was so the first time"
            self._said[node.name] = Said(
                setup=tuple(map(self.setup, node.setup)),
                details=(
                    *particulars(node),
                    *self.undone("Before you test again", node.takedown, again),
                ),
                leaving=self.undone("Before you leave", node.undo),
                warnings=self.warnings(node.hazards, (*node.setup, *node.takedown, *node.undo)),
                remarks=notes(node),
                spoken=clean(f"{plain_words(node.how)} {spoken}"),
                spoken_hazards=clean(spoken),
            )
        return self._said[node.name]

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
