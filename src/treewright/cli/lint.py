"""`treewright lint`: gaps and slips in trees, and which of them were waived."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from treewright.cli.said import show, status, take_trees

if TYPE_CHECKING:
    from treewright.lint.review import Review


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--format", choices=("text", "json", "sarif"), default="text")
    parser.add_argument("--strict", action="store_true", help="exit with 1 on a doubt, too")
    parser.add_argument("--fix", action="store_true",
                        help="first mend what can be mended for certain")  # fmt: skip
    parser.add_argument("--fresh", action="store_true",
                        help="look at every file anew, also where nothing has changed")  # fmt: skip
    parser.add_argument("--waived", action="store_true", help="say what was waived, and why")


def run(options: argparse.Namespace) -> int:
    """Looks at the trees of `options.paths` by every rule.

    Returns:
        the exit status: 1 where there is a fault, or with `options.strict` a doubt.

    Raises:
        UsageError: a path is not there, or a file cannot be mended.
    """
    from treewright.project import find_trees, review_all

    paths = find_trees(options.paths)
    look = partial(review_all, keep=True, fresh=options.fresh)
    if options.fix:
        _mend(paths, look, sys.stdout if options.format == "text" else sys.stderr)
    review = look(paths)
    findings = list(review.findings)
    match options.format:
        case "json":
            from treewright.report import json

            sys.stdout.write(json.render(findings))
        case "sarif":
            from treewright.report import explain, sarif

            sys.stdout.write(sarif.render(findings, explain.rule_texts(), review.waived))
        case _:
            from treewright.report import terminal

            show(findings, len(paths), sys.stdout)
            sys.stdout.write(terminal.waivers(review.waived, options.waived))
    return status(findings, options.strict)


def _mend(paths: Sequence[Path], look: Callable[[Sequence[Path]], Review], out: TextIO) -> None:
    """Mends files and says what was changed in them."""
    from treewright.mend import mend
    from treewright.report.terminal import harmless

    mend(paths, look, lambda one: print(harmless(f"{one.path}:{one.line}: {one.text}"), file=out))
