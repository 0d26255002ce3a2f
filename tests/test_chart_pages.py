"""Parts on pages: in their order, none lost, none outside the page, as few pages as can be."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from treewright.render.chart.pack import ALLEY, Packer, Page, Room, Run, Size

UPRIGHT, ACROSS = Room(False, 700, 1000), Room(True, 1000, 700)
PAPER = (ACROSS, UPRIGHT)


def alone(*sizes: Size) -> dict[Run, Size]:
    """Atoms of which no two may be drawn as one part."""
    return {(at, at + 1): size for at, size in enumerate(sizes)}


def packed(sizes: dict[Run, Size], first: tuple[Room, ...] = PAPER) -> list[Page]:
    return Packer(max(end for _, end in sizes), sizes, first, PAPER).pages()


def fewest(sizes: list[Size]) -> int:
    """The fewest pages, found by trying every way to set columns or rows on either page."""
    best = [0]
    for count in range(1, len(sizes) + 1):
        best.append(
            1
            + min(
                best[start]
                for start in range(count)
                if start == count - 1 or any(_fits(sizes[start:count], room) for room in PAPER)
            )
        )
    return best[-1]


def _fits(sizes: list[Size], room: Room) -> bool:
    turned = [(high, wide) for wide, high in sizes]
    return _in_columns(sizes, room.wide, room.high) or _in_columns(turned, room.high, room.wide)


def _in_columns(sizes: list[Size], wide: float, high: float) -> bool:
    if not sizes:
        return True
    for end in range(1, min(3, len(sizes)) + 1):
        column = sizes[:end]
        broad = max(size[0] for size in column)
        tall = sum(size[1] for size in column) + ALLEY * (end - 1)
        if tall <= high and broad <= wide and _in_columns(sizes[end:], wide - broad - ALLEY, high):
            return True
    return False


def test_parts_of_several_stages_share_a_page() -> None:
    (page,) = packed(alone((300, 400), (300, 400), (300, 900)))
    assert page.runs() == [(0, 1), (1, 2), (2, 3)]
    assert len(page.lines) > 1


def test_fewer_parts_are_better_than_more() -> None:
    sizes = {**alone((300, 300), (300, 300)), (0, 2): (500.0, 500.0)}
    (page,) = packed(sizes)
    assert page.runs() == [(0, 2)]


def test_the_paper_lies_as_the_part_does() -> None:
    wide, high = packed(alone((990, 400), (400, 990)))
    assert wide.across and not high.across


def test_a_part_too_large_has_a_page_of_its_own() -> None:
    found = packed(alone((100, 100), (5000, 100), (100, 100)))
    assert [page.runs() for page in found] == [[(0, 1)], [(1, 2)], [(2, 3)]]


def test_the_first_page_takes_less() -> None:
    small = (Room(False, 700, 300),)
    found = packed(alone((600, 250), (600, 250), (600, 250)), small)
    assert [page.runs() for page in found] == [[(0, 1)], [(1, 2), (2, 3)]]


def test_a_first_page_full_of_hazards_stays_without_a_part() -> None:
    found = packed(alone((600, 250), (600, 250)), (Room(False, 700, 100),))
    assert [page.runs() for page in found] == [[], [(0, 1), (1, 2)]]
    assert found[0].places({}) == ({}, (0.0, 0.0))


SIDES = st.integers(min_value=40, max_value=690)


@given(st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=9))
def test_all_parts_stand_in_order_on_the_fewest_pages(sizes: list[tuple[int, int]]) -> None:
    given_sizes = alone(*((float(wide), float(high)) for wide, high in sizes))
    found = packed(given_sizes)
    assert [run for page in found for run in page.runs()] == sorted(given_sizes)
    assert len(found) == fewest(list(given_sizes.values()))
    for page in found:
        room = ACROSS if page.across else UPRIGHT
        places, (wide, high) = page.places(given_sizes)
        assert wide <= room.wide and high <= room.high
        boxes = [(*places[run], *given_sizes[run]) for run in page.runs()]
        for index, (x, y, w, h) in enumerate(boxes):
            assert x >= 0 and y >= 0 and x + w <= wide + 0.01 and y + h <= high + 0.01
            for x2, y2, w2, h2 in boxes[index + 1 :]:
                assert x + w <= x2 or x2 + w2 <= x or y + h <= y2 or y2 + h2 <= y
