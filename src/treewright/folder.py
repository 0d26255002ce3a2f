"""The folder of a tree: the libraries and pictures it names lie in it, and nothing else is read."""

from __future__ import annotations

import glob
import re
from pathlib import Path, PurePosixPath

from treewright.text.source import Unreadable

_PICTURES = {
    b"\x89PNG\r\n\x1a\n": ".png",
    b"\xff\xd8\xff": ".jpg .jpeg",
    b"GIF87a": ".gif",
    b"GIF89a": ".gif",
}


_BEGINS = re.compile(r"\ufeff?(?:[ \t]*(?:#[^\n]*)?\r?\n)*translation[ \t]")
_LANGUAGE = re.compile(r"([^.].*)\.([a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*)\.tree")


def language_of(name: str) -> str:
    """The language that a file's name says: "de" for `water-pump.de.tree`; "" for none."""
    found = _LANGUAGE.fullmatch(name)
    return found[2] if found else ""


def translations(path: Path) -> list[Path]:
    """The files beside a tree or library that may translate it, in order of their names."""
    beside = path.parent.glob(f"{glob.escape(path.stem)}.*.tree")
    return sorted(one for one in beside if translated(one) == path)


def translated(path: Path) -> Path | None:
    """The tree or library beside it that a file translates; None where it is no translation."""
    found = _LANGUAGE.fullmatch(path.name)
    original = path.with_name(f"{found[1]}.tree") if found else None
    if original is None or not original.is_file() or not is_translation(path):
        return None
    return original


def is_translation(path: Path) -> bool:
    """Whether a file begins as a translation does."""
    try:
        return _BEGINS.match(path.read_text(encoding="utf-8", errors="replace")) is not None
    except OSError:
        return False


def library(home: Path, name: str) -> Path:
    """Where a library lies.

    Args:
        home: the folder of the tree.
        name: the library's path below it.

    Raises:
        Unreadable: it leads out of the folder.
    """
    target = home / PurePosixPath(name)
    if not target.resolve().is_relative_to(home.resolve()):
        raise Unreadable(
            f"`{name}` leads out of the folder of this tree",
            "libraries stand below the folder of the tree",
        )
    return target


def wrong_with_picture(home: Path, file: str, path: str) -> tuple[str, str] | None:
    """What is wrong with a picture, and what to do; None where it can be printed.

    Args:
        home: the folder of the tree.
        file: the picture as it was written.
        path: where it lies below the folder.
    """
    pure, target = PurePosixPath(file), home / path
    if pure.is_absolute() or ".." in pure.parts or "\\" in file:
        return "this picture lies outside the folder of the tree", "copy it into the folder"
    if not target.is_file() or not target.resolve().is_relative_to(home.resolve()):
        help = "check its name, and that it lies in the folder of the tree"
        return f"there is no picture `{file}`", help
    with target.open("rb") as content:
        start = content.read(8)
    kind = next((k for magic, k in _PICTURES.items() if start.startswith(magic)), "")
    if target.suffix.lower() in kind.split():
        return None
    kinds = ".png, .jpg or .gif"
    return (f"`{file}` is no picture that can be printed",
            f"save it as {kinds}, with the ending that fits")  # fmt: skip
