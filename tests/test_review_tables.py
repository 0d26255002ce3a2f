"""The tables of the reviewer's page: what finds each fault, and conditions over the steps."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest
from browser import chromium, needs_chromium, visit
from test_lint import load
from test_review import DEMOS, SMALL, page_of, tree_of

from treewright.model.nodes import Step
from treewright.project import Project
from treewright.reason.minutes import Minutes
from treewright.reason.setup import setup
from treewright.render.compile import compile_tree
from treewright.render.outline import Exit, Outline
from treewright.report.conditions import grid
from treewright.report.coverage import coverage
from treewright.text.quantity import minutes_text

# ---- coverage ------------------------------------------------------------------------------


def test_coverage_of_a_small_tree_by_hand() -> None:
    """Sums made by hand from SMALL's times."""
    found = {one.fault.name: one for one in coverage(tree_of(load(SMALL)))}

    def way(name: str) -> list[tuple[str, str]]:
        return [(stop.node, stop.answer) for stop in found[name].way]

    assert way("over-load") == [
        ("symptom slow", ""), ("oil", "yes"), ("load", "yes"), ("over-load", "")
    ]  # fmt: skip
    # oil 2 min, load 30 s; rail up 1 min 30 s
    assert _minutes(found["over-load"].minutes) == Fraction(4)
    # and the valve 1 h; rail down 1 min, open up 5 min
    assert _minutes(found["wet-valve"].minutes) == Fraction(70)
    pump = found["worn-pump"].minutes
    assert pump is not None
    assert pump.total is None
    assert pump.missing == ("5 lamp",)
    # the valve's way, and the rail, which the valve ended, goes up a second time
    assert pump.known == Fraction(70) + Fraction(3, 2)
    assert found["nowhere"].way == ()
    assert found["nowhere"].minutes is None


def test_coverage_says_who_shows_the_same() -> None:
    found = {one.fault.name: one.alike for one in coverage(tree_of(load(SMALL)))}
    # worn-rings shows `maybe lamp yes`; yes is normal there: the same as showing nothing
    assert found == {
        "over-load": (),
        "wet-valve": (),
        "worn-pump": ("worn-rings", "nowhere"),
        "worn-rings": ("worn-pump", "nowhere"),
        "nowhere": ("worn-pump", "worn-rings"),
    }
    text = page_of(load(SMALL))
    row = text.split('<tr id="fault-worn-pump">')[1].split("</tr>")[0]
    assert "no time is written for 5 lamp; the rest takes 1 h 11 min 30 s" in row
    assert '<b class="time">–</b>' in row
    assert "it counts as normal at every check" in row
    assert "no way leads here" in text.split('<tr id="fault-nowhere">')[1].split("</tr>")[0]


def _minutes(took: Minutes | None) -> Fraction | None:
    assert took is not None
    total = took.total
    assert total is None or isinstance(total, Fraction)
    return total


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_coverage_of_the_demos_against_another_sum(path: Path) -> None:
    loaded = Project().load(path)
    outline = compile_tree(tree_of(loaded))
    text = page_of(loaded)
    for one in coverage(tree_of(loaded)):
        models = one.models or one.fault.models or outline.models or (None,)
        graph = _graph(outline, models[0])
        names = [stop.node.removeprefix("symptom ") for stop in one.way]
        starts = [f"symptom {s.name}" for s in outline.symptoms]
        lengths = [
            nx.shortest_path_length(graph, start, one.fault.name)
            for start in starts
            if nx.has_path(graph, start, one.fault.name)
        ]
        assert len(one.way) - 1 == min(lengths)
        for source, target in pairwise(one.way):
            assert source.answer in graph.edges[source.node, target.node]["answers"]
        minutes = _summed(outline, names[1:-1], [stop.answer for stop in one.way[1:-1]])
        assert _minutes(one.minutes) == minutes
        row = text.split(f'<tr id="fault-{one.fault.name}">')[1].split("</tr>")[0]
        assert minutes is not None
        assert f'<b class="time">{minutes_text(minutes)}</b>' in row


def _graph(outline: Outline, model: str | None) -> nx.DiGraph:
    graph = nx.DiGraph()

    def add(source: str, answer: str, way: Exit | None) -> None:
        if way is None:
            return
        target = dict(way.by_model).get(model or "", way.target)
        if target is not None:
            if not graph.has_edge(source, target):
                graph.add_edge(source, target, answers=set())
            graph.edges[source, target]["answers"].add(answer)

    for symptom in outline.symptoms:
        add(f"symptom {symptom.name}", "", Exit("go", (), symptom.start))
    for node in outline.nodes:
        if node.models and model not in node.models:
            continue
        add(node.name, "", node.exit)
        for outcome in node.outcomes:
            add(node.name, outcome.label, outcome.exit)
    return graph


