"""Faults followed in leaps, against following them one stop after the other.

The plain search here knows the arcs of a tree and what a fault shows. It takes no short cut,
and so says which ends are found, by which ways, and in which order.
"""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lint import sound
from test_prove import TREES, made_tree, may, tree_at
from test_ways import texts_with_conditions

from treewright.lint.rule import Context
from treewright.model.graph import Arc
from treewright.model.nodes import Check, Done, Fault, Handoff, Reading, Step
from treewright.model.tree import Tree
from treewright.reason.follow import Trail
from treewright.reason.prove import Proven, Prover
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Seen, Stop, Trips
from treewright.reason.usual import Usual

State = tuple[str, frozenset[str]]
NOTHING: frozenset[str] = frozenset()


# ---- one stop after the other ------------------------------------------------------------------


@dataclass
class Plain:
    """A fault on one model, followed stop by stop."""

    tree: Tree
    trips: Trips
    fault: Fault
    gives: dict[str, set[int | None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for node in self.tree.nodes.values():
            if isinstance(node, Check | Reading):
                self.gives[node.name] = may(self.fault, node)

    def shows(self, name: str) -> bool:
        node = self.tree.nodes[name]
        assert isinstance(node, Check | Reading)
        return self.gives[name] != set(node.normal)

    def onward(self, state: State) -> Iterator[tuple[Arc, frozenset[str]]]:
        vertex, mended = state
        node, facts = self.tree.nodes.get(vertex), self.trips.ways.facts
        for arc in self.trips.ways.graph.arcs_from(vertex):
            if arc.way_kind == "retest":
                continue
            if isinstance(node, Check | Reading):
                given = [one.label for one in node.outcomes].index(arc.answer)
                good = vertex in mended and given in node.normal
                if given not in self.gives[vertex] and not good:
                    continue
            after = set(mended)
            for name in (vertex, *arc.does):
                step = self.tree.nodes.get(name)
                for doubt in (step.doubts or ()) if isinstance(step, Step) else ():
                    same = [one for one in facts if facts[one] is facts.get(doubt.name)]
                    after.update(one for one in (doubt.name, *same) if self.shows(one))
            yield arc, frozenset(after)

    def search(self, entries: Sequence[str]) -> dict[State, tuple[Arc, ...]]:
        """Every state, with the arcs to it, in the order in which a job can come there."""
        came: dict[State, tuple[Arc, ...]] = {(entry, NOTHING): () for entry in entries}
        queue = deque(came)
        while queue:
            state = queue.popleft()
            for arc, after in self.onward(state):
                if any(at == arc.target and after <= mended for at, mended in came):
                    continue  # it has been there with no less mended
                onward = arc.target, after
                came[onward] = (*came[state], arc)
                queue.append(onward)
        return came

    def ends(self, entries: Sequence[str]) -> dict[str, tuple[Stop, ...]]:
        found: dict[str, tuple[Stop, ...]] = {}
        for (vertex, _), arcs in self.search(entries).items():
            if isinstance(self.tree.nodes.get(vertex), Fault | Handoff | Done):
                possible = self.trips.possible(arcs)
                way = stops(arcs) if possible else self.another(entries, vertex)
                if way:
                    found.setdefault(vertex, way)
        return found

    def another(self, entries: Sequence[str], end: str) -> tuple[Stop, ...]:
        def watch(seen: Seen, arc: Arc) -> Seen:
            if arc.way_kind == "start":
                return NOTHING if arc.source in entries else None
            if not isinstance(seen, frozenset):
                return None
            return next((after for one, after in self.onward((arc.source, seen)) if one == arc),
                        None)  # fmt: skip

        return self.trips.first(watch, None, lambda at, seen: at == end and seen is not None)

    def finding(self, entries: Sequence[str]) -> list[str]:
        return [
            entry for entry in entries
            if self.fault.name in {vertex for vertex, _ in self.search([entry])}
        ]  # fmt: skip

    def left(self, entries: Sequence[str]) -> tuple[Stop, ...]:
        graph = self.trips.ways.graph
        lead = {
            vertex for vertex in graph.vertices
            if self.fault.name in graph.reached_from([vertex], retests=False)
        }  # fmt: skip
        for state, arcs in self.search(entries).items():
            for arc, _ in self.onward(state):
                if arc.target not in lead and self.trips.possible((*arcs, arc)):
                    return stops((*arcs, arc))
        return ()


def stops(arcs: Sequence[Arc]) -> tuple[Stop, ...]:
    return (*(Stop(arc.source, arc.answer) for arc in arcs), Stop(arcs[-1].target, ""))


def listed(ends: Sequence[tuple[str, Sequence[Stop]]]) -> list[tuple[str, tuple[Stop, ...]]]:
    return [(end, tuple(way)) for end, way in ends]


def compare(tree: Tree) -> list[Proven]:
    """Holds all that is said of all faults against the plain search."""
    context, found = Context(tree), []
    for group in context.groups:
        prover = context.prover(group[0])
        for one in prover.faults:
            compare_one(prover, one)
        found += prover.faults
    return found


def compare_one(prover: Prover, one: Proven) -> None:
    fault, graph = prover.tree.nodes[one.fault], prover.graph
    assert isinstance(fault, Fault)
    plain = Plain(prover.tree, prover.trips, fault)
    for entry in graph.entries:
        alone = prover.ends(fault.name, [entry])
        assert listed([*alone.items()]) == listed([*plain.ends([entry]).items()])
    if one.verdict in ("silent", "unreached"):
        return
    entries = [
        entry for entry in graph.entries
        if fault.name in graph.reached_from([entry], retests=False)
    ]  # fmt: skip
    ends = plain.ends(entries)
    assert listed(one.ends) == listed([*ends.items()])
    group = prover.group(fault.name)

    def others(ends: dict[str, tuple[Stop, ...]]) -> list[tuple[str, tuple[Stop, ...]]]:
        return [
            (end, way) for end, way in ends.items()
            if isinstance(prover.tree.nodes[end], Fault) and end not in group
        ]  # fmt: skip

    taken = others(ends)
    if taken and fault.name in ends:
        taken = others(plain.ends(plain.finding(entries)))
    assert listed(one.taken_for) == taken
    if one.verdict == "lost":
        assert tuple(one.way) == plain.left(entries)


# ---- random trees ------------------------------------------------------------------------------


def with_shows(text: str, dice: random.Random, most: int = 3) -> str:
    """A tree whose faults show this and that."""
    tree = sound(text)
    checks = [node for node in tree.nodes.values() if isinstance(node, Check | Reading)]
    shows = ""
    for node in tree.nodes.values():
        if isinstance(node, Fault) and checks:
            some = dice.sample(checks, dice.randint(0, min(most, len(checks))))
            if dice.random() < 0.8:  # else it shows what the fault before it does
                shows = ", ".join(
                    f"{dice.choice(('', 'maybe '))}{one.name} {dice.choice(one.outcomes).label}"
                    for one in some
                )
            head = f"fault {node.name}: F\n"
            text = text.replace(head, f"{head}  shows: {shows}\n" if shows else head)
    return text


def long_tree(seed: int) -> str:
    """Long rows of checks with symptoms all along them, steps that mend, ways round, some
    blocks only for one of three models."""
    dice = random.Random(seed)
    count = dice.randint(10, 45)
    lines = ["tree made: Made", "  models: A, B, C", ""]
    for at in range(dice.randint(1, 6)):
        start = 0 if at == 0 else dice.randrange(count)
        lines += [f"symptom s{at}: Seen", f"  start at: n{start}", ""]
    steps = [at for at in range(1, count) if dice.random() < 0.15]
    checks = [at for at in range(count) if at not in steps]
    faults = [f"f{at}" for at in range(dice.randint(2, 8))]
    turning = dice.choice((0.0, 0.1, 0.3))
    alike = dice.choice((0.0, 0.1, 0.5))  # how many ask what an earlier one does

    def on(at: int) -> str:
        does = "do s, then " if dice.random() < 0.1 else ""
        if at + 1 == count:
            return f"{does}go end"
        if dice.random() < turning:
            kind = dice.random()
            if kind < 0.3:
                return f"{does}back to n{dice.randint(0, at)}"
            if kind < 0.6:
                return f"{does}found {dice.choice(faults)}"
            return f"{does}go n{dice.randint(at + 1, count - 1)}"
        return f"{does}go next"

    def off(at: int) -> str:
        kind = dice.random()
        if kind < 0.5:
            return f"found {dice.choice(faults)}"
        if kind < 0.6:
            return "go end"
        if kind < 0.75:
            return f"do s, then back to n{dice.randint(0, at)}"
        return f"go n{dice.randint(at + 1, count - 1)}" if at + 1 < count else "go end"

    def doubts() -> str:
        some = [f"n{at}" for at in dice.sample(checks, min(len(checks), dice.randint(1, 4)))]
        return f"  doubts: {', '.join(some)}"

    asked: list[int] = []
    for at in range(count):
        only = [f"  only for: {dice.choice(('A', 'A, B'))}"] if dice.random() < 0.08 else []
        if at in steps:
            lines += [f"step n{at}: N", *only, doubts(), f"  then: {on(at)}", ""]
            continue
        lines += [f"check n{at}: N?", *only]
        if asked and dice.random() < alike:
            lines.append(f"  same as: n{dice.choice(asked)}")
        asked.append(at)
        lines += [f"  normal: {dice.choice(('yes', 'yes', 'no'))}"]
        lines += [f"  if yes: {on(at)}", f"  if no: {off(at)}", f"  if unsure: {off(at)}", ""]
    lines += ["step s: S", doubts(), ""]
    for name in faults:
        lines += [f"fault {name}: F", "  remedy: R.", ""]
    return with_shows("\n".join([*lines, "done end: E", ""]), dice, most=5)


def with_several_normal(tree: Tree, dice: random.Random) -> Tree:
    """The same, where some checks have two good answers, or none."""
    nodes = dict(tree.nodes)
    for name, node in nodes.items():
        if isinstance(node, Check | Reading) and dice.random() < 0.3:
            normal = tuple(sorted(dice.sample(range(len(node.outcomes)), dice.choice((0, 2)))))
            nodes[name] = replace(node, normal=normal)
    return replace(tree, nodes=nodes)


@pytest.mark.parametrize("seed", range(60))
def test_long_trees(seed: int) -> None:
    compare(sound(long_tree(seed)))


@pytest.mark.parametrize("seed", range(30))
def test_trees_with_several_good_answers_of_one_check(seed: int) -> None:
    dice = random.Random(seed)
    compare(with_several_normal(sound(long_tree(seed)), dice))
    compare(with_several_normal(sound(made_tree(seed)), dice))


@pytest.mark.parametrize("seed", range(60))
def test_small_trees(seed: int) -> None:
    compare(sound(made_tree(seed)))


@settings(max_examples=150, deadline=None)
@given(texts_with_conditions(), st.integers(0, 1000))
def test_trees_in_which_things_are_asked_twice(text: str, seed: int) -> None:
    compare(sound(with_shows(text, random.Random(seed))))


@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_the_demo_trees(path: Path) -> None:
    compare(tree_at(path))


def test_the_random_trees_have_every_verdict_and_legs_of_all_kinds() -> None:
    """Else the comparisons above would say little."""
    met, legs, mended, turned = set(), 0, 0, 0
    for seed in range(60):
        tree = sound(long_tree(seed))
        for group in Context(tree).groups:
            prover = Context(tree).prover(group[0])
            met.update(one.verdict for one in prover.faults)
            for one in prover.faults:
                for _, way in one.ends:
                    if isinstance(way, Trail):
                        legs = max(legs, len(list(way.arcs())))
                        mended += bool(way._leg.mended)
                        turned += bool(way._leg.when[2])
    assert met == {"found", "alike", "perhaps", "wrong", "lost", "silent", "unreached"}
    assert legs > 15
    assert mended > 20
    assert turned > 20


AGAIN = """\
tree made: Made
symptom a: A
  start at: d
check d: D?
  if yes: do s, then back to d
  if no: go c
check c: C?
  if yes: found g
  if no: found f
step s: S
  doubts: c
fault f: F
  shows: maybe d no, c no
  remedy: R.
fault g: G
  shows: c yes
  remedy: R.
"""


def test_what_is_gone_twice_is_answered_alike() -> None:
    """Once `c` is mended, `d` would have to change its answer to let a job get there."""
    assert [end for end, _ in compare(sound(AGAIN))[0].ends] == ["f"]
    in_doubt = AGAIN.replace("doubts: c", "doubts: c, d")
    assert [end for end, _ in compare(sound(in_doubt))[0].ends] == ["f", "g"]


NEVER = """\
tree made: Made
symptom a: A
  start at: r
reading r: R
  unit: bar
  if below 3: back to r
  if at least 3: found g
  otherwise: found f
fault f: F
  shows: r otherwise
  remedy: R.
fault g: G
  shows: r at least 3
  remedy: R.
"""


def test_an_answer_that_no_machine_gives_leads_nowhere() -> None:
    f, g = compare(sound(NEVER))
    assert (f.verdict, f.ends) == ("lost", ())
    assert g.verdict == "found"


# ---- usual ways ----------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_usual_ways_one_stop_after_the_other(seed: int) -> None:
    dice = random.Random(seed)
    tree = with_several_normal(sound(long_tree(seed)), dice)
    graph = Context(tree).graph("B")
    usual = Usual(tree, graph)
    place = {entry: at for at, entry in enumerate(graph.entries)}
    ways = {}
    for vertex in graph.vertices:
        way = ways[vertex] = [vertex]
        while way[-1] in usual.onward:
            arc = usual.onward[way[-1]]
            assert [arc] == [one for one, _ in usual.rows[way[-1]]]
            way.append(arc.target)
        assert usual.root[vertex] == way[-1]
        assert usual.depth[vertex] == len(way) - 1
        holding = set(way[: dice.randint(1, len(way))])
        assert usual.last(vertex, holding.__contains__) == way[len(holding) - 1]
    for vertex in graph.vertices:
        come = [entry for entry in graph.entries if vertex in ways[entry]]
        assert usual.bits(come) == usual.passing[vertex]
        if come:
            near = min(come, key=lambda one: (ways[one].index(vertex), place[one]))
            assert usual.nearest(usual.bits(come)) == near
        lead = [
            entry for entry in graph.entries
            if vertex in graph.reached_from([entry], retests=False)
        ]  # fmt: skip
        assert usual.bits(lead) == usual.leading[vertex]
    for most in (0, 1, 3, 8):
        places = set(dice.sample(graph.vertices, most))
        looked_at = usual.stops(places)
        first = {
            vertex: next((one for one in way if one in places), way[-1])
            for vertex, way in ways.items()
        }
        assert {vertex: looked_at.first(vertex) for vertex in graph.vertices} == first
        some = dice.sample(graph.entries, dice.randint(0, len(graph.entries)))
        come_by: dict[str, list[str]] = {}
        for entry in some:
            come_by.setdefault(first[entry], []).append(entry)
        assert dict(looked_at.from_symptoms(usual.bits(some))) == {
            stop: usual.bits(entries) for stop, entries in come_by.items()
        }


def test_a_way_is_equal_to_its_stops() -> None:
    trails = 0
    for seed in range(10):
        context = Context(sound(long_tree(seed)))
        again = Prover(context.trips("A"), Suspects(context.tree, context.graph("A")))
        for one, other in zip(context.prover("A").faults, again.faults, strict=True):
            assert one == other
            assert hash(one) == hash(other)
            for way in (one.way, *(way for _, way in one.ends)):
                trails += isinstance(way, Trail)
                listed = tuple(way)
                assert way == listed and listed == way
                assert hash(way) == hash(listed)
                assert len(way) == len(listed)
                assert [way[at] for at in range(-len(way), len(way))] == [*listed, *listed]
                assert way[1:] == listed[1:]
                assert not way or way != listed[1:]
    assert trails > 100


MODELS = """\
tree made: Made
  models: A, B, C
symptom s: S
  start at: one
reading one: One
  unit: bar
  spec for A: 2 to 4 bar
  spec for B: 3 to 9 bar
  spec: 2 to 4 bar
  if within: stop h
  if below: go two
  if above: found f
reading two: Two
  same as: one
  unit: bar
  if below 3: found f
  if at least 3: found g
fault f: F
  shows: one below, two below 3
  remedy: R.
fault g: G
  shows: one below, two at least 3
  remedy: R.
handoff h: H
  to: the workshop
"""


def test_models_share_what_is_alike_on_them() -> None:
    """What is below 2 is never at least 3; what is below 4 may be. Other figures in the same
    order settle the same."""
    context = Context(sound(MODELS.replace("3 to 9", "4 to 9")))
    assert context.trips("A") is not context.trips("B")
    verdicts = {
        model: [one.verdict for one in context.prover(model).faults] for model in ("A", "B", "C")
    }
    assert verdicts == {"A": ["found", "lost"], "B": ["found", "found"], "C": ["found", "lost"]}
    other_figures = Context(sound(MODELS.replace("spec: 2 to 4", "spec: 2 to 5")))
    assert other_figures.groups == (("A",), ("B",), ("C",))
    assert other_figures.prover("A") is other_figures.prover("C")
    assert other_figures.prover("A") is not other_figures.prover("B")
