"""`treewright data`: the compiled tree as JSON, for other programs."""

from __future__ import annotations

import argparse

from treewright.cli.made import make
from treewright.cli.said import take_trees


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--out", metavar="DIR", help="where to")


def run(options: argparse.Namespace) -> int:
    """Writes or shows the trees of `options.paths` as JSON; returns the exit status."""
    from treewright import build

    return make(options, build.data)
