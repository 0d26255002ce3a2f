"""Lays the parts of a chart on pages: as few as take them in their order.

Knows only how large each run of steps is when it is drawn as one part; nothing of what it says
or how it was measured. All sizes are in the chart's units.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache

from treewright.record import record

ALLEY = 18.0
"""Space between parts."""

_STACK = 3  # parts in one line at most: more would be hard to follow

_ENOUGH = 1.4  # a page enlarged more than this is no better for it

Run = tuple[int, int]
"""Atoms from the first to before the second, drawn as one part."""

Size = tuple[float, float]


@record
class Room:
    """What one way to lay the paper leaves to the chart."""

    across: bool
    wide: float
    high: float


@record
class Page:
    """Parts in lines: columns read downwards, or rows.

    Attributes:
        across: the paper lies on its side.
        rows: the lines are rows.
        lines: the parts of each.
    """

    across: bool
    rows: bool
    lines: tuple[tuple[Run, ...], ...]

    def runs(self) -> list[Run]:
        """The parts in the order they are read."""
        return [run for line in self.lines for run in line]

    def places(self, sizes: Mapping[Run, Size]) -> tuple[dict[Run, tuple[float, float]], Size]:
        """Left and top of each part, and the room all take together."""
        along, beside = (0, 1) if self.rows else (1, 0)
        places: dict[Run, tuple[float, float]] = {}
        reach = [0.0, 0.0]
        start = 0.0
        for line in self.lines:
            at = 0.0
            for run in line:
                places[run] = (at, start) if self.rows else (start, at)
                at += sizes[run][along] + ALLEY
            deep = start + max(sizes[run][beside] for run in line)
            reach = [max(reach[0], at - ALLEY), deep]
            start = deep + ALLEY
        return places, (reach[0], reach[1]) if self.rows else (reach[1], reach[0])


@record
class _Line:
    """Parts one behind the other, and how broad the broadest is."""

    runs: tuple[Run, ...]
    broad: float


@record
class _Rest:
    """The best pages for all atoms from one onwards.

    Attributes:
        count: of the pages.
        parts: on all of them.
        scales: by which they could be enlarged, summed up.
        page: the first of them.
        next: the atom the one after it begins with.
    """

    count: int
    parts: int
    scales: float
    page: Page | None
    next: int

    def behind(self, page: Page, scale: float, end: int) -> _Rest:
        parts = self.parts + len(page.runs())
        return _Rest(self.count + 1, parts, self.scales + min(scale, _ENOUGH), page, end)

    def worth(self) -> tuple[int, int, float]:
        return -self.count, -self.parts, self.scales


@dataclass(slots=True)
class Packer:
    """Finds the pages for all atoms.

    Attributes:
        count: of the atoms.
        sizes: of the runs that may be drawn as one part; each atom alone is among them.
        first, later: ways to lay the first sheet of paper, and any other.
    """

    count: int
    sizes: Mapping[Run, Size]
    first: tuple[Room, ...]
    later: tuple[Room, ...]
    _from: dict[int, list[int]] = field(default_factory=dict)  # ends of the runs from an atom

    def __post_init__(self) -> None:
        for start, end in sorted(self.sizes):
            self._from.setdefault(start, []).append(end)

    def pages(self) -> list[Page]:
        """As few pages as can be, then as few parts, then as large as the paper takes them.

        An atom larger than any page has one for itself. Where only the first page is too small
        for the first atom, that page stays empty.
        """
        if not self._fits(0, self.first) and self._fits(0, self.later):
            others = Packer(self.count, self.sizes, self.later, self.later)
            return [Page(self.first[0].across, False, ()), *others.pages()]
        lines = cache(self._lines)
        best = [_Rest(0, 0, 0.0, None, self.count)]  # of the atoms from the last to any
        for start in range(self.count - 1, -1, -1):
            found: _Rest | None = None
            for room, page, end in self._options(start, lines):
                rest = best[self.count - end].behind(page, self._scale(page, room), end)
                if found is None or rest.worth() > found.worth():
                    found = rest
            if found is None:
                page, end = self._alone(start), start + 1
                found = best[self.count - end].behind(page, 0.0, end)
            best.append(found)
        pages, at = [], 0
        while at < self.count:
            rest = best[self.count - at]
            assert rest.page is not None
            pages.append(rest.page)
            at = rest.next
        return pages

    def _scale(self, page: Page, room: Room) -> float:
        wide, high = page.places(self.sizes)[1]
        return min(room.wide / wide, room.high / high)

    def _rooms(self, start: int) -> tuple[Room, ...]:
        return self.first if start == 0 else self.later

    def _fits(self, atom: int, rooms: tuple[Room, ...]) -> bool:
        wide, high = self.sizes[atom, atom + 1]
        return any(wide <= room.wide and high <= room.high for room in rooms)

    def _alone(self, atom: int) -> Page:
        wide, high = self.sizes[atom, atom + 1]
        room = max(self._rooms(atom), key=lambda one: min(one.wide / wide, one.high / high))
        return Page(room.across, False, (((atom, atom + 1),),))

    def _options(
        self, start: int, lines: Callable[[int, bool, float], Mapping[int, list[_Line]]]
    ) -> Iterator[tuple[Room, Page, int]]:
        """Pages that begin with an atom, and the atom each ends before."""
        for room in self._rooms(start):
            for rows in (False, True):
                long, broad = (room.wide, room.high) if rows else (room.high, room.wide)
                # By the atom reached and the number of parts: the narrowest way there.
                reached: dict[int, dict[int, tuple[float, tuple[tuple[Run, ...], ...]]]] = {
                    start: {0: (-ALLEY, ())}
                }
                at = start
                while at < self.count:
                    for parts, (used, before) in reached.get(at, {}).items():
                        for end, choices in lines(at, rows, long).items():
                            for line in choices:
                                total = used + ALLEY + line.broad
                                number = parts + len(line.runs)
                                there = reached.setdefault(end, {})
                                if total <= broad and (
                                    number not in there or total < there[number][0]
                                ):
                                    there[number] = (total, (*before, line.runs))
                    at += 1
                    if all(end < at for end in reached):
                        break
                for end, ways in reached.items():
                    if end > start and ways:
                        yield room, Page(room.across, rows, ways[min(ways)][1]), end

    def _lines(self, start: int, rows: bool, long: float) -> dict[int, list[_Line]]:
        """Lines that begin with an atom, by the atom each ends before.

        Of those with the same end and number of parts only the least broad is kept.
        """
        along, beside = (0, 1) if rows else (1, 0)
        found: dict[tuple[int, int], _Line] = {}

        def grow(at: int, left: float, line: _Line) -> None:
            for end in self._from.get(at, ()):
                size = self.sizes[at, end]
                if size[along] > left:
                    continue
                longer = _Line((*line.runs, (at, end)), max(line.broad, size[beside]))
                key = (end, len(longer.runs))
                if key not in found or longer.broad < found[key].broad:
                    found[key] = longer
                if len(longer.runs) < _STACK:
                    grow(end, left - size[along] - ALLEY, longer)

        grow(start, long, _Line((), 0.0))
        ends: dict[int, list[_Line]] = {}
        for (end, _), line in found.items():
            ends.setdefault(end, []).append(line)
        return ends
