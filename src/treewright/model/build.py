"""From blocks to meaning: `use` resolved, all that is in the tree found, everything numbered.

Never raises on what a file says. What is missing or doubled is kept in the tree for the
linter; what makes no sense is a finding of the rule `syntax`. What one block means is for
blocks.py to say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal, cast

from treewright.model.answers import shown
from treewright.model.blocks import Blocks
from treewright.model.lines import Lines, lines_of
from treewright.model.nodes import Done, Fault, Handoff, Node, Shown
from treewright.model.same import copies, with_same
from treewright.model.scope import CLASSES, Found, Names, OpenLibrary, Scope, open_scopes
from treewright.model.tree import Tree
from treewright.syntax import ast
from treewright.syntax.errors import syntax
from treewright.text.diagnostic import Finding
from treewright.text.source import Span

_HEADS = ("tree", "library")
_LETTERS: dict[type[Any], str] = {Fault: "F", Handoff: "H", Done: "D"}


def build(file: ast.File, open_library: OpenLibrary) -> tuple[Tree, list[Finding]]:
    """The meaning of a tree file.

    Args:
        file: what was parsed.
        open_library: gives the parsed file for the path of a `use` line, below the tree's
            folder; raises `Unreadable`.

    Returns:
        the tree, and what made no sense in it.
    """
    return _Builder(file, open_library).build()


def _head(file: ast.File) -> tuple[ast.Block, ast.File, list[Finding]]:
    """The head, the file as far as it is this tree's, and what is wrong with its heads."""
    heads = [at for at, block in enumerate(file.blocks) if block.kind in _HEADS]
    if not heads:
        whole = Span(file.source, 0, min(1, len(file.source.text)))
        text = "this file has no `tree` head" if file.blocks else "this file has no tree in it"
        help = "start it with `tree NAME: TITLE`, like `tree slow-fill: Fills slowly`"
        findings = [] if file.broken else [syntax(text, whole, help)]
        head = ast.Block("tree", ast.Word("tree", whole), ast.Prose("", whole), (), whole)
        return head, file, findings
    head = file.blocks[heads[0]]
    findings = []
    if heads[0]:
        findings.append(
            syntax(f"the `{head.kind}` head stands behind other blocks", head.name.span,
                   "move it to the top of the file")
        )  # fmt: skip
    for extra in heads[1:]:
        findings.append(
            syntax(f"a second `{file.blocks[extra].kind}` head stands here",
                   file.blocks[extra].name.span,
                   "one file holds one tree: move this one to a file of its own")
        )  # fmt: skip
    mine = file.blocks[: heads[1]] if heads[1:] else file.blocks
    return head, replace(file, blocks=mine), findings


