"""What of PDF/UA-1 (ISO 14289-1) the printed outputs keep, by a validator that had no part in them.

The validator knows what a program can decide. What the structure looks like is read by poppler.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from pdf import needs_poppler, poppler
from sample_outline import PICTURES, hostile, sample

from treewright.render import chart, prose
from treewright.render.binder import binder
from treewright.render.change_sheet import change_sheet
from treewright.render.editions import compare
from treewright.render.sheet import Extras, sheet

ALL = Extras(record=True, base_url="https://trees.example/")
KINDS = ("a4", "letter", "legal", "card", "hostile", "chart", "changes", "binder")


@cache
def made(kind: str) -> bytes:
    outline = sample()
    match kind:
        case "hostile":
            return sheet(hostile(), "a4")
        case "chart":
            return chart.pdf(outline, "a4")
        case "changes":
            return change_sheet([(outline, hostile(), compare(outline, hostile()))], "a4")
        case "binder":
            return binder([outline], [made("a4")], "a4", charts=[made("chart")])
        case _:
            return sheet(outline, kind, pictures=PICTURES, extras=ALL)  # type: ignore[arg-type]


def findings(pdf: bytes) -> list[str]:
    page = pytest.importorskip("page", reason="needs page-validation")
    report = page.validate_pdf_bytes(pdf, profile="ua1")
    return [f"{one.rule_id} {one.message}" for one in report.failures]


@pytest.mark.parametrize("kind", KINDS)
def test_the_validator_has_no_finding(kind: str) -> None:
    assert findings(made(kind)) == []


@pytest.mark.parametrize(
    ("part", "spoilt"),
    [
        (b"/Marked true", b"/Marked fals"),
        (b"/DisplayDocTitle true", b"/DisplayDocTitle fals"),
        (b"<pdfuaid:part>1", b"<pdfuaid:part>7"),
        (b"/Alt", b"/Alx"),
        (b"/S/H1", b"/S/H4"),
    ],
)
def test_the_validator_sees_what_is_spoilt(part: bytes, spoilt: bytes) -> None:
    assert part in made("a4")
    assert findings(made("a4").replace(part, spoilt)) != []


@needs_poppler
@pytest.mark.parametrize("kind", KINDS)
def test_title_language_tags_headings_links_and_figures(kind: str, tmp_path: Path) -> None:
    pdf = made(kind)
    shown = poppler("pdfinfo", pdf, tmp_path)
    assert re.search(r"Tagged: +yes", shown) and re.search(r"Title: +\S", shown)
    assert b"/DisplayDocTitle true" in pdf and b"/Lang(en)" in pdf
    tree = poppler("pdfinfo", pdf, tmp_path, "-struct")
    levels = [int(one) for one in re.findall(r"^ *H(\d)\b", tree, re.M)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    # Every link on a page is one in the structure, and every picture is told in words.
    assert tree.count("Link (") == pdf.count(b"/Subtype/Link")
    figures = len(re.findall(r"^ *Figure\b", tree, re.M))
    assert pdf.count(b"/Alt") >= figures
    assert (figures > 0) == (kind in ("a4", "letter", "legal", "card", "chart", "binder"))


@needs_poppler
def test_what_is_missing_is_as_the_contributors_are_told(tmp_path: Path) -> None:
    """No box to tick is a field of a form, no row of answers a table: the engine has neither."""
    tree = poppler("pdfinfo", made("a4"), tmp_path, "-struct")
    assert not re.search(r"^ *(Form|Table|TH|TD)\b", tree, re.M)
    assert b"/AcroForm" not in made("a4")


@needs_poppler
def test_bookmarks_are_the_headings(tmp_path: Path) -> None:
    from io import BytesIO

    from pypdf import PdfReader

    found = PdfReader(BytesIO(made("a4"))).outline
    names: list[str] = []

    def listed(some: object) -> None:
        for one in some if isinstance(some, list) else []:
            listed(one) if isinstance(one, list) else names.append(str(one.title))

    listed(found)
    text = poppler("pdfinfo", made("a4"), tmp_path, "-struct-text")
    assert names[0] == prose.plain(sample().title)
    assert len(names) == len(re.findall(r"^ *H\d", text, re.M))
