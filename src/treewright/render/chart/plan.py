"""What stands on the chart: the symbols of ISO 5807 and the arrows between them.

Decides the content alone, in the order it is met: which symbol each entry of the outline
becomes, its words, what must be read before it, and where each answer leads. A loop is never
an arrow: it becomes a pair of connector circles, so that the flow reads downward. Knows no
positions, no engine and no drawing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from treewright.render.chart.draft import Draft
from treewright.render.chart.guard import Guard
from treewright.render.chart.symbols import Arrow, Form, Plan
from treewright.render.chart.type import clean, plain_words
from treewright.render.chart.ways import Jumps, Part, Ways, elsewhere
from treewright.render.chart.words import for_models
from treewright.render.outline import Exit, Node, Outline, Symptom


def plan_chart(outline: Outline) -> Plan:
    """Everything the chart shows."""
    return Planner(outline).plan()


class Planner:
    """Plans the chart of an outline and the parts it is cut into."""

    def __init__(self, outline: Outline) -> None:
        self.outline = outline
        self._ways = Ways(outline)
        self._guard = Guard(outline)

    def plan(self, part: Part | None = None, jumps: Jumps | None = None) -> Plan:
        """What the chart, or a part of it, shows.

        Args:
            part: a way that leaves it ends in a connector circle, which names the page where
                that is another one. None: the whole chart.
            jumps: ways that end in a connector circle though they stay in the part; None: of
                the whole chart those that leap from stage to stage.
        """
        if jumps is None:
            jumps = self._ways.leaps() if part is None else frozenset()
        return _Drafting(self.outline, self._ways, self._guard, part, jumps).plan()


@dataclass(slots=True)
class _Drafting:
    """One plan while it is made."""

    outline: Outline
    ways: Ways
    guard: Guard
    part: Part | None
    jumps: Jumps
    draft: Draft = field(default_factory=Draft)
    doors: dict[str, str] = field(default_factory=dict)  # node: key of what is met first there
    jumped: frozenset[str] = frozenset()  # the nodes that jumps lead to

    def plan(self) -> Plan:
        shown = self.ways.shown(self.part)
        self.draft.ids = {f"node-{node.name}": 1 for node in shown}
        self.jumped = self.ways.ends_of(self.jumps)
        starts = [
            (self._symptom(entry), entry)
            for entry in self.outline.symptoms
            if self.part is None or entry.start in self.part.names
        ]
        placed = {node.name: self._node(node) for node in shown if not self.ways.only_done(node)}
        for key, entry in starts:
            if entry.start in self.doors:
                self.draft.arrow(key, self.doors[entry.start], entry.name, entry.start)
        for node in shown:
            if node.name in placed:
                self._exits(node, placed[node.name])
        return Plan(
            title=plain_words(self.outline.title),
            mark=clean(self.outline.mark),
            language=self.outline.language,
            symbols=tuple(self.draft.symbols),
            arrows=tuple(self.draft.arrows),
            bands=self.draft.bands(self.outline.stages),
            nodes=tuple(placed),
            jumps=self.jumps,
        )

    # Symbols

    def _symptom(self, entry: Symptom) -> str:
        return self.draft.add(
            "terminator",
            number=clean(entry.number),
            title=plain_words(entry.title),
            details=for_models(entry.models),
            id=self.draft.id(f"chart-symptom-{entry.name}"),
            href=f"symptom-{entry.name}",
            spoken=plain_words(entry.about),
            stage=self.ways.stages.get(entry.start),
        )

    def _node(self, node: Node) -> str:
        return self._guarded(node, f"node-{node.name}", None)[1]

    def _guarded(self, node: Node, wanted: str, origin: tuple[str, int] | None) -> tuple[str, str]:
        """A node's symbol with set-up and hazards before it.

        Drawn on the way of an answer (`origin`) it is an instance of its own.

        Returns:
            The keys of what is met first and of the symbol itself.
        """
        stage = self.ways.stages.get(origin[0] if origin else node.name)
        at = wanted if origin is None else self.draft.id(wanted)
        said = self.guard.said(node)
        met = origin is None and (
            node.name in self.jumped or self.ways.entered(node.name, self.part)
        )
        entered = clean(node.number) if met else ""
        door = ""
        if node.setup:
            door = self.draft.add(
                "preparation",
                title="Set up",
                details=said.setup,
                stage=stage,
                entered=entered,
                origin=origin,
            )
        symbol = self.draft.add(
            _form(node),
            number=clean(node.number),
            title=plain_words(node.title),
            details=(*said.details, *self._again(node), *said.leaving),
            id=at,
            href=f"step-{node.name}",
            spoken=said.spoken,
            stage=stage,
            again=tuple(clean(other.number) for other in self.ways.retests(node)),
            entered="" if door else entered,
            origin=origin,
        )
        if door:
            self.draft.arrows.append(Arrow(door, symbol, origin=origin))
        door = door or symbol
        if said.warnings or said.remarks:
            when = "Before" if said.warnings else "On"
            note = self.draft.add(
                "annotation",
                title=f"{when} {clean(node.number)}",
                details=said.remarks,
                warnings=said.warnings,
                stage=stage,
                spoken=said.spoken_hazards,
                origin=origin,
            )
            self.draft.arrows.append(Arrow(note, door, kind="note"))
        if origin is None:
            self.doors[node.name] = door
        return door, symbol

    def _again(self, node: Node) -> tuple[str, ...]:
        numbers = []
        for other in self.ways.retests(node):
            place = elsewhere(other.name, self.part)
            numbers.append(clean(f"{other.number} ({place})" if place else other.number))
        if not numbers:
            return ()
        if len(numbers) == 1:
            return (f"Then take {numbers[0]} again.",)
        listed = ", ".join(numbers[:-1]) + f" or {numbers[-1]}"
        return (f"Then take again the one that led here: {listed}.",)

    # Ways

    def _exits(self, node: Node, key: str) -> None:
        for index, outcome in enumerate(node.outcomes):
            self._way(
                key,
                node.name,
                outcome.exit,
                (node.name, index),
                plain_words(outcome.label),
                clean(outcome.detail),
                "good" if outcome.normal else "flow",
            )
        if node.exit is not None:
            self._way(key, node.name, node.exit, (node.name, 0), "", "", "flow")

    def _way(
        self,
        tail: str,
        source: str,
        way: Exit,
        origin: tuple[str, int],
        answer: str,
        detail: str,
        kind: Literal["flow", "good"],
    ) -> None:
        """From a symbol over all that is done on the way to its target."""
        for name in way.does:
            door, symbol = self._done(name, origin)
            self.draft.arrow(
                tail, door, source, name, answer=answer, detail=detail, kind=kind, origin=origin
            )
            tail, source, answer, detail = symbol, name, "", ""
        target = way.target or ""
        if way.kind != "back" and target in self.doors and origin not in self.jumps:
            head = self.doors[target]
        else:
            other = self.ways.nodes.get(target)
            head = self.draft.add(
                "connector",
                number=clean(other.number) if other else "?",
                title=elsewhere(target, self.part) if other else "no way on",
                href=f"step-{target}" if other else "",
                spoken=f"Goes on at {clean(other.number)}." if other else "",
                stage=self.ways.stages.get(origin[0]),
                origin=origin,
            )
        self.draft.arrow(
            tail,
            head,
            source,
            target or "nowhere",
            answer=answer,
            detail=clean("; ".join(filter(None, (detail, *self._on_models(way))))),
            kind=kind,
            origin=origin,
        )

    def _on_models(self, way: Exit) -> Iterator[str]:
        """Where a way leads on the models on which it leads elsewhere."""
        targets: dict[str | None, list[str]] = {}
        for model, target in way.by_model:
            if target != way.target:
                targets.setdefault(target, []).append(model)
        for target, models in targets.items():
            other = self.ways.nodes.get(target or "")
            place = elsewhere(other.name, self.part) if other else ""
            goal = f"to {other.number}" if other else "no way on"
            yield f"{', '.join(models)}: {goal}{f' ({place})' if place else ''}"

    def _done(self, name: str, origin: tuple[str, int]) -> tuple[str, str]:
        """What is done on the way of an answer: a step, or a procedure."""
        if name in self.ways.nodes:
            wanted = f"node-{name}"
            if not any(symbol.id == wanted for symbol in self.draft.symbols):
                self.draft.ids[wanted] = 0  # it stands nowhere yet: this is the place of its own
            return self._guarded(self.ways.nodes[name], wanted, origin)
        entry = self.guard.procedures.get(name)
        if entry is None:
            key = self.draft.add("process", title=clean(name), origin=origin)
            return key, key
        key = self.draft.add(
            "predefined",
            number=clean(entry.number),
            title=plain_words(entry.title),
            details=for_models(entry.models),
            id=self.draft.id(f"chart-procedure-{entry.name}"),
            href=f"procedure-{entry.name}",
            spoken=clean(
                " ".join((*map(plain_words, entry.items), self.guard.spoken(entry.hazards)))
            ),
            stage=self.ways.stages.get(origin[0]),
            origin=origin,
        )
        warnings = self.guard.warnings(entry.hazards)
        if warnings:
            note = self.draft.add(
                "annotation",
                title=f"Before {clean(entry.number)}",
                warnings=warnings,
                stage=self.ways.stages.get(origin[0]),
                origin=origin,
            )
            self.draft.arrows.append(Arrow(note, key, kind="note"))
        return key, key


def _form(node: Node) -> Form:
    match node.kind:
        case "check" | "reading":
            return "decision"
        case "step":
            return "process"
        case "fault":
            return "finding"
        case "handoff" | "done":
            return "terminator"
