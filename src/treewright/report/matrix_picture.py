"""The matrix as a picture: faults by checks, as SVG.

A dot is the normal answer. A letter in a box is the answer that a fault gives; in a broken box
it may be that or the normal one. Faults that every check answers alike bear the same mark at
the right. What the letters stand for is written below. Reads in black and white.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from treewright.model.nodes import Check, Reading
from treewright.render.chart.type import wrap
from treewright.report.matrix import Matrix, legend, letters, said, shown
from treewright.report.picture import EDGE, HEAD, SIZE, fit, picture, words
from treewright.text.quantity import number_text

_ROW, _COLUMN, _GAP = 16.0, 20.0, 8.0
_LABEL, _SHARE, _MARK = 220.0, 44.0, 40.0
_BOX = 13.0


def matrix_picture(found: Sequence[Matrix], title: str, language: str = "en") -> str:
    """The matrices of a tree, one below the other, as one `svg` element.

    Args:
        found: one, or one for each of the models that differ.
        title: of the tree.
        language: a tag of BCP 47.
    """
    wide = max((_wide(matrix) for matrix in found), default=_LABEL)
    high, parts, told = EDGE, [], []
    for matrix in found:
        drawn, high = _drawn(matrix, high, wide)
        parts += drawn
        told.append(_told(matrix))
    return picture(
        wide, high + EDGE, "matrix", language, f"Faults by checks: {title}", " ".join(told), parts
    )


def _wide(matrix: Matrix) -> float:
    table = _LABEL + _SHARE + _COLUMN * len(shown(matrix)) + _MARK
    return max(table, 420.0) + 2 * EDGE


def _drawn(matrix: Matrix, top: float, wide: float) -> tuple[list[str], float]:
    """What is drawn from `top` on, and where it ends."""
    columns = shown(matrix)
    parts = [words(EDGE, top + HEAD, fit(f"{matrix.tree.title.text}{matrix.on}", wide - 2 * EDGE,
                                         HEAD), HEAD, bold=True)]  # fmt: skip
    top += HEAD + _GAP
    left = EDGE + _LABEL + _SHARE
    parts.append(words(left - 6, top + 11, "share", at="end"))
    for place, at in enumerate(columns):
        middle = left + (place + 0.5) * _COLUMN
        parts.append(words(middle, top + 11, matrix.checks[at].number, bold=True, at="middle"))
    alike = _marks(matrix)
    if alike:
        parts.append(words(left + len(columns) * _COLUMN + 6, top + 11, "alike"))
    top += _ROW
    shares = sum((fault.share or Fraction(0) for fault in matrix.faults), Fraction(0))
    for fault, row in zip(matrix.faults, matrix.rows, strict=True):
        parts.append(_rule(EDGE, top, left + len(columns) * _COLUMN))
        name = fit(f"{fault.number} {fault.title.text}", _LABEL - 6)
        parts.append(words(EDGE, top + 11, name))
        if fault.share is not None and shares:
            share = f"{number_text(fault.share / shares * 100, 1)} %"
            parts.append(words(left - 6, top + 11, share, at="end"))
        for place, at in enumerate(columns):
            cell = letters(matrix.checks[at], row[at])
            parts.append(_cell(cell, left + (place + 0.5) * _COLUMN, top))
        if fault.name in alike:
            parts.append(words(left + len(columns) * _COLUMN + 6, top + 11, alike[fault.name]))
        top += _ROW
    parts.append(_rule(EDGE, top, left + len(columns) * _COLUMN))
    return _explained([matrix.checks[at] for at in columns], parts, top + _GAP, wide)


def _explained(
    checks: Sequence[Check | Reading], parts: list[str], top: float, wide: float
) -> tuple[list[str], float]:
    """What the numbers and letters stand for."""
    lines = [f"{check.number} {check.title.text} – {legend(check)}" for check in checks]
    for text in lines:
        for line in wrap(text, wide - 2 * EDGE, SIZE):
            top += SIZE * 1.25
            parts.append(words(EDGE, top, line.text))
        top += 3.0
    return parts, top + _GAP


def _cell(cell: str, middle: float, top: float) -> str:
    if not cell:
        return f'<circle cx="{middle:.1f}" cy="{top + _ROW / 2:.1f}" r="1.2" fill="#000"/>'
    maybe = cell.endswith("?")
    wide = max(_BOX, 6.0 * len(cell.removesuffix("?")) + 4)
    dashes = ' stroke-dasharray="2.5 1.8"' if maybe else ""
    return (
        f'<rect x="{middle - wide / 2:.1f}" y="{top + (_ROW - _BOX) / 2:.1f}" width="{wide:.1f}"'
        f' height="{_BOX:g}" fill="#fff" stroke="#000"{dashes}/>'
        + words(middle, top + 11, cell.removesuffix("?"), bold=not maybe, at="middle")
    )


def _rule(left: float, top: float, right: float) -> str:
    return f'<path d="M{left:.1f} {top:.1f}H{right:.1f}" stroke="#999" stroke-width="0.4"/>'


def _marks(matrix: Matrix) -> dict[str, str]:
    """The mark of each fault that has its answers in common with another."""
    return {
        name: f"= {number}" for number, group in enumerate(matrix.groups, 1) for name in group
    }


def _told(matrix: Matrix) -> str:
    lines = []
    for fault, row in zip(matrix.faults, matrix.rows, strict=True):
        given = "; ".join(
            f"{check.number} {words}"
            for check, answer in zip(matrix.checks, row, strict=True)
            if (words := said(check, answer))
        )
        lines.append(f"{fault.number} {fault.title.text}: {given or 'all answers normal'}.")
    return " ".join(lines)
