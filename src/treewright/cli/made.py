"""What the commands have in common that make one kind of output of every tree."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from treewright.cli.said import told

if TYPE_CHECKING:
    import argparse

    from treewright.making import Made, Maker


def take_folder(parser: argparse.ArgumentParser) -> None:
    """Adds the folder that a command writes to: `out`."""
    parser.add_argument("--out", default=".", metavar="DIR", help="where to (default: here)")


def make(
    options: argparse.Namespace,
    maker: Maker,
    beside: Callable[[Made, Path], None] = lambda made, out: None,
) -> int:
    """Makes something of every sound tree of `options.paths`, and says what came of it.

    Args:
        options: `paths`; `out`: the folder to write to; None: it is shown.
        maker: what to make of a tree.
        beside: what to write into the folder after that, for all trees together.

    Returns:
        the exit status: 1 where a tree has a fault.

    Raises:
        UsageError: a path is not there, the folder cannot be written to, or what was asked for
            is not in the tree.
    """
    from treewright import making
    from treewright.progress import Progress
    from treewright.project import find_trees

    out = Path(options.out) if options.out is not None else None
    made = making.make(find_trees(options.paths), (maker,), out, Progress(sys.stderr))
    if out is None:
        sys.stdout.write("".join(text.decode() for text in made.shown))
    else:
        beside(made, out)
    return told(made.findings, made.trees, made.written)
