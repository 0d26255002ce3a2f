"""Makes outputs of trees and writes them: each whole or not at all.

A tree with a finding of level fault is not built; the rest is. The same trees give the same
bytes. A file that has not changed is left as it is. The outputs of a tree depend on nothing
but its outline, so they are shared out to the processors of the machine.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from treewright.project import Loaded, Project, UsageError, lint_loaded, pictures
from treewright.text.diagnostic import Finding, Level, in_order
from treewright.workers import shared

if TYPE_CHECKING:
    from treewright.progress import Progress
    from treewright.render.outline import Outline

ALL_PAPERS = ("a4", "letter")


class Sound:
    """A tree without a fault: its outline and pictures, and the chart drawn once."""

    def __init__(
        self,
        outline: Outline,
        pictures: dict[str, bytes],
        translations: tuple[Outline, ...] = (),
    ) -> None:
        self.outline, self.pictures, self.translations = outline, pictures, translations

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
    made = Made(trees=len(paths))
    sound = list(_sound(paths, made))
    jobs = [(one, maker, out) for one in sound for maker in makers]
    for done, (written, shown) in enumerate(shared(_do, jobs)):
        made.written += written
        made.shown += shown
        name = jobs[min(done + 1, len(jobs) - 1)][0].outline.name
        progress.say((done + 1) // len(makers), len(sound), name)
    progress.close()
    return made


def _sound(paths: Sequence[Path], made: Made) -> Iterator[Sound]:
    """The trees that can be built; what was found in all of them is noted in `made`."""
    from treewright.render.compile import compile_translations, compile_tree

    project = Project()
    names: dict[str, Path] = {}
    for path in paths:
        loaded = project.load(path)
        findings = lint_loaded(loaded)
        made.findings += findings
        tree = loaded.tree
        if tree is None or tree.library or any(f.level is Level.FAULT for f in findings):
            continue
        if tree.name in names:
            made.findings.append(_same_name(loaded, names[tree.name]))
            continue
        names[tree.name] = path
        outline = compile_tree(tree)
        made.outlines.append(outline)
        made.translations[tree.name] = compile_translations(tree, outline)
        yield Sound(outline, pictures(tree), made.translations[tree.name])
    made.findings = in_order(made.findings)


_Job: TypeAlias = tuple[Sound, Maker, Path | None]


def _do(job: _Job) -> tuple[list[Path], list[bytes]]:
    sound, maker, out = job
    outputs = list(maker(sound))
    if out is None:
        return [], [content for _, content in outputs]
    return [write(out / name, content) for name, content in outputs], []


def _same_name(loaded: Loaded, first: Path) -> Finding:
    assert loaded.tree is not None
    return Finding(
        "duplicate-name", Level.FAULT,
        f"another tree is called `{loaded.tree.name}`, too: {first.as_posix()}",
        loaded.tree.span, "its outputs would stand in the place of the other's",
        "give one of them another name",
    )  # fmt: skip


def write(path: Path, content: bytes) -> Path:
    """Replaces a file whole, or leaves the old one.

    Raises:
        UsageError: it cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file() and path.read_bytes() == content:
            return path
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            Path(name).chmod(0o644)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as wrong:
        if path.parent.exists() and not path.parent.is_dir():
            raise UsageError(f"`{path.parent}` is a file, not a folder") from None
        raise UsageError(f"`{path}` cannot be written: {wrong.strerror}") from None
    return path


def rewrite(path: Path, content: bytes) -> None:
    """Replaces an author's file whole; who may read it stays, and so does a link to it.

    Raises:
        UsageError: it cannot be written.
    """
    target = path.resolve()
    mode = target.stat().st_mode
    write(target, content).chmod(mode)


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
    _asked(outline, symptom, model)
    try:
        if symptom is None and model is None and program is None:
            drawn = sound.chart
        else:
            drawn = chart.svg(outline, symptom=symptom, model=model, program=program)
    except chart.ChartError as wrong:
        raise _no_chart(outline, wrong) from None
    yield _file(outline, symptom, model, "chart.svg"), (chart.PROLOG + drawn).encode()


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
    _asked(outline, symptom, model)
    try:
        printed = chart.pdf(outline, paper, symptom=symptom, model=model, program=program)  # type: ignore[arg-type]
    except chart.ChartError as wrong:
        raise _no_chart(outline, wrong) from None
    yield _file(outline, symptom, model, "chart.pdf"), printed


def _no_chart(outline: Outline, wrong: Exception) -> UsageError:
    return UsageError(f"the chart of {outline.name} cannot be drawn: {wrong}")


def sheets(
    sound: Sound,
    papers: Sequence[str] = ALL_PAPERS,
    symptom: str | None = None,
    model: str | None = None,
) -> Iterator[Output]:
    """The checklist as a PDF for each paper."""
    from treewright.render.sheet import sheet

    outline = sound.outline
    _asked(outline, symptom, model)
    for paper in papers:
        content = sheet(outline, paper, symptom, model, sound.pictures)  # type: ignore[arg-type]
        yield _file(outline, symptom, model, f"{paper}.pdf"), content


def walk_throughs(sound: Sound) -> Iterator[Output]:
    """The walk-through as one HTML file."""
    from treewright.render.site import page

    text = page(sound.outline, sound.chart, sound.pictures, sound.translations)
    yield f"{sound.outline.name}.html", text.encode()


def data(sound: Sound) -> Iterator[Output]:
    """The compiled tree as JSON."""
    from treewright.render.data import to_json

    yield f"{sound.outline.name}.json", to_json(sound.outline).encode()


def build(paths: Sequence[Path], out: Path, progress: Progress) -> Made:
    """All outputs of all sound trees, and a start page over them.

    Raises:
        UsageError: the folder cannot be written to.
    """
    printed = [partial(sheets, papers=(paper,)) for paper in ALL_PAPERS]
    makers: tuple[Maker, ...] = (wall_charts, *printed, _on_screen)
    made = make(paths, makers, out, progress)
    if made.outlines:
        from treewright.render.site import index

        text = index(made.outlines, translations=made.translations)
        made.written.append(write(out / "index.html", text.encode()))
        keep_offline(made, out)
    return made


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


def _on_screen(sound: Sound) -> Iterator[Output]:
    """What is quickly made."""
    return chain(walk_throughs(sound), drawings(sound), data(sound))


def _asked(outline: Outline, symptom: str | None, model: str | None) -> None:
    names = [s.name for s in outline.symptoms]
    if symptom is not None and symptom not in names:
        raise UsageError(
            f"{outline.name} has no symptom `{symptom}`; it has {', '.join(names)}"
        )
    if model is not None and model not in outline.models:
        models = ", ".join(outline.models) or "no models"
        raise UsageError(f"{outline.name} has no model `{model}`; it has {models}")


def _file(outline: Outline, symptom: str | None, model: str | None, what: str) -> str:
    """A file's name; a model may be written with a stroke, which a name may not have."""
    return "-".join([outline.name, *(x for x in (symptom, model) if x), what]).replace("/", "-")
