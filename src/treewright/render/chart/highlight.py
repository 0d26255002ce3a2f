"""The ways of one fault or one symptom, made to stand out on the chart.

By weight and dash alone, so that it shows on a black-and-white printer: what is on the ways gets
heavy lines and rims, all other lines become thin and dotted. No word and no hazard gets fainter.
Works on what was planned and drawn, and draws nothing itself.
"""

from __future__ import annotations

import re
from dataclasses import replace

from treewright.record import record
from treewright.render import prose
from treewright.render.chart.layout import Draughtsman, Drawing, Laid
from treewright.render.chart.symbols import Arrow, Plan, Symbol
from treewright.render.cut import exits, targets
from treewright.render.outline import Outline

_HEAVY = "4.5"
_THIN = "0.7"
_DOTS = ' stroke-dasharray="1.5 3"'
_RIM = re.compile(r'(class="rim"[^>]*?) stroke-width="[\d.]+"')
_LINE = re.compile(r'(<path d="[^"]*" fill="none" stroke="[^"]*") stroke-width="[\d.]+"')


@record
class Ways:
    """What stands out: names of nodes and symptoms, and (node, answer) of the ways."""

    nodes: frozenset[str]
    symptoms: frozenset[str]
    answers: frozenset[tuple[str, int]]


def ways_of(outline: Outline, name: str) -> Ways:
    """All ways from the symptoms to a fault or another node; or all ways on from a symptom.

    A way back is no way to what comes after it: what is read again was read before.

    Raises:
        LookupError: the tree has no symptom and no node of that name.
    """
    nodes = {node.name: node for node in outline.nodes}
    starts = {symptom.name: symptom.start for symptom in outline.symptoms}
    leads: dict[tuple[str, int], tuple[str, ...]] = {}
    for node in outline.nodes:
        for answer, way in enumerate(exits(node)):
            ahead = () if way.kind == "back" else targets(way)
            leads[node.name, answer] = (*ahead, *(done for done in way.does if done in nodes))
    if name in starts:
        found = _reached(starts[name], leads)
        answers = frozenset(way for way in leads if way[0] in found)
        return Ways(found, frozenset((name,)), answers)
    if name not in nodes:
        raise LookupError(f"this tree has no symptom, fault or step {name}")
    found = _leading_to(name, leads)
    answers = frozenset(way for way, ends in leads.items() if found.intersection(ends))
    symptoms = frozenset(symptom for symptom, start in starts.items() if start in found)
    return Ways(found, symptoms, answers)


def titled(outline: Outline, name: str) -> Outline:
    """The outline under a title that says what stands out on its chart."""
    entries = {n.name: n for n in outline.nodes} | {s.name: s for s in outline.symptoms}
    entry = entries[name]
    shown = f"{entry.number} {prose.plain(entry.title)}"
    return replace(outline, title=f"{prose.plain(outline.title)} (heavy lines: {shown})")


class Highlighter(Draughtsman):
    """Draws as any draughtsman does, with some ways standing out."""

    ways: Ways

    def draw(self, content: Plan, laid: Laid) -> Drawing:
        drawing = super().draw(content, laid)
        return replace(drawing, svg=_marked(drawing.svg, content, self.ways))


def standing_out(plan: Plan, ways: Ways) -> tuple[list[bool], list[bool]]:
    """For each symbol and each arrow of a plan whether it is on the ways."""
    ahead = {a.tail: a.head for a in plan.arrows if a.kind != "note" and a.origin is None}
    by_key = {symbol.key: symbol for symbol in plan.symbols}

    def symbol_on(symbol: Symbol) -> bool:
        if symbol.origin is not None:
            return symbol.origin in ways.answers
        if symbol.id.startswith("node-"):
            return symbol.id.removeprefix("node-") in ways.nodes
        if symbol.id.startswith("chart-symptom-"):
            return symbol.id.removeprefix("chart-symptom-") in ways.symptoms
        following = by_key.get(ahead.get(symbol.key, ""))  # set-up before a step
        return following is not None and symbol_on(following)

    def arrow_on(arrow: Arrow) -> bool:
        if arrow.kind == "note":
            return False
        if arrow.origin is not None:
            return arrow.origin in ways.answers
        return symbol_on(by_key[arrow.tail]) and symbol_on(by_key[arrow.head])

    return list(map(symbol_on, plan.symbols)), list(map(arrow_on, plan.arrows))


def _marked(svg: str, plan: Plan, ways: Ways) -> str:
    """The drawing, whose symbols and arrows stand on a line each, in the order of the plan."""
    symbols, arrows = (iter(flags) for flags in standing_out(plan, ways))
    kinds = iter(arrow.kind for arrow in plan.arrows)
    rows = []
    for row in svg.split("\n"):
        if row.startswith(('<g class="arrow ', '<path class="arrow ')):
            on = next(arrows)
            if next(kinds) != "note":
                row = _arrow(row, on)
        elif row.startswith('<g class="symbol ') and next(symbols):
            row = _RIM.sub(rf'\1 stroke-width="{_HEAVY}"', row)
            row = row.replace('<g class="symbol ', '<g class="on-way symbol ', 1)
        rows.append(row)
    return "\n".join(rows)


def _arrow(row: str, on: bool) -> str:
    if on:
        row = _LINE.sub(rf'\1 stroke-width="{_HEAVY}"', row)
        return row.replace('<g class="arrow ', '<g class="on-way arrow ', 1)
    return _LINE.sub(rf'\1 stroke-width="{_THIN}"{_DOTS}', row)


def _reached(start: str, leads: dict[tuple[str, int], tuple[str, ...]]) -> frozenset[str]:
    following: dict[str, set[str]] = {}
    for (name, _), ends in leads.items():
        following.setdefault(name, set()).update(ends)
    return _closed({start}, following)


def _leading_to(goal: str, leads: dict[tuple[str, int], tuple[str, ...]]) -> frozenset[str]:
    before: dict[str, set[str]] = {}
    for (name, _), ends in leads.items():
        for end in ends:
            before.setdefault(end, set()).add(name)
    return _closed({goal}, before)


def _closed(start: set[str], following: dict[str, set[str]]) -> frozenset[str]:
    found, waiting = set(start), list(start)
    while waiting:
        for name in following.get(waiting.pop(), ()):
            if name not in found:
                found.add(name)
                waiting.append(name)
    return frozenset(found)
