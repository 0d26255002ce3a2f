"""Fits a checklist to so many sheets: the largest type, and one column rather than two.

Nothing is left out to make it fit, no type goes below the floor of its paper
(render/sheet_form), and no step goes over to another page where another size or number of columns
keeps it whole. Where it does not fit, it comes as small as it may, and says what is long.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from math import ceil
from typing import Any

from treewright.record import record
from treewright.render import prose
from treewright.render.outline import Node, Outline, Procedure
from treewright.render.paper import Press, pages
from treewright.render.sheet import NO_EXTRAS, Extras, Paper, laid, press
from treewright.render.sheet_form import SIDES, Form, forms, lines_of

_NAMED = 5


@record
class Long:
    """A step, finding or procedure that takes many lines."""

    number: str
    title: str
    lines: int


@record
class Fitted:
    """A checklist and what it took.

    Attributes:
        pdf: the checklist.
        form: its columns and size of type.
        pages: its pages; two to a sheet.
        asked: how many sheets it was to take; None: as many as it takes.
        too_many: lines by which it does not fit, about.
        long: where it does not fit, what takes most lines, the longest first.
    """

    pdf: bytes
    form: Form
    pages: int
    asked: int | None = None
    too_many: int = 0
    long: tuple[Long, ...] = ()

    @property
    def sheets(self) -> int:
        return ceil(self.pages / SIDES)

    @property
    def fits(self) -> bool:
        return self.asked is None or self.sheets <= self.asked


def fitted(
    outline: Outline,
    paper: Paper,
    symptom: str | None = None,
    model: str | None = None,
    pictures: Mapping[str, bytes] | None = None,
    *,
    extras: Extras = NO_EXTRAS,
    columns: int | None = None,
    asked: int | None = None,
) -> Fitted:
    """A checklist on so many sheets as are asked for, or as few as there can be.

    Args:
        outline, paper, symptom, model, pictures, extras: as for `render.sheet.sheet`.
        columns: 1 or 2; None: as is fit.
        asked: the sheets it may take, each of two sides; None: it is set as usual, in columns that
            are asked for in the normal size.

    Raises:
        LookupError, ValueError: as for `render.sheet.sheet`.
    """
    if asked is None and columns is None:
        (one,) = laid(outline, (paper,), symptom, model, pictures, extras=extras)
        pdf = one.pdf()
        return Fitted(pdf, one.form, pages(pdf))
    tried = [form for form in forms(paper) if columns in (None, form.columns)]
    pressed = press(outline, symptom, model, pictures, extras, tried[0])
    if asked is None:
        pdf = pressed.pdf()
        return Fitted(pdf, tried[0], pages(pdf))
    sizes = [list(same) for _, same in groupby(tried, key=lambda form: form.points)]
    best = _largest(pressed, sizes, asked, whole=True) or _largest(pressed, sizes, asked)
    if best is not None:
        pdf = pressed.on(best.particulars()).pdf()
        return Fitted(pdf, best, pages(pdf), asked)
    smallest = min(sizes[-1], key=lambda form: _told(pressed, form)["pages"])
    told = _told(pressed, smallest)
    pdf = pressed.on(smallest.particulars()).pdf()
    took = pages(pdf)
    over = (took - SIDES * asked) * smallest.columns * lines_of(smallest)
    return Fitted(pdf, smallest, took, asked, round(over), _longest(outline, told["lines"]))


def _largest(
    pressed: Press, sizes: list[list[Form]], asked: int, whole: bool = False
) -> Form | None:
    """The form of the largest size that fits; None: not even the smallest does.

    Args:
        whole: fits only where no step goes over to another page.
    """

    def fits(form: Form) -> bool:
        told = _told(pressed, form)
        return told["pages"] <= SIDES * asked and not (whole and told["split"])

    low, high, best = 0, len(sizes) - 1, None
    while low <= high:
        middle = (low + high) // 2
        found = next(filter(fits, sizes[middle]), None)
        if found is None:
            low = middle + 1
        else:
            best, high = found, middle - 1
    return best


def _told(pressed: Press, form: Form) -> Any:
    return pressed.on(form.particulars()).told()


def _longest(outline: Outline, lines: Mapping[str, float]) -> tuple[Long, ...]:
    entries: list[Node | Procedure] = [*outline.nodes, *outline.procedures]
    found = [
        Long(one.number, prose.plain(one.title), round(lines[f"at-{one.number}"]))
        for one in entries
        if f"at-{one.number}" in lines
    ]
    return tuple(sorted(found, key=lambda one: -one.lines)[:_NAMED])
