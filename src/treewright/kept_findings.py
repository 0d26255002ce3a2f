"""Keeps what was found in each file in the user's cache folder, so that it is not looked for again.

A kept review is taken only where all is as it was: the file, each library it asked for (read
or not), what there is to say of each picture, and this program itself. The program is told by
the content of its own source files and not by its version, which stays the same while rules
are worked on. There is one kept file for each tree, named after its path: a run over a folder
then writes anew only what has changed. It is plain JSON.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import sys
from collections.abc import Sequence
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from treewright import folder, kept, resources
from treewright.lint.review import Review
from treewright.model.written import Waiver
from treewright.text.diagnostic import Finding, Fix, Label, Level
from treewright.text.source import Source, Span, Unreadable, read

if TYPE_CHECKING:
    from treewright.model.tree import Tree

_Json: TypeAlias = Any
_Library: TypeAlias = tuple[str, "Source | Unreadable"]


def known(paths: Sequence[Path]) -> dict[Path, Review]:
    """What was kept of files and still holds.

    Args:
        paths: the files; those of which nothing is known are left out.
    """
    shelf = _Shelf()
    found = {}
    for path in paths:
        with contextlib.suppress(Exception):  # whatever is in the file: it is only an aid
            review = shelf.review(path)
            if review is not None:
                found[path] = review
    return found


def keep(path: Path, tree: Tree, libraries: Sequence[_Library], review: Review) -> None:
    """Keeps what was found in a file.

    Args:
        path: the file.
        tree: what was read from it.
        libraries: all that it asked for, by their path below its folder.
        review: what was found.
    """
    from treewright.model.tree import pictures_of

    home = path.parent
    places = {id(tree.source): 0}
    for at, (_, source) in enumerate(libraries, 1):
        places.setdefault(id(source), at)
    made = {
        "program": _program(),
        "tree": _mark(tree.source),
        "libraries": [[name, _mark(source)] for name, source in libraries],
        "pictures": [
            [one.file, one.path, folder.wrong_with_picture(home, one.file, one.path)]
            for one in pictures_of(tree)
        ],
        "translations": _translations(path, [name for name, _ in libraries]),
        "findings": [_finding(finding, places) for finding in review.findings],
        "waived": [
            [_finding(finding, places), [waiver.rule, waiver.reason, _span(waiver.span, places)]]
            for finding, waiver in review.waived
        ],
    }
    kept.keep(_name(path), json.dumps(made, separators=(",", ":")).encode())


def _translations(path: Path, libraries: Sequence[str]) -> list[str]:
    """The names of the translations that lie beside a tree and its libraries."""
    files = [path, *(path.parent / name for name in libraries)]
    return sorted({beside.name for file in files for beside in folder.translations(file)})


def _name(path: Path) -> str:
    whole = path.absolute().as_posix().encode(errors="surrogatepass")
    return f"findings-{hashlib.sha256(whole).hexdigest()[:32]}.kept"


def _mark(source: Source | Unreadable) -> str:
    """A text, or why there is none, in few letters."""
    if isinstance(source, Unreadable):
        return f"{source.message}; {source.help}"
    return hashlib.sha256(source.text.encode(errors="surrogatepass")).hexdigest()


@cache
def _program() -> str:
    """All of the program that findings come from, in few letters."""
    made = hashlib.sha256(repr(sys.version_info[:3]).encode())
    package = Path(__file__).parent
    own = sorted([*package.rglob("*.py"), *package.rglob("*.toml")])
    for file in (*own, resources.grammar() / "tree.lark"):
        made.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    parser = find_spec("lark")
    if parser is not None and parser.origin is not None:
        seen = Path(parser.origin).stat()
        made.update(repr((seen.st_mtime_ns, seen.st_size)).encode())
    return made.hexdigest()


# ---- writing -------------------------------------------------------------------------------


def _finding(finding: Finding, places: dict[int, int]) -> _Json:
    fix = finding.fix
    return [
        finding.rule, finding.level.value, finding.message, _span(finding.span, places),
        finding.why, finding.help,
        [[_span(label.span, places), label.text] for label in finding.labels],
        finding.way,
        None if fix is None else [_span(fix.span, places), fix.replacement, fix.text],
    ]  # fmt: skip


def _span(span: Span, places: dict[int, int]) -> _Json:
    return [places[id(span.source)], span.start, span.end]


# ---- reading -------------------------------------------------------------------------------


class _Shelf:
    """Takes kept reviews down; a library of several trees is read once."""

    def __init__(self) -> None:
        self._read: dict[tuple[Path, str], Source | Unreadable] = {}

    def review(self, path: Path) -> Review | None:
        """What was kept of a file, if it still holds."""
        content = kept.get(_name(path))
        if content is None:
            return None
        made = json.loads(content)
        source = self._source(path.parent, path.name, path.as_posix())
        if made["program"] != _program() or made["tree"] != _mark(source):
            return None
        sources: list[Source | Unreadable] = [source]
        for name, mark in made["libraries"]:
            library = self._library(path.parent, name)
            if mark != _mark(library):
                return None
            sources.append(library)
        for file, below, wrong in made["pictures"]:
            now = folder.wrong_with_picture(path.parent, file, below)
            if wrong != (None if now is None else list(now)):
                return None
        names = [name for name, _ in made["libraries"]]
        if made["translations"] != _translations(path, names):
            return None
        return _Reader(sources).review(made)

    def _source(self, home: Path, below: str, named: str) -> Source | Unreadable:
        """A file read as a project reads it."""
        key = home / below, named
        if key not in self._read:
            try:
                self._read[key] = read(home / below, None, named)
            except Unreadable as wrong:
                self._read[key] = wrong
        return self._read[key]

    def _library(self, home: Path, name: str) -> Source | Unreadable:
        try:
            return self._source(home, folder.library(home, name).relative_to(home).as_posix(), name)
        except Unreadable as wrong:
            return wrong


class _Reader:
    def __init__(self, sources: Sequence[Source | Unreadable]) -> None:
        self.sources = sources

    def review(self, made: _Json) -> Review:
        return Review(
            tuple(self.finding(one) for one in made["findings"]),
            tuple(
                (self.finding(one), Waiver(rule, reason, self.span(span)))
                for one, (rule, reason, span) in made["waived"]
            ),
        )

    def finding(self, made: _Json) -> Finding:
        rule, level, message, span, why, help, labels, way, fix = made
        return Finding(
            rule, Level(level), message, self.span(span), why, help,
            tuple(Label(self.span(where), text) for where, text in labels), tuple(way),
            None if fix is None else Fix(self.span(fix[0]), fix[1], fix[2]),
        )  # fmt: skip

    def span(self, made: _Json) -> Span:
        at, start, end = made
        source = self.sources[at]
        assert isinstance(source, Source)
        return Span(source, start, end)
