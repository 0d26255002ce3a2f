"""`treewright explain`: what a rule of the linter looks for, and why it matters at the machine."""

from __future__ import annotations

import argparse
import sys

from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    parser.add_argument("rule", nargs="?", metavar="RULE", help="left out: all rules")


def run(options: argparse.Namespace) -> int:
    """Shows the text of the rule `options.rule`, or the names of all.

    Raises:
        UsageError: there is no such rule.
    """
    from treewright.report import explain

    if options.rule is None:
        print("\n".join(explain.names()))
        return 0
    try:
        sys.stdout.write(explain.explain(options.rule))
    except LookupError as wrong:
        raise UsageError(str(wrong.args[0])) from None
    return 0
