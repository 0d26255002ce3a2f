"""Which characters the two packaged type families can draw, and what stands in for the rest.

The sheets and the chart are set in these families alone, so that the same input gives the same
bytes on every machine. Knows nothing of pages or of the tool that sets them.
"""

from __future__ import annotations

import dataclasses
import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from treewright.text.lettering import code_points

FAMILIES = ("fontpkg_atkinson_hyperlegible", "fontpkg_source_sans_3")  # the second fills gaps

# A letter with the marks set upon it: one font must hold them all.
_CLUSTER = re.compile(r"[^\x00-\x7f][\u0300-\u036f]*|.[\u0300-\u036f]+|[\x00-\x1f\x7f]", re.DOTALL)
# They only choose between shapes, join emoji or mark the byte order: nothing to see in them.
_UNSEEN = frozenset("\u200c\u200d\u2060\ufe0e\ufe0f\ufeff")
# What parts words, or lets a line end within one, without a glyph of its own.
_SPACING = {"\u200b": "\u200b", "\n": "\n"} | dict.fromkeys("\t\r\u0085\u2028\u2029", " ")


def legible(text: str) -> str:
    """The text with every character that no font has replaced by a mark such as "[U+1F600]"."""
    return _CLUSTER.sub(lambda found: _shown(found[0]), text)


def missing_glyphs(value: object) -> tuple[str, ...]:
    """The characters in `value` that would be printed as a mark, each once, in code order.

    Args:
        value: an outline, or any nest of dataclasses, dicts, lists, tuples and strings.
    """
    missing = {
        char
        for text in _strings(value)
        for found in _CLUSTER.finditer(text)
        for char in _missing_in(found[0])
    }
    return tuple(sorted(missing))


def _shown(cluster: str) -> str:
    shown = _SPACING.get(cluster)
    if shown is not None:
        return shown
    missing = _missing_in(cluster)
    return "".join(
        f"[U+{ord(char):04X}]" if char in missing else char
        for char in cluster
        if char not in _UNSEEN
    )


def _missing_in(cluster: str) -> str:
    """The characters of a cluster that cannot be drawn together with its first."""
    if cluster in _SPACING or cluster in _UNSEEN:
        return ""
    chars = [char for char in cluster if char not in _UNSEEN]
    fullest = ""
    for family in FAMILIES:
        coverage = _coverage(family)
        held = "".join(char for char in chars if ord(char) in coverage and _plain(char))
        if len(held) > len(fullest):
            fullest = held
        if len(held) == len(chars):
            break  # the second takes a while to read, and is seldom needed
    return "".join(char for char in chars if char not in fullest)


def _plain(char: str) -> bool:
    """False for marks of direction and control: text must not be able to reorder a line."""
    return unicodedata.category(char) not in ("Cc", "Cs", "Co", "Cn") and (
        unicodedata.category(char) != "Cf" or char == "\u00ad"
    )


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _strings(key)
            yield from _strings(item)
    elif isinstance(value, (list, tuple)):
        for item in value:
            yield from _strings(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _strings(getattr(value, field.name))


def legible_all(data: object) -> Any:
    """Data for JSON with every string of it made legible; tuples come out as lists."""
    match data:
        case str():
            return data if data.isascii() and data.isprintable() else legible(data)
        case dict():
            return {key: legible_all(item) for key, item in data.items()}
        case list() | tuple():
            return [legible_all(item) for item in data]
        case _:
            return data


def font_folder(package: str) -> Path:
    """Where a family of `FAMILIES` has its fonts."""
    return Path(next(iter(import_module(package).__path__))) / "files"


@cache
def _coverage(family: str) -> frozenset[int]:
    """The code points that all styles of a family can draw."""
    files = sorted(font_folder(family).glob("*.ttf"))
    return frozenset.intersection(*(code_points(file.read_bytes()) for file in files))
