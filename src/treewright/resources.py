"""Finds grammar/ and site/: in a checkout at its top, in a wheel inside the package."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str) -> Path:
    shipped = _PACKAGE / "_shipped" / name
    return shipped if shipped.is_dir() else _PACKAGE.parents[1] / name


def grammar() -> Path:
    """The folder with tree.lark and the JSON schemas."""
    return _folder("grammar")


def site() -> Path:
    """The folder with the hand-written parts of the walk-through."""
    return _folder("site")
