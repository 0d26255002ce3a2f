"""How large the runs of steps are that could stand on a page as one part.

A stage is taken apart into atoms that are not cut further; the runs of them that could fill a
page are measured, many at once: first those that are likely to fit, then longer ones as long as
they are found to. Knows the draughtsman; nothing of pages beyond their room.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from treewright.render.chart.layout import Draughtsman, Size, figures_of
from treewright.render.chart.pack import Room, Run
from treewright.render.chart.symbols import Plan
from treewright.render.chart.ways import Part

Names = tuple[str, ...]
Atom = tuple[Names, ...]
"""Steps that stay together, each with the ends it leads to."""

_FULL = 0.5  # symbols fill no more of a drawing of several steps (0.47 was the most measured)
_USUAL = 0.3  # what they fill in most
_SURE = 0.2  # of the page: hardly a run of as little, or less, does not fit
_LONGEST = 6  # atoms on a page, about: more would only mean more runs to measure


@dataclass(slots=True)
class Survey:
    """Measures runs as they are asked for, each once.

    Attributes:
        draughtsman: plans and measures.
        stages: of each stage the groups of steps.
    """

    draughtsman: Draughtsman
    stages: Sequence[Sequence[Names]]
    _plans: dict[Names, Plan] = field(default_factory=dict)
    _sizes: dict[Names, Size] = field(default_factory=dict)
    _areas: dict[Names, float] = field(default_factory=dict)

    def runs(
        self, first: Sequence[Room], later: Sequence[Room]
    ) -> tuple[list[Names], dict[Run, Size]]:
        """The atoms, and the size of each run of them that may stand on a page.

        An atom too large for the pages is taken apart, down to a single symbol.

        Args:
            first: the room on the first page, for each way to lay the paper.
            later: on any other page.
        """
        largest = max(room.wide * room.high for room in later)
        stages = [self._atoms(groups, largest) for groups in self.stages]
        while True:
            while wanted := [run for atoms in stages for run in self._wanted(atoms, later)]:
                self._measure(wanted)
            whole = [[self._whole_or_split(atom, later) for atom in atoms] for atoms in stages]
            opening = _names([stages[0][0]])
            if self._fits(opening, later) and not self._fits(opening, first):
                whole[0][0] = list(_split(stages[0][0]))
            finer = [[atom for parts in atoms for atom in parts] for atoms in whole]
            if finer == stages:
                break
            stages = finer
        names: list[Names] = []
        sizes: dict[Run, Size] = {}
        for atoms in stages:
            for start in range(len(atoms)):
                for end in range(start + 1, len(atoms) + 1):
                    size = self._sizes.get(_names(atoms[start:end]))
                    if size is not None:
                        sizes[len(names) + start, len(names) + end] = size
            names.extend(_names([atom]) for atom in atoms)
        return names, sizes

    def _atoms(self, groups: Sequence[Names], largest: float) -> list[Atom]:
        """Groups by the handful where very many would fit on a page."""
        usual = sum(map(self._area, groups)) / len(groups)
        handful = max(1, round(_USUAL * largest / usual / _LONGEST))
        return [tuple(groups[at : at + handful]) for at in range(0, len(groups), handful)]

    def _wanted(self, atoms: Sequence[Atom], rooms: Sequence[Room]) -> list[Names]:
        """What is to be measured next: each atom, the runs that will fit, those that may.

        A run may fit where its symbols leave room for their lines, and where it fits without
        its first atom and without its last.
        """
        largest = max(room.wide * room.high for room in rooms)
        areas = [sum(map(self._area, atom)) for atom in atoms]
        found = []
        for start in range(len(atoms)):
            for end in range(start + 1, len(atoms) + 1):
                full = sum(areas[start:end]) / largest
                if end > start + 1 and full > _FULL:
                    break
                if end > start + 1 and full > _SURE:
                    less = (_names(atoms[start : end - 1]), _names(atoms[start + 1 : end]))
                    if not all(self._fits(names, rooms) for names in less):
                        break
                if (names := _names(atoms[start:end])) not in self._sizes:
                    found.append(names)
        return found

    def _measure(self, wanted: Sequence[Names]) -> None:
        plans = [self._plan(names) for names in wanted]
        self._sizes.update(zip(wanted, self.draughtsman.measured(plans), strict=True))

    def _plan(self, names: Names) -> Plan:
        if names not in self._plans:
            self._plans[names] = self.draughtsman.plan(Part(frozenset(names)))
        return self._plans[names]

    def _area(self, names: Names) -> float:
        if names not in self._areas:
            self._areas[names] = area(self._plan(names))
        return self._areas[names]

    def _whole_or_split(self, atom: Atom, rooms: Sequence[Room]) -> list[Atom]:
        return [atom] if self._fits(_names([atom]), rooms) else list(_split(atom))

    def _fits(self, names: Names, rooms: Sequence[Room]) -> bool:
        """Whether a run was measured and fits."""
        wide, high = self._sizes.get(names, (math.inf, math.inf))
        return any(wide <= room.wide and high <= room.high for room in rooms)


def area(content: Plan) -> float:
    """What the symbols alone take."""
    return sum(shape.width * shape.height for shape in figures_of(content).values())


def _names(atoms: Sequence[Atom]) -> Names:
    return tuple(name for atom in atoms for group in atom for name in group)


def _split(atom: Atom) -> tuple[Atom, ...]:
    """The groups of an atom; of a single group each symbol."""
    if len(atom) > 1:
        return tuple((group,) for group in atom)
    return tuple(((name,),) for name in atom[0])
