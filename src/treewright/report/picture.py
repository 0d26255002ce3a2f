"""What pictures of tables and bars are made of: words, their room, and the SVG around them.

Author text is escaped here and nowhere else. What a picture shows is said in words as well, for
a screen reader. Sizes are points at the size the picture has; type is 9 pt, headings 11 pt.
"""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape as escape
from xml.sax.saxutils import quoteattr

from treewright.render.chart.svg import FAMILY
from treewright.render.chart.type import clean, width

SIZE, HEAD = 9.0, 11.0
EDGE = 6.0
"""Left free on every side."""


def picture(
    wide: float, high: float, key: str, language: str, title: str, told: str, parts: Iterable[str]
) -> str:
    """An `svg` element on a white ground, for a file of its own or within a page.

    Args:
        wide, high: its size.
        key: what the names within it begin with: another one for each in a page.
        language: a tag of BCP 47.
        title, told: what it is, and all it shows, in words.
        parts: what is drawn.
    """
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" lang={quoteattr(language)}'
            f' width="{wide:g}pt" height="{high:g}pt" viewBox="0 0 {wide:g} {high:g}"'
            f' font-family="{FAMILY}" aria-labelledby={quoteattr(f"{key}-title {key}-desc")}>',
            f"<title id={quoteattr(f'{key}-title')}>{escape(clean(title))}</title>",
            f"<desc id={quoteattr(f'{key}-desc')}>{escape(clean(told))}</desc>",
            f'<rect width="{wide:g}" height="{high:g}" fill="#fff"/>',
            *parts,
            "</svg>",
            "",
        )
    )


def words(
    left: float, base: float, text: str, size: float = SIZE, *, bold: bool = False, at: str = ""
) -> str:
    """Words on one line; `at`: "middle" or "end" where `left` is that of them."""
    more = (' font-weight="bold"' if bold else "") + (f' text-anchor="{at}"' if at else "")
    return (
        f'<text x="{left:.1f}" y="{base:.1f}" font-size="{size:g}" fill="#000"{more}>'
        f"{escape(clean(text))}</text>"
    )


def fit(text: str, room: float, size: float = SIZE) -> str:
    """One line of a text, cut where it is too long for the room."""
    text = clean(text)
    if width(text, size) <= room:
        return text
    while text and width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"
