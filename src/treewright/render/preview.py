"""What printed sheets and charts look like: a page of pictures beside the walk-through.

The pictures are made from the PDF that is printed, so that they cannot differ from it. They are
small and grey: all of it is black on white. Whoever wants to read one opens the PDF.
"""

from __future__ import annotations

import struct
import zlib
from base64 import b64encode
from collections.abc import Iterator, Sequence
from itertools import accumulate

from treewright.record import record
from treewright.render import web
from treewright.render.outline import Outline
from treewright.render.paper import compile_pictures
from treewright.render.plain_pdf import Document

_SHARPNESS = 64.0  # pixels an inch: a step's number and the boxes can be made out
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_STEPS = bytes(value >> 4 for value in range(256))  # sixteen greys


@record
class Shown:
    """One PDF as pictures.

    Attributes:
        words: what it is: "Checklist on A4".
        file: the PDF's name, beside the page.
        pictures: a PNG for each page.
    """

    words: str
    file: str
    pictures: tuple[bytes, ...]


def preview_page(outline: Outline, shown: Sequence[Shown]) -> str:
    """A self-contained page of HTML with the pictures of each PDF, and links to them."""
    return web.static_page(
        "print.html",
        ("base.css", "print.css"),
        outline=outline,
        shown=[
            (one, [(size(png), b64encode(png).decode()) for png in one.pictures]) for one in shown
        ],
    )


def pictures_of(pdf: bytes) -> tuple[bytes, ...]:
    """Each page of a PDF that render/paper made, as a small grey PNG.

    Raises:
        PaperError: it cannot be drawn.
    """
    data = {"pages": [{"width": wide, "height": high} for wide, high in Document(pdf).sizes()]}
    return tuple(grey(png) for png in compile_pictures("preview.typ", data, pdf, _SHARPNESS))


def size(png: bytes) -> tuple[int, int]:
    """Width and height in pixels."""
    width, height = struct.unpack(">II", png[16:24])
    return width, height


def grey(png: bytes) -> bytes:
    """A PNG of four bytes a pixel as one of sixteen greys, a sixth of its size.

    Taken is the red of each pixel: of black, white and grey that is all there is to know.
    """
    width, height = size(png)
    rows = list(_rows(png, width, height))
    packed = bytearray()
    for row in rows:
        steps = row.translate(_STEPS)
        if width % 2:
            steps += b"\x0f"
        packed.append(0)  # this row is written as it is
        packed += bytes(a << 4 | b for a, b in zip(steps[::2], steps[1::2], strict=True))
    head = struct.pack(">IIBBBBB", width, height, 4, 0, 0, 0, 0)
    return _SIGNATURE + b"".join(
        _chunk(kind, content)
        for kind, content in (
            (b"IHDR", head), (b"IDAT", zlib.compress(bytes(packed), 6)), (b"IEND", b""),
        )
    )  # fmt: skip


def _chunk(kind: bytes, content: bytes) -> bytes:
    return (
        struct.pack(">I", len(content)) + kind + content
        + struct.pack(">I", zlib.crc32(kind + content))
    )  # fmt: skip


def _rows(png: bytes, width: int, height: int) -> Iterator[bytes]:
    """The first of the four bytes of every pixel, row by row (PNG, 3rd edition: filter methods)."""
    if png[24:26] != b"\x08\x06":
        raise ValueError("these bytes are no picture of four bytes a pixel")
    content, at = b"", 8
    while at < len(png):
        length = int.from_bytes(png[at : at + 4], "big")
        if png[at + 4 : at + 8] == b"IDAT":
            content += png[at + 8 : at + 8 + length]
        at += length + 12
    raw = zlib.decompress(content)
    above = bytes(width)
    for start in range(0, (4 * width + 1) * height, 4 * width + 1):
        row = raw[start + 1 : start + 4 * width + 1 : 4]
        match raw[start]:
            case 0:
                pass
            case 1:
                row = bytes(value & 255 for value in accumulate(row))
            case 2:
                row = bytes((a + b) & 255 for a, b in zip(row, above, strict=True))
            case kind:
                row = _predicted(row, above, kind)
        yield row
        above = row


def _predicted(row: bytes, above: bytes, kind: int) -> bytes:
    made = bytearray()
    left = corner = 0
    for value, up in zip(row, above, strict=True):
        if kind == 3:
            guess = (left + up) // 2
        else:
            near = left + up - corner
            guess = min((left, up, corner), key=lambda one: abs(near - one))
        left, corner = (value + guess) & 255, up
        made.append(left)
    return bytes(made)
