"""The flowchart of a tree: one SVG for the page and the wall.

Reads an outline and nothing else. In order: what stands on the chart (plan), how large each
symbol is (shape), the graph (dot), its layout (engine, layout), which lines cross and are better
a pair of circles (untangle), the drawing (svg); for paper, how large its parts are (survey), which
stand on which page (pack), and the pages (paper).
"""

from __future__ import annotations

from treewright.render.chart import paper as on_paper
from treewright.render.chart.dot import source
from treewright.render.chart.engine import ChartError, Engine, find_engine
from treewright.render.chart.frame import Paper
from treewright.render.chart.layout import Draughtsman, figures_of
from treewright.render.chart.plan import plan_chart
from treewright.render.cut import cut
from treewright.render.outline import Outline
from treewright.render.paper import legible, missing_glyphs

__all__ = [
    "PROLOG", "ChartError", "Paper", "dot_source", "overview", "paper_needed", "pdf", "svg",
    "tiles",
]  # fmt: skip

PROLOG = '<?xml version="1.0" encoding="UTF-8"?>\n'
"""Stands before the `svg` element in a file of its own."""


def dot_source(outline: Outline, *, model: str | None = None, symptom: str | None = None) -> str:
    """The chart in Graphviz's DOT language, with every word of it.

    As it is first laid out: lines that then turn out to cross are still lines here.

    Args:
        outline: the compiled tree.
        model: leave out what is only for other models.
        symptom: draw only what can be reached from this one.

    Raises:
        LookupError: the tree has no such symptom or model.
    """
    content = plan_chart(cut(outline, symptom, model))
    return source(content, figures_of(content))


def svg(
    outline: Outline,
    *,
    model: str | None = None,
    symptom: str | None = None,
    highlight: str | None = None,
    run: Engine | None = None,
    program: str | None = None,
) -> str:
    """The chart as one `svg` element that can stand in a page of HTML.

    Write `PROLOG` before it for a file of its own.

    Args:
        outline: the compiled tree.
        model: leave out what is only for other models.
        symptom: draw only what can be reached from this one.
        highlight: a symptom, fault or other node whose ways stand out.
        run: the engine; None: the one installed with the toolkit.
        program: another program to lay it out with, such as "dot"; None: the installed one.

    Raises:
        ChartError: the chart cannot be drawn.
        LookupError: the tree has no such symptom or model, or nothing that is to stand out.
    """
    engine = run or find_engine(program)
    _, draughtsman = _drawn_by(outline, symptom, model, highlight, engine)
    return draughtsman.whole_drawn().svg


def pdf(
    outline: Outline,
    paper: Paper | None = None,
    *,
    model: str | None = None,
    symptom: str | None = None,
    highlight: str | None = None,
    run: Engine | None = None,
    program: str | None = None,
) -> bytes:
    """The chart as PDF, with its title, edition mark, hazards and a legend.

    Type is never smaller than 8 pt: a chart too large for the paper is cut into parts, and
    these stand on as few pages as take them.

    Args:
        paper: None: A4 where that holds the chart on one sheet, otherwise A3.
        outline, model, symptom, highlight, run, program: as for `svg`.

    Raises:
        ChartError: the chart cannot be drawn.
        LookupError: the tree has no such symptom or model, or nothing that is to stand out.
        PaperError: the page could not be made.
    """
    engine = run or find_engine(program)
    asked, draughtsman = _drawn_by(outline, symptom, model, highlight, engine, legibly=True)
    return on_paper.pdf(asked, draughtsman, paper)


def tiles(
    outline: Outline,
    paper: Paper = "a4",
    *,
    model: str | None = None,
    symptom: str | None = None,
    highlight: str | None = None,
    run: Engine | None = None,
    program: str | None = None,
) -> bytes:
    """The chart as one large picture, cut over as many sheets as it takes, to be put together.

    Args:
        paper: the paper at hand.
        outline, model, symptom, highlight, run, program: as for `svg`.

    Raises:
        ChartError, LookupError, PaperError: as for `pdf`.
    """
    from treewright.render.chart.shape import ENTRY_CIRCLE
    from treewright.render.chart.tiling import pdf as tiled

    engine = run or find_engine(program)
    asked, draughtsman = _drawn_by(outline, symptom, model, highlight, engine, legibly=True)
    plan, laid = draughtsman.whole()
    largest = max((max(one.width, one.height) / 2 for one in laid[0].values()), default=0.0)
    reach = largest + 4 * ENTRY_CIRCLE
    return tiled(asked, draughtsman.whole_drawn(), reach, on_paper.hazards_of(asked, plan), paper)


def overview(
    outline: Outline,
    paper: Paper | None = None,
    *,
    model: str | None = None,
    run: Engine | None = None,
    program: str | None = None,
) -> tuple[str, bytes]:
    """The stages of the tree on one page, as SVG and as PDF.

    Args:
        paper: None: A4, or the smallest on which it is legible.
        outline, model, run, program: as for `svg`.

    Raises:
        ChartError, LookupError, PaperError: as for `pdf`.
    """
    from treewright.render.chart.stages import FOOT, plan_overview

    asked = cut(outline, None, model)
    draughtsman = _for_paper(asked, run or find_engine(program))
    (drawing,) = draughtsman.drawn([draughtsman.worded(plan_overview(asked))])
    printed = on_paper.on_one_sheet(asked, drawing, asked.hazards, paper, FOOT)
    return drawing.svg, printed


def paper_needed(
    outline: Outline,
    *,
    model: str | None = None,
    symptom: str | None = None,
    run: Engine | None = None,
) -> Paper | None:
    """The smallest of A4 to A0 that holds the chart on one sheet with type of 8 pt; None: none.

    Raises:
        ChartError: the chart cannot be drawn.
        LookupError: the tree has no such symptom or model.
    """
    asked = cut(outline, symptom, model)
    return on_paper.paper_needed(asked, _for_paper(asked, run or find_engine()))


def _drawn_by(
    outline: Outline,
    symptom: str | None,
    model: str | None,
    highlight: str | None,
    run: Engine,
    *,
    legibly: bool = False,
) -> tuple[Outline, Draughtsman]:
    """The part of the tree that is asked for, and who draws its chart."""
    asked = cut(outline, symptom, model)
    reword = legible if legibly and missing_glyphs(outline) else None
    if highlight is None:
        return asked, Draughtsman(asked, run, reword)
    from treewright.render.chart.highlight import Highlighter, titled, ways_of

    ways = ways_of(asked, highlight)
    asked = titled(asked, highlight)
    draughtsman = Highlighter(asked, run, reword)
    draughtsman.ways = ways
    return asked, draughtsman


def _for_paper(outline: Outline, run: Engine) -> Draughtsman:
    """Draws the chart with text that the fonts of the page can show."""
    return Draughtsman(outline, run, legible if missing_glyphs(outline) else None)