class _Builder:
    def __init__(self, file: ast.File, open_library: OpenLibrary) -> None:
        self.head, self.file, self.findings = _head(file)
        self.cut = len(self.file.blocks) < len(file.blocks)
        self.names = Names()
        self.scope = open_scopes(self.file, self.names, open_library)
        self.libraries = _libraries(self.scope)
        self.lines = Lines.of(self.head, self.scope, self.names)
        models = self.names.each_once("model", [word for word, _ in self.lines.words("models")])
        self.blocks = Blocks(self.names, self._ladder(), models)

    def build(self) -> tuple[Tree, list[Finding]]:
        self._own_blocks()
        self._library_blocks()
        nodes = self.blocks.nodes
        same = copies(nodes)
        for fault in [node for node in nodes.values() if isinstance(node, Fault)]:
            shows = with_same(self._shows(fault.name), nodes, same)
            nodes[fault.name] = replace(fault, shows=shows)
        self.blocks.demands.settle(nodes, self.names)
        tree = self._tree()
        return tree, [*self.findings, *self.names.findings]

    def _ladder(self) -> tuple[str, ...]:
        """The access ladder: the tree's own, else the first library's that has one."""
        heads = [self.lines]
        for used in self.scope.uses.values():
            blocks = [block for block in used.file.blocks if block.kind == "library"]
            heads += [Lines.of(block, used, self.names) for block in blocks[:1]]
        words = next(filter(None, (lines.words("access") for lines in heads)), [])
        return self.names.each_once("rung", [word for word, _ in words])

    # ---- what is in the tree -------------------------------------------------------------

    def _own_blocks(self) -> None:
        """Makes all blocks of the tree's own file, in order; of cases only the names."""
        for block in self.file.blocks:
            kind = CLASSES.get(block.kind)
            if kind is None or self.scope.of(kind)[block.name.text] is not block:
                continue
            if kind == "case":
                self.blocks.case(block, self.scope)
            else:
                self.blocks.make(kind, Found(self.scope, block))

    def _library_blocks(self) -> None:
        """Takes in what is named of the libraries, until nothing new is named."""
        parts = self.blocks.parts
        while self.names.waiting or self._new_hazards():
            kind, name = self.names.waiting.popleft()
            if name not in parts.setdefault(kind, {}):
                found = self._library_block(kind, name)
                if found is not None:
                    self.blocks.make(kind, found)
        for name in [name for name in parts.get("hazard", {}) if "." in name]:
            found = self._library_block("hazard", name)
            assert found is not None
            self.blocks.make("hazard", found)  # again, now that all it is a hazard of is there

    def _library_block(self, kind: str, name: str) -> Found | None:
        alias, _, short = name.partition(".")
        block = self.libraries[alias].of(kind).get(short)
        return Found(self.libraries[alias], block) if block else None

    def _new_hazards(self) -> bool:
        """Names the libraries' hazards of what has come into the tree; says if there are any."""
        for library in self.libraries.values():
            for name, block in library.of("hazard").items():
                known = ("hazard", library.id(name)) in self.names.used
                if not known and self._is_about(library, block):
                    self.names.use("hazard", Found(library, block))
        return bool(self.names.waiting)

    def _is_about(self, library: Scope, hazard: ast.Block) -> bool:
        """Whether a library's hazard names anything of the library that is in the tree."""
        for line in hazard.lines:
            kinds = {"at": ("node", "procedure"), "while": ("condition",)}.get(line.key, ())
            for word in cast("tuple[ast.Word, ...]", line.value) if kinds else ():
                name = library.id(word.text)
                if name in self.names.stand_ins:
                    return True
                if any((kind, name) in self.names.used for kind in kinds):
                    return True
        return False

    # ---- what needs all nodes ------------------------------------------------------------

    def _shows(self, name: str) -> tuple[Shown, ...]:
        if "." in name:
            found = self._library_block("node", name)
        else:
            found = Found(self.scope, self.scope.of("node")[name])
        assert found is not None
        result: list[Shown] = []
        for line, where in lines_of(found, self.names).all("shows"):
            for show in cast("tuple[ast.Show, ...]", line.value):
                one = shown(show, where, self.names, self.blocks.nodes)
                if one is None:
                    continue
                first = next((s for s in result if s.node.name == one.node.name), None)
                if first is not None and not (first.maybe and one.maybe):
                    self.names.findings.append(
                        syntax(f"this fault shows two answers of `{one.node}`", one.span,
                               "write `maybe` in front of each, where it may show either")
                    )  # fmt: skip
                result.append(one)
        return tuple(result)

    # ---- the whole -----------------------------------------------------------------------

    def _tree(self) -> Tree:
        head, lines, scope = self.head, self.lines, self.scope
        parts, nodes = self.blocks.parts, self.blocks.nodes
        cases = {
            name: self.blocks.case(block, scope) for name, block in scope.of("case").items()
        }
        edition = lines.one("edition")
        units = lines.one("units")
        after = lines.word("after remedy")
        language = lines.word("language")
        libraries = self.libraries
        return Tree(
            name=head.name.text,
            title=self.blocks.text(head.title),
            span=head.name.span,
            source=self.file.source,
            library=head.kind == "library",
            sources=(self.file.source, *(s.file.source for s in libraries.values())),
            machine=lines.prose("machine"),
            models=self.blocks.models,
            edition=edition[0].value.number if edition else None,  # type: ignore[union-attr]
            date=edition[0].value.date if edition else None,  # type: ignore[union-attr]
            units=units[0].value.main if units else "metric",  # type: ignore[union-attr]
            also=units[0].value.also if units else "",  # type: ignore[union-attr]
            after_remedy=cast(
                Literal["finish", "go on"], after[0].text if after else "finish"
            ),
            access=self.blocks.ladder,
            language=language[0].text if language else "en",
            about=lines.prose("about"),
            symptoms=_number(parts.get("symptom", {}), "S"),
            stages=parts.get("stage", {}),
            nodes=_number_nodes(nodes),
            conditions=parts.get("condition", {}),
            procedures=_number(parts.get("procedure", {}), "P"),
            hazards=parts.get("hazard", {}),
            cases=cases,
            waivers=lines.waivers(),
            missing=tuple(self.names.missing),
            twice=tuple(self.names.twice),
            unused=self._unused(),
            broken=tuple(
                block.span
                for s in (scope, *libraries.values())
                for block in s.file.blocks
                if block.broken
            ),
            nameless=self.cut or self.names.lacks_library
            or any(s.file.nameless for s in (scope, *libraries.values())),
        )

    def _unused(self) -> tuple[tuple[str, str, Span], ...]:
        """Blocks of the tree's own file that nothing in it names."""
        found = []
        stages = {node.stage for node in self.blocks.nodes.values()}
        for kind in ("condition", "procedure", "node", "stage", "hazard"):
            for name, block in self.scope.of(kind).items():
                if kind == "node" and block.kind != "fault":
                    continue
                if kind == "stage":
                    idle = name not in stages
                elif kind == "hazard":
                    idle = not any(line.key in ("at", "while") for line in block.lines)
                else:
                    idle = (kind, name) not in self.names.used
                if idle:
                    what = block.kind if kind in ("node", "hazard") else kind
                    found.append((what, name, block.name.span))
        return tuple(sorted(found, key=lambda f: f[2].start))


def _libraries(scope: Scope) -> dict[str, Scope]:
    """All libraries by short name, the nearest first."""
    found: dict[str, Scope] = {}
    queue = list(scope.uses.values())
    for used in queue:
        if used.alias not in found:
            found[used.alias] = used
            queue += used.uses.values()
    return found


def _number(parts: dict[str, Any], letter: str) -> dict[str, Any]:
    return {
        name: replace(part, number=f"{letter}{i}")
        for i, (name, part) in enumerate(parts.items(), 1)
    }


def _number_nodes(nodes: dict[str, Node]) -> dict[str, Node]:
    """Checks, readings and steps 1, 2, 3 …; faults F1 …, hand-offs H1 …, dones D1 …"""
    counts: dict[str, int] = {}
    numbered: dict[str, Node] = {}
    for name, node in nodes.items():
        letter = _LETTERS.get(type(node), "")
        counts[letter] = counts.get(letter, 0) + 1
        numbered[name] = replace(node, number=f"{letter}{counts[letter]}")
    return numbered
