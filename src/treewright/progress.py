"""A line that says how far a long job is: only on a terminal, only after a second."""

from __future__ import annotations

import time
from typing import TextIO

_PATIENCE = 1.0  # seconds before the first word
_PAUSE = 0.1  # seconds between words


class Progress:
    """Says "3 of 40 trees: slow-fill" on one line, and wipes it at the end.

    Args:
        stream: where to; nothing is said where it is no terminal.
    """

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._live = stream.isatty()
        self._start = self._said = time.monotonic()
        self._wide = 0

    def say(self, done: int, of: int, what: str) -> None:
        """Notes that `done` of `of` trees are done and `what` is next."""
        if not self._live:
            return
        now = time.monotonic()
        if now - self._start < _PATIENCE or now - self._said < _PAUSE:
            return
        self._said = now
        text = f"{done} of {of} trees: {what}"[:78]
        self._stream.write("\r" + text.ljust(self._wide))
        self._stream.flush()
        self._wide = len(text)

    def close(self) -> None:
        """Wipes the line."""
        if self._wide:
            self._stream.write("\r" + " " * self._wide + "\r")
            self._stream.flush()
