"""Picks a block's lines by key, each with the file whose names it uses.

A block with `as in:` also has the lines of the library's block, after its own; so a line
knows its scope.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import PurePosixPath

from treewright.model.nodes import Cost
from treewright.model.scope import CLASSES, Found, Names, Scope
from treewright.model.written import Name, Picture, Text, Waiver
from treewright.syntax import ast
from treewright.syntax.errors import syntax

Placed = tuple[ast.Line, Scope]

# Lines that come together: where the block has one of them, none is taken from the library.
_TOGETHER = ({"if", "otherwise", "answers", "normal"}, {"spec", "unit"}, {"item"})


@dataclass(slots=True)
class Lines:
    """The lines of one block."""

    block: ast.Block
    scope: Scope
    names: Names
    placed: list[Placed]
    broken: bool = False  # a line of the block, or of one it is `as in`, could not be read

    @classmethod
    def of(cls, block: ast.Block, scope: Scope, names: Names) -> Lines:
        """Just the block's own lines."""
        return cls(block, scope, names, [(line, scope) for line in block.lines], block.broken)

    # ---- picking -------------------------------------------------------------------------

    def all(self, key: str) -> list[Placed]:
        return [placed for placed in self.placed if placed[0].key == key]

    def one(self, key: str) -> Placed | None:
        return next((placed for placed in self.placed if placed[0].key == key), None)

    # ---- values --------------------------------------------------------------------------

    def prose(self, key: str) -> Text | None:
        placed = self.one(key)
        if placed is None:
            return None
        value = placed[0].value
        assert isinstance(value, ast.Prose)
        return Text(value.text, value.span)

    def word(self, key: str) -> tuple[ast.Word, Scope] | None:
        placed = self.one(key)
        if placed is None:
            return None
        value = placed[0].value
        assert isinstance(value, ast.Word)
        return value, placed[1]

    def words(self, key: str) -> list[tuple[ast.Word, Scope]]:
        placed = self.one(key)
        if placed is None:
            return []
        value = placed[0].value
        assert isinstance(value, tuple)
        return [(word, placed[1]) for word in value if isinstance(word, ast.Word)]

    def name(self, key: str, *classes: str, only: tuple[str, ...] = ()) -> Name | None:
        found = self.word(key)
        return self.names.name(found[1], found[0], *classes, only=only) if found else None

    def list(self, key: str, *classes: str, only: tuple[str, ...] = ()) -> tuple[Name, ...]:
        names = (
            self.names.name(scope, word, *classes, only=only) for word, scope in self.words(key)
        )
        return tuple(name for name in names if name is not None)

    def doubts(self) -> tuple[Name, ...] | None:
        written = self.words("doubts")
        if not written:
            return None
        if [word.text for word, _ in written] == ["none"]:
            return ()
        if not self.scope.alias:
            return self.list("doubts", "node", only=("check", "reading"))
        # In a library: what of it the tree has, and what in the tree is `as in` it.
        found: list[Name] = []
        for word, scope in written:
            block = self.names.find(scope, word, "node", taken=False)
            if block is not None:
                there = list(self.names.stand_ins.get(block.id, []))
                there += [block.id] if ("node", block.id) in self.names.used else []
                found += [Name(name, word.span) for name in there]
        return tuple(found)

    def models(self) -> tuple[str, ...]:
        return tuple(word.text for word, _ in self.words("only for"))

    def waivers(self) -> tuple[Waiver, ...]:
        found = []
        for line, _ in self.all("waive"):
            value = line.value
            assert isinstance(value, ast.WaiveText)
            found.append(Waiver(value.rule.text, value.reason.text, line.span))
        return tuple(found)

    def picture(self) -> Picture | None:
        placed = self.one("picture")
        if placed is None:
            return None
        value = placed[0].value
        assert isinstance(value, ast.PictureText)
        path = PurePosixPath(placed[1].path).parent / value.file.text
        return Picture(value.file.text, path.as_posix(), value.caption, value.file.span)

    def cost(self, ladder: tuple[str, ...]) -> Cost:
        time, people = self.one("time"), self.one("people")
        licence = self.prose("licence")
        access = self.word("access")
        rung = None
        if access is not None:
            rung = Name(access[0].text, access[0].span)
            if rung.name not in ladder:
                self.names.miss("rung of the access ladder", access[0], ladder)
        return Cost(
            minutes=time[0].value if time else None,  # type: ignore[arg-type]
            people=int(people[0].value) if people else None,  # type: ignore[arg-type]
            tools=self._texts("tools"),
            parts=self._texts("parts"),
            licence=licence,
            access=rung,
        )

    def _texts(self, key: str) -> tuple[Text, ...]:
        return tuple(Text(word.text, word.span) for word, _ in self.words(key))


def lines_of(found: Found, names: Names) -> Lines:
    """A block's lines, with those of the library's block it is `as in`."""
    block, scope = found.block, found.scope
    placed: list[Placed] = [(line, scope) for line in block.lines]
    seen = {id(block)}
    broken = block.broken
    while True:
        as_in = next((p for p in reversed(placed) if p[0].key == "as in"), None)
        if as_in is None:
            break
        placed = [p for p in placed if p is not as_in]
        word = as_in[0].value
        assert isinstance(word, ast.Word)
        kind = CLASSES[block.kind]
        other = names.find(as_in[1], word, kind, taken=False)
        if other is None or id(other.block) in seen:
            if other is not None:
                message = f"`{word.text}` is, in the end, as in itself"
                names.findings.append(syntax(message, word.span, "name another block"))
            break
        seen.add(id(other.block))
        broken = broken or other.block.broken
        if kind == "node" and other.block.kind != block.kind:
            names.findings.append(
                syntax(
                    f"`{word.text}` is a {other.block.kind}, and this is a {block.kind}",
                    word.span,
                    f"begin this block with `{other.block.kind}`",
                )
            )
            break
        names.stand_ins.setdefault(other.id, []).append(found.id)
        mine = {line.key for line, _ in placed}
        for group in _TOGETHER:
            if mine & group:
                mine |= group
        placed += [
            (line, other.scope)
            for line in other.block.lines
            if line.key not in mine and line.key not in ("waive", "only for", "same as")
        ]
    return Lines(block, scope, names, placed, broken)