def _summed(outline: Outline, names: list[str], answers: list[str]) -> Fraction | None:
    """What a way takes, from the compiled tree alone: for ways without a step that sets."""
    conditions = {c.name: c for c in outline.conditions}
    times = {p.name: p.cost.minutes for p in outline.procedures}
    total, holds = Fraction(0), set()
    used: list[str | None] = []
    todo = []
    for name, answer in zip(names, answers, strict=True):
        node = outline.node(name)
        todo.append(node)
        does = [o.exit.does for o in node.outcomes if o.label == answer]
        for done in does[0] if does else ():
            todo.append(outline.node(done))
    for node in todo:
        assert not node.sets and not node.clears
        for need in node.needs:
            if need in holds:
                continue
            for other in sorted(holds):
                if need in conditions[other].excludes or other in conditions[need].excludes:
                    holds.remove(other)
                    used.append(conditions[other].undo_by)
            holds.add(need)
            used.append(conditions[need].set_up_by)
        assert node.cost.minutes is not None
        total += Fraction(node.cost.minutes)
    for procedure in filter(None, used):
        minutes = times[procedure]
        assert minutes is not None
        total += Fraction(minutes)
    return total


def test_what_a_step_has_set_is_not_set_up_again() -> None:
    text = SMALL.replace("step top-up: Top the oil up\n", "step top-up: Top up\n  sets: guarded\n")
    text = text.replace("  if yes: go load\n", "  if yes: do rail-up, then go load\n")
    text = text.replace("if no: do top-up, then go load", "if no: found wet-valve")
    found = {one.fault.name: one.minutes for one in coverage(tree_of(load(text)))}
    took = found["over-load"]
    assert took is not None
    # oil 2 min, rail up on the way 1 min 30 s, load 30 s
    assert (took.steps, took.setup, took.procedures) == (Fraction(4), Fraction(0), ())
    stepped = text.replace("do rail-up, then go load", "do top-up, then go load")
    took = {one.fault.name: one.minutes for one in coverage(tree_of(load(stepped)))}["over-load"]
    assert took is not None
    # oil 2 min, top up 4 min, load 30 s
    assert (took.steps, took.procedures) == (Fraction(13, 2), ())


def test_what_a_fault_may_show_is_not_what_it_shows() -> None:
    text = SMALL.replace("shows: maybe lamp yes", "shows: lamp no")
    text = text.replace("  remedy: None.", "  shows: maybe lamp no\n  remedy: None.")
    found = {one.fault.name: one.alike for one in coverage(tree_of(load(text)))}
    assert found["worn-rings"] == found["nowhere"] == ()


def test_faults_of_other_models_are_not_the_same() -> None:
    text = SMALL.replace("Pump worn\n", "Pump worn\n  only for: T12\n")
    text = text.replace("Never looked for\n", "Never looked for\n  only for: T20\n")
    found = {one.fault.name: one.alike for one in coverage(tree_of(load(text)))}
    assert found["worn-pump"] == ("worn-rings",)
    assert found["nowhere"] == ("worn-rings",)


# ---- conditions ----------------------------------------------------------------------------


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_table_of_conditions_says_what_was_found_of_them(path: Path) -> None:
    tree = tree_of(Project().load(path))
    known, table = setup(tree), grid(tree)
    assert sorted(table.nodes) == sorted(tree.nodes)
    numbered = [tree.nodes[name].number for name in table.nodes]
    steps = [int(number) for number in numbered if number.isdecimal()]
    assert steps == sorted(steps)
    changes = 0
    for condition, row in zip(table.conditions, table.cells, strict=True):
        for name, cell in zip(table.nodes, row, strict=True):
            node = tree.nodes[name]
            if name not in known.arrival:
                assert cell.holds == "unreached"
                continue
            during = known.during[name]
            holds = (
                "every" if condition in during.surely
                else "some" if condition in during.maybe else "never"
            )  # fmt: skip
            assert cell.holds == holds
            here = [m for m in known.moves[name] if m.condition == condition]
            setting = [m.always for m in here if not m.undo]
            if setting:
                assert cell.sets == ("always" if setting[0] else "maybe")
            elif not isinstance(node, Step):
                assert cell.sets == ""
            down = [m for m in (*here, *known.takedown.get(name, ())) if m.undo and
                    m.condition == condition]  # fmt: skip
            if down:
                assert cell.undoes == ("always" if down[-1].always else "maybe")
            changes += bool(setting) + bool(down)
    assert changes > 5 or not tree.conditions


@needs_chromium
def test_the_table_of_conditions_can_be_read_aloud(tmp_path: Path) -> None:
    loaded = load(SMALL)
    file = tmp_path / "t.html"
    file.write_text(page_of(loaded), encoding="utf-8")
    with chromium() as browser, visit(browser, file, width=1280) as seen:
        rows = seen.page.evaluate(
            "() => [...document.querySelectorAll('.conditions tbody tr')].map(row =>"
            "[...row.children].map(cell => cell.textContent))"
        )
    first = {row[0]: row[1:] for row in rows[:2]}
    # By hand; columns 1 oil, 2 top-up, 3 load, 4 valve, 5 lamp. Retests come back to 3, 4 and
    # 5 with what these needed still in place: so there it is not always to be done.
    assert first["guarded"] == [
        "does not hold",
        "does not hold",
        "holds on every way, set up here where it is not yet",
        "does not hold, undone here where it still holds",
        "holds on every way, set up here where it is not yet",
    ]
    assert first["opened"][3] == "holds on every way, set up here where it is not yet"
