"""`treewright order`: the best order of the same checks, and what it saves beside the author's."""

from __future__ import annotations

import argparse
import sys

from treewright.cli.said import take_trees, width
from treewright.project import read_trees
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--format", choices=("text", "json"), default="text")
    parser.add_argument("--last", choices=("inferred", "confirmed"), default="inferred",
                        help="whether the last cause left is confirmed and remedied")  # fmt: skip
    parser.add_argument("--symptom", metavar="NAME", help="only for this symptom")
    parser.add_argument("--seconds", type=float, metavar="N",
                        help="how long to search for each symptom (left out: as far as is quick)")


def run(options: argparse.Namespace) -> int:
    """Looks for the best order of each tree of `options.paths`.

    Args:
        options: `paths`; `format`: "text" or "json"; `last`: "inferred" or "confirmed";
            `seconds`: how long to search for each symptom, or None; `symptom`: only this one,
            or None.

    Returns:
        the exit status: 1 where a tree cannot be read whole, otherwise 0.

    Raises:
        UsageError: a path or the symptom is not there, or there is no tree but libraries.
    """
    from treewright.report import order, order_json, terminal
    from treewright.report.orders import find_orders

    if options.seconds is not None and not 0 <= options.seconds < 1e6:
        raise UsageError("write the seconds as a number, like `--seconds 30`")
    read = read_trees(options.paths)
    only = (options.symptom,) if options.symptom else None
    found = [
        find_orders(tree, options.last, options.seconds, only=only)
        for tree in read.trees
        if options.symptom is None or options.symptom in tree.symptoms
    ]
    if read.findings:
        sys.stderr.write(terminal.render(read.findings))
    if not found and not read.unread:
        if options.symptom is not None:
            raise UsageError(f"no symptom is called `{options.symptom}` here")
        raise UsageError("there is no tree here, only libraries: there is nothing to order")
    if options.format == "json":
        sys.stdout.write(order_json.as_json(found))
    else:
        sys.stdout.write("\n".join(order.text(one, width(sys.stdout)) for one in found))
    return 1 if read.findings else 0
