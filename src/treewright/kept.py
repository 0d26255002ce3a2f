"""The user's cache folder: what is kept there is only an aid, and is never trusted blindly.

Each file is a digest and then the content, so that one cut short or changed is as good as
none. Whatever goes wrong, in reading or in writing, is no trouble: the work is then done anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

_MARK = 32  # bytes of the digest in front of the content


def get(name: str) -> bytes | None:
    """What was kept under a name; None where there is nothing, or it is damaged."""
    folder = _folder()
    if folder is None:
        return None
    try:
        content = (folder / name).read_bytes()
    except OSError:
        return None
    whole = content[:_MARK] == hashlib.sha256(content[_MARK:]).digest()
    return content[_MARK:] if whole else None


def keep(name: str, content: bytes) -> None:
    """Keeps a content, whole or not at all; where it cannot be written it is left."""
    import tempfile

    folder = _folder()
    if folder is None:
        return
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        handle, made = tempfile.mkstemp(prefix=".kept.", dir=folder)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(content).digest() + content)
            Path(made).replace(folder / name)
        except OSError:
            Path(made).unlink(missing_ok=True)
            raise


def _folder() -> Path | None:
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    try:
        folder = Path(home) if home else Path.home() / ".cache"
    except RuntimeError:  # this user has no home
        return None
    return folder / "treewright" if folder.is_absolute() else None
