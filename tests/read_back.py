"""Reads the outputs back with tools that had no part in making them."""

from __future__ import annotations

import re
import subprocess
from html.parser import HTMLParser
from xml.etree import ElementTree

_SVG = "{http://www.w3.org/2000/svg}"


def squeezed(text: str) -> str:
    """A text without any white space: where lines were broken does not matter then."""
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def symbols(svg: str) -> dict[str, list[str]]:
    """The lines that are drawn in each symbol of a chart, by its id."""
    return {
        group.attrib["id"]: ["".join(text.itertext()) for text in group.iter(f"{_SVG}text")]
        for group in ElementTree.fromstring(svg).iter(f"{_SVG}g")
        if "symbol" in group.get("class", "").split() and "id" in group.attrib
    }


def sheet_text(pdf: bytes) -> str:
    """The text of a PDF in the order of reading, with single blanks."""
    command = ["pdftotext", "-raw", "-", "-"]
    text = subprocess.run(command, input=pdf, check=True, capture_output=True).stdout.decode()
    return " ".join(text.replace("\u200b", "").split())


class _Articles(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: dict[str, list[str]] = {}
        self._within: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "article":
            self._within.append(dict(attrs).get("id") or "")
            self.texts[self._within[-1]] = []

    def handle_endtag(self, tag: str) -> None:
        if tag == "article":
            self._within.pop()

    def handle_data(self, data: str) -> None:
        for name in self._within:
            self.texts[name].append(data)


def articles(html: str) -> dict[str, str]:
    """The text of each article of a page, by its id, with single blanks."""
    parser = _Articles()
    parser.feed(html)
    return {name: " ".join(" ".join(parts).split()) for name, parts in parser.texts.items()}
