"""`treewright binder`: the checklists of a folder of trees as one PDF."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from treewright.build import sheets, wall_charts
from treewright.cli.papers import USUAL
from treewright.editions import Edition, paired, read, read_revision
from treewright.making import Made, Maker, make
from treewright.outputs import write
from treewright.progress import Progress
from treewright.project import Project, find_trees, pictures
from treewright.text.diagnostic import Level
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.model.tree import Tree


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    parser.add_argument("folder", metavar="DIR", help="a folder of trees, or one tree")
    parser.add_argument("--out", default=".", metavar="DIR", help="where to (default: here)")
    parser.add_argument("--paper", dest="papers", action="append", choices=USUAL,
                        help="default: both")  # fmt: skip
    parser.add_argument("--title", default="Diagnostic trees", metavar="TEXT",
                        help="of the title page (default: Diagnostic trees)")  # fmt: skip
    parser.add_argument("--charts", action="store_true",
                        help="the chart of each tree behind its checklist, too")  # fmt: skip
    parser.add_argument("--since", metavar="OLD",
                        help="say what changed since: a folder or git revision")  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Writes the binder of `options.folder` into `options.out`, for each paper.

    Args:
        options: `folder`; `papers`: None for both; `title`; `since`: a file, a folder, REV:PATH,
            a revision of the folder itself, or None; `charts`: whether the charts are in it,
            too; `out`: the folder to write to.

    Returns:
        the exit status: 1 where a tree has a fault, and so no checklist, otherwise 0.

    Raises:
        UsageError: a path is not there, no tree can be printed, or nothing can be written.
    """
    from treewright.render.binder import binder
    from treewright.report import terminal

    paths, papers = find_trees([options.folder]), options.papers or USUAL
    makers = [_makers(paper, options.charts) for paper in papers]
    made = make(paths, [one for some in makers for one in some], None, Progress(sys.stderr))
    if made.findings:
        sys.stderr.write(terminal.render(made.findings, trees=len(paths)))
    if not made.outlines:
        raise UsageError(f"no tree in `{options.folder}` can be printed")
    changes = None if options.since is None else _changes(options, made, paths)
    kinds = len(makers[0])
    for at, paper in enumerate(papers):
        printed = [made.shown[kinds * at + kind :: kinds * len(papers)] for kind in range(kinds)]
        charts = printed[1] if options.charts else ()
        content = binder(made.outlines, printed[0], paper, options.title, changes, charts)
        print(write(Path(options.out) / f"binder-{paper}.pdf", content).as_posix())
    return 1 if any(finding.level is Level.FAULT for finding in made.findings) else 0


def _makers(paper: str, charts: bool) -> tuple[Maker, ...]:
    """What is made of each tree for a binder on this paper."""
    checklists = partial(sheets, papers=(paper,))
    return (checklists, partial(wall_charts, paper=paper)) if charts else (checklists,)


def _changes(
    options: argparse.Namespace, made: Made, paths: Sequence[Path]
) -> list[dict[str, Any]]:
    """The change sheets of the trees that differ from the older editions."""
    from treewright.render.change_sheet import part

    since: str = options.since
    if ":" in since or Path(since).exists():
        old = read(since)
    else:
        old = read_revision(since, options.folder)
    trees: dict[str, Tree] = {}
    for tree in (Project().load(path).tree for path in paths):
        if tree is not None:
            trees.setdefault(tree.name, tree)
    new = [
        Edition("", one.name, one, pictures(trees[one.name]), trees[one.name])
        for one in made.outlines
    ]
    found = []
    for pair in paired(old, new):
        compared = pair.compared()
        if compared is None or compared.changes:
            found.append(part(*pair.outlines, compared))
    return found
