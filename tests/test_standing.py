"""What is ruled out and still suspect at each node, against all ways listed one by one."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from generate import tree as generated
from pdf import needs_poppler, words

from treewright.model.build import build
from treewright.model.nodes import Check, Fault, Reading, ways_of
from treewright.model.tree import Tree, on_model
from treewright.reason.standing import standing
from treewright.render.compile import compile_tree
from treewright.render.sheet import Extras, sheet
from treewright.syntax.parse import parse
from treewright.text.source import Source

MOST = 4000  # ways that are followed
SMALL = (Path(__file__).parent / "cases/sheets/slow-fill.tree").read_text()


def read(text: str) -> Tree:
    file, findings = parse(Source("one.tree", text))
    assert findings == []
    tree, slips = build(file, lambda name: file)
    assert slips == []
    return tree


def gives(fault: Fault, node: Check | Reading, at: int) -> bool:
    """Whether a fault may give an answer: what it says, else what is normal."""
    if not fault.shows:
        return True
    said = [shown for shown in fault.shows if shown.node.name == node.name]
    if not said:
        return at in node.normal
    return at in {shown.outcome for shown in said} or (
        all(shown.maybe for shown in said) and at in node.normal
    )


def ways(tree: Tree, start: str, model: str | None) -> Iterator[list[tuple[str, int]]]:
    """Every way from a node on that takes none twice: nodes, and the answer given at each.

    A step that is done on the way of an answer ends a way of its own: it only leads back.
    """
    doubted = {one.name for n in tree.nodes.values() for one in getattr(n, "doubts", None) or ()
               if not isinstance(n, Fault)}  # fmt: skip
    waiting: list[list[tuple[str, int]]] = [[(start, -1)]]
    while waiting:
        way = waiting.pop()
        yield way
        node = tree.nodes[way[-1][0]]
        if isinstance(node, Fault):
            continue
        for at, (_, on) in enumerate(ways_of(node)):
            said = -1 if node.name in doubted and at in getattr(node, "normal", ()) else at
            for done in on.does:
                if done.name in tree.nodes and on_model(tree.nodes[done.name].models, model):
                    yield [*way[:-1], (node.name, said), (done.name, -1)]
            by_model = dict(on.by_model)
            names = [on.target, *by_model.values()] if model is None else [
                by_model.get(model, on.target)
            ]
            for target in {name.name for name in names if name is not None}:
                there = tree.nodes[target]
                if target not in [name for name, _ in way] and on_model(there.models, model):
                    waiting.append([*way[:-1], (node.name, said), (target, -1)])


def reached_from(tree: Tree, start: str, model: str | None) -> set[str]:
    return {name for way in ways(tree, start, model) for name, _ in way}


def by_hand(tree: Tree, symptom: str | None, model: str | None) -> dict[str, tuple[set[str], ...]]:
    found: dict[str, tuple[set[str], ...]] = {}
    count = 0
    for one in tree.symptoms.values():
        if symptom not in (None, one.name) or one.start is None:
            continue
        reached = reached_from(tree, one.start.name, model)
        everyone = [n for n in tree.nodes.values() if isinstance(n, Fault)
                    and on_model(n.models, model)]  # fmt: skip
        for way in ways(tree, one.start.name, model):
            count += 1
            assert count < MOST
            out = set()
            for name, at in way[:-1]:
                node = tree.nodes[name]
                if isinstance(node, Check | Reading) and at >= 0:
                    out |= {f.name for f in everyone if not gives(f, node, at)}
            suspect = {f.name for f in everyone if f.name in reached} - out
            before = found.get(way[-1][0])
            found[way[-1][0]] = (
                (out, suspect) if before is None else (before[0] & out, before[1] | suspect)
            )
    return found


@pytest.mark.parametrize("number", range(6))
@pytest.mark.parametrize("model", [None, "R20"])
def test_every_way_agrees(number: int, model: str | None) -> None:
    tree = read(generated(number, 22, seed=5))
    for symptom in (None, *tree.symptoms):
        expected = by_hand(tree, symptom, model)
        got = standing(tree, symptom, model)
        for name, (out, suspect) in expected.items():
            assert set(got[name].ruled_out) == out, (symptom, name)
            assert set(got[name].suspect) == suspect, (symptom, name)


def test_by_hand() -> None:
    """From the tree, by hand: a good oil level speaks for neither, a leak only for the joint."""
    got = standing(read(SMALL))
    assert (got["oil"].ruled_out, got["oil"].suspect) == ((), ("low-oil", "leaky"))
    assert (got["leak"].ruled_out, got["leak"].suspect) == (("low-oil",), ("leaky",))
    assert (got["leaky"].ruled_out, got["leaky"].suspect) == (("low-oil",), ("leaky",))
    assert got["look-further"].suspect == ()


def test_a_step_done_on_the_way_of_an_answer() -> None:
    """By hand: known there is what is known behind the answers that do it, on every such way."""
    done = SMALL.replace("if yes: go next", "if yes: do empty, then go leak")
    step = "step empty: Let the tank empty itself\n"
    got = standing(read(f"{done}\n{step}"))
    assert (got["empty"].ruled_out, got["empty"].suspect) == (("low-oil",), ("leaky",))
    # Where the job also comes to it before anything is answered, nothing is ruled out on every way.
    first = done.replace("start at: oil", "start at: empty")
    got = standing(read(f"{first}\n{step}  then: go oil\n"))
    assert (got["empty"].ruled_out, got["empty"].suspect) == ((), ("low-oil", "leaky"))
    # What stands behind it is not touched by what is known where it is done.
    assert (got["oil"].ruled_out, got["oil"].suspect) == ((), ("low-oil", "leaky"))


AFTER = SMALL.replace("retest: leak", "retest: foam") + (
    "\ncheck foam: Does the foam stay away?\n"
    "  normal: yes\n"
    "  if yes: stop look-further\n"
    "  if no: stop look-further\n"
)


def test_nothing_is_said_of_what_is_only_come_to_after_a_remedy() -> None:
    got = standing(read(AFTER))
    assert "foam" not in got and "leak" in got


@needs_poppler
def test_the_sheet_says_why_nothing_can_be_said(tmp_path: Path) -> None:
    tree = read(AFTER)
    extras = Extras(standing=standing(tree))
    text = words(sheet(compile_tree(tree), "a4", extras=extras), tmp_path)
    why = "Ruled out, still suspect: nothing can be said: it is only come to after a remedy"
    assert text.count(why) == 1
    assert text.index("Does the foam stay away?") < text.index(why) < text.index("Findings")
    assert text.count("Ruled out by now:") == 2


@needs_poppler
def test_where_no_fault_alone_leads_nothing_is_called_ruled_out(tmp_path: Path) -> None:
    """A third answer that no fault gives: to call all of them ruled out would be no help."""
    foam = "if no: found low-oil\n  if foam: do wait, then back to oil"
    third = SMALL.replace("if no: found low-oil", foam)
    tree = read(f"{third}\nstep wait: Let it stand for an hour\n")
    assert (standing(tree)["wait"].ruled_out, standing(tree)["wait"].suspect) == (
        ("low-oil", "leaky"), (),
    )  # fmt: skip
    text = words(sheet(compile_tree(tree), "a4", extras=Extras(standing=standing(tree))), tmp_path)
    step = text[text.index("Let it stand for an hour") : text.index("Findings")]
    assert "none of the findings alone gives the answers that lead here" in step
    assert "Ruled out by now" not in step
