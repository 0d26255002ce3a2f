"""Numbers the part of a tree that a sheet carries anew, from 1 on, in the order of its numbers.

The names stay, by which all parts of an outline refer to each other. Knows nothing of paper.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from treewright.render.outline import Outline


def renumbered(outline: Outline) -> Outline:
    """The outline with gapless numbers: "3", "F3", "H1", "D1", "P2", "S1"."""
    counts: Counter[str] = Counter()

    def new(number: str) -> str:
        letters = number.rstrip("0123456789")
        counts[letters] += 1
        return f"{letters}{counts[letters]}"

    return replace(
        outline,
        symptoms=tuple(replace(one, number=new(one.number)) for one in outline.symptoms),
        nodes=tuple(replace(one, number=new(one.number)) for one in outline.nodes),
        procedures=tuple(replace(one, number=new(one.number)) for one in outline.procedures),
    )
