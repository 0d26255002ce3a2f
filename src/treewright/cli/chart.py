"""`treewright chart`: the flowchart, whole or cut; over many sheets; of the stages alone."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from treewright import build
from treewright.cli.made import make, take_folder
from treewright.cli.said import take_trees
from treewright.making import Maker, Output, Sound
from treewright.usage import UsageError

PAPERS = ("a4", "a3", "a2", "a1", "a0", "letter")


def arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what the command takes."""
    take_trees(parser)
    take_folder(parser)
    parser.add_argument("--symptom", metavar="NAME", help="only what this symptom can reach")
    parser.add_argument("--model", metavar="MODEL", help="only what holds for this model")
    parser.add_argument("--paper", choices=PAPERS,
                        help="paper of the PDF (default: the smallest that is legible)")
    parser.add_argument("--highlight", metavar="NAME",
                        help="let the ways of a symptom, fault or step stand out")  # fmt: skip
    parser.add_argument("--tiles", action="store_true",
                        help="one large chart over many sheets (default: of a4)")  # fmt: skip
    parser.add_argument("--overview", action="store_true", help="the stages on one page")
    parser.add_argument("--engine", choices=("shipped", "dot"), default="shipped",
                        help="`dot`: the system's own Graphviz")  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Draws the charts of the trees of `options.paths`; returns the exit status.

    Raises:
        UsageError: what was asked for does not go together, is not there or cannot be written.
    """
    return make(options, maker(options, None if options.engine == "shipped" else options.engine))


def maker(options: argparse.Namespace, engine: str | None) -> Maker:
    """What `treewright chart` makes of a tree.

    Args:
        options: `overview`; `tiles`; `highlight`, `paper`, `symptom` and `model`, each a name
            or None.
        engine: the program that lays it out; None: the one installed with the toolkit.

    Raises:
        UsageError: what was asked for does not go together.
    """
    from functools import partial

    if options.overview:
        if options.tiles or options.highlight or options.symptom:
            raise UsageError(
                "`--overview` shows the stages of the whole tree on one page: it goes with"
                " `--model` and `--paper` alone"
            )
        return partial(overviews, paper=options.paper, model=options.model, program=engine)
    asked = {"symptom": options.symptom, "model": options.model, "program": engine}
    if options.tiles:
        return partial(tiled, paper=options.paper, highlight=options.highlight, **asked)
    if options.highlight:
        return partial(highlighted, name=options.highlight, paper=options.paper, **asked)
    return partial(build.charts, paper=options.paper, **asked)


def overviews(
    sound: Sound, paper: str | None, model: str | None, program: str | None
) -> Iterator[Output]:
    """The stages on one page, as SVG and PDF."""
    from treewright.render import chart

    drawn, printed = _made(
        sound, lambda: chart.overview(sound.outline, paper, model=model, program=program),  # type: ignore[arg-type]
    )
    name = "-".join(filter(None, (sound.outline.name, model, "overview"))).replace("/", "-")
    yield f"{name}.svg", (chart.PROLOG + drawn).encode()
    yield f"{name}.pdf", printed


def tiled(
    sound: Sound, paper: str | None, highlight: str | None, **asked: str | None
) -> Iterator[Output]:
    """The chart in one piece over many sheets, as PDF."""
    from treewright.render import chart

    made = _made(
        sound,
        lambda: chart.tiles(sound.outline, paper or "a4", highlight=highlight, **asked),  # type: ignore[arg-type]
    )
    yield _file(sound, asked, highlight, "chart-tiles.pdf"), made


def highlighted(
    sound: Sound, name: str, paper: str | None, **asked: str | None
) -> Iterator[Output]:
    """The chart with the ways of one symptom, fault or step standing out, as SVG and PDF."""
    from treewright.render import chart

    drawn = _made(sound, lambda: chart.svg(sound.outline, highlight=name, **asked))  # type: ignore[arg-type]
    yield _file(sound, asked, name, "chart.svg"), (chart.PROLOG + drawn).encode()
    printed = _made(
        sound,
        lambda: chart.pdf(sound.outline, paper, highlight=name, **asked),  # type: ignore[arg-type]
    )
    yield _file(sound, asked, name, "chart.pdf"), printed


def _file(sound: Sound, asked: dict[str, str | None], highlight: str | None, end: str) -> str:
    shown = f"ways-{highlight}" if highlight else None
    parts = (sound.outline.name, asked["symptom"], asked["model"], shown, end)
    return "-".join(filter(None, parts)).replace("/", "-")


def _made(sound: Sound, make: Any) -> Any:
    """What `make` makes.

    Raises:
        UsageError: the tree has not what was asked for, or the chart cannot be drawn.
    """
    from treewright.render.chart import ChartError

    try:
        return make()
    except ChartError as wrong:
        raise UsageError(f"the chart of {sound.outline.name} cannot be drawn: {wrong}") from None
    except LookupError as wrong:
        raise UsageError(f"{sound.outline.name}: {wrong.args[0]}") from None
