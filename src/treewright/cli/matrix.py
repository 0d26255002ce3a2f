"""`treewright matrix`: faults by checks, with ambiguity groups and figures of merit."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from treewright.cli.said import take_trees
from treewright.project import read_trees
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--format", choices=("text", "csv", "json"), default="text")
    parser.add_argument("--picture", metavar="FILE", help="draw it as SVG, too")


def run(options: argparse.Namespace) -> int:
    """Shows the matrix of each tree of `options.paths` on the standard output.

    Args:
        options: `paths`; `format`: "text", "csv" (of one tree) or "json"; `picture`: an SVG file
            to write, of one tree, or None.

    Returns:
        the exit status: 1 where a tree cannot be read whole, otherwise 0.

    Raises:
        UsageError: a path is not there, or more than one table is asked for as CSV, more than one
            tree as a picture.
    """
    from treewright.outputs import write
    from treewright.report import matrix, terminal
    from treewright.report.matrix_picture import matrix_picture

    read = read_trees(options.paths)
    found = [one for tree in read.trees for one in matrix.matrices(tree)]
    if options.picture is not None:
        trees = list(dict.fromkeys(one.tree.name for one in found))
        if len(trees) > 1:
            raise UsageError(f"a picture shows one tree, and these are {len(trees)}: name one")
        if found:
            tree = found[0].tree
            drawn = matrix_picture(found, tree.title.text, tree.language)
            write(Path(options.picture), drawn.encode())
    if read.findings:
        sys.stderr.write(terminal.render(read.findings))
    match options.format:
        case "json":
            sys.stdout.write(matrix.as_json(found))
        case "csv" if len(found) > 1:
            raise UsageError(
                f"CSV holds one table, and these are {len(found)}: name one tree, or use"
                " `--format json`"
            )
        case "csv":
            sys.stdout.write("".join(map(matrix.as_csv, found)))
        case _:
            sys.stdout.write("\n".join(map(matrix.text, found)))
    return 1 if read.findings else 0
