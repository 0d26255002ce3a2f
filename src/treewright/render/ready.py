"""Loads what most outputs need, in a process that has nothing to make yet.

The engines take longer to load than a tree takes to read: that is done meanwhile. Nothing is
made here, and nothing changes by it but the time.
"""

from __future__ import annotations


def get_ready() -> None:
    """Imports the makers, and reads the fonts."""
    from treewright.render import chart as chart
    from treewright.render import data as data
    from treewright.render import glyphs, paper
    from treewright.render import sheet as sheet
    from treewright.render import site as site

    paper.fonts()
    glyphs.missing_glyphs("°")
