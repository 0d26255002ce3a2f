"""Files and names: which libraries a tree uses, and what a name means in which file.

A name of the tree itself is `oil-level`; a library's is `isolation.lock-out` everywhere in
the model, however it was written.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from itertools import islice
from pathlib import PurePosixPath

from treewright.model.tree import Missing, Twice
from treewright.model.written import Name
from treewright.record import record
from treewright.syntax import ast
from treewright.syntax.errors import article, listed, name_like, short, slip_of, syntax
from treewright.text.diagnostic import Finding
from treewright.text.source import Unreadable

# Kinds of block that share one set of names.
CLASSES = {
    **dict.fromkeys(("check", "reading", "step", "fault", "handoff", "done"), "node"),
    **dict.fromkeys(("danger", "warning", "caution", "notice"), "hazard"),
    "symptom": "symptom", "condition": "condition", "procedure": "procedure",
    "stage": "stage", "case": "case",
}  # fmt: skip

_DEEPEST = 50  # libraries of libraries of libraries …

# Opens the file a `use` line names: its path below the tree's folder.
OpenLibrary = Callable[[str], ast.File]


@dataclass(slots=True, eq=False)
class Scope:
    """One file: its blocks by class and name, and the libraries it uses by their short name.

    `alias` is "" for the tree itself.
    """

    file: ast.File
    alias: str
    path: str = ""  # below the folder of the tree; "" for the tree itself
    blocks: dict[str, dict[str, ast.Block]] = field(default_factory=dict)
    uses: dict[str, Scope] = field(default_factory=dict)
    # By a block's identity: the stage it stands in, and where it stands in `on_the_way`.
    stage_of: dict[int, str | None] = field(default_factory=dict)
    place_of: dict[int, int] = field(default_factory=dict)
    on_the_way: list[ast.Block] = field(default_factory=list)  # what `next` can mean, in order
    is_library: bool = False

    def __post_init__(self) -> None:
        stage: str | None = None
        for block in self.file.blocks:
            self.is_library |= block.kind == "library"
            if block.kind == "stage":
                stage = block.name.text
            self.stage_of[id(block)] = stage
            self.place_of[id(block)] = len(self.on_the_way)
            if block.kind in ("check", "reading", "step") and not _aside(block):
                self.on_the_way.append(block)

    def after(self, block: ast.Block) -> Iterator[ast.Block]:
        """The checks, readings and steps that stand behind a block of this file."""
        start = self.place_of[id(block)]
        if start < len(self.on_the_way) and self.on_the_way[start] is block:
            start += 1
        return islice(self.on_the_way, start, None)

    def id(self, name: str) -> str:
        return f"{self.alias}.{name}" if self.alias else name

    def of(self, kind: str) -> dict[str, ast.Block]:
        return self.blocks.get(kind, {})


def _aside(block: ast.Block) -> bool:
    """A step that is only done from elsewhere: it has no way on of its own."""
    return block.kind == "step" and not any(line.key == "then" for line in block.lines)


@record
class Found:
    """What a name means: a block and the file it stands in."""

    scope: Scope
    block: ast.Block

    @property
    def id(self) -> str:
        return self.scope.id(self.block.name.text)


class Names:
    """Looks names up and keeps account of what was missing, doubled or never used."""

    def __init__(self) -> None:
        self.missing: list[Missing] = []
        self.twice: list[Twice] = []
        self.findings: list[Finding] = []
        self.used: set[tuple[str, str]] = set()  # class, id
        self.waiting: deque[tuple[str, str]] = deque()  # of those, what is to come of libraries
        self.lacks_library = False  # one that is used could not be opened
        # A library's block, and the blocks that are `as in` it.
        self.stand_ins: dict[str, list[str]] = {}

    def find(self, scope: Scope, word: ast.Word, *classes: str, taken: bool = True) -> Found | None:
        """The block that a name means in a file; None where there is none (it is noted).

        `taken` false: only its lines are wanted, the block itself need not be in the tree.
        """
        for kind in classes:
            found = self._look(scope, word, kind)
            if found is not None:
                if taken or not found.scope.alias:
                    self.use(kind, found)
                return found
        self.miss(" or ".join(classes), word, self._known(scope, classes))
        return None

    def use(self, kind: str, found: Found) -> None:
        """Notes that a block is named, so that it is in the tree."""
        if (kind, found.id) not in self.used:
            self.used.add((kind, found.id))
            if found.scope.alias:
                self.waiting.append((kind, found.id))

    def miss(self, what: str, word: ast.Word, known: Iterable[str]) -> None:
        """Notes that a name is not among those known."""
        if not any(m.span == word.span for m in self.missing):
            names = list(known)
            near = get_close_matches(word.text, names, 2, 0.6)
            meant = slip_of(word.text, names)
            self.missing.append(Missing(what, word.text, tuple(near), word.span, meant))

    def name(
        self,
        scope: Scope,
        word: ast.Word,
        *classes: str,
        only: tuple[str, ...] = (),
        taken: bool = True,
    ) -> Name | None:
        """The same, as a resolved name with the place where it was written.

        Args:
            only: the kinds of block that make sense here; any other is a finding.
            taken: as in `find`.
        """
        found = self.find(scope, word, *classes, taken=taken)
        if found is not None and only and found.block.kind not in only:
            kinds = listed([article(kind) for kind in only], "or")
            self.findings.append(
                syntax(f"`{word.text}` is {article(found.block.kind)}; {kinds} belongs here",
                       word.span, "name another block")
            )  # fmt: skip
        return Name(found.id, word.span) if found else None

    def each_once(self, what: str, words: Iterable[ast.Word]) -> tuple[str, ...]:
        """The texts of words that must differ; those that do not are noted."""
        first: dict[str, ast.Word] = {}
        for word in words:
            if word.text in first:
                self.twice.append(Twice(what, word.text, first[word.text].span, word.span))
            first.setdefault(word.text, word)
        return tuple(first)

    def _look(self, scope: Scope, word: ast.Word, kind: str) -> Found | None:
        alias, point, short = word.text.rpartition(".")
        if point:
            library = scope.uses.get(alias)
            block = library.of(kind).get(short) if library else None
            return Found(library, block) if library and block else None
        block = scope.of(kind).get(word.text)
        if block is not None:
            return Found(scope, block)
        found = [
            Found(used, used.of(kind)[word.text])
            for used in scope.uses.values()
            if word.text in used.of(kind)
        ]
        if len(found) > 1:
            names = " or ".join(f"`{f.id}`" for f in found)
            self.findings.append(
                syntax(f"`{word.text}` is in more than one library", word.span, f"write {names}")
            )
        return found[0] if found else None

    @staticmethod
    def _known(scope: Scope, classes: tuple[str, ...]) -> list[str]:
        known = [name for kind in classes for name in scope.of(kind)]
        for used in scope.uses.values():
            known += [name for kind in classes for name in used.of(kind)]
            known += [used.id(name) for kind in classes for name in used.of(kind)]
        return sorted(set(known))


def open_scopes(file: ast.File, names: Names, open_library: OpenLibrary) -> Scope:
    """The scope of a tree with all libraries it uses, however deep."""
    return _Opener(file, names, open_library).open(file, "", "", ())


class _Opener:
    def __init__(self, tree: ast.File, names: Names, open_library: OpenLibrary) -> None:
        self.tree, self.names, self.open_library = tree, names, open_library
        self.opened: dict[str, tuple[str, Scope]] = {}  # by short name: path and scope

    def open(self, file: ast.File, alias: str, path: str, chain: tuple[str, ...]) -> Scope:
        scope = Scope(file, alias, path)
        for block in file.blocks:
            kind = CLASSES.get(block.kind)
            if kind is None:
                continue
            mine = scope.blocks.setdefault(kind, {})
            first = mine.setdefault(block.name.text, block)
            if first is not block:
                twice = Twice(kind, block.name.text, first.name.span, block.name.span)
                self.names.twice.append(twice)
        for use in file.uses:
            wrong = _bad_path(use.path.text) or self.use(scope, use, (*chain, path))
            if wrong is not None:
                self.names.findings.append(syntax(wrong[0], use.path.span, wrong[1]))
                self.names.lacks_library = True
        return scope

    def use(self, scope: Scope, use: ast.Use, chain: tuple[str, ...]) -> tuple[str, str] | None:
        """Opens a library for a file; what is wrong with that, and what to write instead."""
        written = use.path.text
        target = str(PurePosixPath(scope.path).parent / written)
        circle = (
            f"`{written}` is used in a circle: it uses, in the end, itself",
            "take out one of the `use` lines, or move what both need to a third file",
        )
        if target in chain:
            return circle
        if len(chain) > _DEEPEST:
            return "libraries use libraries here, too many deep", "name it in the tree itself"
        alias = name_like(PurePosixPath(target).stem)
        if alias not in self.opened:
            try:
                library = self.open_library(target)
            except Unreadable as wrong:
                return wrong.message, wrong.help
            if library.source is self.tree.source:
                return circle
            self.opened[alias] = target, self.open(library, alias, target, chain)
            if not self.opened[alias][1].is_library and not library.broken:
                return (f"`{written}` is not a library",
                        "a file that others use starts with `library NAME: TITLE`")  # fmt: skip
        elif self.opened[alias][0] != target:
            return (f"two libraries would both be called `{alias}`",
                    "give one of the files another name")  # fmt: skip
        scope.uses[alias] = self.opened[alias][1]
        return None


def _bad_path(path: str) -> tuple[str, str] | None:
    help = "write the path with `/` below the folder of this file, like `use lib/isolation.tree`"
    pure = PurePosixPath(path)
    if "\\" in path:
        plain = short(path.replace("\\", "/"))
        return f"`{short(path)}` is parted with `\\`", f"write `use {plain}`"
    if pure.is_absolute() or ".." in pure.parts or ":" in path:
        return f"`{short(path)}` leads out of the folder of this tree", help
    if pure.suffix != ".tree":
        return f"`{short(path)}` is no tree file", help
    if not name_like(pure.stem):
        return f"`{short(path)}` has no name to go by", "give the file a name of letters"
    return None
