"""The flowchart of a tree: one SVG for the page and the wall.

Reads an outline and nothing else. In order: what stands on the chart (plan), how large each
symbol is (shape), the graph (dot), its layout (engine, layout), the drawing (svg); for paper,
how large its parts are (survey), which stand on which page (pack), and the pages (paper).
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

__all__ = ["PROLOG", "ChartError", "Paper", "dot_source", "paper_needed", "pdf", "svg"]

PROLOG = '<?xml version="1.0" encoding="UTF-8"?>\n'
"""Stands before the `svg` element in a file of its own."""


def dot_source(outline: Outline, *, model: str | None = None, symptom: str | None = None) -> str:
    """The chart in Graphviz's DOT language, with every word of it.

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
    run: Engine | None = None,
    program: str | None = None,
) -> str:
    """The chart as one `svg` element that can stand in a page of HTML.

    Write `PROLOG` before it for a file of its own.

    Args:
        outline: the compiled tree.
        model: leave out what is only for other models.
        symptom: draw only what can be reached from this one.
        run: the engine; None: the one installed with the toolkit.
        program: another program to lay it out with, such as "dot"; None: the installed one.

    Raises:
        ChartError: the chart cannot be drawn.
        LookupError: the tree has no such symptom or model.
    """
    draughtsman = Draughtsman(cut(outline, symptom, model), run or find_engine(program))
    return draughtsman.drawn([draughtsman.plan()])[0].svg


def pdf(
    outline: Outline,
    paper: Paper | None = None,
    *,
    model: str | None = None,
    symptom: str | None = None,
    run: Engine | None = None,
    program: str | None = None,
) -> bytes:
    """The chart as PDF, with its title, edition mark, hazards and a legend.

    Type is never smaller than 8 pt: a chart too large for the paper is cut into parts, and
    these stand on as few pages as take them.

    Args:
        paper: None: A4 where that holds the chart on one sheet, otherwise A3.
        outline, model, symptom, run, program: as for `svg`.

    Raises:
        ChartError: the chart cannot be drawn.
        LookupError: the tree has no such symptom or model.
        PaperError: the page could not be made.
    """
    asked = cut(outline, symptom, model)
    return on_paper.pdf(asked, _for_paper(asked, run or find_engine(program)), paper)


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


def _for_paper(outline: Outline, run: Engine) -> Draughtsman:
    """Draws the chart with text that the fonts of the page can show."""
    return Draughtsman(outline, run, legible if missing_glyphs(outline) else None)
