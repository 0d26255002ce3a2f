"""`treewright weigh`: the minutes to each fault, where they go, and what the best order takes."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from treewright.cli.said import take_trees, width
from treewright.project import read_trees
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--symptom", metavar="NAME", help="only what this symptom can reach")
    parser.add_argument("--last", choices=("inferred", "confirmed"), default="inferred",
                        help="of the last cause, for the tables (default: inferred)")  # fmt: skip
    parser.add_argument("--ranges", action="store_true",
                        help="how wrong a share or a time may be; may take a minute")  # fmt: skip
    parser.add_argument("--points", type=int, default=3000, metavar="N",
                        help="how far to look for the best order (default: 3000)")  # fmt: skip
    parser.add_argument("--picture", metavar="FILE", help="write where the time goes as SVG, too")
    parser.add_argument("--format", choices=("text", "json"), default="text")


def run(options: argparse.Namespace) -> int:
    """Weighs the trees of `options.paths`; libraries among them have nothing to weigh.

    Args:
        options: `paths`; `symptom`: only this one, or None; `last`: "inferred" or "confirmed";
            `format`: "text" or "json"; `picture`: a file to write, or None; `ranges`: whether
            to find them; `points`: how far to look for an order.

    Returns:
        the exit status: 1 where a tree cannot be read whole, a fault is not found or a case
        does not end where it says; otherwise 0.

    Raises:
        UsageError: a path or a symptom is not there, there is no tree but libraries, or a
            picture is asked for of more than one tree.
    """
    from treewright.outputs import write
    from treewright.report import terminal, weigh, weigh_json, weigh_picture
    from treewright.report.proof import prove
    from treewright.report.weighed import weigh_tree

    if options.points < 1:
        raise UsageError("--points takes a whole number from 1 up")
    read = read_trees(options.paths)
    trees = read.trees
    if not trees and not read.unread:
        raise UsageError("there is no tree here, only libraries: nothing can be weighed")
    if options.picture is not None and len(trees) > 1:
        raise UsageError(f"a picture shows one tree, and these are {len(trees)}: name one")
    for tree in trees:
        if options.symptom is not None and options.symptom not in tree.symptoms:
            raise UsageError(f"{tree.name} has no symptom `{options.symptom}`")
    if read.findings:
        sys.stderr.write(terminal.render(read.findings))
    asked = options.last if options.ranges else None
    weighed = [(t, weigh_tree(t, options.symptom, options.points, asked)) for t in trees]
    if options.format == "json":
        sys.stdout.write(weigh_json.as_json(weighed))
    else:
        wide, last = width(sys.stdout), options.last
        sys.stdout.write("\n".join(weigh.text(tree, found, last, wide) for tree, found in weighed))
    if options.picture is not None and weighed:
        ((tree, found),) = weighed
        picture = weigh_picture.weigh_picture(found, options.last, tree.title.text, tree.language)
        write(Path(options.picture), picture.encode())
    return 0 if not read.unread and all(prove(tree).good for tree in trees) else 1
