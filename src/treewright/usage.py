"""What to raise where something asked for cannot be done: cheap to import, for the start."""

from __future__ import annotations


class UsageError(Exception):
    """What was asked for cannot be done: said in one sentence; exit status 2."""
