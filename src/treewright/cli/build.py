"""`treewright build`: chart, checklist, walk-through and data of every tree, and a start page."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from treewright.cli.papers import USUAL, papers
from treewright.cli.said import take_trees, told


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--out", default="out", metavar="DIR", help="where to (default: out)")
    parser.add_argument("--previews", action="store_true",
                        help="a page of pictures of the sheets and charts, too")  # fmt: skip
    parser.add_argument("--papers", type=papers, default=USUAL, metavar="PAPER,…",
                        help="sheets on: a4, letter, legal, card (default: a4,letter)")  # fmt: skip
    parser.add_argument("--review", action="store_true",
                        help="the reviewer's pages and the pages of the rules, too")  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Makes all outputs of the trees of `options.paths`.

    Returns:
        the exit status: 1 where a tree has a fault, and so is not built.

    Raises:
        UsageError: a path is not there, or the folder cannot be written to.
    """
    from treewright.build import build
    from treewright.progress import Progress
    from treewright.project import find_trees

    out, progress = Path(options.out), Progress(sys.stderr)
    built = build(find_trees(options.paths), out, progress, options.papers, options.previews)
    status = told(built.findings, built.trees, built.written)
    if not options.review:
        return status
    from treewright.cli import review

    return max(status, review.run(options))
