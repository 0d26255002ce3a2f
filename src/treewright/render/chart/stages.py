"""One page that shows the stages of a tree: what leads from one to the next, what each finds.

Plans a chart of its own, of the same symbols, which the same engine lays out: a stage is a
process with its numbers, its findings and its ends; the arrows between stages say how many ways
they stand for. Ways back, which lead up, are counted in the stage they start from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from treewright.render.chart.draft import Draft
from treewright.render.chart.symbols import Plan
from treewright.render.chart.type import clean, plain_words
from treewright.render.chart.ways import ways_on
from treewright.render.chart.words import for_models
from treewright.render.cut import targets
from treewright.render.outline import Node, Outline

FOOT = "Each box is a stage: its steps stand on the chart and on the checklist, under its title."
"""What stands at the foot of the page."""


def plan_overview(outline: Outline) -> Plan:
    """The stages as a chart; steps in no stage stand together in one of their own."""
    draft = Draft()
    homes = {node.name: node.stage for node in outline.nodes if _taken(node)}
    nodes = {node.name: node for node in outline.nodes}
    starts = [
        draft.add(
            "terminator",
            number=clean(symptom.number),
            title=plain_words(symptom.title),
            details=for_models(symptom.models),
            id=draft.id(f"chart-symptom-{symptom.name}"),
            href=f"symptom-{symptom.name}",
        )
        for symptom in outline.symptoms
    ]
    stages = {stage.name: stage for stage in outline.stages}
    keys: dict[str | None, str] = {}
    for home in dict.fromkeys(homes.values()):
        stage = stages.get(home) if home else None
        keys[home] = draft.add(
            "process",
            title=plain_words(stage.title) if stage else "Further steps",
            details=(
                *(for_models(stage.models) if stage else ()),
                *_inside([node for node in outline.nodes if homes.get(node.name, "") == home
                          and _taken(node)], nodes, homes),
            ),
            id=draft.id(f"chart-stage-{home}") if home else "",
            href=f"stage-{home}" if home else "",
            spoken=plain_words(stage.about) if stage else "",
        )  # fmt: skip
    for key, symptom in zip(starts, outline.symptoms, strict=True):
        if symptom.start in homes:
            draft.arrow(key, keys[homes[symptom.start]], symptom.name, symptom.start)
    order = list(keys)
    counts: Counter[tuple[str | None, str | None]] = Counter()
    for node in outline.nodes:
        for target in _targets(node):
            if target in homes and homes[target] != homes.get(node.name, "") and _taken(node):
                counts[homes[node.name], homes[target]] += 1
    for (tail, head), count in counts.items():
        if order.index(tail) < order.index(head):
            words = "1 way" if count == 1 else f"{count} ways"
            draft.arrow(keys[tail], keys[head], f"stage-{tail}", f"{head}", answer=words)
    return Plan(
        title=plain_words(outline.title),
        mark=clean(outline.mark),
        language=outline.language,
        symbols=tuple(draft.symbols),
        arrows=tuple(draft.arrows),
        bands=(),
        nodes=(),
        jumps=frozenset(),
    )


def _inside(
    members: Sequence[Node], nodes: dict[str, Node], homes: dict[str, str | None]
) -> tuple[str, ...]:
    """What a stage holds: its numbers, what it finds, where it ends, where it leads back to."""
    numbers = [node.number for node in members]
    lines = [f"Steps {_runs(numbers)}" if len(numbers) > 1 else f"Step {numbers[0]}"]
    ends: dict[str, dict[str, None]] = {"fault": {}, "handoff": {}, "done": {}}
    back: dict[str, None] = {}
    inside = [node.number for node in members]
    for node in members:
        for target in _targets(node):
            found = nodes.get(target)
            if found is None:
                continue
            if found.kind in ends:
                ends[found.kind][found.number] = None
            elif found.number not in inside and _earlier(found, node, homes):
                back[found.number] = None
    order = {node.number: at for at, node in enumerate(nodes.values())}
    for kind, lead in (("fault", "Finds"), ("handoff", "Hands over"), ("done", "Ends")):
        if ends[kind]:
            lines.append(f"{lead} {', '.join(sorted(ends[kind], key=order.__getitem__))}")
    if back:
        lines.append(f"Back to {', '.join(sorted(back, key=order.__getitem__))}")
    return tuple(map(clean, lines))


def _earlier(found: Node, node: Node, homes: dict[str, str | None]) -> bool:
    order = list(dict.fromkeys(homes.values()))
    if found.name not in homes:
        return False
    return order.index(homes[found.name]) < order.index(homes[node.name])


def _runs(numbers: Sequence[str]) -> str:
    """ "1 to 9, 12": numbers that follow one another drawn together."""
    runs: list[list[int]] = []
    for number in map(int, numbers):
        if runs and runs[-1][-1] + 1 == number:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs
    )


def _taken(node: Node) -> bool:
    return node.kind in ("check", "reading", "step")


def _targets(node: Node) -> list[str]:
    return [target for way in ways_on(node) for target in targets(way)]
