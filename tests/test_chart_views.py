"""The chart with ways standing out, over many sheets, and of the stages alone."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lines_of import Line, crossings, length
from pdf import needs_poppler, poppler, squeezed, words
from sample_outline import hostile, sample

from treewright.cli.main import main
from treewright.project import Project
from treewright.render import chart, prose
from treewright.render.chart.engine import find_engine
from treewright.render.chart.frame import SIZES
from treewright.render.chart.highlight import standing_out, ways_of
from treewright.render.chart.layout import Draughtsman
from treewright.render.chart.plan import plan_chart
from treewright.render.chart.stages import plan_overview
from treewright.render.chart.tiling import OVERLAP, SCALE, name_of, tiling
from treewright.render.chart.type import DETAIL, plain_words
from treewright.render.compile import compile_tree
from treewright.render.outline import Outline
from treewright.render.paper import pages

TREES = Path(__file__).resolve().parents[1] / "trees"
NAMES = ("water-pump", "air-compressor")
SVG = "{http://www.w3.org/2000/svg}"


@cache
def outline(name: str = "water-pump") -> Outline:
    tree = Project().load(TREES / f"{name}.tree").tree
    assert tree is not None
    return compile_tree(tree)


# ---- ways that stand out -------------------------------------------------------------------


def _graph(of: Outline) -> nx.DiGraph:
    """The ways of a tree without those that lead back, put together here."""
    graph = nx.DiGraph()
    steps = {node.name for node in of.nodes}
    for node in of.nodes:
        graph.add_node(node.name)
        ways = [o.exit for o in node.outcomes] + ([node.exit] if node.exit else [])
        for way in ways:
            ends = {way.target, *dict(way.by_model).values()} - {None}
            graph.add_edges_from((node.name, end) for end in ends if way.kind != "back")
            graph.add_edges_from((node.name, done) for done in way.does if done in steps)
    return graph


@pytest.mark.parametrize("name", NAMES)
def test_all_that_leads_to_a_fault_and_all_that_a_symptom_leads_to(name: str) -> None:
    of = outline(name)
    graph = _graph(of)
    for node in of.nodes:
        found = ways_of(of, node.name)
        assert found.nodes == nx.ancestors(graph, node.name) | {node.name}
        for source, answer in found.answers:
            outcomes = of.node(source).outcomes
            way = outcomes[answer].exit if outcomes else of.node(source).exit
            assert way is not None
            assert {way.target, *dict(way.by_model).values(), *way.does} & found.nodes
        starts = {s.name for s in of.symptoms if s.start in found.nodes}
        assert found.symptoms == starts
    for symptom in of.symptoms:
        found = ways_of(of, symptom.name)
        assert found.nodes == nx.descendants(graph, symptom.start) | {symptom.start}


def test_what_stands_out_is_heavy_and_the_rest_thin_and_dotted_and_no_word_is_lost() -> None:
    of = outline()
    plain, marked = (ElementTree.fromstring(chart.svg(of, highlight=name))
                     for name in (None, "lost-charge"))  # fmt: skip

    def texts(root: ElementTree.Element) -> list[str]:
        return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]

    assert texts(plain) == texts(marked)
    ways = ways_of(of, "lost-charge")
    plan, _ = Draughtsman(of, find_engine()).whole()
    symbols, arrows = standing_out(plan, ways)
    drawn = [g for g in marked.iter(f"{SVG}g") if " arrow" in f" {g.get('class', '')}"]
    flows = [on for on, a in zip(arrows, plan.arrows, strict=True) if a.kind != "note"]
    assert len(drawn) == len(flows) and any(flows) and not all(flows)
    for group, on in zip(drawn, flows, strict=True):
        lines = [path for path in group.iter(f"{SVG}path") if path.get("fill") == "none"]
        assert lines
        for line in lines:
            assert (line.get("stroke-width") == "4.5") == on
            assert (line.get("stroke-dasharray") is None) == on
    rims = [g for g in marked.iter(f"{SVG}g") if "symbol" in g.get("class", "")]
    assert [("on-way" in g.get("class", "")) for g in rims] == symbols
    named = {g.get("id") for g in rims if "on-way" in g.get("class", "")}
    assert {f"node-{n}" for n in ways.nodes} <= named
    # Hazards are never made fainter: their ties and brackets are as they were.
    notes = [[path.attrib for path in root.iter(f"{SVG}path") if "note" in path.get("class", "")]
             for root in (plain, marked)]  # fmt: skip
    assert notes[0] == notes[1] != []


def test_a_name_that_is_not_there_is_said() -> None:
    with pytest.raises(LookupError, match="no symptom, fault or step nix"):
        chart.svg(sample(), highlight="nix")


@needs_poppler
def test_the_page_says_what_stands_out(tmp_path: Path) -> None:
    fault = next(node for node in sample().nodes if node.kind == "fault")
    pdf = chart.pdf(sample(), "a2", highlight=fault.name)
    assert f"(heavy lines: {fault.number} {prose.plain(fault.title)})" in words(pdf, tmp_path)
    assert pdf == chart.pdf(sample(), "a2", highlight=fault.name)


# ---- over many sheets ----------------------------------------------------------------------


@given(
    width=st.floats(10, 9000), height=st.floats(10, 9000), paper=st.sampled_from(sorted(SIZES))
)
def test_the_sheets_cover_the_whole_and_overlap(width: float, height: float, paper: str) -> None:
    cut = tiling((width, height), paper)  # type: ignore[arg-type]
    for length_, room, count in (
        (width, cut.room[0], cut.columns), (height, cut.room[1], cut.rows),
    ):  # fmt: skip
        reach = count * room - (count - 1) * OVERLAP
        assert reach >= length_ - 1e-6
        assert count == 1 or reach - (room - OVERLAP) < length_  # not one sheet too many
    assert sorted((cut.width, cut.height)) == sorted(SIZES[paper])  # type: ignore[index]


def test_type_on_the_sheets_is_8_points() -> None:
    assert pytest.approx(8.0) == DETAIL * SCALE


def test_sheets_are_called_like_fields_of_a_map() -> None:
    assert [name_of(row, column) for row, column in ((0, 0), (1, 2), (25, 9), (26, 0))] == [
        "A1", "B3", "Z10", "AA1",
    ]  # fmt: skip


@needs_poppler
def test_every_symbol_and_hazard_is_on_the_sheets(tmp_path: Path) -> None:
    of = outline()
    pdf = chart.tiles(of, "a3")
    assert pdf == chart.tiles(of, "a3")
    text = squeezed(words(pdf, tmp_path))
    # A title that runs over the edge of a sheet is read from both.
    for symbol in plan_chart(of).symbols:
        for word in (symbol.number, *symbol.title.split(), *" ".join(symbol.details).split()):
            assert word in text, (symbol.title, word)
    for hazard in of.hazards:
        assert squeezed(plain_words(hazard.avoid)) in text
    names = re.findall(r"\b([A-Z]\d) of \d+ rows by \d+", words(pdf, tmp_path))
    front = words(pdf, tmp_path, "-f", "1", "-l", "1")
    assert names == sorted(names) and len(set(names)) == len(names)
    assert f"One chart on {len(names)} sheets" in front
    assert all(name in front for name in names)
    ahead = pages(pdf) - len(names)
    assert ahead in (1, 2)
    # A sheet holds the words that it shows, not those of the whole chart.
    for number in (ahead + 1, pages(pdf)):
        alone = words(pdf, tmp_path, "-f", str(number), "-l", str(number))
        assert len(alone) < len(text) / 3
        assert of.mark in alone


@needs_poppler
def test_a_chart_of_one_sheet_and_hostile_words(tmp_path: Path) -> None:
    pdf = chart.tiles(hostile(), "a0")
    assert pages(pdf) >= 2
    assert "1 rows by" in words(pdf, tmp_path) or "rows by" in words(pdf, tmp_path)
    assert re.search(r"Tagged:\s+yes", poppler("pdfinfo", pdf, tmp_path))


# ---- the stages alone ----------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_overview_holds_every_stage_step_finding_and_way_between(name: str) -> None:
    of = outline(name)
    plan = plan_overview(of)
    boxes = [symbol for symbol in plan.symbols if symbol.form == "process"]
    taken = [node for node in of.nodes if node.kind in ("check", "reading", "step")]
    assert len(boxes) == len({node.stage for node in taken})
    numbers: list[int] = []
    for box in boxes:
        line = next(line for line in box.details if line.startswith("Step"))
        for run in re.findall(r"(\d+)(?: to (\d+))?", line):
            numbers += range(int(run[0]), int(run[1] or run[0]) + 1)
    assert sorted(numbers) == sorted(int(node.number) for node in taken)
    said = " ".join(detail for box in boxes for detail in box.details)
    led = {o.exit.target for node in of.nodes for o in node.outcomes}
    for node in of.nodes:
        if node.kind in ("fault", "handoff", "done") and node.name in led:
            assert re.search(rf"\b{node.number}\b", said), node.number
    stages = {node.name: node.stage for node in taken}
    order = list(dict.fromkeys(stages.values()))
    between = 0
    for node in taken:
        ways = [o.exit for o in node.outcomes] + ([node.exit] if node.exit else [])
        for way in ways:
            for end in {way.target, *dict(way.by_model).values()} & stages.keys():
                between += order.index(stages[end]) > order.index(node.stage)
    assert between > 0
    assert sum(int(a.answer.split()[0]) for a in plan.arrows if a.answer) == between


@needs_poppler
def test_the_overview_is_one_page_with_every_hazard(tmp_path: Path) -> None:
    of = outline()
    drawn, pdf = chart.overview(of)
    assert pages(pdf) == 1
    text = squeezed(words(pdf, tmp_path))
    for stage in of.stages:
        assert squeezed(plain_words(stage.title)) in text
    for hazard in of.hazards:
        assert squeezed(plain_words(hazard.avoid)) in text
    root = ElementTree.fromstring(drawn)
    links = {a.get("href") for a in root.iter(f"{SVG}a")}
    assert {f"#stage-{stage.name}" for stage in of.stages} <= links
    assert all(group.find(f".//{SVG}title") is not None
               for group in root.iter(f"{SVG}g") if "symbol" in group.get("class", ""))  # fmt: skip


def test_an_overview_of_hostile_words_and_of_a_tree_without_stages() -> None:
    drawn, pdf = chart.overview(hostile())
    ElementTree.fromstring(drawn)
    assert pages(pdf) == 1


# ---- the command, and the measure ----------------------------------------------------------


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tree, out = str(TREES / "water-pump.tree"), str(tmp_path)
    assert main(["chart", tree, "--out", out, "--overview"]) == 0
    assert main(["chart", tree, "--out", out, "--tiles", "--paper", "a2"]) == 0
    assert main(["chart", tree, "--out", out, "--highlight", "weak", "--paper", "a2"]) == 0
    assert {path.name for path in tmp_path.iterdir()} == {
        "water-pump-overview.svg", "water-pump-overview.pdf", "water-pump-chart-tiles.pdf",
        "water-pump-ways-weak-chart.svg", "water-pump-ways-weak-chart.pdf",
    }  # fmt: skip
    capsys.readouterr()
    assert main(["chart", tree, "--out", out, "--highlight", "nix"]) == 2
    assert "no symptom, fault or step nix" in capsys.readouterr().err
    assert main(["chart", tree, "--out", out, "--overview", "--tiles"]) == 2
    assert "`--overview` shows" in capsys.readouterr().err


def test_crossings_and_lengths_of_lines_are_counted_right() -> None:
    """By hand: a cross, a touching pair, and two lines of one symbol."""
    across = Line((((0.0, 5.0), (10.0, 5.0)),), frozenset("ab"), False)
    down = Line((((5.0, 0.0), (5.0, 10.0)),), frozenset("cd"), False)
    twice = Line((((2.0, 0.0), (2.0, 10.0), (8.0, 10.0), (8.0, 0.0)),), frozenset("ef"), False)
    own = Line((((5.0, 0.0), (5.0, 10.0)),), frozenset("bd"), False)
    far = Line((((0.0, 50.0), (3.0, 54.0)),), frozenset("gh"), False)
    assert crossings([across, down]) == 1
    assert crossings([across, twice]) == 2
    assert crossings([across, own]) == 0
    assert crossings([across, down, far]) == 1
    assert length(far) == 5.0
