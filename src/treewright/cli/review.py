"""`treewright review`: the reviewer's page of every tree, and the pages of the rules beside."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from treewright.cli.said import take_trees
from treewright.lint.review import Review
from treewright.project import Loaded, Project, find_trees, reviewed
from treewright.record import record
from treewright.text.diagnostic import Finding, Level

if TYPE_CHECKING:
    from treewright.render.outline import Outline

BESIDE = "-review.html"
"""The end of a page's file name, after the tree's own."""


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    parser.add_argument("--out", default="out", metavar="DIR", help="where to (default: out)")


def run(options: argparse.Namespace) -> int:
    """Writes the pages of `options.paths` into the folder `options.out`.

    Also trees that are not sound have a page; only a file that cannot be read has none.

    Returns:
        the exit status: 1 where a finding is a fault, otherwise 0.

    Raises:
        UsageError: a path is not there, or the folder cannot be written to.
    """
    from treewright.outputs import write
    from treewright.report import explain, terminal

    paths = find_trees(options.paths)
    out = Path(options.out)
    project = Project()
    findings: list[Finding] = []
    unread: list[Finding] = []
    names: set[str] = set()
    for path in paths:
        loaded = project.load(path)
        review = reviewed(loaded)
        findings += review.findings
        if loaded.tree is None:
            unread += review.findings
            continue
        name = _free(loaded, names)
        names.add(name)
        print(write(out / f"{name}{BESIDE}", page(loaded, review).encode()).as_posix())
    for file, text in explain.pages():
        write(out / file, text.encode())
    if unread:
        sys.stderr.write(terminal.render(unread))
    each = list(dict.fromkeys(findings))
    sys.stderr.write(terminal.summary(each, len(paths)) + "\n")
    return 1 if any(finding.level is Level.FAULT for finding in each) else 0


def page(loaded: Loaded, review: Review) -> str:
    """The reviewer's page of a tree that was read, as far as it goes."""
    from treewright.report.review import review_page

    assert loaded.tree is not None
    made = _compiled(loaded, any(f.level is Level.FAULT for f in review.findings))
    return review_page(loaded.tree, review, made.outline, made.chart, made.trouble)


@record
class _Compiled:
    outline: Outline | None = None
    chart: str = ""
    trouble: str = ""


def _compiled(loaded: Loaded, faulty: bool) -> _Compiled:
    """The tree compiled and drawn, or why that cannot be.

    No promise holds for compiling a tree with faults. So there, whatever goes wrong is told to
    the reviewer; with a tree that has none it is a slip of this program, and must come out.
    """
    from treewright.render.chart import ChartError, svg
    from treewright.render.compile import compile_tree

    assert loaded.tree is not None
    outline = None
    try:
        outline = compile_tree(loaded.tree)
        return _Compiled(outline, "" if loaded.tree.library else svg(outline))
    except ChartError as wrong:
        return _Compiled(outline, "", f"The chart cannot be drawn: {wrong}.")
    except Exception:
        if not faulty:
            raise
        what = "drawn" if outline else "compiled"
        return _Compiled(
            outline, "", f"With these faults the tree cannot be {what}. Mend them, and look again."
        )


def _free(loaded: Loaded, taken: set[str]) -> str:
    """The tree's name, or its file's where it has none; numbered where another tree has it."""
    tree = loaded.tree
    name = tree.name if tree is not None and tree.title.text else loaded.path.stem
    count, free = 1, name
    while free in taken:
        count += 1
        free = f"{name}-{count}"
    return free
