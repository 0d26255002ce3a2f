"""Loads what most outputs need, in a process that has nothing to make yet.

The engines take longer to load than a tree takes to read: that is done meanwhile. Nothing is
made here, and nothing changes by it but the time.
"""

from __future__ import annotations


def for_all() -> None:
    """Reads the fonts, and imports what reads the author's words."""
    from treewright.render import glyphs, paper, prose

    paper.fonts()
    glyphs.missing_glyphs("°")
    prose.plain("*")


def for_paper() -> None:
    """Imports what makes the sheets."""
    from treewright.render import sheet as sheet


def for_screen() -> None:
    """Imports what makes the chart, the page and the data, with its schema and templates."""
    from treewright.render import chart as chart
    from treewright.render import data, site

    site.get_ready()
    data.validator()
