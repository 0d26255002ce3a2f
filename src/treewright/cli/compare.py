"""`treewright compare`: what changed between two editions of a tree, and which cards that ages."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from treewright.cli.papers import USUAL
from treewright.cli.said import width
from treewright.editions import Edition, paired, read, read_revision
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    parser.add_argument("places", nargs="+", metavar="PATH",
                        help="the old and the new tree or folder, or REV:PATH")  # fmt: skip
    parser.add_argument("--git", nargs=2, metavar=("OLD", "NEW"),
                        help="compare PATH as these two git revisions have it")  # fmt: skip
    parser.add_argument("--format", choices=("text", "json"), default="text")
    parser.add_argument("--pdf", metavar="FILE", help="write the change sheet for the wall, too")
    parser.add_argument("--paper", choices=USUAL, default="a4",
                        help="of the change sheet (default: a4)")  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Compares what was asked for and says what changed.

    Args:
        options: `places`, and `git`: two revisions or None; `format`: "text" or "json";
            `pdf`: the file of the change sheet, or None; `paper`: its paper.

    Returns:
        the exit status: 0 where nothing changed in meaning, otherwise 1.

    Raises:
        UsageError: there is nothing to compare, or it cannot be read.
    """
    pairs = paired(*_asked(options))
    compared = [(pair, pair.compared()) for pair in pairs]
    if options.format == "json":
        from treewright.report.compare_json import as_json

        sys.stdout.write(as_json([(*pair.outlines, made) for pair, made in compared]))
    else:
        from treewright.report import compare


        sys.stdout.write("\n".join(
            compare.text(made, width(sys.stdout)) if made else compare.alone(*pair.outlines)
            for pair, made in compared
        ))  # fmt: skip
    if options.pdf is not None:
        from treewright.outputs import write
        from treewright.render.change_sheet import change_sheet

        sheet = change_sheet([(*pair.outlines, made) for pair, made in compared], options.paper)
        write(Path(options.pdf), sheet)
    return 1 if any(made is None or made.meant for _, made in compared) else 0


def _asked(options: argparse.Namespace) -> tuple[Sequence[Edition], Sequence[Edition]]:
    places: list[str] = options.places
    if options.git is not None:
        if len(places) != 1:
            raise UsageError("behind `--git OLD NEW` stands one path")
        return (read_revision(options.git[0], places[0]), read_revision(options.git[1], places[0]))
    if len(places) != 2:
        raise UsageError(
            "name two editions: `treewright compare OLD NEW`, or `--git OLD NEW PATH`"
        )
    return read(places[0]), read(places[1])
