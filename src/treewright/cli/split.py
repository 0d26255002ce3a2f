"""`treewright split`: which one new check would help most."""

from __future__ import annotations

import argparse
import sys

from treewright.cli.said import take_trees
from treewright.project import read_trees
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--time", metavar="MIN",
                        help="minutes of the new check (default: the median check)")  # fmt: skip
    parser.add_argument("--format", choices=("text", "json"), default="text")


def run(options: argparse.Namespace) -> int:
    """Says which new check would help most, for the trees of `options.paths`.

    Args:
        options: `paths`; `time`: minutes of the new check as they were written, or None;
            `format`: "text" or "json".

    Returns:
        the exit status: 1 where a tree cannot be read whole, otherwise 0.

    Raises:
        UsageError: a path is not there, the time is none, or there is nothing to divide.
    """
    from treewright.model.graph import graph
    from treewright.report import split, terminal
    from treewright.text.quantity import read_number

    time = None
    if options.time is not None:
        try:
            time = read_number(options.time.strip().removesuffix("min").strip())
        except (ValueError, ZeroDivisionError):
            raise UsageError(f"`{options.time}` is no number of minutes") from None
        if time < 0:
            raise UsageError(f"`{options.time}` is no number of minutes")
    read = read_trees(options.paths)
    advice: list[split.Advice] = []
    for tree in read.trees:
        graphs = [graph(tree, model) for model in tree.models or (None,)]
        advice += split.advise(tree, graphs, time)
    if not advice and not read.unread:
        raise UsageError("there is no symptom here with a fault that shows anything")
    if read.findings:
        sys.stderr.write(terminal.render(read.findings))
    sys.stdout.write(split.as_json(advice) if options.format == "json" else split.text(advice))
    return 1 if read.findings else 0
