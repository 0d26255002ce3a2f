"""The pipeline for files and folders of trees: read, parse, mean, lint, render, write.

The command line is a thin skin over this. Heavy parts are imported where they are used, so
that a command pays only for what it does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from treewright.text.diagnostic import Finding, Level, in_order
from treewright.text.source import Source, Span, Unreadable, read
from treewright.workers import shared

if TYPE_CHECKING:
    from treewright.model.tree import Picture, Tree
    from treewright.syntax import ast

SUFFIX = ".tree"
_MANY = 40  # from so many trees on, linting is shared out to processes


class UsageError(Exception):
    """What was asked for cannot be done: said in one sentence; exit status 2."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A file read as far as it goes.

    `findings`: of the rules `syntax` and `file` only. `tree` is there even then, as far as it
    could be read, but only `sound` ones may be looked at by every rule.
    """

    path: Path
    tree: Tree | None
    findings: tuple[Finding, ...]

    @property
    def sound(self) -> bool:
        return self.tree is not None and not self.findings


@dataclass(slots=True)
class Project:
    """Reads trees; a library that several of them use is read once."""

    _parsed: dict[Path, tuple[ast.File, list[Finding]]] = field(default_factory=dict)

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

        try:
            file, findings = self.parse(path, path.as_posix())
        except Unreadable as wrong:
            return Loaded(path, None, (_unreadable(path, wrong),))
        home = path.parent
        collected = list(findings)

        def open_library(name: str) -> ast.File:
            target = home / PurePosixPath(name)
            if not target.resolve().is_relative_to(home.resolve()):
                raise Unreadable(
                    f"`{name}` leads out of the folder of this tree",
                    "libraries stand below the folder of the tree",
                )
            library, slips = self.parse(target, name)
            collected.extend(slips)
            return library

        tree, slips = build(file, open_library)
        collected.extend(slips)
        collected.extend(_picture_findings(tree))
        return Loaded(path, tree, tuple(in_order(collected)))

    def lint(self, path: Path) -> list[Finding]:
        """All findings of one file, in order."""
        return lint_loaded(self.load(path))


def lint_loaded(loaded: Loaded) -> list[Finding]:
    """All findings of a loaded file: what did not parse, and what the rules say of the rest.

    Of a tree that could not be read whole only the rules that look at one block at a time
    are asked, and not about its broken blocks: one slip, one finding.
    """
    from treewright.lint.run import lint, lint_blocks

    if loaded.tree is None:
        return list(loaded.findings)
    if loaded.sound:
        return lint(loaded.tree)
    found = [f for f in lint_blocks(loaded.tree) if not _in_broken(f, loaded.tree)]
    return in_order([*loaded.findings, *found])


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
            if not inside:
                raise UsageError(f"the folder `{text}` has no file that ends in `{SUFFIX}`")
            found.update(dict.fromkeys(inside))
        elif not path.exists():
            raise UsageError(f"there is no file or folder `{text}`")
        else:
            found[path] = None
    return list(found)


# ---- many at once --------------------------------------------------------------------------


def lint_all(paths: Sequence[Path]) -> list[Finding]:
    """Findings of many files, each once, in order; shared out to processes where it pays."""
    if len(paths) < _MANY:
        return _each_once(_lint_some(paths))
    size = min(50, len(paths) // 8)
    chunks = [paths[i : i + size] for i in range(0, len(paths), size)]
    return _each_once(f for some in shared(_lint_some, chunks) for f in some)


def _lint_some(paths: Sequence[Path]) -> list[Finding]:
    project = Project()
    return [finding for path in paths for finding in project.lint(path)]


def _each_once(findings: Iterable[Finding]) -> list[Finding]:
    """A library's findings come with every tree that uses it; they are said once."""
    seen: dict[tuple[str, int, int, str, str], Finding] = {}
    for f in findings:
        key = (f.span.source.path, f.span.start, f.span.end, f.rule, f.message)
        seen.setdefault(key, f)
    return in_order(list(seen.values()))


# ---- pictures ------------------------------------------------------------------------------

_PICTURES = {
    b"\x89PNG\r\n\x1a\n": ".png",
    b"\xff\xd8\xff": ".jpg .jpeg",
    b"GIF87a": ".gif",
    b"GIF89a": ".gif",
}


def pictures(tree: Tree) -> dict[str, bytes]:
    """The picture files of a sound tree by their path below its folder."""
    home = Path(tree.source.path).parent
    return {picture.path: (home / picture.path).read_bytes() for picture in _pictures_of(tree)}


def _pictures_of(tree: Tree) -> Iterator[Picture]:
    for block in (*tree.nodes.values(), *tree.procedures.values()):
        if block.picture is not None:
            yield block.picture


def _picture_findings(tree: Tree) -> Iterator[Finding]:
    from treewright.syntax.errors import syntax

    home = Path(tree.source.path).parent
    kinds = ".png, .jpg or .gif"
    for picture in _pictures_of(tree):
        pure, span = PurePosixPath(picture.file), picture.span
        path = home / picture.path
        if pure.is_absolute() or ".." in pure.parts or "\\" in picture.file:
            yield syntax("this picture lies outside the folder of the tree", span,
                         "copy it into the folder")  # fmt: skip
        elif not path.is_file() or not path.resolve().is_relative_to(home.resolve()):
            yield syntax(f"there is no picture `{picture.file}`", span,
                         "check its name, and that it lies in the folder of the tree")  # fmt: skip
        else:
            with path.open("rb") as file:
                start = file.read(8)
            kind = next((k for magic, k in _PICTURES.items() if start.startswith(magic)), "")
            if path.suffix.lower() not in kind.split():
                yield syntax(f"`{picture.file}` is no picture that can be printed", span,
                             f"save it as {kinds}, with the ending that fits")  # fmt: skip
