"""What is printed, as pictures: those of the pages, on a page that asks for nothing."""

from __future__ import annotations

import re
import struct
import sys
import zlib
from base64 import b64decode
from html import unescape
from io import BytesIO
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, visit
from PIL import Image
from sample_outline import hostile, sample

from treewright.build import build
from treewright.progress import Progress
from treewright.render import chart
from treewright.render.paper import pages
from treewright.render.preview import Shown, grey, pictures_of, preview_page, size
from treewright.render.sheet import sheet

TREE = Path(__file__).resolve().parents[1] / "trees" / "water-pump.tree"


def _png(width: int, height: int, kind: int) -> bytes:
    """A picture of greys, each row written by one filter of the standard, made here."""
    rows = [[(7 * x + 13 * y * x) % 256 for x in range(width)] for y in range(height)]
    raw = bytearray()
    for y, row in enumerate(rows):
        raw.append(kind)
        for x, value in enumerate(row):
            left = row[x - 1] if x else 0
            up = rows[y - 1][x] if y else 0
            corner = rows[y - 1][x - 1] if x and y else 0
            p = left + up - corner
            near = min((left, up, corner), key=lambda one, p=p: abs(p - one))  # type: ignore[misc]
            guess = (0, left, up, (left + up) // 2, near)[kind]
            over = (value - guess) & 255
            raw += bytes((over, over, over, over))

    def chunk(name: bytes, content: bytes) -> bytes:
        return (struct.pack(">I", len(content)) + name + content
                + struct.pack(">I", zlib.crc32(name + content)))  # fmt: skip

    head = struct.pack(">IIBBBBB", width, height, 8, 6, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(bytes(raw))), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


@pytest.mark.parametrize("kind", range(5))
@pytest.mark.parametrize("width", [8, 9])
def test_a_grey_picture_shows_what_the_coloured_one_does(kind: int, width: int) -> None:
    """Read by Pillow, which had no part in making either."""
    png = _png(width, 6, kind)
    with Image.open(BytesIO(png)) as before, Image.open(BytesIO(grey(png))) as after:
        red = before.convert("RGBA").getchannel("R").tobytes()
        made = after.convert("L").tobytes()
        assert before.size == after.size == size(png)
    assert [value >> 4 for value in red] == [value >> 4 for value in made]


def test_each_page_of_a_sheet_has_a_picture_of_its_shape() -> None:
    for paper, shape in (("a4", 297 / 210), ("letter", 11 / 8.5)):
        pdf = sheet(sample(), paper)  # type: ignore[arg-type]
        found = pictures_of(pdf)
        assert len(found) == pages(pdf)
        for png in found:
            width, height = size(png)
            assert abs(height / width - shape) < 0.01
            with Image.open(BytesIO(png)) as picture:
                inks = picture.convert("L").getextrema()
            assert inks[0] < 64 and inks[1] > 240  # black words on white paper


def test_pages_of_a_chart_that_lie_on_their_side_are_shown_so() -> None:
    from pypdf import PdfReader

    pdf = chart.pdf(sample(), "a3")
    boxes = [page.mediabox for page in PdfReader(BytesIO(pdf)).pages]
    shapes = [float(box.height / box.width) for box in boxes]
    for png, shape in zip(pictures_of(pdf), shapes, strict=True):
        width, height = size(png)
        assert abs(height / width - shape) < 0.01
        with Image.open(BytesIO(png)) as picture:
            assert picture.convert("L").getextrema()[0] < 64  # lines are drawn in it
    assert any(shape < 1 for shape in shapes)


def test_the_page_is_whole_in_itself_and_author_text_stays_text() -> None:
    png = pictures_of(sheet(sample(), "a4"))
    text = preview_page(hostile(), [Shown("Checklist on A4", "x-a4.pdf", png)])
    assert text == preview_page(hostile(), [Shown("Checklist on A4", "x-a4.pdf", png)])
    drawn = r'<img src="data:image/png;base64,([^"]+)" width="\d+" height="\d+" alt="([^"]+)"'
    found = re.findall(drawn, text)
    assert [b64decode(data) for data, _ in found] == list(png)
    assert [alt for _, alt in found] == [
        f"Checklist on A4, page {n} of {len(png)}, as it is printed"
        for n in range(1, len(png) + 1)
    ]  # fmt: skip
    assert "<script" not in text and 'src="http' not in text
    assert "default-src 'none'" in unescape(text) and "img-src data:" in text


def test_previews_are_made_and_linked_where_asked_for(tmp_path: Path) -> None:
    plain = build([TREE], tmp_path / "plain", Progress(sys.stderr))
    names = {path.name for path in plain.written}
    assert not any("print" in name for name in names)
    made = build([TREE], tmp_path / "made", Progress(sys.stderr), previews=True)
    assert {path.name for path in made.written} == names | {"water-pump-print.html"}
    for name in ("index.html", "water-pump.html"):
        assert 'href="water-pump-print.html"' in (tmp_path / "made" / name).read_text("utf-8")
        assert "print.html" not in (tmp_path / "plain" / name).read_text("utf-8")
    text = (tmp_path / "made" / "water-pump-print.html").read_text("utf-8")
    for paper in ("a4", "letter"):
        pdf = (tmp_path / "made" / f"water-pump-{paper}.pdf").read_bytes()
        assert pdf == (tmp_path / "plain" / f"water-pump-{paper}.pdf").read_bytes()
        assert f'href="water-pump-{paper}.pdf"' in text
    wall = (tmp_path / "made" / "water-pump-chart.pdf").read_bytes()
    assert wall == (tmp_path / "plain" / "water-pump-chart.pdf").read_bytes()
    assert 'href="water-pump-chart.pdf"' in text
    shown = re.findall(r'alt="Chart, page (\d+) of (\d+), as it is printed"', text)
    assert len(shown) == pages(wall) == int(shown[-1][1])
    for file in re.findall(r'href="([^"]+)"', text):
        assert (tmp_path / "made" / file).is_file()


@needs_chromium
def test_the_pictures_are_drawn_in_a_browser_without_a_request(tmp_path: Path) -> None:
    file = tmp_path / "x-print.html"
    shown = [Shown("Checklist on A4", "x-a4.pdf", pictures_of(sheet(sample(), "a4")))]
    file.write_text(preview_page(sample(), shown), encoding="utf-8")
    with chromium() as browser, visit(browser, file) as seen:
        drawn = "[...document.images].every(i => i.complete && i.naturalWidth > 100)"
        assert seen.page.evaluate(drawn)
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= 390
