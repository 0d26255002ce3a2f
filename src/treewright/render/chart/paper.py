"""The chart on paper: one PDF, on one sheet or cut into several.

A chart is never shrunk below legible type. Where it does not fit, it is cut by stage, a stage
between its steps; the parts of all stages share as few pages as take them in their order, each
page laid across or upright as suits it. The ways from part to part are pairs of connector
circles, which name the page.
"""

from __future__ import annotations

from collections.abc import Sequence

from treewright.record import record
from treewright.render.chart.frame import (
    GAP,
    HAZARD_ALLEY,
    HAZARD_GAP,
    HAZARD_SIZE,
    LARGEST_SCALE,
    LEAST,
    MARGIN,
    PAGE_TITLE,
    REMEDY_SIZE,
    SERIES,
    SIZES,
    USUAL,
    Frame,
    Paper,
    after_remedy,
    frame,
)
from treewright.render.chart.layout import Draughtsman, Drawing, Size
from treewright.render.chart.legend import legend
from treewright.render.chart.pack import Packer, Page, Room
from treewright.render.chart.runs import by_stage, groups
from treewright.render.chart.survey import Names, Survey, area
from treewright.render.chart.symbols import GRAVITY, Plan
from treewright.render.chart.type import DETAIL, clean, plain_words
from treewright.render.chart.ways import Part
from treewright.render.outline import Hazard, Outline
from treewright.render.paper import compile_pdf
from treewright.render.parting import parted

SMALLEST = LEAST / DETAIL
"""The smallest scale (page points by chart points) at which a chart may be printed."""


@record
class Spot:
    """A drawing and where it stands on its page, in the chart's units."""

    drawing: Drawing
    left: float
    top: float


@record
class Sheet:
    """One page: what is drawn on it and where, how large all of it is, and the scale."""

    spots: tuple[Spot, ...]
    size: Size
    frame: Frame
    scale: float


def paper_needed(outline: Outline, draughtsman: Draughtsman) -> Paper | None:
    """The smallest of A4 to A0 that holds the chart on one sheet; None: none does."""
    paper, sheets = _sheets(outline, draughtsman, SERIES)
    return paper if len(sheets) == 1 and sheets[0].scale >= SMALLEST else None


def pdf(outline: Outline, draughtsman: Draughtsman, paper: Paper | None) -> bytes:
    """The chart as PDF.

    Args:
        outline: the compiled tree.
        draughtsman: draws its chart.
        paper: None: A4 where that holds the chart on one sheet, otherwise A3.

    Raises:
        PaperError: the page could not be made.
    """
    used, sheets = _sheets(outline, draughtsman, (paper,) if paper is not None else USUAL)
    return printed(outline, used, sheets, after_remedy(outline))


def on_one_sheet(
    outline: Outline, drawing: Drawing, hazards: Sequence[Hazard], paper: Paper | None, foot: str
) -> bytes:
    """One drawing on one sheet, with head and legend: on A4, or the smallest that is legible.

    Args:
        outline: the compiled tree.
        drawing: what is printed.
        hazards: the ones to be listed, the gravest first.
        paper: None: the first of A4 to A0 on which no type is below 8 pt.
        foot: what stands at the foot; no longer than what is said there of a remedy.

    Raises:
        PaperError: the page could not be made.
    """
    papers = (paper,) if paper is not None else SERIES
    for used in papers:
        frames = [
            frame(outline, tuple(hazards), used, across=across, first=True)
            for across in (False, True)
        ]
        best = max(frames, key=lambda one: _scale(drawing.size, one))
        sheet = _sheet((Spot(drawing, 0.0, 0.0),), drawing.size, best)
        if sheet.scale >= SMALLEST:
            break
    return printed(outline, used, [sheet], foot)


def printed(outline: Outline, used: Paper, sheets: Sequence[Sheet], foot: str) -> bytes:
    """Sheets as PDF.

    Raises:
        PaperError: the page could not be made.
    """
    data = {
        "title": plain_words(outline.title),
        "machine": plain_words(outline.machine),
        "mark": clean(outline.mark),
        "remedy": foot,
        "margin": MARGIN,
        "gap": GAP,
        "title_size": PAGE_TITLE,
        "hazard_size": HAZARD_SIZE,
        "hazard_gap": HAZARD_GAP,
        "hazard_alley": HAZARD_ALLEY,
        "remedy_size": REMEDY_SIZE,
        "pages": [_page(sheet, used) for sheet in sheets],
    }
    return compile_pdf(
        "chart.typ",
        parted(data),
        title=plain_words(outline.title),
        language=outline.language,
        date=outline.date,
    )


