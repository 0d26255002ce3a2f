"""Words on the chart: how wide they run and where they break.

Widths are those of Atkinson Hyperlegible in hundredths of the type size (measured from the
font's advance widths), a little widened because a reader's machine may show Helvetica or
Arial instead. Knows nothing of trees or of symbols, except that a decision's diamond leaves
each line another length.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from treewright.record import record
from treewright.render.prose import plain

NUMBER, TITLE, DETAIL = 18.0, 11.0, 10.0
"""Type sizes in the chart's own units; DETAIL is the smallest there is."""

LEADING = 1.2
"""Height of a line by its type size."""

_SAFETY = 1.04
# fmt: off
_REGULAR = (
    28, 28, 30, 66, 59, 93, 70, 16, 30, 30, 43, 60, 20, 37, 20, 38, 65, 40, 55, 57, 61, 58, 60, 51,
    62, 60, 20, 20, 55, 60, 55, 52, 78, 63, 62, 66, 67, 57, 55, 71, 69, 41, 51, 63, 54, 82, 69, 73,
    60, 75, 62, 60, 56, 69, 59, 84, 62, 60, 61, 32, 38, 32, 55, 40, 27, 53, 57, 50, 56, 54, 31, 56,
    55, 28, 25, 49, 24, 84, 55, 55, 57, 58, 34, 47, 32, 54, 44, 65, 46, 43, 46, 32, 23, 32, 56,
)
_BOLD = (
    32, 28, 41, 78, 62, 98, 70, 22, 37, 37, 43, 62, 24, 37, 24, 44, 65, 45, 59, 60, 63, 61, 63, 54,
    62, 56, 24, 24, 57, 62, 57, 61, 75, 69, 64, 67, 69, 58, 54, 72, 68, 46, 56, 66, 54, 84, 70, 76,
    63, 78, 65, 62, 62, 66, 66, 88, 70, 69, 62, 33, 44, 33, 59, 43, 31, 55, 60, 52, 60, 57, 37, 60,
    57, 32, 26, 57, 31, 89, 57, 57, 60, 60, 37, 53, 38, 57, 53, 72, 53, 52, 52, 37, 23, 37, 53,
)
# fmt: on

# Neither XML nor a wall chart has a use for these: controls, marks that turn the direction of
# a line, halves of a pair, and the code points that are no characters.
_UNFIT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069"
    "\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff\ufeff]"
)


# A unit is short, follows a number, and is not one of the words that join two numbers.
_JOINED = re.compile(
    r"(?<=\d) (?=(?!(?:to|or|and|in|at|on|if|by)\b)(?:°|%|±|[^\W\d_]{1,4}\b))|(?<=±) "
)


@record
class Line:
    """One line of words in a symbol."""

    text: str
    size: float = TITLE
    bold: bool = False

    @property
    def width(self) -> float:
        return width(self.text, self.size, self.bold)

    @property
    def height(self) -> float:
        return self.size * LEADING


@lru_cache(maxsize=20_000)
def clean(text: str) -> str:
    """The text as one line without any character that XML forbids or that reorders a line."""
    return " ".join(_UNFIT.sub("", text).split())


@lru_cache(maxsize=5_000)
def plain_words(prose: str) -> str:
    """An author's CommonMark as one clean line of words."""
    return clean(plain(prose))


