"""The chart with the places of findings marked on it.

Around each symbol that findings are about stands a ring, solid for a fault, dashed for a doubt,
dotted for a wording, with a tab that bears their signs and numbers and leads to the finding; so
that it reads in black and white. Knows of the chart only that a symbol is a group with an id
and a rim, moved to its place.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from xml.etree import ElementTree as Xml

from treewright.record import record
from treewright.render.chart.lines import n

_SVG = "http://www.w3.org/2000/svg"
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
_NUMBER = re.compile(r"-?[0-9.]+")
_AWAY = 7.0  # of the ring from the rim
_TAB = 20.0  # height of the tab, and the least width of one entry of it
_PER_SIGN = 9.0  # width of one sign in the tab


@record
class Mark:
    """A finding to be marked: its number, level, and the sign of the level."""

    number: int
    level: str
    sign: str

    @property
    def text(self) -> str:
        return f"{self.sign} {self.number}"


class Chart:
    """A chart of the tree as `render/chart` draws it."""

    def __init__(self, svg: str) -> None:
        """Takes an `svg` element.

        Raises:
            ValueError: it is none.
        """
        Xml.register_namespace("", _SVG)
        try:
            self._root = Xml.fromstring(_NOT_XML.sub("", svg))
        except Xml.ParseError:
            raise ValueError("this is no drawing") from None
        self._symbols = {
            group.get("id", ""): group for group in self._root.iter(_of("g")) if group.get("id")
        }

    def has(self, id: str) -> bool:
        return id in self._symbols

    def lead(self, anchors: Mapping[str, str]) -> None:
        """Lets symbols lead to places on this page.

        Args:
            anchors: for each address in the chart (without the `#`) the one to put there; what
                leads nowhere on this page is no link any more.
        """
        for link in self._root.iter(_of("a")):
            target = anchors.get(link.get("href", "").removeprefix("#"))
            if target:
                link.set("href", f"#{target}")
            else:
                link.attrib.pop("href", None)

    def mark(self, id: str, marks: Sequence[Mark]) -> None:
        """Marks a symbol, the gravest finding first."""
        group = self._symbols[id]
        rim = next((el for el in group.iter() if "rim" in el.get("class", "").split()), None)
        if rim is None or not marks:
            return
        left, top, right, bottom = _bounds(rim)
        left, top, right, bottom = left - _AWAY, top - _AWAY, right + _AWAY, bottom + _AWAY
        group.set("class", f"{group.get('class', '')} found {marks[0].level}")
        ring = {"x": left, "y": top, "width": right - left, "height": bottom - top, "rx": 4}
        group.append(_element("rect", f"ring {marks[0].level}", ring))
        for mark in marks:
            wide = max(_TAB, _PER_SIGN * len(mark.text) + 8)
            link = _element("a", f"tab {mark.level}", {})
            link.set("href", f"#finding-{mark.number}")
            title = Xml.SubElement(link, _of("title"))
            title.text = f"Finding {mark.number}: {mark.level}"
            box = {"x": left, "y": top - _TAB + 4, "width": wide, "height": _TAB, "rx": 3}
            link.append(_element("rect", "", box))
            words = _element("text", "", {"x": left + wide / 2, "y": top - _TAB + 19})
            words.set("text-anchor", "middle")
            words.text = mark.text
            link.append(words)
            group.append(link)
            left += wide + 3

    def svg(self) -> str:
        """The element, with a size of its own: the page lets it be moved about."""
        box = self._root.get("viewBox", "").split()
        if len(box) == 4:
            self._root.set("width", box[2])
            self._root.set("height", box[3])
        return Xml.tostring(self._root, encoding="unicode")


def _of(tag: str) -> str:
    return f"{{{_SVG}}}{tag}"


def _element(tag: str, kind: str, numbers: Mapping[str, float]) -> Xml.Element:
    element = Xml.Element(_of(tag), {name: n(value) for name, value in numbers.items()})
    if kind:
        element.set("class", kind)
    return element


def _bounds(rim: Xml.Element) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of a rim: a box, a circle, or a path of straight lines."""

    def number(name: str) -> float:
        return float(rim.get(name, "0"))

    if rim.tag == _of("rect"):
        return number("x"), number("y"), number("x") + number("width"), \
            number("y") + number("height")  # fmt: skip
    if rim.tag == _of("circle"):
        x, y, r = number("cx"), number("cy"), number("r")
        return x - r, y - r, x + r, y + r
    across, down = [], []
    for command, rest in re.findall(r"([MLHV])([^MLHVZ]*)", rim.get("d", "")):
        numbers = [float(text) for text in _NUMBER.findall(rest)]
        if command != "V":
            across += numbers[:1]
        if command != "H":
            down += numbers[-1:]
    return min(across, default=0), min(down, default=0), max(across, default=0), \
        max(down, default=0)  # fmt: skip
