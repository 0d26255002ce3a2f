"""How wide a text runs in a font, and how many lines it takes: read from the font itself.

Advance widths come from the `hmtx` table, the glyph of a character from `cmap` (ISO/IEC
14496-22); no kerning, which moves a line by less than a letter. Knows nothing of paper.
"""

from __future__ import annotations

import re
import struct
import unicodedata
from collections.abc import Sequence
from dataclasses import field
from functools import cache
from importlib import import_module
from pathlib import Path

from treewright.record import record

MM = 72 / 25.4
"""Points in a millimetre."""

_FAMILY = "fontpkg_atkinson_hyperlegible"
_STYLES = {False: "AtkinsonHyperlegible-Regular.ttf", True: "AtkinsonHyperlegible-Bold.ttf"}
# A line may end after a blank, a hyphen, a dash or a slash, but not at a no-break space.
_PIECES = re.compile(r"[^ \n\t\-‐–—/]*[\-‐–—/]+|[^ \n\t\-‐–—/]+|[ \n\t]+")


@record
class Lettering:
    """The widths of one font.

    Attributes:
        advances: by code point, as a part of the type size.
        missing: what a character that the font has not is taken for.
    """

    advances: dict[int, float]
    missing: float
    _known: dict[str, float] = field(default_factory=dict, repr=False, compare=False)

    def width(self, text: str) -> float:
        """How wide a text runs on one line, in type sizes."""
        try:
            return sum(map(self._known.__getitem__, text))
        except KeyError:  # a character that was not met before
            return sum(map(self._advance, text))

    def lines(self, text: str, size: float, room: float) -> int:
        """How many lines a text takes, filled from the left.

        Args:
            text: the words; a run of blanks counts as one.
            size: type size in points.
            room: width of the line in millimetres; more than nothing.

        Returns:
            0 for an empty text. A word longer than the line is broken where it must be.
        """
        most = room * MM / size
        count, used, gap = 0, 0.0, 0.0
        for piece in _PIECES.findall(text.strip()):
            if piece.isspace():
                gap = self._advance(" ")
                continue
            wide = self.width(piece)
            if count and used + gap + wide <= most:
                used += gap + wide
            else:
                count += 1
                while wide > most:
                    wide -= most
                    count += 1
                used = wide
            gap = 0.0
        return count

    def longest_piece(self, text: str) -> float:
        """The width of the longest word or part of one that no line may break, in type sizes."""
        return max(map(self.width, _PIECES.findall(text)), default=0.0)

    def _advance(self, char: str) -> float:
        found = self._known.get(char)
        if found is None:
            found = self._known[char] = self._look_up(char)
        return found

    def _look_up(self, char: str) -> float:
        for like in (char, unicodedata.normalize("NFD", char)[0]):
            if ord(like) in self.advances:
                return self.advances[ord(like)]
        if unicodedata.category(char) in ("Mn", "Me", "Cf"):
            return 0.0
        return 1.0 if unicodedata.east_asian_width(char) in "WF" else self.missing


@cache
def atkinson(bold: bool = False) -> Lettering:
    """The lettering of the sheets: Atkinson Hyperlegible."""
    folder = Path(next(iter(import_module(_FAMILY).__path__))) / "files"
    return lettering((folder / _STYLES[bold]).read_bytes())


def lettering(font: bytes) -> Lettering:
    """The widths of a TrueType font.

    Raises:
        ValueError: it has no table that says which character is which glyph, or how wide one is.
    """
    tables = _tables(font)
    try:
        (em,) = struct.unpack_from(">H", font, tables["head"] + 18)
        (count,) = struct.unpack_from(">H", font, tables["hhea"] + 34)
        widths = struct.unpack_from(">" + "Hh" * count, font, tables["hmtx"])[::2]
        glyphs = _glyphs(font, tables["cmap"])
    except (KeyError, struct.error) as wrong:
        raise ValueError("this is no TrueType font with widths") from wrong
    # Glyphs beyond the last of `hmtx` are as wide as that one (ISO/IEC 14496-22, 5.1.7).
    advances = {code: widths[min(glyph, count - 1)] / em for code, glyph in glyphs.items()}
    return Lettering(advances, widths[0] / em)


def code_points(font: bytes) -> frozenset[int]:
    """The code points that a TrueType font maps to a glyph.

    Reads the Unicode subtables in formats 4 and 12 of the `cmap` table (ISO/IEC 14496-22, 5.1.2).

    Raises:
        KeyError: it has no such table.
    """
    return frozenset(_glyphs(font, _tables(font)["cmap"]))


def _tables(font: bytes) -> dict[str, int]:
    """Where each table of a font begins."""
    if len(font) < 12:
        return {}
    (count,) = struct.unpack_from(">H", font, 4)
    return {
        font[at : at + 4].decode("latin-1"): struct.unpack_from(">I", font, at + 8)[0]
        for at in range(12, min(12 + 16 * count, len(font) - 15), 16)
    }


def _glyphs(font: bytes, cmap: int) -> dict[int, int]:
    """The glyph of each code point, of the Unicode subtables in formats 4 and 12.

    What a font maps to glyph 0 it has not (ISO/IEC 14496-22, 5.1.2).
    """
    found: dict[int, int] = {}
    (subtables,) = struct.unpack_from(">H", font, cmap + 2)
    for index in range(subtables):
        platform, _, offset = struct.unpack_from(">HHI", font, cmap + 4 + 8 * index)
        at = cmap + offset
        (form,) = struct.unpack_from(">H", font, at)
        if platform in (0, 3) and form == 4:
            _add_segments(found, font, at)
        elif platform in (0, 3) and form == 12:
            _add_groups(found, font, at)
    return found


def _add_segments(found: dict[int, int], font: bytes, at: int) -> None:
    (doubled,) = struct.unpack_from(">H", font, at + 6)
    count = doubled // 2
    ends = struct.unpack_from(f">{count}H", font, at + 14)
    first = at + 16 + doubled
    starts = struct.unpack_from(f">{count}H", font, first)
    deltas = struct.unpack_from(f">{count}H", font, first + doubled)
    offsets = struct.unpack_from(f">{count}H", font, first + 2 * doubled)
    for index, (low, high) in enumerate(zip(starts, ends, strict=True)):
        codes = range(low, min(high, 0xFFFE) + 1)
        glyphs: Sequence[int] = codes
        if offsets[index]:
            place = first + 2 * doubled + 2 * index + offsets[index]
            glyphs = struct.unpack_from(f">{len(codes)}H", font, place)
        delta = deltas[index]
        for code, glyph in zip(codes, glyphs, strict=True):
            if (glyph or not offsets[index]) and (glyph + delta) & 0xFFFF:
                found[code] = (glyph + delta) & 0xFFFF


def _add_groups(found: dict[int, int], font: bytes, at: int) -> None:
    (count,) = struct.unpack_from(">I", font, at + 12)
    for low, high, glyph in struct.iter_unpack(">III", font[at + 16 : at + 16 + 12 * count]):
        found.update(zip(range(low, high + 1), range(glyph, glyph + high - low + 1), strict=True))
        if glyph == 0:
            del found[low]
