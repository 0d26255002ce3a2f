"""The printable checklist, as a PDF: for the whole tree, or for what one symptom can reach.

render/cut says which part of the tree a sheet carries, render/sheet_words puts it into words and
typst/sheet.typ onto paper. Knows nothing of files, source text or the model.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Literal

from treewright.record import record
from treewright.render import prose
from treewright.render.cut import cut
from treewright.render.outline import Outline
from treewright.render.paper import Press, drawable
from treewright.render.paper import missing_glyphs as _missing_glyphs
from treewright.render.parting import parted
from treewright.render.renumber import renumbered
from treewright.render.sheet_form import Form, usual
from treewright.render.sheet_form import Paper as Paper
from treewright.render.sheet_words import SheetWords, Standings, shortened

_HEAD = 88  # letters of the line at the head of a page
_HEAD_OF_CARD = 60


@record
class Extras:
    """What a checklist has on request.

    Attributes:
        renumber: number what is on it anew, from 1 on; otherwise it keeps the tree's numbers.
        short: leave out how each step is done, its tools, minutes and picture. Hazards,
            set-up, limits and remedies all stay.
        record: a table of all readings with their limits and blanks, to be kept.
        standing: for each node what is ruled out and what is still suspect on arrival.
        base_url: where the built walk-throughs lie; codes on the sheet lead there. See `qr`.
        codes: what has a code: each symptom, or each step as well.
    """

    renumber: bool = False
    short: bool = False
    record: bool = False
    standing: Standings | None = None
    base_url: str | None = None
    codes: Literal["symptoms", "steps"] = "symptoms"


NO_EXTRAS = Extras()


def sheet(
    outline: Outline,
    paper: Paper,
    symptom: str | None = None,
    model: str | None = None,
    pictures: Mapping[str, bytes] | None = None,
    *,
    extras: Extras = NO_EXTRAS,
    form: Form | None = None,
) -> bytes:
    """The checklist as a PDF; `pages` in render/paper tells how many pages it took.

    Args:
        outline: the compiled tree.
        paper: what it is printed on.
        symptom: name of the symptom it is for; None: the whole tree.
        model: the model it is for; None: all.
        pictures: the bytes of each picture (PNG, JPEG or GIF), by its file as the outline has
            it. Where one is missing, or cannot be read as a picture, its caption stands alone.
        extras: what it has on request.
        form: its columns and size of type; None: as usual on that paper.

    Raises:
        LookupError: the tree has no such symptom or model.
        ValueError: the base address is none that a code can lead to.
    """
    if form is None:
        (one,) = laid(outline, (paper,), symptom, model, pictures, extras=extras)
        return one.pdf()
    return press(outline, symptom, model, pictures, extras, form).pdf()


@record
class Laid:
    """A checklist of which it is known what goes on which page: it is only to be printed."""

    form: Form
    pressed: Press

    @property
    def paper(self) -> Paper:
        return self.form.paper

    def pdf(self) -> bytes:
        return self.pressed.pdf()


def laid(
    outline: Outline,
    papers: Sequence[Paper],
    symptom: str | None = None,
    model: str | None = None,
    pictures: Mapping[str, bytes] | None = None,
    *,
    extras: Extras = NO_EXTRAS,
) -> Iterator[Laid]:
    """The same as `sheet` for several papers: quicker, as lines that run as wide are measured once.

    What it gives can be printed in another process.

    Raises:
        LookupError, ValueError: as for `sheet`.
    """
    measured: Form | None = None
    for paper in papers:
        form, *others = usual(paper, _entries(outline, symptom, model))
        if measured is None or not form.as_wide_as(measured):
            pressed = press(outline, symptom, model, pictures, extras, form)
            told = _measured(pressed, form)
            while told["split"] and others:
                form = others.pop(0)
                told = _measured(pressed, form)
            measured = form
        yield Laid(form, pressed.on(form.particulars(told["heights"])))


def _measured(pressed: Press, form: Form) -> Any:
    return pressed.on(form.particulars(only_measure=True)).told()


def _entries(outline: Outline, symptom: str | None, model: str | None) -> int:
    part = cut(outline, symptom, model)
    return len(part.nodes) + len(part.procedures)


def press(
    outline: Outline,
    symptom: str | None,
    model: str | None,
    pictures: Mapping[str, bytes] | None,
    extras: Extras,
    form: Form,
) -> Press:
    """The checklist, ready to be printed. Arguments and errors as for `sheet`."""
    part = cut(outline, symptom, model)
    if extras.renumber:
        part = renumbered(part)
    shown = {} if extras.short else _shown(part, pictures or {})
    known = {file: name for file, (name, _) in shown.items()}
    data = SheetWords(part, known, extras.standing, extras.short).data()
    data["model"] = model
    data["whole"] = symptom is None
    data["renumbered"] = extras.renumber
    data["short"] = extras.short
    data["running"] = _running(part, symptom, model, form)
    if not extras.record:
        data["record"] = []
    _with_codes(data, part, extras)
    return Press(
        "sheet.typ",
        parted(data),
        title=f"{prose.plain(outline.title)} – checklist for {outline.machine}",
        language=outline.language,
        date=outline.date,
        form=form.particulars(),
        pictures=dict(shown.values()),
    )


def missing_glyphs(outline: Outline) -> tuple[str, ...]:
    """The characters of the tree that no font has: the sheet shows their code instead."""
    return _missing_glyphs(outline)


def _shown(outline: Outline, pictures: Mapping[str, bytes]) -> dict[str, tuple[str, bytes]]:
    """For each picture file of the tree that can be shown: the template's name, and its bytes."""
    wanted = [node.picture for node in outline.nodes]
    wanted += [procedure.picture for procedure in outline.procedures]
    files = dict.fromkeys(picture.file for picture in wanted if picture)
    return {
        file: (f"picture-{number}", pictures[file])
        for number, file in enumerate(files, start=1)
        if file in pictures and drawable(pictures[file])
    }


def _with_codes(data: dict[str, Any], part: Outline, extras: Extras) -> None:
    """Puts the codes that lead to the walk-through into the data."""
    data["codes"] = []
    if extras.base_url is None:
        return
    from treewright.render import qr

    def code(anchor: str, words: str) -> dict[str, Any]:
        made = qr.code(qr.address(extras.base_url or "", part.name, anchor))
        return {"svg": made.svg, "side": made.side, "words": words, "alt": made.address}

    data["codes"] = [
        code(f"symptom-{one.name}", f"{one.number} in the walk-through") for one in part.symptoms
    ]
    if extras.codes == "steps":
        numbers = {node.number: node.name for node in part.nodes}
        for stage in data["stages"]:
            for step in stage["steps"]:
                step["code"] = code(f"step-{numbers[step['number']]}", "")


def _running(part: Outline, symptom: str | None, model: str | None, form: Form) -> str:
    """What a page says at its head, should it go astray: what it is for, and the machine."""
    if symptom is None:
        purpose = prose.plain(part.title)
    else:
        purpose = f"{part.symptoms[0].number} {prose.plain(part.symptoms[0].title)}"
    most = _HEAD_OF_CARD if form.paper == "card" else _HEAD
    words = shortened(purpose if model is None else f"{model}: {purpose}", most - 30)
    return f"{words} · {shortened(part.machine, most - len(words))}"
