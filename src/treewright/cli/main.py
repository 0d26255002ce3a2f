"""The command line: arguments in, project called, exit status out.

Exit status: 0 where no finding of level fault, 1 where there is one (with `--strict`: or a
doubt), 2 where what was asked for cannot be done.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from functools import partial
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TextIO, TypeAlias

from treewright.cli.sheet import USUAL, papers
from treewright.cli.sheet import arguments as sheet_arguments
from treewright.project import UsageError

if TYPE_CHECKING:
    from treewright.lint.review import Review
    from treewright.making import Made, Maker
    from treewright.progress import Progress
    from treewright.text.diagnostic import Finding

Run: TypeAlias = Callable[[argparse.Namespace], int]

CHART_PAPERS = ("a4", "a3", "a2", "a1", "a0", "letter")


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.exit(2, f"treewright: {message}\n{self.format_usage()}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command. Returns the exit status."""
    gc.set_threshold(100_000, 50, 50)  # what a short job makes mostly lives to its end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a sign that the terminal lacks is spelt out
            stream.reconfigure(errors="backslashreplace")
    options = _parser().parse_args(arguments)
    try:
        run: Run = options.run
        status = run(options)
        sys.stdout.flush()
        return status
    except UsageError as wrong:
        print(f"treewright: {wrong}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader of our output has gone: nothing more to say
        _hush()
        return 0
    except OSError as wrong:
        _hush()
        print(f"treewright: {wrong.strerror or wrong}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130


def entry() -> NoReturn:
    """The console's way in: what a command has made in memory is let go all at once.

    To take it apart piece by piece takes longer than many a command.
    """
    status = main()
    sys.stderr.flush()
    os._exit(status)


def _hush() -> None:
    """Lets what is still to be written go nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="treewright", description="Diagnostic trees: written, proven, printed, "
                     "walked.")  # fmt: skip
    commands = parser.add_subparsers(required=True, metavar="COMMAND", dest="command",
                                     parser_class=_Parser)  # fmt: skip

    def command(name: str, run: Run, about: str) -> argparse.ArgumentParser:
        sub = commands.add_parser(name, help=about, description=about)
        sub.set_defaults(run=run)
        return sub

    lint = command("lint", _lint, "look for gaps and slips in trees")
    lint.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    lint.add_argument("--format", choices=("text", "json", "sarif"), default="text")
    lint.add_argument("--strict", action="store_true", help="exit with 1 on a doubt, too")
    lint.add_argument("--fix", action="store_true",
                      help="first mend what can be mended for certain")  # fmt: skip
    lint.add_argument("--fresh", action="store_true",
                      help="look at every file anew, also where nothing has changed")  # fmt: skip
    lint.add_argument("--waived", action="store_true", help="say what was waived, and why")

    explain = command("explain", _explain, "say what a rule of the linter looks for, and why")
    explain.add_argument("rule", nargs="?", metavar="RULE", help="left out: all rules")

    build = command("build", _build, "make chart, sheet and walk-through of every tree")
    build.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    build.add_argument("--out", default="out", metavar="DIR", help="where to (default: out)")

    build.add_argument("--previews", action="store_true",
                       help="a page of pictures of the printed sheets and charts, too")  # fmt: skip
    build.add_argument("--papers", type=papers, default=USUAL, metavar="PAPER,…",
                       help="sheets on: a4, letter, legal, card (default: a4,letter)")  # fmt: skip
    build.add_argument("--review", action="store_true",
                       help="the reviewer's pages and the pages of the rules, too")  # fmt: skip

    review = command("review", _review, "make the reviewer's page of every tree: HTML")
    review.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    review.add_argument("--out", default="out", metavar="DIR", help="where to (default: out)")

    prove = command("prove", _prove, "follow every fault by what it shows, every case as read")
    prove.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    prove.add_argument("--format", choices=("text", "json"), default="text")
    prove.add_argument("--junit", metavar="FILE", help="write it as JUnit XML, too")

    matrix = command("matrix", _matrix, "show which check answers what with which fault")
    matrix.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    matrix.add_argument("--format", choices=("text", "csv", "json"), default="text")
    matrix.add_argument("--picture", metavar="FILE", help="draw it as SVG, too")

    compare = command("compare", _compare, "say what changed in meaning between two editions")
    compare.add_argument("places", nargs="+", metavar="PATH",
                         help="the old and the new tree or folder, or REV:PATH")  # fmt: skip
    compare.add_argument("--git", nargs=2, metavar=("OLD", "NEW"),
                         help="compare PATH as these two git revisions have it")  # fmt: skip
    compare.add_argument("--format", choices=("text", "json"), default="text")
    compare.add_argument("--pdf", metavar="FILE", help="write the change sheet for the wall, too")
    compare.add_argument("--paper", choices=USUAL, default="a4",
                         help="of the change sheet (default: a4)")  # fmt: skip

    binder = command("binder", _binder, "bind the checklists of a folder of trees: one PDF")
    binder.add_argument("folder", metavar="DIR", help="a folder of trees, or one tree")
    binder.add_argument("--out", default=".", metavar="DIR", help="where to (default: here)")
    binder.add_argument("--paper", dest="papers", action="append", choices=USUAL,
                        help="default: both")  # fmt: skip
    binder.add_argument("--title", default="Diagnostic trees", metavar="TEXT",
                        help="of the title page (default: Diagnostic trees)")  # fmt: skip
    binder.add_argument("--charts", action="store_true",
                        help="the chart of each tree behind its checklist, too")  # fmt: skip
    binder.add_argument("--since", metavar="OLD",
                        help="say what changed since: a folder or git revision")  # fmt: skip

    weigh = command("weigh", _weigh, "the minutes to each fault, where they go, the best order")
    weigh.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    weigh.add_argument("--symptom", metavar="NAME", help="only what this symptom can reach")
    weigh.add_argument("--last", choices=("inferred", "confirmed"), default="inferred",
                       help="of the last cause, for the tables (default: inferred)")  # fmt: skip
    weigh.add_argument("--ranges", action="store_true",
                       help="how wrong a share or a time may be; may take a minute")  # fmt: skip
    weigh.add_argument("--points", type=int, default=3000, metavar="N",
                       help="how far to look for the best order (default: 3000)")  # fmt: skip
    weigh.add_argument("--picture", metavar="FILE", help="write where the time goes as SVG, too")
    weigh.add_argument("--format", choices=("text", "json"), default="text")

    order = command("order", _order, "look for the best order of the same checks")
    order.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    order.add_argument("--format", choices=("text", "json"), default="text")
    order.add_argument("--last", choices=("inferred", "confirmed"), default="inferred",
                       help="whether the last cause left is confirmed and remedied")  # fmt: skip
    order.add_argument("--symptom", metavar="NAME", help="only for this symptom")
    order.add_argument("--seconds", type=float, metavar="N",
                       help="how long to search for each symptom (left out: as far as is quick)")

    split = command("split", _split, "say which one new check would help most")
    split.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    split.add_argument("--time", metavar="MIN",
                       help="minutes of the new check (default: the median check)")  # fmt: skip
    split.add_argument("--format", choices=("text", "json"), default="text")

    draft = command("draft", _draft, "write a tree in the best order, from faults and checks")
    draft.add_argument("file", metavar="FILE", help="a tree without ways on, or a CSV table")
    draft.add_argument("--out", metavar="FILE", help="where to (default: shown)")
    draft.add_argument("--force", action="store_true", help="also over a file that is there")

    tidy = command("tidy", _tidy, "write trees in their one settled form")
    tidy.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    tidy.add_argument("--check", action="store_true", help="only name the files that would change")

    for name, run, about in (
        ("chart", _chart, "draw the flowchart: SVG and PDF"),
        ("site", _site, "make the walk-through for the phone: HTML"),
        ("data", _data, "write the compiled tree as JSON"),
    ):
        sub = command(name, run, about)
        sub.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
        here = None if name == "data" else "."
        about_out = "where to" if here is None else "where to (default: here)"
        sub.add_argument("--out", default=here, metavar="DIR", help=about_out)
        if name == "chart":
            sub.add_argument("--symptom", metavar="NAME", help="only what this symptom can reach")
            sub.add_argument("--model", metavar="MODEL", help="only what holds for this model")
            paper = "paper of the PDF (default: the smallest that is legible)"
            sub.add_argument("--paper", choices=CHART_PAPERS, help=paper)
            sub.add_argument("--highlight", metavar="NAME",
                             help="let the ways of a symptom, fault or step stand out")  # fmt: skip
            sub.add_argument("--tiles", action="store_true",
                             help="one large chart over many sheets (default: of a4)")  # fmt: skip
            sub.add_argument("--overview", action="store_true", help="the stages on one page")
            sub.add_argument("--engine", choices=("shipped", "dot"), default="shipped",
                             help="`dot`: the system's own Graphviz")  # fmt: skip

    sheet = command("sheet", _sheet, "make the checklist to print: PDF")
    sheet.add_argument("paths", nargs="+", metavar="PATH", help="a tree, or a folder of trees")
    sheet_arguments(sheet)
    return parser


# ---- commands ------------------------------------------------------------------------------


def _lint(options: argparse.Namespace) -> int:
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

            _show(findings, len(paths), sys.stdout)
            sys.stdout.write(terminal.waivers(review.waived, options.waived))
    return _status(findings, options.strict)


def _mend(paths: Sequence[Path], look: Callable[[Sequence[Path]], Review], out: TextIO) -> None:
    """Mends files and says what was changed in them."""
    from treewright.mend import mend
    from treewright.report.terminal import harmless

    mend(paths, look, lambda one: print(harmless(f"{one.path}:{one.line}: {one.text}"), file=out))


def _explain(options: argparse.Namespace) -> int:
    from treewright.report import explain

    if options.rule is None:
        print("\n".join(explain.names()))
        return 0
    try:
        sys.stdout.write(explain.explain(options.rule))
    except LookupError as wrong:
        raise UsageError(str(wrong.args[0])) from None
    return 0


def _build(options: argparse.Namespace) -> int:
    from treewright.build import build
    from treewright.project import find_trees

    out, papers = Path(options.out), options.papers
    built = build(find_trees(options.paths), out, _progress(), papers, options.previews)
    status = told(built.findings, built.trees, built.written)
    return max(status, _review(options)) if options.review else status


def _review(options: argparse.Namespace) -> int:
    from treewright.cli.review import run

    return run(options)


def _prove(options: argparse.Namespace) -> int:
    from treewright.cli.prove import run

    return run(options)


def _matrix(options: argparse.Namespace) -> int:
    from treewright.cli.matrix import run

    return run(options)


def _compare(options: argparse.Namespace) -> int:
    from treewright.cli.compare import run

    return run(options)


def _weigh(options: argparse.Namespace) -> int:
    from treewright.cli.weigh import run

    return run(options)


def _binder(options: argparse.Namespace) -> int:
    from treewright.cli.binder import run

    options.papers = options.papers or USUAL
    return run(options, _progress())


def _order(options: argparse.Namespace) -> int:
    from treewright.cli.order import run

    return run(options)


def _split(options: argparse.Namespace) -> int:
    from treewright.cli.split import run

    return run(options)


def _draft(options: argparse.Namespace) -> int:
    from treewright.cli.draft import run

    return run(options)


def _tidy(options: argparse.Namespace) -> int:
    from treewright.cli.tidy import run

    return run(options.paths, options.check, lambda found, files: _show(found, files, sys.stderr))


def _chart(options: argparse.Namespace) -> int:
    from treewright.cli.chart import maker

    engine = None if options.engine == "shipped" else options.engine
    return _make(options, maker(options, engine))


def _sheet(options: argparse.Namespace) -> int:
    from treewright.cli.sheet import run

    return run(options)


def _site(options: argparse.Namespace) -> int:
    from treewright import build

    return _make(options, build.walk_throughs, build.keep_offline)


def _data(options: argparse.Namespace) -> int:
    from treewright import build

    return _make(options, build.data)


def _make(
    options: argparse.Namespace,
    maker: Maker,
    beside: Callable[[Made, Path], None] = lambda made, out: None,
) -> int:
    from treewright.making import make
    from treewright.project import find_trees

    out = Path(options.out) if options.out is not None else None
    made = make(find_trees(options.paths), (maker,), out, _progress())
    if out is None:
        sys.stdout.write("".join(text.decode() for text in made.shown))
    else:
        beside(made, out)
    return told(made.findings, made.trees, made.written)


# ---- what is said --------------------------------------------------------------------------


def told(findings: list[Finding], trees: int, written: list[Path]) -> int:
    """Says what was found, on the error stream, and which files were written."""
    if findings:
        _show(findings, trees, sys.stderr)
    for path in written:
        print(path.as_posix())
    return _status(findings, False)


def _show(findings: list[Finding], trees: int, out: TextIO) -> None:
    from shutil import get_terminal_size

    from treewright.report import terminal

    colour = out.isatty() and "NO_COLOR" not in os.environ
    width = get_terminal_size((100, 24)).columns if out.isatty() else 100
    out.write(terminal.render(findings, colour, width, trees))


def _status(findings: list[Finding], strict: bool) -> int:
    from treewright.text.diagnostic import Level

    grave = {Level.FAULT, Level.DOUBT} if strict else {Level.FAULT}
    return 1 if any(finding.level in grave for finding in findings) else 0


def _progress() -> Progress:
    from treewright.progress import Progress

    return Progress(sys.stderr)
