"""Makes outputs of trees and writes them: each whole or not at all.

A tree with a finding of level fault is not built; the rest is. The same trees give the same
bytes. The outputs of a tree depend on nothing but its outline, so they are shared out to the
processors of the machine, and made while the tree is still being proven: they are put in their
place when it is.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from treewright.outputs import Staged, drop, settle, stage, write
from treewright.project import Loaded, Project, UsageError, lint_loaded, pictures
from treewright.record import record
from treewright.text.diagnostic import Finding, Level, in_order
from treewright.workers import Share, crew

if TYPE_CHECKING:
    from treewright.model.tree import Tree
    from treewright.progress import Progress
    from treewright.reason.standing import Standing
    from treewright.render.outline import Outline

    Look: TypeAlias = Callable[[Tree], dict[str, Standing]]

ALL_PAPERS = ("a4", "letter")
_PAPERS = {"a4": "A4", "letter": "Letter", "legal": "Legal", "card": "A5 card"}
PREVIEW = "-print.html"
"""The end of a preview's file name, after the tree's own."""


class Sound:
    """A tree that was compiled: its outline and pictures, and the chart drawn once."""

    def __init__(
        self,
        outline: Outline,
        pictures: dict[str, bytes],
        standing: dict[str, Standing] | None = None,
        translations: tuple[Outline, ...] = (),
    ) -> None:
        self.outline, self.pictures, self.translations = outline, pictures, translations
        self.standing = standing

    @cached_property
    def chart(self) -> str:
        """The whole chart as an SVG element.

        Raises:
            UsageError: it cannot be drawn.
        """
        from treewright.render import chart

        try:
            return chart.svg(self.outline)
        except chart.ChartError as wrong:
            raise _no_chart(self.outline, wrong) from None


Output: TypeAlias = tuple[str, bytes]  # file name, content
Maker: TypeAlias = Callable[[Sound], Iterator[Output]]


@dataclass(slots=True)
class Made:
    """What came of it. `shown`: contents that were to be shown and not written."""

    findings: list[Finding] = field(default_factory=list)
    trees: int = 0
    written: list[Path] = field(default_factory=list)
    shown: list[bytes] = field(default_factory=list)
    outlines: list[Outline] = field(default_factory=list)
    translations: dict[str, tuple[Outline, ...]] = field(default_factory=dict)


def make(
    paths: Sequence[Path], makers: Sequence[Maker], out: Path | None, progress: Progress
) -> Made:
    """Makes outputs of every sound tree.

    Args:
        paths: tree files; libraries among them are passed over.
        makers: what to make of a tree; each may run in a process of its own.
        out: the folder to write to; None: contents are kept to be shown.
        progress: is told how far it is.

    Raises:
        UsageError: the folder cannot be written to, or what was asked for is not in the tree.
    """
    if len(paths) * len(makers) == 1:
        return _make(paths, makers, out, progress, map)
    with crew(_get_ready) as share:
        return _make(paths, makers, out, progress, share)


def _get_ready() -> None:
    from treewright.render.ready import get_ready

    get_ready()


def _make(
    paths: Sequence[Path],
    makers: Sequence[Maker],
    out: Path | None,
    progress: Progress,
    share: Share,
) -> Made:
    made = Made(trees=len(paths))
    sound: dict[int, bool] = {}  # by the place of each tree, as soon as it is proven
    waiting: list[_Result] = []
    new_folder = out is not None and not out.exists()
    try:
        for done, result in enumerate(share(_do, _jobs(paths, makers, out, made, sound)), 1):
            waiting.append(result)
            _keep_proven(waiting, sound, made)
            progress.say(done // len(makers), len(paths), paths[result.tree].stem)
        _keep_proven(waiting, sound, made)
    finally:
        for result in waiting:
            _drop(result)
        if out is not None and new_folder and not made.written:
            with contextlib.suppress(OSError):
                out.rmdir()
        progress.close()
    made.findings = in_order(made.findings)
    return made


def sound(paths: Sequence[Path], made: Made, look: Look | None = None) -> Iterator[Sound]:
    """The trees that can be built, once all are proven; what was found is noted in `made`.

    Args:
        paths: tree files; libraries among them are passed over.
        made: takes the findings and outlines.
        look: what to conclude of each tree for its `standing`; None: nothing.
    """
    proven: dict[int, bool] = {}
    jobs = list(_jobs(paths, (data,), None, made, proven, look))
    made.findings = in_order(made.findings)
    yield from (job.sound for job in jobs if proven[job.tree])


@record
class _Job:
    """What is to be made of the tree in this place among all."""

    tree: int
    sound: Sound
    maker: Maker
    out: Path | None


@record
class _Result:
    """What came of a job: files that wait, contents to be shown, or what went wrong."""

    tree: int
    staged: tuple[Staged, ...] = ()
    shown: tuple[bytes, ...] = ()
    wrong: Exception | None = None


def _jobs(
    paths: Sequence[Path],
    makers: Sequence[Maker],
    out: Path | None,
    made: Made,
    sound: dict[int, bool],
    look: Look | None = None,
) -> Iterator[_Job]:
    """What there is to make of each tree, ahead of its proofs where it can be compiled at all.

    What the proofs say is noted in `sound`, and what they found in `made`.
    """
    project = Project()
    names: dict[str, Path] = {}
    for place, path in enumerate(paths):
        loaded = project.load(path)
        early = _compiled_early(loaded, look)
        if early is not None:
            yield from (_Job(place, early, maker, out) for maker in makers)
        findings = lint_loaded(loaded)
        made.findings += findings
        tree = loaded.tree
        sound[place] = False
        if tree is None or tree.library or any(f.level is Level.FAULT for f in findings):
            continue
        if tree.name in names:
            made.findings.append(_same_name(loaded, names[tree.name]))
            continue
        names[tree.name] = path
        sound[place] = True
        ready = early or _compiled(tree, look)
        made.outlines.append(ready.outline)
        made.translations[tree.name] = ready.translations
        if early is None:
            yield from (_Job(place, ready, maker, out) for maker in makers)


def _compiled(tree: Tree, look: Look | None) -> Sound:
    from treewright.render.compile import compile_translations, compile_tree

    outline = compile_tree(tree)
    seen = look(tree) if look else None
    return Sound(outline, pictures(tree), seen, compile_translations(tree, outline))


def _compiled_early(loaded: Loaded, look: Look | None) -> Sound | None:
    """A tree compiled before it is proven; None where that cannot be.

    No promise holds for compiling a tree with faults: whatever goes wrong, the proofs say why.
    """
    if loaded.tree is None or loaded.tree.library or not loaded.sound:
        return None
    try:
        return _compiled(loaded.tree, look)
    except Exception:
        return None


def _do(job: _Job) -> _Result:
    outputs: list[Staged] = []
    shown: list[bytes] = []
    try:
        for name, content in job.maker(job.sound):
            if job.out is None:
                shown.append(content)
            else:
                outputs.append(stage(job.out / name, content))
    except Exception as wrong:  # what it is worth is for the proofs to say
        return _Result(job.tree, tuple(outputs), wrong=wrong)
    return _Result(job.tree, tuple(outputs), tuple(shown))


def _keep_proven(waiting: list[_Result], sound: Mapping[int, bool], made: Made) -> None:
    """Settles the results of the trees that are proven by now, in their order."""
    while waiting and waiting[0].tree in sound:
        result = waiting[0]
        if not sound[result.tree]:
            _drop(result)
        elif result.wrong is not None:
            raise result.wrong
        else:
            made.written += map(settle, result.staged)
            made.shown += result.shown
        waiting.pop(0)


def _drop(result: _Result) -> None:
    for staged in result.staged:
        drop(staged)


def _same_name(loaded: Loaded, first: Path) -> Finding:
    assert loaded.tree is not None
    return Finding(
        "duplicate-name", Level.FAULT,
        f"another tree is called `{loaded.tree.name}`, too: {first.as_posix()}",
        loaded.tree.span, "its outputs would stand in the place of the other's",
        "give one of them another name",
    )  # fmt: skip


# ---- what can be made ----------------------------------------------------------------------


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
        raise _no_chart(outline, wrong) from None
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
        raise _no_chart(outline, wrong) from None
    yield file_name(outline, symptom, model, "chart.pdf"), printed


def _no_chart(outline: Outline, wrong: Exception) -> UsageError:
    return UsageError(f"the chart of {outline.name} cannot be drawn: {wrong}")


def sheets(
    sound: Sound,
    papers: Sequence[str] = ALL_PAPERS,
    symptom: str | None = None,
    model: str | None = None,
) -> Iterator[Output]:
    """The checklist as a PDF for each paper."""
    from treewright.render.sheet import sheets as on_paper

    outline = sound.outline
    asked_for(outline, symptom, model)
    made = on_paper(outline, papers, symptom, model, sound.pictures)  # type: ignore[arg-type]
    for paper, content in made:
        yield file_name(outline, symptom, model, f"{paper}.pdf"), content


def previewed(sound: Sound, papers: Sequence[str] = ALL_PAPERS) -> Iterator[Output]:
    """The checklist for each paper, and a page of HTML that shows what each looks like."""
    from treewright.render.preview import Shown, pictures_of, preview_page

    shown: list[Shown] = []
    for name, content in sheets(sound, papers):
        yield name, content
        words = f"Checklist on {_PAPERS[papers[len(shown)]]}"
        shown.append(Shown(words, name, pictures_of(content)))
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
        previews: whether there is a page of pictures of the sheets for each tree, too.

    Raises:
        UsageError: the folder cannot be written to.
    """
    printed = partial(previewed if previews else sheets, papers=papers)
    on_screen = partial(_on_screen, previews=previews)
    makers: tuple[Maker, ...] = (printed, wall_charts, on_screen, data)  # the longest first
    made = make(paths, makers, out, progress)
    if made.outlines:
        from treewright.render.site import OUTPUTS, index

        beside = (*OUTPUTS, (PREVIEW, "index.preview")) if previews else OUTPUTS
        text = index(made.outlines, beside, translations=made.translations)
        made.written.append(write(out / "index.html", text.encode()))
        keep_offline(made, out)
    return made


def _on_screen(sound: Sound, previews: bool) -> Iterator[Output]:
    """What holds the whole chart, which is drawn once for both."""
    return chain(walk_throughs(sound, previews), drawings(sound))


def keep_offline(made: Made, out: Path) -> None:
    """Writes what keeps the pages that were made on a device: worker, manifest and icon.

    Raises:
        UsageError: the folder cannot be written to.
    """
    from treewright.render import offline

    pages = {path.name: path.read_bytes() for path in made.written if path.suffix == ".html"}
    if pages:
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
