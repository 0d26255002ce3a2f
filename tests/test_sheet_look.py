"""The printable checklist as paper: nothing is split, cut off or lost, whatever is written."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pdf import changed, in_words, needs_poppler, poppler, squeezed, words
from sample_outline import PICTURES, hostile, sample

from treewright.render import paper, prose, sheet
from treewright.render.outline import Node, Outline, Picture

pytestmark = needs_poppler

# Inside bounds given in mm stands all but the header and footer: see typst/sheet.typ.
MM = 72 / 25.4


@pytest.fixture(scope="module")
def made() -> bytes:
    return sheet.sheet(sample(), "a4")


@pytest.mark.parametrize(("size", "points"), [("a4", (595.276, 841.89)), ("letter", (612, 792))])
def test_paper_sizes(size: sheet.Paper, points: tuple[float, float], tmp_path: Path) -> None:
    # ISO 216 A4 is 210 mm by 297 mm, Letter 8.5 in by 11 in.
    said = poppler("pdfinfo", sheet.sheet(sample(), size), tmp_path)
    found = re.search(r"Page size: +([\d.]+) x ([\d.]+) pts", said)
    assert found
    assert [float(side) for side in found.groups()] == pytest.approx(points, abs=0.01)


def test_the_file_is_tagged_has_a_title_a_language_and_its_fonts(
    made: bytes, tmp_path: Path
) -> None:
    from pypdf import PdfReader

    said = poppler("pdfinfo", made, tmp_path)
    assert re.search(r"Tagged: +yes", said)
    assert "Parts washer jets are weak" in said
    assert "JavaScript:      no" in said
    catalogue = PdfReader(tmp_path / "sheet.pdf").trailer["/Root"]
    assert catalogue["/Lang"] == "en"
    assert b"pdfuaid:part" in made
    fonts = poppler("pdffonts", made, tmp_path).splitlines()[2:]
    assert fonts
    for font in fonts:
        embedded, subset, unicode_map = font.split()[-5:-2]
        assert (embedded, subset, unicode_map) == ("yes", "yes", "yes")
        assert "AtkinsonHyperlegible" in font or "SourceSans3" in font


def test_same_outline_same_bytes(made: bytes) -> None:
    assert sheet.sheet(sample(), "a4") == made
    assert sheet.sheet(replace(sample(), title="Other"), "a4") != made


def test_nothing_leaves_the_page(made: bytes, tmp_path: Path) -> None:
    assert outside_the_margins(made, tmp_path) == []


def test_hostile_text_is_printed_as_text(tmp_path: Path) -> None:
    pdf = sheet.sheet(hostile(), "a4")
    assert outside_the_margins(pdf, tmp_path) == []
    got = squeezed(poppler("pdftotext", pdf, tmp_path, "-raw"))
    for written in (
        "</script><script>alert(1)</script>",
        "{{77}}",
        "#{sys}",
        "#let$(touchx)$x^2$",
        "[U+1F527][U+26A0]",
        "[U+202E]",
        "[U+4E2D][U+6587]",
        "@label<ref>",
    ):
        assert written in got
    assert b"/URI" not in pdf
    assert b"/JavaScript" not in pdf


@pytest.mark.parametrize(
    "nasty",
    [
        "\x00\x01\x1b[31m \x7f \x85",
        "\u202e\u2066 rtl \u05e9\u05dc\u05d5\u05dd \u0633\u0644\u0627\u0645",
        "\ufeff \ufffe \U000e0001 \ud800",
        "e\u0301 x\u0301\u0301\u0301 \u2260\u0338 \u0e01\u0e33 \u093f",
        "1. one\n2. two\n\n> quote\n\n```\ncode\n  more\n```\n\n---\n\n# head",
        "W" * 3000,
        "word " * 3000,
        "\n\n" + "- a\n" * 90,
        "",
    ],
)
def test_no_text_keeps_the_sheet_from_coming_out(nasty: str, tmp_path: Path) -> None:
    pdf = sheet.sheet(hostile(nasty), "letter")
    assert outside_the_margins(pdf, tmp_path) == []
    assert "end of the checklist" in words(pdf, tmp_path)


def drawn(wide: int, high: int, kind: str) -> bytes:
    """A picture of so many pixels."""
    from PIL import Image

    file = BytesIO()
    Image.new("RGB", (wide, high), (200, 30, 30)).save(file, kind)
    return file.getvalue()


def listed(pdf: bytes, folder: Path) -> list[list[str]]:
    """What poppler tells of each picture in a PDF; a mask of one is no picture."""
    rows = poppler("pdfimages", pdf, folder, "-list").splitlines()[2:]
    return [row.split() for row in rows if row.split()[2] == "image"]


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF"])
def test_a_picture_stands_at_its_step_with_its_caption(kind: str, tmp_path: Path) -> None:
    from pypdf import PdfReader

    # The file's name is data: it is never looked for.
    file = "../../pictures/#image(1) screen"
    caption = "Suction screen, seen from the left"
    outline = changed(sample(), "screen", picture=Picture(file, caption))
    pdf = sheet.sheet(outline, "a4", pictures={file: drawn(400, 3000, kind)})
    assert re.search(
        rf"3 Is the suction screen clear\? .*? {caption} clear do 10", words(pdf, tmp_path)
    )
    (row,) = listed(pdf, tmp_path)
    page, pixels, dots = (int(row[column]) for column in (0, 4, 13))
    assert pixels / dots * 25.4 == pytest.approx(60, abs=0.5)  # mm
    on_page = words(pdf, tmp_path, "-f", str(page), "-l", str(page))
    assert "3 Is the suction screen clear?" in on_page
    reader = PdfReader(tmp_path / "sheet.pdf")
    objects = [reader.get_object(number) for number in range(1, len(reader.xref[0]) + 1)]
    spoken = [
        one["/Alt"] for one in objects if isinstance(one, dict) and one.get("/S") == "/Figure"
    ]
    assert spoken == [caption]


def test_a_small_picture_is_not_blown_up(tmp_path: Path) -> None:
    pdf = sheet.sheet(sample(), "a4", pictures=PICTURES)
    (row,) = listed(pdf, tmp_path)
    assert int(row[13]) >= 72  # dots an inch, of a picture of 1 x 1


def test_a_picture_without_a_caption_is_told_by_its_step(tmp_path: Path) -> None:
    outline = changed(sample(), "screen", picture=Picture("a.png", ""))
    with_picture = sheet.sheet(outline, "a4", pictures={"a.png": drawn(20, 20, "PNG")})
    assert len(listed(with_picture, tmp_path)) == 1
    assert "Picture:" not in words(sheet.sheet(outline, "a4"), tmp_path)


@pytest.mark.parametrize(
    "content",
    [b"", b"no picture", drawn(9, 9, "PNG")[:40], b"<svg xmlns='http://www.w3.org/2000/svg'/>"],
)
def test_a_picture_that_cannot_be_shown_leaves_its_caption(content: bytes, tmp_path: Path) -> None:
    pdf = sheet.sheet(sample(), "a4", pictures={"screen.png": content})
    assert "Picture: Suction screen, seen from the left" in words(pdf, tmp_path)
    assert listed(pdf, tmp_path) == []


def copies(outline: Outline, times: int) -> Outline:
    """The tree with its nodes several times over, renamed and numbered on."""
    nodes: list[Node] = list(outline.nodes)
    for turn in range(1, times):
        for node in outline.nodes:
            letter = node.number[0] if node.number[0].isalpha() else ""
            number = f"{letter}{int(node.number.lstrip('FHD')) + 20 * turn}"
            nodes.append(replace(node, name=f"{node.name}-{turn}", number=number))
    return replace(outline, nodes=tuple(nodes))


def test_a_step_is_never_split_over_pages(tmp_path: Path) -> None:
    outline = copies(sample(), 3)
    pdf = sheet.sheet(outline, "letter")
    pages = poppler("pdftotext", pdf, tmp_path, "-raw").split("\f")
    for node in outline.nodes:
        heading = f"\n{node.number} {prose.plain(node.title)}\n"
        holding = [page for page in pages if heading in page]
        assert len(holding) == 1, node.number
        rest = " ".join(holding[0].partition(heading)[2].split())
        for outcome in node.outcomes:
            assert outcome.label in rest, (node.number, outcome.label)
        for sentence in in_words(node.remedy, node.to):
            assert squeezed(sentence)[:10] in squeezed(rest), (node.number, sentence)


def test_three_hundred_nodes(tmp_path: Path) -> None:
    outline = copies(sample(), 15)
    assert len(outline.nodes) == 300
    pdf = sheet.sheet(outline, "a4")
    assert outside_the_margins(pdf, tmp_path) == []
    got = words(pdf, tmp_path)
    for node in outline.nodes:
        assert f"{node.number} {prose.plain(node.title)}" in got


def test_the_alert_symbol_has_its_exclamation_mark(made: bytes, tmp_path: Path) -> None:
    """Down the middle of the triangle the ink changes at its peak and foot, bar and dot."""
    from PIL import Image

    boxes = poppler("pdftotext", made, tmp_path, "-bbox")
    before, _, after = boxes.partition(">CAUTION<")
    page = str(before.count("<page"))
    assert after
    box = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)"', before)[-1]
    left, top, bottom = (float(side) for side in box)
    dots = 8  # a point
    # Between the frame of the signal word and the word, and inside the frame.
    area = [("-x", left - 12.5), ("-y", top), ("-W", 12), ("-H", bottom - top - 2.2)]
    options = [part for name, size in area for part in (name, str(round(size * dots)))]
    command = ["pdftoppm", "-r", str(72 * dots), "-f", page, "-l", page, "-gray", "-singlefile"]
    subprocess.run(
        [*command, *options, str(tmp_path / "sheet.pdf"), str(tmp_path / "a")], check=True
    )
    with Image.open(tmp_path / "a.pgm") as picture:
        width, height = picture.size
        columns = [
            "".join("#" if picture.getpixel((x, y)) < 128 else " " for y in range(height))
            for x in range(width)
        ]
    runs = {len(column.split()) for column in columns}
    # Nothing; the triangle; the triangle parted by bar and dot, of which one may be a column wider.
    assert {0, 1, 3} <= runs <= {0, 1, 2, 3}


def outside_the_margins(pdf: bytes, folder: Path) -> list[str]:
    """Words that stand beyond the printed part of a page, or over its footer."""
    page_tree = poppler("pdftotext", pdf, folder, "-bbox")
    root = ElementTree.fromstring(page_tree)
    space = "{http://www.w3.org/1999/xhtml}"
    beyond = []
    for page in root.iter(f"{space}page"):
        width, height = float(page.attrib["width"]), float(page.attrib["height"])
        for word in page.iter(f"{space}word"):
            left, top, right, bottom = (
                float(word.attrib[side]) for side in ("xMin", "yMin", "xMax", "yMax")
            )
            inside = left > 15 * MM - 1 and right < width - 14 * MM + 3
            if not (inside and top > 5 * MM and bottom < height - 7 * MM):
                beyond.append(f"{word.text} at {left:.0f}, {bottom:.0f}")
    return beyond


def test_every_page_has_the_edition_mark_and_its_number(made: bytes, tmp_path: Path) -> None:
    count = paper.pages(made)
    assert f"Pages:           {count}\n" in poppler("pdfinfo", made, tmp_path)
    for page in range(1, count + 1):
        content = words(made, tmp_path, "-f", str(page), "-l", str(page))
        assert f"{sample().mark} page {page} of {count}" in content
    assert "end of the checklist" in content
