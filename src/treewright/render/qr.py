"""Codes (ISO/IEC 18004) that lead from paper to the walk-through. The only user of segno.

The address is made of the base that whoever prints the sheet gives, and of names alone, which
are letters, digits and hyphens; nothing else that an author writes ever becomes part of it.
"""

from __future__ import annotations

import re
from io import BytesIO
from urllib.parse import quote, urlsplit

from treewright.record import record

_LONGEST = 200
_MODULE = 0.5  # mm: read by a phone from half a metre
_SMALLEST = 16.0  # mm
_QUIET = 4  # modules of white around it, as the standard asks


@record
class Code:
    """A code as SVG, the length of its side in millimetres, and where it leads."""

    svg: str
    side: float
    address: str


def checked_base(text: str) -> str:
    """An address under which built walk-throughs lie, ending in a slash.

    Raises:
        ValueError: it is none; the message says why.
    """
    if len(text) > _LONGEST:
        raise ValueError(f"the base address is longer than {_LONGEST} letters")
    if not re.fullmatch(r"[!-~]+", text):
        raise ValueError("the base address has blanks or letters that no address may have")
    try:
        parts = urlsplit(text)
        parts.port  # noqa: B018 (looks at it)
    except ValueError as wrong:
        raise ValueError(f"`{text}` is no address") from wrong
    if parts.scheme not in ("http", "https"):
        raise ValueError(f"the base address must begin with https:// or http://, not `{text}`")
    if not parts.hostname or parts.username is not None or re.search(r"[\"<>\\^`{|}]", text):
        raise ValueError(f"`{text}` is no address")
    if parts.query or parts.fragment or text.endswith(("?", "#")):
        raise ValueError("the base address is that of a folder: without `?` and `#`")
    return text if text.endswith("/") else text + "/"


def address(base: str, tree: str, anchor: str) -> str:
    """Where the walk-through of a tree shows one symptom or step.

    Args:
        base: see `checked_base`.
        tree, anchor: the name of the tree; what the page calls the place.

    Raises:
        ValueError: the base is no address.
    """
    return f"{checked_base(base)}{quote(tree, safe='')}.html#{quote(anchor, safe='')}"


def code(address: str) -> Code:
    """The code of an address: error correction level M (15 %), black on white."""
    import segno

    made = segno.make(address, error="m", micro=False, boost_error=False)
    drawn = BytesIO()
    made.save(drawn, kind="svg", border=_QUIET, xmldecl=False, nl=False, svgclass=None,
              lineclass=None, omitsize=True)  # fmt: skip
    modules = made.symbol_size(border=_QUIET)[0]
    return Code(drawn.getvalue().decode(), max(modules * _MODULE, _SMALLEST), address)
