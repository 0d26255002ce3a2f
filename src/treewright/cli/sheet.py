"""`treewright sheet`: the checklist to print, on any paper, for a whole tree or one symptom."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from treewright.cli.made import take_folder
from treewright.cli.papers import PAPERS, USUAL
from treewright.cli.said import take_trees, told
from treewright.project import find_trees
from treewright.record import record
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.making import Sound
    from treewright.model.tree import Tree
    from treewright.reason.standing import Standing
    from treewright.render.fit import Fitted


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    take_folder(parser)
    parser.add_argument("--symptom", metavar="NAME", help="only what this symptom can reach")
    parser.add_argument("--model", metavar="MODEL", help="only what holds for this model")
    parser.add_argument("--paper", choices=PAPERS, action="append",
                        help="may be given more than once (default: a4 and letter); `card`: A5, "
                        "two sides, to be laminated")  # fmt: skip
    parser.add_argument("--sheets", type=_count, metavar="N",
                        help="as large as it fits on so many sheets or cards, of two sides each; "
                        "exit with 1 where it does not")  # fmt: skip
    parser.add_argument("--columns", type=int, choices=(1, 2), help="default: as is fit")
    parser.add_argument("--short", action="store_true",
                        help="leave out how each step is done, and what it takes")  # fmt: skip
    parser.add_argument("--renumber", action="store_true", help="number what is on it from 1 on")
    parser.add_argument("--suspects", action="store_true",
                        help="beside each step what is ruled out, what still suspect")  # fmt: skip
    parser.add_argument("--record", action="store_true", help="a table of all readings, to be kept")
    parser.add_argument("--base-url", metavar="URL",
                        help="where the built walk-throughs lie: codes lead there")  # fmt: skip
    parser.add_argument("--codes", choices=("symptoms", "steps"), default="symptoms",
                        help="what has a code (default: each symptom)")  # fmt: skip
    parser.add_argument("--impose", choices=("cut", "fold"),
                        help="cards on A4 for the printer, too: `cut`: both sides, flip on the "
                        "long edge; `fold`: one side, folded")  # fmt: skip


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 999:
        raise argparse.ArgumentTypeError("a number of sheets, 1 or more, is wanted")
    return int(text)


@record
class _Job:
    sound: Sound
    paper: str
    options: argparse.Namespace


@record
class _Done:
    written: tuple[Path, ...]
    note: str
    fits: bool


def run(options: argparse.Namespace) -> int:
    """Makes the sheets of every sound tree among `options.paths`.

    Args:
        options: what `arguments` takes.

    Returns:
        the exit status: 1 where a tree has a fault, or a sheet takes more sheets than asked for.

    Raises:
        UsageError: what was asked for is not in the tree or cannot be written.
    """
    from treewright.making import Made, sound
    from treewright.render import ready
    from treewright.workers import crew

    on = tuple(dict.fromkeys(options.paper or USUAL))
    if options.impose and "card" not in on:
        raise UsageError("only cards are printed two to a sheet: ask for `--paper card` as well")
    if options.base_url is not None:
        from treewright.render.qr import checked_base

        try:
            checked_base(options.base_url)
        except ValueError as wrong:
            raise UsageError(str(wrong)) from None
    elif options.codes != "symptoms":
        raise UsageError("codes need an address to lead to: give `--base-url`, too")
    paths = find_trees(options.paths)
    made = Made(trees=len(paths))

    def look(tree: Tree) -> dict[str, Standing]:
        from treewright.reason.standing import standing

        return standing(tree, options.symptom, options.model)

    with crew(ready.for_all, _get_ready_to_fit) as share:
        trees = list(sound(paths, made, look if options.suspects else None))
        done = list(share(_make, [_Job(one, paper, options) for one in trees for paper in on]))
    for one in done:
        made.written += one.written
        print(f"treewright: {one.note}", file=sys.stderr)
    status = told(made.findings, made.trees, made.written)
    return max(status, 0 if all(one.fits for one in done) else 1)


def _get_ready_to_fit() -> None:
    from treewright.render import fit as fit


def _make(job: _Job) -> _Done:
    from treewright.build import asked_for, file_name
    from treewright.outputs import write
    from treewright.render.fit import fitted
    from treewright.render.sheet import Extras

    options, outline = job.options, job.sound.outline
    asked_for(outline, options.symptom, options.model)
    extras = Extras(
        renumber=options.renumber, short=options.short, record=options.record,
        standing=job.sound.standing, base_url=options.base_url, codes=options.codes,
    )  # fmt: skip
    paper: Any = job.paper
    try:
        made = fitted(outline, paper, options.symptom, options.model, job.sound.pictures,
                      extras=extras, columns=options.columns, asked=options.sheets)  # fmt: skip
    except LookupError as wrong:  # not that symptom on that model
        raise UsageError(str(wrong.args[0])) from None
    name = file_name(outline, options.symptom, options.model, f"{paper}.pdf")
    files = {name: made.pdf}
    if options.impose and paper == "card":
        from treewright.render.impose import two_up

        files[name.removesuffix(".pdf") + f"-{options.impose}.pdf"] = two_up(
            made.pdf, options.impose, outline.title, outline.language, outline.date
        )
    out = Path(options.out)
    written = tuple(write(out / file, content) for file, content in files.items())
    return _Done(written, _said(name, made, options), made.fits)


def _said(name: str, made: Fitted, options: argparse.Namespace) -> str:
    """How many sheets it takes, and what to shorten where it does not fit."""
    thing = "card" if made.form.paper == "card" else "sheet"

    def things(count: int) -> str:
        return f"{count} {thing}{'' if count == 1 else 's'}"

    pages = f"{made.pages} page{'' if made.pages == 1 else 's'}"
    columns = "one column" if made.form.columns == 1 else "two columns"
    took = f"{name}: {pages}, {things(made.sheets)} of two sides, {columns} at " \
           f"{made.form.points:g} pt"  # fmt: skip
    if made.fits or made.asked is None:
        return took
    long = "; ".join(f"{one.number} {one.title} ({one.lines} lines)" for one in made.long)
    said = (
        f"{took}: this does not fit on {things(made.asked)}, by about {made.too_many} lines, and "
        f"smaller type is not legible. Shorten what is longest: {long}."
    )
    ways = [
        way
        for way, taken in (
            ("ask for one symptom (--symptom)", options.symptom),
            ("leave out how each step is done (--short)", options.short),
        )
        if not taken
    ]
    return f"{said} Or {', or '.join(ways)}." if ways else said
