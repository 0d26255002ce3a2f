"""Making a PDF: characters that no font has, and pages that do not settle."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from pdf import needs_poppler, words
from sample_outline import sample

from treewright.render import glyphs, paper, sheet


def test_characters_without_a_glyph_are_reported_and_shown() -> None:
    odd = replace(sample(), title="Pump \U0001f600 → 3/8″ Ω \u4e2d e\u0301")
    assert sheet.missing_glyphs(odd) == ("\u4e2d", "\U0001f600")
    assert sheet.missing_glyphs(sample()) == ()
    assert glyphs.legible("\U0001f600 ok ±") == "[U+1F600] ok ±"


@pytest.mark.parametrize("family", glyphs.FAMILIES)
def test_code_points_of_a_font(family: str) -> None:
    for file in glyphs.font_folder(family).glob("*.ttf"):
        found = glyphs.code_points(file.read_bytes())
        assert {ord(letter) for letter in "Aa0±°–×é"} <= found
        assert not {0x1F600, 0x4E2D, 0xFFFF} & found


@needs_poppler
def test_pages_that_do_not_settle_are_set_steady(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A page that says the opposite of what it shows never settles, unless told to be steady."""
    unsettled = b"""
        #import "base.typ": paper, steady
        #show: paper
        #if steady [steady] else { context if query(heading).len() == 0 [= some] else [none] }
    """
    templates = {**paper._templates(), "unsettled.typ": unsettled}
    monkeypatch.setattr(paper, "_templates", lambda: templates)
    pdf = paper.compile_pdf("unsettled.typ", {}, title="Unsettled")
    assert words(pdf, tmp_path) == "steady"


@needs_poppler
def test_a_steady_sheet_names_every_page(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    compiled = paper._compile
    turns = []

    def first_unsettled(
        template: str, files: dict[str, bytes], tagged: bool
    ) -> tuple[bytes, bool]:
        turns.append(template)
        return compiled(template, files, tagged)[0], len(turns) > 1

    monkeypatch.setattr(paper, "_compile", first_unsettled)
    text = words(sheet.sheet(sample(), "a4"), tmp_path)
    assert len(turns) == 2
    for number in re.findall(r"\b(?:go to|found|stop:|back to|start at) ([FHD]?\d+)", text):
        assert not re.search(rf"(?:go to|found|stop:|back to|start at) {number} (?!\(page)", text)
