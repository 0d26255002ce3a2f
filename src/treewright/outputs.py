"""Puts files in their place: each whole or not at all, and not before that is decided.

A file is staged first, under a hidden name beside the one it shall have; it is settled by one
move, or dropped. A file that has not changed is left as it is.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from treewright.record import record
from treewright.usage import UsageError


@record
class Staged:
    """A file that waits to be put in its place.

    Attributes:
        path: the place.
        waiting: where it is until then; None: the file there is just like it.
    """

    path: Path
    waiting: Path | None


def stage(path: Path, content: bytes) -> Staged:
    """Writes a file beside its place.

    Raises:
        UsageError: it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file() and path.read_bytes() == content:
            return Staged(path, None)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(name).chmod(0o644)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as wrong:
        raise _unwritable(path, wrong) from None
    return Staged(path, Path(name))


def settle(staged: Staged) -> Path:
    """Puts a staged file in its place, and gives that.

    Raises:
        UsageError: it cannot be written.
    """
    if staged.waiting is not None:
        try:
            staged.waiting.replace(staged.path)
        except BaseException as wrong:
            staged.waiting.unlink(missing_ok=True)
            if isinstance(wrong, OSError):
                raise _unwritable(staged.path, wrong) from None
            raise
    return staged.path


def drop(staged: Staged) -> None:
    """Leaves what is in the place of a staged file as it is."""
    if staged.waiting is not None:
        with contextlib.suppress(OSError):
            staged.waiting.unlink(missing_ok=True)


def write(path: Path, content: bytes) -> Path:
    """Replaces a file whole, or leaves the old one.

    Raises:
        UsageError: it cannot be written.
    """
    return settle(stage(path, content))


def rewrite(path: Path, content: bytes) -> None:
    """Replaces an author's file whole; who may read it stays, and so does a link to it.

    Raises:
        UsageError: it cannot be written.
    """
    target = path.resolve()
    mode = target.stat().st_mode
    write(target, content).chmod(mode)


def _unwritable(path: Path, wrong: OSError) -> UsageError:
    if path.parent.exists() and not path.parent.is_dir():
        return UsageError(f"`{path.parent}` is a file, not a folder")
    return UsageError(f"`{path}` cannot be written: {wrong.strerror}")
