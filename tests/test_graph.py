"""The ways of a tree as a graph, against networkx on random trees."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from treewright.model import digraph
from treewright.model.graph import Graph, graph
from treewright.model.nodes import Check, Fault, Node, Outcome, Step, Way, WayKind, Words
from treewright.model.tree import Symptom, Tree
from treewright.model.written import Name, Text
from treewright.text.source import Source, Span

SOURCE = Source("made.tree", "made by hand")
PLACE = Span(SOURCE, 0, 4)


def name(text: str) -> Name:
    return Name(text, PLACE)


def title() -> Text:
    return Text("a title", PLACE)


def way(target: str | None, kind: WayKind = "go", does: tuple[str, ...] = ()) -> Way:
    return Way(kind, tuple(map(name, does)), name(target) if target else None, PLACE)


def check(own: str, number: str = "", models: tuple[str, ...] = (), **answers: Way) -> Check:
    outcomes = tuple(Outcome(label, Words(), on, PLACE) for label, on in answers.items())
    return Check(own, title(), PLACE, number=number, models=models, outcomes=outcomes)


def fault(own: str, number: str = "", retest: str | None = None) -> Fault:
    return Fault(own, title(), PLACE, number=number, retest=name(retest) if retest else None)


def step(own: str, number: str = "", then: Way | None = None) -> Step:
    return Step(own, title(), PLACE, number=number, way=then)


def tree(*nodes: Node, **starts: str) -> Tree:
    return Tree(
        name="made",
        title=title(),
        span=PLACE,
        source=SOURCE,
        symptoms={
            own: Symptom(own, title(), PLACE, start=name(start)) for own, start in starts.items()
        },
        nodes={node.name: node for node in nodes},
    )


SLOW_FILL = tree(
    check("oil-level", "1", yes=way("leak", "next"), low=way("oil-level", "back", ("top-up",))),
    check("leak", "2", no=way("rings", "found"), yes=way("hose", "found")),
    step("top-up", "3"),
    fault("rings", "F1", retest="pump-up"),
    fault("hose", "F2"),
    check("pump-up", "4", good=way("finished")),
    check("finished", "5"),
    check("lost", "6", yes=way("lost-too")),
    check("lost-too", "7"),
    slow="oil-level",
    noisy="leak",
)


def test_the_shortest_way_names_numbers_and_answers() -> None:
    ways = graph(SLOW_FILL)
    assert ways.shortest_way("symptom slow") == ("symptom slow",)
    assert ways.shortest_way("hose") == ("symptom noisy", "2 leak: yes", "F2 hose")
    assert ways.shortest_way("top-up") == ("symptom slow", "1 oil-level: low", "3 top-up")
    assert ways.shortest_way("lost") == ()
    assert ways.shortest_way("not-there") == ()


def test_a_retest_leads_on_but_comes_last() -> None:
    ways = graph(SLOW_FILL)
    assert ways.shortest_way("finished") == (
        "symptom noisy",
        "2 leak: no",
        "F1 rings: retest",
        "4 pump-up: good",
        "5 finished",
    )
    assert [arc.target for arc in ways.arcs_from("hose")] == ["leak"]  # the check that led here
    assert ways.reached == set(ways.vertices) - {"lost", "lost-too"}


def test_an_unwritten_retest_leads_only_to_where_the_job_came_from() -> None:
    made = tree(
        check("first", no=way("worn", "found")),
        check("second", no=way("worn", "found")),
        fault("worn"),
        dead="first",
    )
    ways = graph(made)
    assert [arc.target for arc in ways.arcs_from("worn")] == ["first", "second"]
    assert "second" not in ways.reached
    assert ways.reached_from(["first"]) == ("first", "worn")
    assert ways.reached_from(["worn"]) == ("worn", "first", "second")


def test_a_step_that_is_done_on_a_way_does_not_go_its_own_way() -> None:
    made = tree(
        check("first", yes=way("last", does=("drain",))),
        step("drain", then=way("elsewhere")),
        check("elsewhere"),
        check("last"),
        dead="first",
    )
    assert graph(made).reached == {"symptom dead", "first", "drain", "last"}


def test_only_what_is_on_the_model() -> None:
    made = tree(
        check("first", yes=way("big-one"), no=way("last")),
        check("big-one", models=("B80",), yes=way("last")),
        check("last"),
        dead="first",
    )
    assert [arc.target for arc in graph(made, "B60").arcs_from("first")] == ["last"]
    assert "big-one" not in graph(made, "B60").vertices
    assert [arc.target for arc in graph(made, "B80").arcs_from("first")] == ["big-one", "last"]
    assert graph(made).reached == {"symptom dead", "first", "big-one", "last"}


def test_the_arc_that_closes_a_way_round() -> None:
    made = tree(
        check("a", yes=way("b")),
        check("b", yes=way("c"), no=way("a", "back")),
        check("c", yes=way("a")),
        dead="a",
    )
    ways = graph(made)
    assert [(arc.source, arc.target) for arc in ways.closing] == [("c", "a")]
    assert ways.loops() == [("a", "b", "c")]
    assert ways.order == ("symptom dead", "a", "b", "c")
    assert ways.longest == {"symptom dead": 0, "a": 1, "b": 2, "c": 3}


def test_ten_thousand_checks_in_a_row() -> None:
    count = 10_000
    nodes: list[Node] = [
        check(f"n{at}", yes=way(f"n{at + 1}"), no=way("worn", "found"), again=way("n0", "back"))
        for at in range(count)
    ]
    ways = graph(tree(*nodes, check(f"n{count}"), fault("worn"), dead="n0"))
    assert len(ways.shortest_way(f"n{count}")) == count + 2
    assert ways.longest["worn"] == count + 1
    assert ways.dominators()["worn"] == "n0"
    assert ways.dominators()[f"n{count}"] == f"n{count - 1}"
    assert max(map(len, ways.components())) == count
    assert not ways.loops(back=False)


@st.composite
def random_trees(draw: st.DrawFn) -> Tree:
    count = draw(st.integers(1, 9))
    names = [f"n{at}" for at in range(count)]
    kinds: st.SearchStrategy[WayKind] = st.sampled_from(["go", "go", "next", "back"])
    nodes: list[Node] = []
    for own in names:
        onward = draw(st.lists(st.tuples(st.sampled_from(names), kinds), max_size=3))
        match draw(st.integers(0, 4)):
            case 0:
                nodes.append(fault(own, retest=draw(st.sampled_from([None, *names]))))
            case 1 if onward:
                nodes.append(step(own, then=way(*onward[0])))
            case _:
                answers = {f"a{at}": way(*one) for at, one in enumerate(onward)}
                nodes.append(check(own, **answers))
    starts = draw(st.lists(st.sampled_from(names), max_size=3))
    return tree(*nodes, **{f"s{at}": start for at, start in enumerate(starts)})


def networkx_graph(
    ways: Graph, *left_out: str, unwritten_retests: bool = True
) -> nx.MultiDiGraph[str]:
    made: nx.MultiDiGraph[str] = nx.MultiDiGraph()
    made.add_nodes_from(ways.vertices)
    for arc in ways.arcs:
        source = ways.tree.nodes.get(arc.source)
        unwritten = isinstance(source, Fault) and source.retest is None
        if arc.way_kind not in left_out and (unwritten_retests or not unwritten):
            made.add_edge(arc.source, arc.target, kind=arc.way_kind)
    return made


@given(random_trees())
def test_reach_and_shortest_ways_against_networkx(made: Tree) -> None:
    ways = graph(made)
    everything = networkx_graph(ways, unwritten_retests=False)
    reached = set(ways.entries).union(*(nx.descendants(everything, at) for at in ways.entries))
    assert ways.reached == reached
    assert set(ways.reached_from(ways.entries)) == reached
    plain = networkx_graph(ways, "retest")
    for vertex in ways.vertices:
        lengths = [
            nx.shortest_path_length(plain, start, vertex)
            for start in ways.entries
            if nx.has_path(plain, start, vertex)
        ]
        shown = ways.shortest_way(vertex)
        assert bool(shown) == (vertex in reached)
        if lengths:
            assert len(shown) == min(lengths) + 1


@given(random_trees(), st.booleans(), st.booleans())
def test_components_and_loops_against_networkx(made: Tree, back: bool, retests: bool) -> None:
    ways = graph(made)
    left_out = [kind for kind, kept in (("back", back), ("retest", retests)) if not kept]
    plain = networkx_graph(ways, *left_out)
    parts = list(map(frozenset, nx.strongly_connected_components(plain)))
    ours = ways.components(back=back, retests=retests)
    assert set(map(frozenset, ours)) == set(parts)
    place = {vertex: at for at, part in enumerate(ours) for vertex in part}
    assert all(place[target] <= place[source] for source, target, _ in plain.edges)
    round_about = {
        part
        for part in parts
        if len(part) > 1 or plain.has_edge(next(iter(part)), next(iter(part)))
    }
    assert set(map(frozenset, ways.loops(back=back, retests=retests))) == round_about


@given(random_trees(), st.booleans())
def test_dominators_against_networkx(made: Tree, retests: bool) -> None:
    ways = graph(made)
    plain = networkx_graph(ways, *(() if retests else ("retest",)), unwritten_retests=False)
    plain.add_edges_from((".", start) for start in ways.entries)
    plain.add_node(".")
    expected = dict(nx.immediate_dominators(plain, "."))
    expected.pop(".", None)  # in some versions of networkx the start is in, in others not
    ours = ways.dominators(retests=retests)
    assert {vertex: by or "." for vertex, by in ours.items()} == expected


@given(random_trees())
def test_order_and_longest_ways_against_networkx(made: Tree) -> None:
    ways = graph(made)
    forward: nx.DiGraph[str] = nx.DiGraph()
    forward.add_nodes_from(ways.vertices)
    forward.add_edges_from((arc.source, arc.target) for arc in ways.forward)
    assert nx.is_directed_acyclic_graph(forward)
    place = {vertex: at for at, vertex in enumerate(ways.order)}
    assert set(place) == set(ways.vertices)
    assert all(place[source] < place[target] for source, target in forward.edges)
    # What was left out closes a way round: each such arc's target leads back to its source.
    unbroken = networkx_graph(ways, "back", "retest")
    assert all(nx.has_path(unbroken, arc.target, arc.source) for arc in ways.closing)
    assert bool(ways.closing) == (not nx.is_directed_acyclic_graph(unbroken))
    reached = set(ways.entries).union(*(nx.descendants(forward, at) for at in ways.entries))
    assert set(ways.longest) == reached
    if reached:
        assert max(ways.longest.values()) == nx.dag_longest_path_length(forward.subgraph(reached))


@settings(max_examples=200)
@given(st.lists(st.lists(st.integers(0, 29), max_size=4), min_size=30, max_size=30))
def test_dominators_of_larger_graphs_against_networkx(rows: list[list[int]]) -> None:
    plain = nx.DiGraph([(at, other) for at, row in enumerate(rows) for other in row])
    plain.add_node(0)
    expected = dict(nx.immediate_dominators(plain, 0))
    expected.pop(0, None)
    assert digraph.dominators(rows, 0) == expected


def test_no_order_where_there_is_a_way_round() -> None:
    with pytest.raises(ValueError, match="way round"):
        digraph.topological([[1], [0]])
