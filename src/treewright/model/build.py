"""From blocks to meaning: names resolved, `next` and `use` resolved, everything numbered.

Never raises on what a file says. What is missing or doubled is kept in the tree for the
linter; what makes no sense is a finding of the rule `syntax`.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, Literal, cast

from treewright.model.answers import Answers, case_entry, shown
from treewright.model.lines import Lines, lines_of
from treewright.model.scope import (
    CLASSES,
    Found,
    Names,
    OpenLibrary,
    Scope,
    open_scopes,
)
from treewright.model.tree import (
    Case,
    CaseEntry,
    Check,
    Condition,
    Done,
    Fault,
    Handoff,
    Hazard,
    Name,
    Node,
    Procedure,
    Reading,
    Shown,
    Stage,
    Step,
    Symptom,
    Text,
    Tree,
    Twice,
    Way,
)
from treewright.syntax import ast
from treewright.syntax.errors import syntax
from treewright.text.diagnostic import Finding
from treewright.text.source import Span

_ON_THE_WAY = ("check", "reading", "step")  # what `next` can mean
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


@dataclass(slots=True)
class _Builder:
    file: ast.File
    open_library: OpenLibrary
    names: Names = field(default_factory=Names)
    nodes: dict[str, Node] = field(default_factory=dict)
    parts: dict[str, dict[str, Any]] = field(default_factory=dict)
    waiting: deque[tuple[str, Found]] = field(default_factory=deque)
    ladder: tuple[str, ...] = ()
    models: tuple[str, ...] = ()

    def build(self) -> tuple[Tree, list[Finding]]:
        file = self.file
        scope = open_scopes(file, self.names, self.open_library)
        head, wrong = self._head(file)
        lines = Lines(head, scope, self.names, [(line, scope) for line in head.lines])
        self.models = tuple(word.text for word, _ in lines.words("models"))
        self.ladder = self._ladder(lines, scope)
        self._everything_of(scope)
        self._reached(scope)
        tree = self._tree(head, lines, scope)
        return tree, [*wrong, *self.names.findings]

    # ---- the head ------------------------------------------------------------------------

    def _head(self, file: ast.File) -> tuple[ast.Block, list[Finding]]:
        heads = [block for block in file.blocks if block.kind in ("tree", "library")]
        findings = []
        whole = Span(file.source, 0, min(1, len(file.source.text)))
        if not heads:
            text = "this file has no `tree` head" if file.blocks else "this file has no tree in it"
            help = "start it with `tree NAME: TITLE`, like `tree slow-fill: Fills slowly`"
            findings.append(syntax(text, whole, help))
            word = ast.Word("tree", whole)
            return ast.Block("tree", word, ast.Prose("", whole), (), whole), findings
        for extra in heads[1:]:
            findings.append(
                syntax(
                    f"a second `{extra.kind}` head stands here", extra.name.span,
                    "one file holds one tree: move this one to a file of its own",
                )
            )  # fmt: skip
        if file.blocks[0] is not heads[0]:
            findings.append(
                syntax(
                    f"the `{heads[0].kind}` head stands behind other blocks", heads[0].name.span,
                    "move it to the top of the file",
                )
            )  # fmt: skip
        return heads[0], findings

    def _ladder(self, lines: Lines, scope: Scope) -> tuple[str, ...]:
        """The access ladder: the tree's own, else the first library's that has one."""
        own = tuple(word.text for word, _ in lines.words("access"))
        for used in scope.uses.values():
            for block in used.file.blocks:
                if own or block.kind != "library":
                    continue
                inside = Lines(block, used, self.names, [(line, used) for line in block.lines])
                own = tuple(word.text for word, _ in inside.words("access"))
        return own

    # ---- what is in the tree -------------------------------------------------------------

    def _everything_of(self, scope: Scope) -> None:
        """Builds all blocks of the tree's own file, in order, then cases and `shows`."""
        for block in scope.file.blocks:
            kind = CLASSES.get(block.kind, "case")
            if kind != "case" and scope.of(kind)[block.name.text] is block:
                self._make(kind, Found(scope, block))

    def _reached(self, scope: Scope) -> None:
        """Takes in what is named of the libraries, until nothing new is named."""
        made: set[tuple[str, str]] = set()
        while True:
            new = [
                (kind, name) for kind, name in sorted(self.names.used)
                if (kind, name) not in made and "." in name
            ]  # fmt: skip
            for kind, name in new:
                made.add((kind, name))
                if name not in self.parts.setdefault(kind, {}):
                    found = self._library_block(scope, kind, name)
                    if found is not None:
                        self._make(kind, found)
            if not new and not self._library_hazards(scope, made):
                break
        for fault in [n for n in self.nodes.values() if isinstance(n, Fault)]:
            self.nodes[fault.name] = replace(fault, shows=self._shows(fault.name, scope))

    @staticmethod
    def _libraries(scope: Scope) -> dict[str, Scope]:
        found: dict[str, Scope] = {}
        queue = list(scope.uses.values())
        while queue:
            used = queue.pop(0)
            if used.alias not in found:
                found[used.alias] = used
                queue += used.uses.values()
        return found

    def _library_block(self, scope: Scope, kind: str, name: str) -> Found | None:
        alias, _, short = name.partition(".")
        library = self._libraries(scope)[alias]
        block = library.of(kind).get(short)
        return Found(library, block) if block else None

    def _library_hazards(self, scope: Scope, made: set[tuple[str, str]]) -> bool:
        """Takes in a library's hazards that name something of the library in the tree."""
        new = False
        present = {name for _, name in self.names.used} | set(self.names.stand_ins)
        for library in self._libraries(scope).values():
            for block in library.of("hazard").values():
                key = ("hazard", library.id(block.name.text))
                if key in made or key[1] in self.parts.get("hazard", {}):
                    continue
                named = [
                    library.id(word.text)
                    for line in block.lines
                    if line.key in ("at", "while") and isinstance(line.value, tuple)
                    for word in line.value
                    if isinstance(word, ast.Word)
                ]
                if any(name in present for name in named):
                    made.add(key)
                    self._make("hazard", Found(library, block))
                    new = True
        return new

    # ---- one block -----------------------------------------------------------------------

    def _make(self, kind: str, found: Found) -> None:
        lines = lines_of(found, self.names)
        parts = self.parts.setdefault(kind, {})
        parts[found.id] = None
        made = getattr(self, f"_{kind}")(found, lines)
        if not found.scope.alias and self.models:
            for word, _ in lines.words("only for"):
                if word.text not in self.models:
                    self.names.miss("model", word, self.models)
        parts[found.id] = made
        if kind == "node":
            self.nodes[found.id] = made

    def _text(self, prose: ast.Prose) -> Text:
        return Text(" ".join(prose.text.split()), prose.span)

    def _node(self, found: Found, lines: Lines) -> Node:
        block = found.block
        common: dict[str, Any] = {
            "name": found.id,
            "title": self._text(block.title),
            "span": block.name.span,
            "stage": self._stage_of(found),
            "models": lines.models(),
            "how": lines.prose("how"),
            "cost": lines.cost(self.ladder),
            "needs": lines.list("needs", "condition"),
            "picture": lines.picture(),
            "waivers": lines.waivers(),
        }
        answers = Answers(lines, self.names, lambda way, scope: self._way(way, scope, found))
        match block.kind:
            case "check":
                outcomes = answers.outcomes(None, (), ())
                return Check(**common, outcomes=outcomes, normal=answers.normal(outcomes))
            case "reading":
                places = self._places(lines)
                unit, specs = answers.specs()
                self._spec_models(lines)
                outcomes = answers.outcomes(unit, places, specs)
                return Reading(
                    **common, outcomes=outcomes, normal=answers.normal(outcomes), unit=unit,
                    places=places, specs=specs,
                )  # fmt: skip
            case "step":
                then = lines.one("then")
                way = None
                if then is not None:
                    assert isinstance(then[0].value, ast.WayText)
                    way = self._way(then[0].value, then[1], found)
                return Step(
                    **common, way=way, sets=lines.list("sets", "condition"),
                    clears=lines.list("clears", "condition"), doubts=lines.doubts(),
                )  # fmt: skip
            case "fault":
                share = lines.one("share")
                return Fault(
                    **common, share=cast(Fraction, share[0].value) if share else None,
                    remedy=lines.prose("remedy"), retest=lines.name("retest", "node"),
                    doubts=lines.doubts(),
                )  # fmt: skip
            case "handoff":
                return Handoff(**common, to=lines.prose("to"))
            case _:
                return Done(**common)

    def _places(self, lines: Lines) -> tuple[str, ...]:
        places: dict[str, ast.Word] = {}
        for word, _ in lines.words("at"):
            if word.text in places:
                self.names.twice.append(
                    Twice("place", word.text, places[word.text].span, word.span)
                )
            places.setdefault(word.text, word)
        return tuple(places)

    def _spec_models(self, lines: Lines) -> None:
        for line, scope in lines.all("spec"):
            assert isinstance(line.value, ast.SpecText)
            for word in line.value.models:
                if not scope.alias and word.text not in self.models:
                    self.names.miss("model", word, self.models)

    def _stage_of(self, found: Found) -> str | None:
        """The stage it stands in; a library's nodes stand in a stage named like the library."""
        if found.block.kind not in _ON_THE_WAY:
            return None
        if found.scope.alias:
            head = next((b for b in found.scope.file.blocks if b.kind == "library"), None)
            if head is not None:
                stages = self.parts.setdefault("stage", {})
                name = f"{found.scope.alias}.{head.name.text}"
                stages.setdefault(name, Stage(name, self._text(head.title), head.name.span))
                return name
            return None
        return found.scope.stage_of[id(found.block)]

    def _way(self, way: ast.WayText, scope: Scope, found: Found) -> Way:
        does = tuple(
            name
            for word in way.does
            if (name := self.names.name(scope, word, "node", "procedure")) is not None
        )
        if way.kind == "next":
            return self._next(way, does, found)
        assert way.target is not None
        target = self.names.find(scope, way.target, "node")
        if target is not None:
            self._fits(way, target)
        name = Name(target.id, way.target.span) if target else None
        return Way(way.kind, does, name, way.span)

    def _fits(self, way: ast.WayText, target: Found) -> None:
        """`found` leads to a fault, `stop` to a hand-off, the others to neither wrongly."""
        kind = target.block.kind
        wanted = {"found": "fault", "stop": "handoff"}.get(way.kind)
        assert way.target is not None
        word = way.target.text
        verb = {"fault": "found", "handoff": "stop"}.get(kind, "go")
        if (wanted is None and verb != "go") or (wanted is not None and wanted != kind):
            noun = "hand-off" if kind == "handoff" else kind
            self.names.findings.append(
                syntax(f"`{word}` is a {noun}, and `{way.kind}` does not lead to one", way.span,
                       f"write `{verb} {word}`")
            )  # fmt: skip

    def _next(self, way: ast.WayText, does: tuple[Name, ...], found: Found) -> Way:
        """`go next`: what stands behind this block in its file, on each model."""
        scope = found.scope
        first = next(scope.after(found.block), None)
        if first is None:
            return Way("next", does, None, way.span)
        general = Name(scope.id(first.name.text), way.span)
        self.names.used.add(("node", general.name))
        by_model: list[tuple[str, Name | None]] = []
        if _only_for(first):
            for model in self.models:
                there = next(
                    (b for b in scope.after(found.block)
                     if not _only_for(b) or model in _only_for(b)), None,
                )  # fmt: skip
                if there is not None:
                    self.names.used.add(("node", scope.id(there.name.text)))
                name = Name(scope.id(there.name.text), way.span) if there else None
                by_model.append((model, name))
        return Way("next", does, general, way.span, tuple(by_model))

    def _symptom(self, found: Found, lines: Lines) -> Symptom:
        return Symptom(
            found.id, self._text(found.block.title), found.block.name.span,
            lines.name("start at", "node"), about=lines.prose("about"), models=lines.models(),
            waivers=lines.waivers(),
        )  # fmt: skip

    def _stage(self, found: Found, lines: Lines) -> Stage:
        return Stage(
            found.id, self._text(found.block.title), found.block.name.span,
            lines.prose("about"), lines.models(), lines.waivers(),
        )  # fmt: skip

    def _condition(self, found: Found, lines: Lines) -> Condition:
        return Condition(
            found.id, self._text(found.block.title), found.block.name.span,
            lines.name("set up by", "procedure"), lines.name("undo by", "procedure"),
            lines.list("excludes", "condition"), lines.prose("about"), lines.models(),
            lines.waivers(),
        )  # fmt: skip

    def _procedure(self, found: Found, lines: Lines) -> Procedure:
        items = tuple(
            Text(line.value.text, line.value.span)
            for line, _ in lines.all("item")
            if isinstance(line.value, ast.Prose)
        )
        return Procedure(
            found.id, self._text(found.block.title), found.block.name.span, items=items,
            how=lines.prose("how"), cost=lines.cost(self.ladder), picture=lines.picture(),
            models=lines.models(), waivers=lines.waivers(),
        )  # fmt: skip

    def _hazard(self, found: Found, lines: Lines) -> Hazard:
        return Hazard(
            found.id, cast(Any, found.block.kind), self._text(found.block.title),
            found.block.name.span, lines.prose("harm"), lines.prose("avoid"),
            self._hazard_places(lines), lines.list("while", "condition"), lines.models(),
            lines.waivers(),
        )  # fmt: skip

    def _hazard_places(self, lines: Lines) -> tuple[Name, ...]:
        """Nodes and procedures, and in a library only those that the tree uses.

        A hazard of a library's block is one of every block that is `as in` it, too.
        """
        if not lines.scope.alias:
            return lines.list("at", "node", "procedure")
        present = {name for _, name in self.names.used}
        places: list[Name] = []
        for word, scope in lines.words("at"):
            name = scope.id(word.text)
            places += [Name(other, word.span) for other in self.names.stand_ins.get(name, [])]
            if name in present:
                found = self.names.name(scope, word, "node", "procedure")
                places += [found] if found else []
        return tuple(places)

    # ---- what needs all nodes ------------------------------------------------------------

    def _shows(self, name: str, scope: Scope) -> tuple[Shown, ...]:
        found = (
            self._library_block(scope, "node", name)
            if "." in name
            else Found(scope, scope.of("node")[name])
        )
        assert found is not None
        result = []
        for line, where in lines_of(found, self.names).all("shows"):
            for show in cast("tuple[ast.Show, ...]", line.value):
                one = shown(show, where, self.names, self.nodes)
                if one is not None:
                    result.append(one)
        return tuple(result)

    def _case(self, block: ast.Block, scope: Scope) -> Case:
        lines = Lines(block, scope, self.names, [(line, scope) for line in block.lines])
        entries: list[CaseEntry] = []
        for line, _ in lines.all("entry"):
            entry = case_entry(cast(ast.Entry, line.value), scope, self.names, self.nodes)
            if entry is None:
                continue
            first = next((e for e in entries if e.node.name == entry.node.name), None)
            if first is not None:
                self.names.twice.append(
                    Twice("reading of this case", entry.node.name, first.node.span,
                          entry.node.span)
                )  # fmt: skip
                continue
            entries.append(entry)
        model = lines.word("model")
        if model is not None and model[0].text not in self.models:
            self.names.miss("model", model[0], self.models)
        symptom = lines.name("symptom", "symptom")
        if lines.one("symptom") is None or lines.one("ends") is None:
            key = "symptom" if lines.one("symptom") is None else "ends"
            help = f"add `{key}: …` to it"
            self.names.findings.append(
                syntax(f"this case has no `{key}` line", block.name.span, help)
            )
        return Case(
            scope.id(block.name.text), self._text(block.title), block.name.span, symptom,
            model[0].text if model else None, tuple(entries), lines.name("ends", "node"),
            lines.waivers(),
        )  # fmt: skip

    # ---- the whole -----------------------------------------------------------------------

    def _tree(self, head: ast.Block, lines: Lines, scope: Scope) -> Tree:
        cases = {
            name: self._case(block, scope) for name, block in scope.of("case").items()
        }
        edition = lines.one("edition")
        units = lines.one("units")
        after = lines.word("after remedy")
        language = lines.word("language")
        libraries = self._libraries(scope)
        return Tree(
            name=head.name.text,
            title=self._text(head.title),
            span=head.name.span,
            source=self.file.source,
            library=head.kind == "library",
            sources=(self.file.source, *(s.file.source for s in libraries.values())),
            machine=lines.prose("machine"),
            models=self.models,
            edition=edition[0].value.number if edition else None,  # type: ignore[union-attr]
            date=edition[0].value.date if edition else None,  # type: ignore[union-attr]
            units=units[0].value.main if units else "metric",  # type: ignore[union-attr]
            also=units[0].value.also if units else "",  # type: ignore[union-attr]
            after_remedy=cast(
                Literal["finish", "go on"], after[0].text if after else "finish"
            ),
            access=self.ladder,
            language=language[0].text if language else "en",
            about=lines.prose("about"),
            symptoms=_number(self.parts.get("symptom", {}), "S"),
            stages=self.parts.get("stage", {}),
            nodes=_number_nodes(self.nodes),
            conditions=self.parts.get("condition", {}),
            procedures=_number(self.parts.get("procedure", {}), "P"),
            hazards=self.parts.get("hazard", {}),
            cases=cases,
            waivers=lines.waivers(),
            missing=tuple(self.names.missing),
            twice=tuple(self.names.twice),
            unused=self._unused(scope),
            broken=tuple(
                block.span
                for s in (scope, *libraries.values())
                for block in s.file.blocks
                if block.broken
            ),
        )

    def _unused(self, scope: Scope) -> tuple[tuple[str, str, Span], ...]:
        """Blocks of the tree's own file that nothing in it names."""
        found = []
        stages = {node.stage for node in self.nodes.values()}
        for kind in ("condition", "procedure", "node", "stage", "hazard"):
            for name, block in scope.of(kind).items():
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


def _only_for(block: ast.Block) -> tuple[str, ...]:
    for line in block.lines:
        if line.key == "only for" and isinstance(line.value, tuple):
            return tuple(word.text for word in line.value if isinstance(word, ast.Word))
    return ()


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