@lru_cache(maxsize=20_000)
def width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text runs, in the unit of `size`; a little more than it will take."""
    table = _BOLD if bold else _REGULAR
    return sum(_advance(char, table) for char in text) * size * _SAFETY / 100


def _advance(char: str, table: tuple[int, ...]) -> int:
    code = 32 if char == "\u00a0" else ord(char)
    if 32 <= code < 127:
        return table[code - 32]
    base = unicodedata.normalize("NFD", char)[0]
    if base != char and 32 <= ord(base) < 127:
        return table[ord(base) - 32]
    if unicodedata.combining(char):
        return 0
    return 103 if unicodedata.east_asian_width(char) in "WF" else 70


@lru_cache(maxsize=20_000)
def wrap(text: str, room: float, size: float = TITLE, bold: bool = False) -> tuple[Line, ...]:
    """The text in as few lines as `room` allows, then evened out so that none is left short.

    A word longer than the room is broken. An empty text gives no line.
    """
    whole = words(text)
    lines = _fill(whole, room, size, bold)
    if len(lines) > 1:
        low, high = room / 2, room
        while high - low > size / 4:
            middle = (low + high) / 2
            tried = _fill(whole, middle, size, bold)
            if len(tried) == len(lines):
                high, lines = middle, tried
            else:
                low = middle
    return tuple(Line(line.replace("\u00a0", " "), size, bold) for line in lines)


def _fill(rest: list[str], room: float, size: float, bold: bool) -> list[str]:
    lines = []
    while rest:
        line, rest = _take(rest, room, size, bold)
        lines.append(line)
    return lines


def words(text: str) -> list[str]:
    """What a line may not break: each word, a number with its unit, a value with its "±"."""
    return _JOINED.sub("\u00a0", text).split(" ") if text else []


def _take(words: list[str], room: float, size: float, bold: bool) -> tuple[str, list[str]]:
    """The words that fit the room, at least one letter of them, and the rest."""
    space = width(" ", size, bold)
    used = width(words[0], size, bold)
    if used > room:
        letters = max(1, int(len(words[0]) * room / used))
        return words[0][:letters], [words[0][letters:], *words[1:]] if letters < len(
            words[0]
        ) else words[1:]
    count = 1
    while count < len(words):
        used += space + width(words[count], size, bold)
        if used > room:
            break
        count += 1
    return " ".join(words[:count]), words[count:]


@record
class Diamond:
    """A diamond and the lines that fit into it; `top` is theirs, from its middle downwards."""

    width: float
    height: float
    top: float
    lines: tuple[Line, ...]


def in_diamond(number: Line, texts: tuple[Line, ...], aspect: float = 1.75) -> Diamond:
    """The smallest diamond that holds a number above some texts, each broken to its shape.

    Args:
        number: stands in the upper corner.
        texts: below it, in this order, each with the size it is set in.
        aspect: width by height.
    """
    area = sum(line.width * line.height for line in (number, *texts))
    height = max(64.0, (area * 2.0 / aspect) ** 0.5)
    while True:
        found = _shaped(number, texts, height * aspect, height)
        if found is not None:
            return Diamond(height * aspect, height, *found)
        height *= 1.05


def _shaped(
    number: Line, texts: tuple[Line, ...], wide: float, high: float
) -> tuple[float, tuple[Line, ...]] | None:
    margin = 12.0
    least = sum(line.height for line in texts)
    block = number.height + least
    step = min((line.height for line in texts), default=number.height)
    while block < high * 0.86:
        top = -block / 2
        lines: list[Line] | None = [number]
        if number.width + margin > _room(
            top + number.height * 0.2, number.height * 0.7, wide, high
        ):
            return None
        at = top + number.height
        for text in texts:
            rest = words(text.text)
            while rest and lines is not None:
                room = _room(at, text.height, wide, high) - margin
                longest = max(width(word, text.size, text.bold) for word in rest)
                if room < min(longest, wide * 0.6):
                    lines = None
                    break
                taken, rest = _take(rest, room, text.size, text.bold)
                lines.append(Line(taken.replace("\u00a0", " "), text.size, text.bold))
                at += text.height
            if lines is None:
                break
        if lines is not None and at <= block / 2 + 0.01:
            return -block / 2, tuple(lines)
        block += step
    return None


def _room(top: float, height: float, wide: float, high: float) -> float:
    """The width a diamond leaves to a line; `top` is measured from its middle, downwards."""
    far = max(abs(top), abs(top + height))
    return wide * (1 - 2 * far / high)
