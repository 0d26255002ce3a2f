"""`treewright prove`: every fault followed by what it shows, every case as it was read."""

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
    parser.add_argument("--format", choices=("text", "json"), default="text")
    parser.add_argument("--junit", metavar="FILE", help="write it as JUnit XML, too")


def run(options: argparse.Namespace) -> int:
    """Proves the trees of `options.paths`; libraries among them have nothing to prove.

    Args:
        options: `paths`; `format`: "text" or "json"; `junit`: a file to write, or None.

    Returns:
        the exit status: 1 where a tree cannot be read whole, a fault is not found or a case
        does not end where it says; otherwise 0.

    Raises:
        UsageError: a path is not there, or there is no tree but libraries.
    """
    from treewright.outputs import write
    from treewright.report import prove, terminal
    from treewright.report.proof import prove as proven

    read = read_trees(options.paths)
    if not read.trees and not read.unread:
        raise UsageError("there is no tree here, only libraries: nothing can be proven")
    proofs = [proven(tree) for tree in read.trees]
    unread = [path.as_posix() for path in read.unread]
    if read.findings:
        sys.stderr.write(terminal.render(read.findings))
    if options.format == "json":
        sys.stdout.write(prove.as_json(proofs))
    else:
        sys.stdout.write("\n".join(prove.table(proof, width(sys.stdout)) for proof in proofs))
    if options.junit is not None:
        write(Path(options.junit), prove.junit(proofs, unread).encode())
    return 0 if not unread and all(proof.good for proof in proofs) else 1
