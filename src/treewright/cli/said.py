"""What commands have in common: the trees they take, and what they say of findings and files."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence
    from pathlib import Path

    from treewright.text.diagnostic import Finding

_WIDE = 100  # columns, where there is no terminal that says how many it has


def take_trees(parser: argparse.ArgumentParser) -> None:
    """Adds the trees that a command looks at: `paths`."""
    parser.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")


def width(stream: TextIO) -> int:
    """How many columns a text may have there."""
    if not stream.isatty():
        return _WIDE
    from shutil import get_terminal_size

    return get_terminal_size((_WIDE, 24)).columns


def told(findings: Sequence[Finding], trees: int, written: Sequence[Path]) -> int:
    """Says what was found, on the error stream, and which files were written.

    Returns:
        the exit status.
    """
    if findings:
        show(findings, trees, sys.stderr)
    for path in written:
        print(path.as_posix())
    return status(findings)


def show(findings: Sequence[Finding], trees: int, out: TextIO) -> None:
    """Shows what was found in so many trees, in colour where that is wanted."""
    from treewright.report import terminal

    colour = out.isatty() and "NO_COLOR" not in os.environ
    out.write(terminal.render(list(findings), colour, width(out), trees))


def status(findings: Sequence[Finding], strict: bool = False) -> int:
    """The exit status: 1 where there is a fault, or with `strict` a doubt."""
    from treewright.text.diagnostic import Level

    grave = {Level.FAULT, Level.DOUBT} if strict else {Level.FAULT}
    return 1 if any(finding.level in grave for finding in findings) else 0
