"""The folder of a tree: the libraries and pictures it names lie in it, and nothing else is read."""

from __future__ import annotations

from pathlib import Path, PurePosixPath

from treewright.text.source import Unreadable

_PICTURES = {
    b"\x89PNG\r\n\x1a\n": ".png",
    b"\xff\xd8\xff": ".jpg .jpeg",
    b"GIF87a": ".gif",
    b"GIF89a": ".gif",
}


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
