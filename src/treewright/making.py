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

from treewright.outputs import Staged, drop, settle, stage
from treewright.project import Loaded, Project, lint_loaded, pictures
from treewright.record import record
from treewright.text.diagnostic import Finding, Level, in_order
from treewright.usage import UsageError
from treewright.workers import Share, crew, one_by_one

if TYPE_CHECKING:
    from treewright.model.tree import Tree
    from treewright.progress import Progress
    from treewright.reason.standing import Standing
    from treewright.render.outline import Outline

    Look: TypeAlias = Callable[[Tree], dict[str, Standing]]


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
            raise no_chart(self.outline, wrong) from None


def no_chart(outline: Outline, wrong: Exception) -> UsageError:
    """What to say where a chart cannot be drawn."""
    return UsageError(f"the chart of {outline.name} cannot be drawn: {wrong}")


Output: TypeAlias = tuple[str, bytes]  # file name, content
Maker: TypeAlias = "Callable[[Sound], Iterator[Output | Later]]"


@record
class Later:
    """What a maker leaves to be made when a processor has time for it."""

    make: Callable[[], Iterator[Output | Later]]


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
    paths: Sequence[Path],
    makers: Sequence[Maker],
    out: Path | None,
    progress: Progress,
    of_all: Callable[[Made], Iterator[Output]] | None = None,
) -> Made:
    """Makes outputs of every sound tree.

    Args:
        paths: tree files; libraries among them are passed over.
        makers: what to make of a tree; each may run in a process of its own.
        out: the folder to write to; None: contents are kept to be shown.
        progress: is told how far it is.
        of_all: what to make of all sound trees together, if there are any and a folder.

    Raises:
        UsageError: the folder cannot be written to, or what was asked for is not in the tree.
    """
    if len(paths) * len(makers) == 1:
        return _make(paths, makers, out, progress, of_all, one_by_one)
    from treewright.render import ready

    with crew(ready.for_all, ready.for_paper, ready.for_screen) as share:
        return _make(paths, makers, out, progress, of_all, share)


def _make(
    paths: Sequence[Path],
    makers: Sequence[Maker],
    out: Path | None,
    progress: Progress,
    of_all: Callable[[Made], Iterator[Output]] | None,
    share: Share,
) -> Made:
    made = Made(trees=len(paths))
    proven: dict[int, bool] = {}  # by the place of each tree, as soon as it is proven
    waiting: list[_Result] = []
    together: list[Staged] = []
    places: list[tuple[int, Path]] = []  # what was written, by tree
    new_folder = out is not None and not out.exists()

    def jobs() -> Iterator[_Job]:
        yield from _jobs(paths, makers, out, made, proven)
        if of_all is not None and out is not None and made.outlines:  # while others make theirs
            together.extend(stage(out / name, content) for name, content in of_all(made))

    try:
        for done, result in enumerate(share(_do, jobs(), _following), 1):
            waiting.append(result)
            places += _settled(waiting, proven, made)
            progress.say(min(done // len(makers), len(paths)), len(paths), paths[result.tree].stem)
        places += _settled(waiting, proven, made)
        made.written += [path for _, path in sorted(places, key=lambda place: place[0])]
        made.written += map(settle, together)
    finally:
        for staged in chain(together, *(result.staged for result in waiting)):
            drop(staged)
        if out is not None and new_folder and not places:
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
    compiled = list(_each_compiled(paths, made, proven, look))
    made.findings = in_order(made.findings)
    yield from (one for place, one in compiled if proven[place])


@record
class _Job:
    """What is to be made of the tree in this place among all."""

    tree: int
    make: Callable[[], Iterator[Output | Later]]
    out: Path | None


@record
class _Result:
    """What came of a job: files that wait, contents to be shown, or what went wrong."""

    tree: int
    staged: tuple[Staged, ...] = ()
    shown: tuple[bytes, ...] = ()
    following: tuple[_Job, ...] = ()
    wrong: Exception | None = None


def _jobs(
    paths: Sequence[Path],
    makers: Sequence[Maker],
    out: Path | None,
    made: Made,
    proven: dict[int, bool],
) -> Iterator[_Job]:
    """What there is to make of each tree."""
    for place, compiled in _each_compiled(paths, made, proven, None):
        yield from (_Job(place, partial(maker, compiled), out) for maker in makers)


def _each_compiled(
    paths: Sequence[Path], made: Made, proven: dict[int, bool], look: Look | None
) -> Iterator[tuple[int, Sound]]:
    """Each tree with its place among all, ahead of its proofs where it can be compiled at all.

    What the proofs say is noted in `proven`, and what they found in `made`.
    """
    project = Project()
    names: dict[str, Path] = {}
    for place, path in enumerate(paths):
        loaded = project.load(path)
        early = _compiled_early(loaded, look)
        if early is not None:
            yield place, early
        findings = lint_loaded(loaded)
        made.findings += findings
        tree = loaded.tree
        proven[place] = False
        if tree is None or tree.library or any(f.level is Level.FAULT for f in findings):
            continue
        if tree.name in names:
            made.findings.append(_same_name(loaded, names[tree.name]))
            continue
        names[tree.name] = path
        proven[place] = True
        ready = early or _compiled(tree, look)
        made.outlines.append(ready.outline)
        made.translations[tree.name] = ready.translations
        if early is None:
            yield place, ready


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
    following: list[_Job] = []
    try:
        for one in job.make():
            if isinstance(one, Later):
                following.append(_Job(job.tree, one.make, job.out))
            elif job.out is None:
                shown.append(one[1])
            else:
                outputs.append(stage(job.out / one[0], one[1]))
    except Exception as wrong:  # what it is worth is for the proofs to say
        return _Result(job.tree, tuple(outputs), wrong=wrong)
    return _Result(job.tree, tuple(outputs), tuple(shown), tuple(following))


def _following(result: _Result) -> tuple[_Job, ...]:
    return result.following


def _settled(
    waiting: list[_Result], proven: Mapping[int, bool], made: Made
) -> Iterator[tuple[int, Path]]:
    """Settles the results of the trees that are proven by now, in their order."""
    while waiting and waiting[0].tree in proven:
        result = waiting[0]
        if not proven[result.tree]:
            for staged in result.staged:
                drop(staged)
        elif result.wrong is not None:
            raise result.wrong
        else:
            yield from ((result.tree, settle(staged)) for staged in result.staged)
            made.shown += result.shown
        waiting.pop(0)


def _same_name(loaded: Loaded, first: Path) -> Finding:
    assert loaded.tree is not None
    return Finding(
        "duplicate-name", Level.FAULT,
        f"another tree is called `{loaded.tree.name}`, too: {first.as_posix()}",
        loaded.tree.span, "its outputs would stand in the place of the other's",
        "give one of them another name",
    )  # fmt: skip
