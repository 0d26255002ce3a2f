"""Charts in a binder: each behind its checklist, as it is printed alone, with what is read out."""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from pdf import needs_poppler, poppler, squeezed, words
from pypdf import PdfReader
from sample_outline import PICTURES, sample
from sheet_pages import outside
from sheet_pages import pages as looked_at
from test_binder import outlines, sheets

from treewright.cli.main import main
from treewright.render import chart, prose
from treewright.render.binder import binder
from treewright.render.paper import pages
from treewright.render.plain_pdf import with_text
from treewright.render.sheet import sheet

pytestmark = needs_poppler
SMALL = Path(__file__).parent / "cases" / "sheets" / "slow-fill.tree"


@cache
def charts() -> tuple[bytes, ...]:
    return tuple(chart.pdf(one, "a4") for one in outlines())


@cache
def with_charts() -> bytes:
    return binder(outlines(), sheets(), "a4", "The *shop*", charts=charts())


def test_a_chart_stands_behind_its_checklist_as_it_is_printed_alone(tmp_path: Path) -> None:
    counts = [(pages(one), pages(other)) for one, other in zip(sheets(), charts(), strict=True)]
    page = pages(with_charts()) - sum(map(sum, counts)) + 1
    contents = words(with_charts(), tmp_path, "-f", "2", "-l", "2")
    said = [int(number) for number in re.findall(r"Chart[ .]+(\d+)", contents)]
    found = PdfReader(BytesIO(with_charts()), strict=True)
    marks = [one for one in found.outline if not isinstance(one, list)]
    tops = {str(one.title): found.get_destination_page_number(one) + 1 for one in marks}
    struct = poppler("pdfinfo", with_charts(), tmp_path, "-struct")
    for outline, loose, (of_sheet, of_chart) in zip(outlines(), charts(), counts, strict=True):
        title = prose.plain(outline.title)
        assert tops[title] == page
        page += of_sheet
        assert said.pop(0) == tops[f"Chart: {title}"] == page
        last = page + of_chart - 1
        bound = words(with_charts(), tmp_path, "-f", str(page), "-l", str(last))
        alone = words(loose, tmp_path)
        numbers = "".join(str(number) for number in range(page, last + 1))
        assert sorted(squeezed(bound)) == sorted(squeezed(alone) + numbers)
        alone_too = PdfReader(BytesIO(loose))
        for one, other in zip(found.pages[page - 1 : last], alone_too.pages, strict=True):
            assert one.mediabox == other.mediabox
        page += of_chart
    # What a chart shows is read out in the binder, too, as the loose one has it.
    figures = sum(poppler("pdfinfo", one, tmp_path, "-struct").count("Figure") for one in charts())
    assert struct.count("Figure") >= figures > 10


def test_the_number_of_a_chart_page_lies_on_nothing(tmp_path: Path) -> None:
    first = pages(with_charts()) - pages(charts()[-1])
    for at, page in enumerate(looked_at(with_charts(), tmp_path)[first:], first + 1):
        (number,) = [word for word in page.words if word.text == str(at) and word.top < 26]
        for word in page.words:
            if word is not number:
                across = min(word.right, number.right + 8) - max(word.left, number.left - 8)
                down = min(word.bottom - 2, number.bottom) - max(word.top + 2, number.top)
                assert across < 0 or down < 0, word


def test_no_word_lies_outside_its_page(tmp_path: Path) -> None:
    for page in looked_at(with_charts(), tmp_path):
        assert outside(page, 4, top=3, bottom=3) == []


def test_a_chart_may_lie_on_its_side_and_have_any_name(tmp_path: Path) -> None:
    wide = chart.pdf(sample(), "a3")
    pdf = binder([sample()], [sheet(sample(), "a4", pictures=PICTURES)], "a4", charts=[wide])
    last = pages(pdf) - pages(wide)
    boxes = [page.mediabox[2:] for page in PdfReader(BytesIO(pdf)).pages[last:]]
    assert boxes == [page.mediabox[2:] for page in PdfReader(BytesIO(wide)).pages]


@pytest.mark.parametrize("name", ["a (b\\) c", "\u05e9 \u4e2d \U0001f527", ""])
def test_a_bookmark_can_have_any_name(name: str) -> None:
    from pypdf.generic import read_object

    body = with_text(b"<</Title(old \\) (one))/Count 3/Note(kept)>>", b"Title", name)
    made = read_object(BytesIO(body), None)
    assert isinstance(made, dict)
    assert made == {"/Title": name, "/Count": 3, "/Note": "kept"}


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["binder", str(SMALL), "--out", str(tmp_path), "--charts"]) == 0
    assert "binder-a4.pdf" in capsys.readouterr().out
    for paper in ("a4", "letter"):
        pdf = (tmp_path / f"binder-{paper}.pdf").read_bytes()
        assert re.search(r"Chart[ .]+\d", words(pdf, tmp_path, "-f", "2", "-l", "2"))
