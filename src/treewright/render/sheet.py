"""The printable checklist, as a PDF: for the whole tree, or for what one symptom can reach.

render/cut says which part of the tree a sheet carries, render/sheet_words puts it into words and
typst/sheet.typ onto paper. Knows nothing of files, source text or the model.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeAlias

from treewright.render import prose
from treewright.render.cut import cut
from treewright.render.outline import Outline
from treewright.render.paper import compile_pdf, drawable
from treewright.render.paper import missing_glyphs as _missing_glyphs
from treewright.render.parting import parted
from treewright.render.sheet_words import SheetWords, shortened

Paper: TypeAlias = Literal["a4", "letter"]

_TYPST_NAME = {"a4": "a4", "letter": "us-letter"}

_HEAD = 88  # letters of the line at the head of a page


def sheet(
    outline: Outline,
    paper: Paper,
    symptom: str | None = None,
    model: str | None = None,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """The checklist as a PDF; `pages` in render/paper tells how many pages it took.

    Args:
        outline: the compiled tree.
        paper: what it is printed on.
        symptom: name of the symptom it is for; None: the whole tree.
        model: the model it is for; None: all.
        pictures: the bytes of each picture (PNG, JPEG or GIF), by its file as the outline has
            it. Where one is missing, or cannot be read as a picture, its caption stands alone.

    Raises:
        LookupError: the tree has no such symptom or model.
    """
    part = cut(outline, symptom, model)
    shown = _shown(part, pictures or {})
    known = {file: name for file, (name, _) in shown.items()}
    data = SheetWords(part, known).data()
    data["model"] = model
    data["whole"] = symptom is None
    data["running"] = _running(part, symptom, model)
    return compile_pdf(
        "sheet.typ",
        parted(data),
        title=f"{prose.plain(outline.title)} – checklist for {outline.machine}",
        language=outline.language,
        date=outline.date,
        size=_TYPST_NAME[paper],
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


def _running(part: Outline, symptom: str | None, model: str | None) -> str:
    """What a page says at its head, should it go astray: what it is for, and the machine."""
    if symptom is None:
        purpose = prose.plain(part.title)
    else:
        purpose = f"{part.symptoms[0].number} {prose.plain(part.symptoms[0].title)}"
    words = shortened(purpose if model is None else f"{model}: {purpose}", _HEAD - 30)
    return f"{words} · {shortened(part.machine, _HEAD - len(words))}"
