"""`treewright draft`: a tree in the best order, from one without ways or a table of causes."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from treewright.project import SUFFIX
from treewright.usage import UsageError


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    parser.add_argument("file", metavar="FILE", help="a tree without ways on, or a CSV table")
    parser.add_argument("--out", metavar="FILE", help="where to (default: shown)")
    parser.add_argument("--force", action="store_true", help="also over a file that is there")


def run(options: argparse.Namespace) -> int:
    """Drafts the tree of `options.file`.

    Args:
        options: `file`; `out`: where to write it, or None; `force`: also over a file.

    Returns:
        the exit status: 1 where the file cannot be drafted as it is, or the draft has a fault.

    Raises:
        UsageError: there is no such file, it cannot be ordered, or the file to write is there.
    """
    from treewright.cli.tidy import as_shown
    from treewright.draft.make import make, make_of_table
    from treewright.outputs import write
    from treewright.report import terminal
    from treewright.text.diagnostic import Level

    path = Path(options.file)
    if not path.is_file():
        raise UsageError(f"there is no file `{options.file}`")
    out = Path(options.out) if options.out is not None else None
    if out is not None and out.exists() and not options.force:
        raise UsageError(f"`{options.out}` is there already; `--force` writes over it")
    drafted = (make if path.suffix == SUFFIX else make_of_table)(path, as_shown)
    if drafted.text:
        if out is None:
            sys.stdout.write(drafted.text)
        else:
            write(out, drafted.text.encode())
    for line in drafted.said:
        print(terminal.harmless(line), file=sys.stderr)
    if drafted.findings:
        sys.stderr.write(terminal.render(list(drafted.findings)))
    return 1 if any(one.level is Level.FAULT for one in drafted.findings) else 0
