"""`treewright site`: the walk-through for the phone, and what keeps it there without a network."""

from __future__ import annotations

import argparse

from treewright.cli.made import make, take_folder
from treewright.cli.said import take_trees


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    take_folder(parser)


def run(options: argparse.Namespace) -> int:
    """Makes the walk-throughs of the trees of `options.paths`; returns the exit status."""
    from treewright import build

    return make(options, build.walk_throughs, build.keep_offline)
