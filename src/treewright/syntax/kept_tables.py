"""Keeps the grammar's tables in the user's cache folder: building them takes longer than a lint.

A kept table is only an aid. Where it cannot be read or written the tables are built anew, and
what is read can only be plain data: nothing in the file is ever run.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import pickle
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lark

_MARK = 32  # bytes of the digest in front of the data


class _Plain(pickle.Unpickler):
    """Reads plain data; anything that names code is refused."""

    def find_class(self, module: str, name: str) -> Any:
        raise pickle.UnpicklingError(f"{module}.{name} is no plain data")


def load(key: str, make: Callable[[], lark.Lark]) -> lark.Lark:
    """The parser for a key: from the kept tables, else made and kept.

    Args:
        key: all that the tables depend on, in words.
        make: makes the parser.
    """
    path = _path(key)
    if path is None:
        return make()
    with contextlib.suppress(Exception):  # whatever is in the file: it is only an aid
        content = path.read_bytes()
        if content[:_MARK] == hashlib.sha256(content[_MARK:]).digest():
            return lark.Lark.load(_Plain(io.BytesIO(content[_MARK:])).load())
    parser = make()
    tables = io.BytesIO()
    parser.save(tables)
    _keep(path, hashlib.sha256(tables.getvalue()).digest() + tables.getvalue())
    return parser


def _path(key: str) -> Path | None:
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    try:
        folder = Path(home) if home else Path.home() / ".cache"
    except RuntimeError:  # this user has no home
        return None
    if not folder.is_absolute():
        return None
    whole = f"{sys.version_info[:2]} {key}"
    name = hashlib.sha256(whole.encode()).hexdigest()[:20]
    return folder / "treewright" / f"grammar-{name}.tables"


def _keep(path: Path, content: bytes) -> None:
    """Writes the file whole or not at all; where it cannot be written it is left."""
    import tempfile

    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".tables.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(name).replace(path)
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