def _page(sheet: Sheet, paper: Paper) -> dict[str, object]:
    frame = sheet.frame
    width, height = SIZES[paper][::-1] if frame.across else SIZES[paper]
    symbols, tall = legend(frame.room)
    return {
        "width": width,
        "height": height,
        "head": frame.head,
        "hazards": [[_hazard(hazard) for hazard in column] for column in frame.hazards],
        "drawings": [
            {
                "svg": spot.drawing.svg,
                "left": spot.left * sheet.scale,
                "top": spot.top * sheet.scale,
                "width": spot.drawing.size[0] * sheet.scale,
                "height": spot.drawing.size[1] * sheet.scale,
            }
            for spot in sheet.spots
        ],
        "drawn": [length * sheet.scale for length in sheet.size],
        "left": frame.height,
        "legend": {"svg": symbols, "height": tall} if frame.foot else None,
    }


def _hazard(hazard: Hazard) -> dict[str, str]:
    return {
        "signal": hazard.signal,
        "title": plain_words(hazard.title),
        "harm": plain_words(hazard.harm),
        "avoid": plain_words(hazard.avoid),
    }


def _sheets(
    outline: Outline, draughtsman: Draughtsman, papers: Sequence[Paper]
) -> tuple[Paper, list[Sheet]]:
    """The first of the papers that takes the chart on one sheet, or the last of them."""
    plan = draughtsman.plan()
    least, drawing = area(plan), None
    stages = by_stage(outline, frozenset(plan.nodes))
    survey = Survey(draughtsman, [groups(outline, stage) for stage in stages])
    for used in papers:
        frames = {
            (first, across): frame(
                outline,
                hazards_of(outline, plan) if first else (),
                used,
                across=across,
                first=first,
            )
            for first in (True, False)
            for across in (False, True)
        }
        rooms = [frames[True, across] for across in (False, True)]
        if least <= max(one.room * one.height for one in rooms) / SMALLEST**2:
            drawing = drawing or draughtsman.whole_drawn()
            best = max(rooms, key=lambda one: _scale(drawing.size, one))
            whole = _sheet((Spot(drawing, 0.0, 0.0),), drawing.size, best)
            if whole.scale >= SMALLEST or not stages:
                return used, [whole]
        elif used != papers[-1]:
            continue  # not even the symbols alone would fit on one sheet
        sheets = _cut_up(draughtsman, survey, frames)
        if len(sheets) == 1 or used == papers[-1]:
            return used, sheets
    raise AssertionError("the last paper takes as many pages as are needed")


def _cut_up(
    draughtsman: Draughtsman, survey: Survey, frames: dict[tuple[bool, bool], Frame]
) -> list[Sheet]:
    """The pages of a chart that is cut, each legible.

    Once the pages are known a part may come out a little larger than when it was measured;
    then it is cut again for a little less room. One symbol too large for the page stays
    smaller.
    """
    sheets: list[Sheet] = []
    names, sizes = survey.runs(_rooms(frames, first=True), _rooms(frames, first=False))
    for share in (1.0, 0.96, 0.92, 0.86):
        first, later = (_rooms(frames, first=first, share=share) for first in (True, False))
        pages = Packer(len(names), sizes, first, later).pages()
        sheets = _drawn(draughtsman, names, pages, frames)
        if all(sheet.scale >= SMALLEST for sheet in sheets):
            break
    return sheets


def _rooms(
    frames: dict[tuple[bool, bool], Frame], *, first: bool, share: float = 1.0
) -> tuple[Room, ...]:
    """What the paper leaves to the smallest chart, across and upright."""
    return tuple(
        Room(across, one.room / SMALLEST * share, one.height / SMALLEST * share)
        for across in (True, False)
        for one in (frames[first, across],)
    )


def _drawn(
    draughtsman: Draughtsman,
    names: list[Names],
    pages: list[Page],
    frames: dict[tuple[bool, bool], Frame],
) -> list[Sheet]:
    runs = [(run, number) for number, page in enumerate(pages, 1) for run in page.runs()]
    inside = {run: [name for atom in names[run[0] : run[1]] for name in atom] for run, _ in runs}
    at = {name: number for run, number in runs for name in inside[run]}
    plans = [draughtsman.plan(Part(frozenset(inside[run]), number, at)) for run, number in runs]
    drawings = dict(zip(inside, draughtsman.drawn(plans), strict=True))
    sizes = {run: drawing.size for run, drawing in drawings.items()}
    sheets = []
    for number, page in enumerate(pages, 1):
        places, size = page.places(sizes)
        spots = tuple(Spot(drawings[run], *place) for run, place in places.items())
        sheets.append(_sheet(spots, size, frames[number == 1, page.across]))
    return sheets


def _sheet(spots: tuple[Spot, ...], size: Size, frame: Frame) -> Sheet:
    return Sheet(spots, size, frame, _scale(size, frame))


def _scale(size: Size, frame: Frame) -> float:
    """As large as the page takes it."""
    return min(frame.room / max(size[0], 1.0), frame.height / max(size[1], 1.0), LARGEST_SCALE)


def hazards_of(outline: Outline, plan: Plan) -> tuple[Hazard, ...]:
    """The hazards a plan warns of, the gravest first."""
    names = {warning.name for symbol in plan.symbols for warning in symbol.warnings}
    return tuple(
        sorted(
            (hazard for hazard in outline.hazards if hazard.name in names),
            key=lambda hazard: GRAVITY.index(hazard.signal),
        )
    )
