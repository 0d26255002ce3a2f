"""Keeps the grammar's tables in the user's cache folder: building them takes longer than a lint.

What is read can only be plain data: nothing in the file is ever run.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import pickle
import sys
from collections.abc import Callable
from typing import Any

import lark

from treewright import kept


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
    whole = f"{sys.version_info[:2]} {key}"
    name = f"grammar-{hashlib.sha256(whole.encode()).hexdigest()[:20]}.tables"
    with contextlib.suppress(Exception):  # whatever is in the file: it is only an aid
        if content := kept.get(name):
            return lark.Lark.load(_Plain(io.BytesIO(content)).load())
    parser = make()
    tables = io.BytesIO()
    parser.save(tables)
    kept.keep(name, tables.getvalue())
    return parser
