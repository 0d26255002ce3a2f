"""What can be made of a tree: chart, checklist, walk-through, data; and all of them at once.

How they are made, shared out and written is for making.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

from treewright.making import Later, Made, Maker, Output, Sound, make, no_chart
from treewright.outputs import write
from treewright.usage import UsageError

if TYPE_CHECKING:
    from treewright.progress import Progress
    from treewright.render.outline import Outline
    from treewright.render.sheet import Laid

ALL_PAPERS = ("a4", "letter")
_PAPERS = {"a4": "A4", "letter": "Letter", "legal": "Legal", "card": "A5 card"}
PREVIEW = "-print.html"
"""The end of a preview's file name, after the tree's own."""



def charts(
    sound: Sound,
    paper: str | None = None,
    symptom: str | None = None,
    model: str | None = None,
    program: str | None = None,
) -> Iterator[Output]:
    """The flowchart as SVG and PDF."""
    yield from drawings(sound, symptom, model, program)
    yield from wall_charts(sound, paper, symptom, model, program)


def drawings(
    sound: Sound, symptom: str | None = None, model: str | None = None, program: str | None = None
) -> Iterator[Output]:
    """The flowchart as SVG."""
    from treewright.render import chart

    outline = sound.outline
    asked_for(outline, symptom, model)
    try:
        if symptom is None and model is None and program is None:
            drawn = sound.chart
        else:
            drawn = chart.svg(outline, symptom=symptom, model=model, program=program)
    except chart.ChartError as wrong:
        raise no_chart(outline, wrong) from None
    yield file_name(outline, symptom, model, "chart.svg"), (chart.PROLOG + drawn).encode()


def wall_charts(
    sound: Sound,
    paper: str | None = None,
    symptom: str | None = None,
    model: str | None = None,
    program: str | None = None,
) -> Iterator[Output]:
    """The flowchart as PDF."""
    from treewright.render import chart

    outline = sound.outline
    asked_for(outline, symptom, model)
    try:
        printed = chart.pdf(outline, paper, symptom=symptom, model=model, program=program)  # type: ignore[arg-type]
    except chart.ChartError as wrong:
        raise no_chart(outline, wrong) from None
    yield file_name(outline, symptom, model, "chart.pdf"), printed


def sheets(sound: Sound, papers: Sequence[str] = ALL_PAPERS) -> Iterator[Output]:
    """The checklist as a PDF for each paper."""
    for name, one in _laid(sound, papers):
        yield name, one.pdf()


def sheets_later(sound: Sound, papers: Sequence[str] = ALL_PAPERS) -> Iterator[Later]:
    """The same, as far as is done once for all papers; each is then to be printed."""
    for name, one in _laid(sound, papers):
        yield Later(partial(_printed, name, one))


def _printed(name: str, one: Laid) -> Iterator[Output]:
    yield name, one.pdf()


def _laid(sound: Sound, papers: Sequence[str]) -> Iterator[tuple[str, Laid]]:
    from treewright.render.sheet import laid

    outline = sound.outline
    for one in laid(outline, papers, pictures=sound.pictures):  # type: ignore[arg-type]
        yield file_name(outline, None, None, f"{one.paper}.pdf"), one


def previewed(sound: Sound, papers: Sequence[str] = ALL_PAPERS) -> Iterator[Output]:
    """The checklist for each paper, the chart, and a page that shows what each looks like."""
    from treewright.render.preview import Shown, pictures_of, preview_page

    shown: list[Shown] = []
    for name, content in sheets(sound, papers):
        yield name, content
        words = f"Checklist on {_PAPERS[papers[len(shown)]]}"
        shown.append(Shown(words, name, pictures_of(content)))
    for name, content in wall_charts(sound):
        yield name, content
        shown.append(Shown("Chart", name, pictures_of(content)))
    yield f"{sound.outline.name}{PREVIEW}", preview_page(sound.outline, shown).encode()


def walk_throughs(sound: Sound, preview: bool = False) -> Iterator[Output]:
    """The walk-through as one HTML file; with a link to the preview beside it, if there is one."""
    from treewright.render.site import page

    beside = f"{sound.outline.name}{PREVIEW}" if preview else ""
    text = page(sound.outline, sound.chart, sound.pictures, sound.translations, beside)
    yield f"{sound.outline.name}.html", text.encode()


def data(sound: Sound) -> Iterator[Output]:
    """The compiled tree as JSON."""
    from treewright.render.data import to_json

    yield f"{sound.outline.name}.json", to_json(sound.outline).encode()


def build(
    paths: Sequence[Path],
    out: Path,
    progress: Progress,
    papers: Sequence[str] = ALL_PAPERS,
    previews: bool = False,
) -> Made:
    """All outputs of all sound trees, and a start page over them.

    Args:
        paths, out, progress: as for `make`.
        papers: what the sheets are printed on.
        previews: whether there is a page of pictures of sheets and chart for each tree, too.

    Raises:
        UsageError: the folder cannot be written to.
    """
    printed = partial(previewed if previews else sheets_later, papers=papers)
    makers: tuple[Maker, ...] = (printed, partial(_all_others, previews=previews))
    made = make(paths, makers, out, progress, partial(_start_page, previews=previews))
    if made.outlines:
        keep_offline(made, out)
    return made


def _start_page(made: Made, previews: bool) -> Iterator[Output]:
    from treewright.render.site import OUTPUTS, index

    beside = (*OUTPUTS, (PREVIEW, "index.preview")) if previews else OUTPUTS
    yield "index.html", index(made.outlines, beside, translations=made.translations).encode()


def _all_others(sound: Sound, previews: bool) -> Iterator[Output]:
    """All but the sheets: together they take about as long as these, and share a drawing."""
    # Where it is shown as pictures, the chart on paper is made with these.
    walls = iter(()) if previews else wall_charts(sound)
    return chain(walls, walk_throughs(sound, previews), drawings(sound), data(sound))


def keep_offline(made: Made, out: Path) -> None:
    """Writes what keeps the pages on a device: worker, manifest and icon.

    The pages are those that were made, and those that the folder's worker kept before and that
    are still there: a walk-through made anew does not put the others out of reach.

    Raises:
        UsageError: the folder cannot be written to.
    """
    from treewright.render import offline

    pages = {path.name: path.read_bytes() for path in made.written if path.suffix == ".html"}
    if pages:
        worker = out / offline.WORKER
        before = offline.kept(worker.read_bytes()) if worker.is_file() else ()
        for name in before:
            if name not in pages and (out / name).is_file():
                pages[name] = (out / name).read_bytes()
        start = "index.html" if "index.html" in pages else min(pages)
        for name, content in offline.files(pages, start).items():
            made.written.append(write(out / name, content))


def asked_for(outline: Outline, symptom: str | None, model: str | None) -> None:
    """Looks whether the tree has that symptom and that model.

    Raises:
        UsageError: it has not; the message says which it has.
    """
    names = [s.name for s in outline.symptoms]
    if symptom is not None and symptom not in names:
        raise UsageError(
            f"{outline.name} has no symptom `{symptom}`; it has {', '.join(names)}"
        )
    if model is not None and model not in outline.models:
        models = ", ".join(outline.models) or "no models"
        raise UsageError(f"{outline.name} has no model `{model}`; it has {models}")


def file_name(outline: Outline, symptom: str | None, model: str | None, what: str) -> str:
    """A file's name; a model may be written with a stroke, which a name may not have."""
    return "-".join([outline.name, *(x for x in (symptom, model) if x), what]).replace("/", "-")
