"""One block's meaning: its names resolved, its way on, its answers, what it costs.

Which blocks of which files are in a tree, and how they are numbered, is for build.py to say.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, cast

from treewright.model.answers import Answers, case_entry
from treewright.model.demands import Demands
from treewright.model.lines import Lines, lines_of
from treewright.model.nodes import Check, Done, Fault, Handoff, Node, Reading, Step, Way
from treewright.model.scope import Found, Names, Scope
from treewright.model.tree import Case, CaseEntry, Condition, Hazard, Procedure, Stage, Symptom
from treewright.model.written import Name, Text
from treewright.syntax import ast
from treewright.syntax.errors import article, listed, syntax, verb_changed

_ON_THE_WAY = ("check", "reading", "step")  # what has a stage
_ASKED = ("check", "reading")
_DONE = ("step", "procedure")
_ENDS = ("fault", "handoff", "done")


@dataclass(slots=True)
class Blocks:
    """What has been made of blocks so far; makes more.

    Attributes:
        names: looks names up.
        ladder: the rungs of the access ladder.
        models: the tree's models.
        nodes: checks, readings, steps, faults and ends, in the order they were made.
        parts: by class of name (with "node" among them), what was made, by its name.
        demands: which check must come before which.
    """

    names: Names
    ladder: tuple[str, ...]
    models: tuple[str, ...]
    nodes: dict[str, Node] = field(default_factory=dict)
    parts: dict[str, dict[str, Any]] = field(default_factory=dict)
    demands: Demands = field(default_factory=Demands)

    def make(self, kind: str, found: Found) -> None:
        lines = lines_of(found, self.names)
        parts = self.parts.setdefault(kind, {})
        parts[found.id] = None
        made = getattr(self, f"_{kind}")(found, lines)
        for word, scope in lines.words("only for"):
            self._model(word, scope)
        parts[found.id] = made
        if kind == "node":
            self.nodes[found.id] = made

    def _model(self, word: ast.Word, scope: Scope) -> None:
        """Notes a model that the tree does not have; a library does not know of which it is."""
        if not scope.is_library and word.text not in self.models:
            self.names.miss("model", word, self.models)

    def text(self, prose: ast.Prose) -> Text:
        return Text(" ".join(prose.text.split()), prose.span)

    def _node(self, found: Found, lines: Lines) -> Node:
        block = found.block
        common: dict[str, Any] = {
            "name": found.id,
            "title": self.text(block.title),
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
                return Check(
                    **common, outcomes=outcomes, normal=answers.normal(outcomes),
                    same_as=lines.name("same as", "node", only=("check",)),
                    before=self.demands.of(found, lines),
                )  # fmt: skip
            case "reading":
                places = self._places(lines)
                unit, specs = answers.specs()
                self._spec_models(lines)
                outcomes = answers.outcomes(unit, places, specs)
                return Reading(
                    **common, outcomes=outcomes, normal=answers.normal(outcomes), unit=unit,
                    places=places, specs=specs,
                    same_as=lines.name("same as", "node", only=("reading",)),
                    before=self.demands.of(found, lines),
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
                for line, scope in lines.all("shows"):  # what it shows needs all nodes
                    for show in cast("tuple[ast.Show, ...]", line.value):
                        self.names.find(scope, show.node, "node")
                share = lines.one("share")
                return Fault(
                    **common, share=cast(Fraction, share[0].value) if share else None,
                    symptoms=lines.list("symptoms", "symptom"),
                    remedy=lines.prose("remedy"), doubts=lines.doubts(),
                    retest=lines.name("retest", "node", only=_ASKED),
                )  # fmt: skip
            case "handoff":
                return Handoff(**common, to=lines.prose("to"))
            case _:
                return Done(**common)

    def _places(self, lines: Lines) -> tuple[str, ...]:
        return self.names.each_once("place", [word for word, _ in lines.words("at")])

    def _spec_models(self, lines: Lines) -> None:
        for line, scope in lines.all("spec"):
            assert isinstance(line.value, ast.SpecText)
            for word in line.value.models:
                self._model(word, scope)

    def _stage_of(self, found: Found) -> str | None:
        """The stage it stands in; a library's nodes stand in a stage named like the library."""
        if found.block.kind not in _ON_THE_WAY:
            return None
        if found.scope.alias:
            head = next((b for b in found.scope.file.blocks if b.kind == "library"), None)
            if head is not None:
                stages = self.parts.setdefault("stage", {})
                name = f"{found.scope.alias}.{head.name.text}"
                stages.setdefault(name, Stage(name, self.text(head.title), head.name.span))
                return name
            return None
        return found.scope.stage_of[id(found.block)]

    def _way(self, way: ast.WayText, scope: Scope, found: Found) -> Way:
        does = tuple(
            name
            for word in way.does
            if (name := self.names.name(scope, word, "node", "procedure", only=_DONE)) is not None
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
        """`found` leads to a fault, `stop` to a hand-off, the others to neither."""
        kind = target.block.kind
        wanted = {"fault": ("found",), "handoff": ("stop",)}.get(kind, ("go", "back"))
        assert way.target is not None
        word = way.target.text
        if way.kind not in wanted:
            # To a check one may go on or go back: which was meant is not certain.
            sure = kind in ("fault", "handoff", "done")
            self.names.findings.append(
                syntax(f"`{word}` is {article(kind)}, and `{way.kind}` does not lead to one",
                       way.span, f"write `{wanted[0]} {word}`",
                       verb_changed(way.span, wanted[0]) if sure else None)
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
            found.id, self.text(found.block.title), found.block.name.span,
            lines.name("start at", "node"), about=lines.prose("about"), models=lines.models(),
            waivers=lines.waivers(),
        )  # fmt: skip

    def _stage(self, found: Found, lines: Lines) -> Stage:
        return Stage(
            found.id, self.text(found.block.title), found.block.name.span,
            lines.prose("about"), lines.models(), lines.waivers(),
        )  # fmt: skip

    def _condition(self, found: Found, lines: Lines) -> Condition:
        excludes = lines.list("excludes", "condition")
        if any(name.name == found.id for name in excludes):
            word = next(name for name in excludes if name.name == found.id)
            self.names.findings.append(
                syntax("this condition excludes itself", word.span, "name another condition")
            )
        undo = lines.word("undo by")
        may_stay = undo is not None and undo[0].text == "none"
        return Condition(
            found.id, self.text(found.block.title), found.block.name.span,
            lines.name("set up by", "procedure"),
            None if may_stay else lines.name("undo by", "procedure"),
            excludes, lines.prose("about"), lines.models(),
            lines.waivers(), may_stay,
        )  # fmt: skip

    def _procedure(self, found: Found, lines: Lines) -> Procedure:
        items = tuple(
            Text(line.value.text, line.value.span)
            for line, _ in lines.all("item")
            if isinstance(line.value, ast.Prose)
        )
        return Procedure(
            found.id, self.text(found.block.title), found.block.name.span, items=items,
            how=lines.prose("how"), cost=lines.cost(self.ladder), picture=lines.picture(),
            models=lines.models(), waivers=lines.waivers(),
        )  # fmt: skip

    def _hazard(self, found: Found, lines: Lines) -> Hazard:
        return Hazard(
            found.id, cast(Any, found.block.kind), self.text(found.block.title),
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
        places: list[Name] = []
        for word, scope in lines.words("at"):
            name = scope.id(word.text)
            places += [Name(other, word.span) for other in self.names.stand_ins.get(name, [])]
            if {("node", name), ("procedure", name)} & self.names.used:
                found = self.names.name(scope, word, "node", "procedure")
                places += [found] if found else []
        return tuple(places)

    def case(self, block: ast.Block, scope: Scope) -> Case:
        lines = Lines.of(block, scope, self.names)
        entries: dict[str, CaseEntry] = {}  # by what was read
        for line, _ in lines.all("entry"):
            entry = case_entry(cast(ast.Entry, line.value), scope, self.names, self.nodes)
            if entry is None:
                continue
            if entry.node.name in entries:
                self.names.findings.append(
                    syntax(f"this case reads `{entry.node}` twice", entry.node.span,
                           "take one of the two out")
                )  # fmt: skip
                continue
            entries[entry.node.name] = entry
        model = lines.word("model")
        if model is not None:
            self._model(*model)
        symptom = lines.name("symptom", "symptom")
        lacking = [key for key in ("symptom", "ends") if lines.one(key) is None]
        if lacking and not block.broken:
            keys = listed([f"`{key}`" for key in lacking], "and no")
            help = f"add {listed([f'`{key}: …`' for key in lacking], 'and')} to it"
            self.names.findings.append(
                syntax(f"this case has no {keys} line", block.name.span, help)
            )
        return Case(
            scope.id(block.name.text), self.text(block.title), block.name.span, symptom,
            model[0].text if model else None, tuple(entries.values()),
            lines.name("ends", "node", only=_ENDS), lines.waivers(),
        )  # fmt: skip


def _only_for(block: ast.Block) -> tuple[str, ...]:
    for line in block.lines:
        if line.key == "only for" and isinstance(line.value, tuple):
            return tuple(word.text for word in line.value if isinstance(word, ast.Word))
    return ()
