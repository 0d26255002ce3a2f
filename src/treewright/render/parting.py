"""Parts words that are too long for any line, so that none runs off a page."""

from __future__ import annotations

import re
from typing import Any

# What no line is sure to hold, and where it may then be parted: before every eighth letter.
_ENDLESS = re.compile(r"[^\s\[\]/\u200b-]{24,}")
_EIGHT = re.compile(r"((?:[^\u0300-\u036f][\u0300-\u036f]*){8})(?!$)")

_NOT_SET = ("svg", "alt")  # drawn, or only read out: not set in lines


def parted(data: Any) -> Any:
    """The data with a place to part in every word too long for a line (zero width spaces)."""
    match data:
        case str():
            return _ENDLESS.sub(lambda word: _EIGHT.sub("\\1\u200b", word[0]), data)
        case dict():
            return {
                key: item if key in _NOT_SET else parted(item) for key, item in data.items()
            }
        case list() | tuple():
            return [parted(item) for item in data]
        case _:
            return data
