"""The pipeline for files and folders of trees: read, parse, mean, lint, render, write.

The command line is a thin skin over this. Heavy parts are imported where they are used, so
that a command pays only for what it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from treewright import folder
from treewright.folder import language_of
from treewright.record import record
from treewright.text.diagnostic import Finding, Level, in_order
from treewright.text.source import Source, Span, Unreadable, read
from treewright.usage import UsageError
from treewright.workers import shared

if TYPE_CHECKING:
    from treewright.lint.review import Review
    from treewright.model.tree import Translation, Tree
    from treewright.model.written import Waiver
    from treewright.syntax import ast
    from treewright.syntax import translation as written

SUFFIX = ".tree"
_MANY = 40  # from so many trees on, linting is shared out to processes


@record
class Loaded:
    """A file read as far as it goes.

    `findings`: of the rules `syntax` and `file` only. `tree` is there even then, as far as it
    could be read, but only `sound` ones may be looked at by every rule. `libraries`: all that
    were asked for, by their path below its folder, each as read or why it could not be.
    """

    path: Path
    tree: Tree | None
    findings: tuple[Finding, ...]
    libraries: tuple[tuple[str, Source | Unreadable], ...] = ()

    @property
    def sound(self) -> bool:
        return self.tree is not None and not self.findings


@dataclass(slots=True)
class Project:
    """Reads trees; a library that several of them use is read once."""

    _parsed: dict[Path, tuple[ast.File, list[Finding]]] = field(default_factory=dict)
    _translated: dict[Path, tuple[written.File, list[Finding]]] = field(default_factory=dict)

    def take(self, path: Path, source: Source) -> None:
        """Lets a file have another text than the one that is written in it."""
        from treewright.syntax.parse import parse

        self._parsed[path] = parse(source)

    def parse(self, path: Path, named: str) -> tuple[ast.File, list[Finding]]:
        """A parsed file.

        Args:
            path: the file.
            named: its path as it was asked for.

        Raises:
            Unreadable: the file is not there or is no text.
        """
        from treewright.syntax.parse import parse

        if path not in self._parsed:
            self._parsed[path] = parse(read(path, None, named))
        return self._parsed[path]

    def load(self, path: Path) -> Loaded:
        """A tree with the libraries it uses; what was wrong is in the findings."""
        from treewright.model.build import build

        if language_of(path.name) and (found := self._alone(path)) is not None:
            return found
        try:
            file, findings = self.parse(path, path.as_posix())
        except Unreadable as wrong:
            return Loaded(path, None, (_unreadable(path, wrong),))
        home = path.parent
        collected = list(findings)

        opened: list[tuple[str, Source | Unreadable]] = []
        files: dict[str, ast.File] = {path.name: file}  # by their paths below the folder

        def open_library(name: str) -> ast.File:
            try:
                library, slips = self.parse(folder.library(home, name), name)
            except Unreadable as wrong:
                opened.append((name, wrong))
                raise
            opened.append((name, library.source))
            files[name] = library
            collected.extend(slips)
            return library

        tree, slips = build(file, open_library)
        collected.extend(slips)
        collected.extend(_picture_findings(tree))
        tree = replace(tree, translations=tuple(self._translations(tree, home, files, opened)))
        return Loaded(path, tree, tuple(in_order(collected)), tuple(opened))

    def _translations(
        self, tree: Tree, home: Path, files: Mapping[str, ast.File],
        opened: list[tuple[str, Source | Unreadable]],
    ) -> Iterator[Translation]:  # fmt: skip
        """The translations beside a tree, with those beside its libraries; none of a library."""
        from treewright.model.translation import softened, translation

        if tree.library:
            return
        found: dict[str, list[tuple[ast.File, written.File]]] = {}
        slips: dict[str, list[Finding]] = {}
        for name, original in files.items():
            for beside in folder.translations(home / name):
                language = language_of(beside.name)
                below = beside.relative_to(home).as_posix()
                named = beside.as_posix() if original is next(iter(files.values())) else below
                try:
                    other, wrong = self._parse_translation(beside, named)
                except Unreadable as unread:
                    opened.append((below, unread))
                    continue
                opened.append((below, other.source))
                found.setdefault(language, []).append((original, other))
                slips.setdefault(language, []).extend(softened(wrong))
        for language, pairs in sorted(found.items()):
            if pairs[0][0] is files[next(iter(files))]:  # a library's alone offers nothing
                yield translation(tree, language, pairs, slips[language])

    def _parse_translation(self, path: Path, named: str) -> tuple[written.File, list[Finding]]:
        """A parsed translation.

        Raises:
            Unreadable: the file is not there or is no text.
        """
        from treewright.syntax.translation import parse

        if path not in self._translated:
            self._translated[path] = parse(read(path, None, named))
        return self._translated[path]

    def _alone(self, path: Path) -> Loaded | None:
        """A translation that was asked for by itself: what can be said without its tree."""
        from treewright.model.translation import slip, softened

        if not folder.is_translation(path):
            return None
        try:
            file, wrong = self._parse_translation(path, path.as_posix())
        except Unreadable as unread:
            return Loaded(path, None, (_unreadable(path, unread),))
        findings = softened(wrong)
        if folder.translated(path) is None and file.head is not None:
            text = "there is no tree or library beside this translation"
            tree = f"{path.name.split('.')[0]}.tree"
            findings.append(slip(text, file.head.name.span, f"it translates a file `{tree}`"))
        return Loaded(path, None, tuple(in_order(findings)))

    def lint(self, path: Path) -> list[Finding]:
        """All findings of one file, in order."""
        return lint_loaded(self.load(path))


def reviewed(loaded: Loaded) -> Review:
    """All that was found in a loaded file, and what was waived.

    That is what did not parse, and what the rules say of the rest. Of a tree that could not
    be read whole only the rules that look at one block at a time are asked, and not about its
    broken blocks: one slip, one finding.
    """
    from treewright.lint.review import Review
    from treewright.lint.run import review, review_blocks

    tree = loaded.tree
    if tree is None:
        return Review(loaded.findings, ())
    if loaded.sound:
        return review(tree)
    blocks = review_blocks(tree)
    found = [finding for finding in blocks.findings if not _in_broken(finding, tree)]
    return Review(tuple(in_order([*loaded.findings, *found])), blocks.waived)


def lint_loaded(loaded: Loaded) -> list[Finding]:
    """All findings of a loaded file that are not waived, in order."""
    return list(reviewed(loaded).findings)


def _in_broken(finding: Finding, tree: Tree) -> bool:
    span = finding.span
    return any(
        broken.source is span.source and broken.start <= span.start < broken.end
        for broken in tree.broken
    )


def _unreadable(path: Path, wrong: Unreadable) -> Finding:
    return Finding(
        "file", Level.FAULT, wrong.message, Span(Source(path.as_posix(), ""), 0, 0),
        "a tree that cannot be read cannot be proven or printed", wrong.help,
    )  # fmt: skip


# ---- which files ---------------------------------------------------------------------------


def find_trees(paths: Sequence[str]) -> list[Path]:
    """The tree files that were named, and those in the folders that were named, in order.

    Raises:
        UsageError: a path is not there, is no tree, or a folder has no tree in it.
    """
    found: dict[Path, None] = {}
    for text in paths:
        path = Path(text)
        if path.is_dir():
            inside = sorted(p for p in path.rglob(f"*{SUFFIX}") if p.is_file())
            inside = [p for p in inside if folder.translated(p) is None]  # told with their trees
            if not inside:
                raise UsageError(f"the folder `{text}` has no file that ends in `{SUFFIX}`")
            found.update(dict.fromkeys(inside))
        elif not path.exists():
            raise UsageError(f"there is no file or folder `{text}`")
        else:
            found[path] = None
    return list(found)


@record
class Read:
    """Files that were named, read: the sound trees, and the files that could not be read whole
    with what is wrong in them. Libraries are passed over."""

    trees: tuple[Tree, ...]
    unread: tuple[Path, ...]
    findings: tuple[Finding, ...]


def read_trees(paths: Sequence[str]) -> Read:
    """What there is to work on in the files and folders that were named, in order.

    Raises:
        UsageError: as for `find_trees`.
    """
    project = Project()
    trees: list[Tree] = []
    unread: list[Path] = []
    findings: list[Finding] = []
    for path in find_trees(paths):
        loaded = project.load(path)
        if loaded.tree is None or not loaded.sound:
            unread.append(path)
            findings += loaded.findings
        elif not loaded.tree.library:
            trees.append(loaded.tree)
    return Read(tuple(trees), tuple(unread), tuple(findings))


# ---- many at once --------------------------------------------------------------------------


def review_all(paths: Sequence[Path], keep: bool = False, fresh: bool = False) -> Review:
    """What is found and what is waived in many files, each once, in order.

    The work is shared out to processes where it pays.

    Args:
        paths: the files.
        keep: whether what is found is kept for the next time, and what was kept is taken.
        fresh: whether what was kept is passed over all the same.
    """
    known: dict[Path, Review] = {}
    if keep and not fresh:
        from treewright import kept_findings

        known = kept_findings.known(paths)
    left = [path for path in paths if path not in known]
    work = partial(_review_some, keep=keep)
    if len(left) < _MANY:
        made = work(left)
    else:
        size = min(50, len(left) // 8)
        chunks = [left[i : i + size] for i in range(0, len(left), size)]
        made = [review for some in shared(work, chunks) for review in some]
    known.update(zip(left, made, strict=True))
    return _each_once(known[path] for path in paths)


def lint_all(paths: Sequence[Path]) -> list[Finding]:
    """The findings of many files that are not waived, each once, in order."""
    return list(review_all(paths).findings)


def _review_some(paths: Sequence[Path], keep: bool) -> list[Review]:
    from treewright import kept_findings

    project = Project()
    made = []
    for path in paths:
        loaded = project.load(path)
        made.append(reviewed(loaded))
        if keep and loaded.tree is not None:
            kept_findings.keep(path, loaded.tree, loaded.libraries, made[-1])
    return made


def _each_once(reviews: Iterable[Review]) -> Review:
    """A library's findings come with every tree that uses it; they are said once."""
    from treewright.lint.review import Review

    found: dict[_Said, Finding] = {}
    waived: dict[_Said, tuple[Finding, Waiver]] = {}
    for review in reviews:
        for finding in review.findings:
            found.setdefault(_said(finding), finding)
        for finding, waiver in review.waived:
            waived.setdefault(_said(finding), (finding, waiver))
    passed = dict(waived.values())
    return Review(
        tuple(in_order(list(found.values()))),
        tuple((finding, passed[finding]) for finding in in_order(list(passed))),
    )


_Said: TypeAlias = tuple[str, int, int, str, str]


def _said(f: Finding) -> _Said:
    return f.span.source.path, f.span.start, f.span.end, f.rule, f.message


# ---- pictures ------------------------------------------------------------------------------


def pictures(tree: Tree) -> dict[str, bytes]:
    """The picture files of a sound tree by their path below its folder."""
    from treewright.model.tree import pictures_of

    home = Path(tree.source.path).parent
    return {picture.path: (home / picture.path).read_bytes() for picture in pictures_of(tree)}


def _picture_findings(tree: Tree) -> Iterator[Finding]:
    from treewright.model.tree import pictures_of
    from treewright.syntax.errors import syntax

    home = Path(tree.source.path).parent
    for picture in pictures_of(tree):
        wrong = folder.wrong_with_picture(home, picture.file, picture.path)
        if wrong is not None:
            message, help = wrong
            yield syntax(message, picture.span, help)
