"""Looks at the pages of a checklist with poppler: words, where they stand, what is in their way."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from pdf import poppler

MM = 72 / 25.4
_SPACE = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Word:
    """A word and its box on the page, in points from the upper left."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Page:
    width: float
    height: float
    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        return re.sub(r"[\s\u200b]+", "", "".join(word.text for word in self.words))


def pages(pdf: bytes, folder: Path) -> list[Page]:
    root = ElementTree.fromstring(poppler("pdftotext", pdf, folder, "-bbox"))
    return [
        Page(
            float(page.attrib["width"]),
            float(page.attrib["height"]),
            tuple(
                Word(
                    word.text or "",
                    *(float(word.attrib[side]) for side in ("xMin", "yMin", "xMax", "yMax")),
                )
                for word in page.iter(f"{_SPACE}word")
            ),
        )
        for page in root.iter(f"{_SPACE}page")
    ]


def outside(page: Page, side: float, top: float = 5, bottom: float = 6) -> list[Word]:
    """The words that stand nearer to an edge than so many millimetres."""
    return [
        word
        for word in page.words
        if word.left < side * MM - 1
        or word.right > page.width - side * MM + 1
        or word.top < top * MM
        or word.bottom > page.height - bottom * MM
    ]


def overlapping(page: Page) -> list[tuple[str, str]]:
    """Pairs of words whose letters lie on each other.

    A box of poppler's is as high as the font's ascent and descent; letters stand in the middle
    half of it.
    """
    found = []
    row = sorted(page.words, key=lambda word: word.top)
    for at, one in enumerate(row):
        for other in row[at + 1 :]:
            if other.top > one.bottom:
                break
            across = min(one.right, other.right) - max(one.left, other.left)
            one_middle = (one.top + one.bottom) / 2
            middle = (other.top + other.bottom) / 2
            near = 0.3 * min(one.bottom - one.top, other.bottom - other.top)
            if across > 1 and abs(one_middle - middle) < near:
                found.append((one.text, other.text))
    return found


def seen(pdf: bytes, folder: Path, page: int, dots: int) -> Path:
    """A page as a picture, so many dots an inch."""
    (folder / "seen.pdf").write_bytes(pdf)
    target = folder / f"seen-{page}"
    options = ["-r", str(dots), "-f", str(page), "-l", str(page), "-gray", "-singlefile"]
    command = ["pdftoppm", *options, str(folder / "seen.pdf"), str(target)]
    subprocess.run(command, check=True, capture_output=True)
    return target.with_suffix(".pgm")
