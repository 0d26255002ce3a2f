"""The chart of trees of any shape, size and script: nothing is lost, and lines keep apart."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET

import networkx as nx
import pytest
from demos import TREES
from lines_of import figures, plain
from pypdf import PdfReader
from wild_outline import WORDS, wild

from treewright.project import Project
from treewright.render import chart
from treewright.render.chart.engine import find_engine
from treewright.render.chart.frame import LEAST, SIZES
from treewright.render.chart.layout import Draughtsman, lay_out
from treewright.render.chart.plan import plan_chart
from treewright.render.chart.symbols import Plan
from treewright.render.chart.type import clean, plain_words
from treewright.render.chart.untangle import untangled
from treewright.render.compile import compile_tree
from treewright.render.outline import Outline
from treewright.render.paper import legible

SVG = "{http://www.w3.org/2000/svg}"
DEMOS = ("water-pump", "air-compressor", "cold-room", "log-splitter")


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def words(element: ET.Element) -> str:
    return "".join("".join(text.itertext()) for text in element.iter(f"{SVG}text"))


def demo(name: str) -> Outline:
    tree = Project().load(TREES / f"{name}.tree").tree
    assert tree is not None
    return compile_tree(tree)


# ---- nothing is lost -----------------------------------------------------------------------


@pytest.mark.parametrize("manner", sorted(WORDS))
@pytest.mark.parametrize("nodes", [3, 4, 7, 15, 40, 100, 300])
def test_all_that_a_tree_says_stands_on_its_chart(nodes: int, manner: str) -> None:
    outline = wild(nodes, nodes, manner)
    root = ET.fromstring(chart.svg(outline))
    ids = {at: found for found in root.iter() if (at := found.get("id"))}
    for node in outline.nodes:
        shown = squeezed(words(ids[f"node-{node.name}"]))
        for text in (node.number, plain_words(node.title), plain_words(node.remedy)):
            assert squeezed(text) in shown
    ways: dict[tuple[str | None, str | None], str] = {}
    for group in root.iter(f"{SVG}g"):
        if "arrow" in group.get("class", "").split():
            at = (group.get("data-from"), group.get("data-answer"))
            ways[at] = ways.get(at, "") + words(group)
    for node in outline.nodes:
        for index, outcome in enumerate(node.outcomes):
            assert squeezed(plain_words(outcome.label)) in squeezed(ways[node.name, str(index)])
    known = {"svg", "title", "desc", "rect", "g", "path", "text", "circle", "a"}
    assert {element.tag.removeprefix(SVG) for element in root.iter()} <= known


@pytest.mark.parametrize("nodes", [3, 30, 120])
def test_every_symbol_is_named_for_a_screen_reader_and_leads_to_its_step(nodes: int) -> None:
    outline = wild(nodes, 1)
    root = ET.fromstring(chart.svg(outline))
    assert root.get("aria-labelledby") == "chart-title chart-desc"
    symbols = [g for g in root.iter(f"{SVG}g") if "symbol" in g.get("class", "").split()]
    links = {}
    for group in symbols:
        title = group.find(f".//{SVG}title")
        assert title is not None and (title.text or "").strip()
        link = group.find(f"{SVG}a")
        if group.get("id"):
            assert link is not None
            links[group.get("id")] = link.get("href")
        elif "connector" in group.get("class", ""):
            assert link is not None and link.get("href", "").startswith("#step-")
    for node in outline.nodes:
        assert links[f"node-{node.name}"] == f"#step-{node.name}"
    for symptom in outline.symptoms:
        assert links[f"chart-symptom-{symptom.name}"] == f"#symptom-{symptom.name}"


def smallest_type(pdf: PdfReader) -> float:
    sizes: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            sizes.append(abs(size * tm[3] * cm[3]))

    for page in pdf.pages:
        page.extract_text(visitor_text=note)
    return min(sizes)


@pytest.mark.parametrize("paper", sorted(SIZES))
def test_on_every_paper_type_is_8_points_at_least_and_pages_name_each_other(
    paper: chart.Paper,
) -> None:
    outline = wild(24, 3)
    pdf = PdfReader(io.BytesIO(chart.pdf(outline, paper)))
    assert smallest_type(pdf) >= LEAST - 0.01
    count = len(pdf.pages)
    shown = [page.extract_text() for page in pdf.pages]
    for number, (page, text) in enumerate(zip(pdf.pages, shown, strict=True), 1):
        sides = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert sides == pytest.approx(SIZES[paper], abs=0.1)
        assert f"page {number} of {count}" in text
        for named in re.findall(r"\bpage (\d+)", text):
            assert 1 <= int(named) <= count
    whole = squeezed("".join(shown))
    for node in outline.nodes:
        assert squeezed(legible(plain_words(node.title))) in whole


@pytest.mark.parametrize("manner", sorted(WORDS))
def test_any_words_can_be_printed_in_every_way(manner: str) -> None:
    outline = wild(9, 2, manner)
    for pdf in (
        chart.pdf(outline, "a3"),
        chart.tiles(outline, "a2"),
        chart.overview(outline)[1],
        chart.pdf(outline, "a2", highlight=outline.nodes[-1].name),
    ):
        shown = "".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
        assert clean(outline.mark) in shown


# ---- lines keep apart ----------------------------------------------------------------------


def tangle(plan: Plan) -> tuple[int, float]:
    ((_, layout),) = lay_out([plan], find_engine())
    found = figures(plan, layout)
    return found.crossings, found.length


@pytest.mark.parametrize("name", DEMOS)
def test_lines_of_a_demo_hardly_cross(name: str) -> None:
    outline = demo(name)
    crossings, length = tangle(Draughtsman(outline, find_engine()).whole()[0])
    before = tangle(plain(outline))
    assert crossings <= 2 < before[0]
    assert length < 0.8 * before[1]


@pytest.mark.parametrize("nodes", [4, 9, 16, 30])
def test_lines_cross_no_more_than_with_a_line_for_every_way(nodes: int) -> None:
    before = after = 0.0
    for seed in range(4):
        outline = wild(nodes, seed)
        drawn = tangle(Draughtsman(outline, find_engine()).whole()[0])
        every = tangle(plain(outline))
        assert drawn[0] <= min(every[0], 1)
        before, after = before + every[1], after + drawn[1]
    assert after <= before


@pytest.mark.parametrize(("nodes", "seed"), [(3, 0), (20, 3), (60, 1), (120, 2)])
def test_circles_come_in_pairs_and_all_lines_lead_downwards(nodes: int, seed: int) -> None:
    outline = wild(nodes, seed)
    plan, (_, layout) = Draughtsman(outline, find_engine()).whole()
    leaving = {s.number for s in plan.symbols if s.form == "connector"}
    leaving |= {mark for symbol in plan.symbols for mark in symbol.again}
    assert leaving == {s.entered for s in plan.symbols if s.entered}
    heads = {arrow.head for arrow in plan.arrows}
    led = {way.exit.target for node in outline.nodes for way in node.outcomes}
    for symbol in plan.symbols:
        if symbol.id.removeprefix("node-") in led and symbol.form == "finding":
            assert symbol.key in heads  # a finding stands beside what finds it
    for arrow in plan.arrows:
        assert layout.places[arrow.tail][1] < layout.places[arrow.head][1]


def test_crossings_are_counted_as_a_slower_count_finds_them() -> None:
    for outline in (wild(30, 0), wild(50, 1), demo("cold-room")):
        plan = plain(outline)
        ((_, layout),) = lay_out([plan], find_engine())
        found, jumps = untangled(plan, layout)
        slow = figures(plan, layout)
        # Lines that meet in a corner are counted by one and not by the other.
        assert found.crossings == pytest.approx(slow.crossings, rel=0.01, abs=1)
        assert found.length == pytest.approx(slow.length)
        assert found.crossings > 10 and len(jumps) > 4


def test_a_large_tangle_is_taken_apart_before_it_is_laid_out() -> None:
    """Ways that pass many steps are circles from the start: as lines they keep the engine long."""
    outline = wild(300, 300, stages=0)
    plan = plan_chart(outline)
    every = plain(outline)
    assert len(plan.jumps) > 50 and len(plan.arrows) == len(every.arrows)
    before, after = tangle_of_depths(every), tangle_of_depths(plan)
    assert after < before / 3


def tangle_of_depths(plan: Plan) -> int:
    """Over how many rows the ways of a plan run as lines, each symbol as high as its ways allow."""
    ways = [arrow for arrow in plan.arrows if arrow.origin is not None and arrow.kind != "note"]
    graph = nx.DiGraph((arrow.tail, arrow.head) for arrow in ways)
    row: dict[str, int] = {}
    for key in nx.topological_sort(graph):
        row[key] = max((row[tail] + 1 for tail in graph.predecessors(key)), default=0)
    return sum(row[arrow.head] - row[arrow.tail] for arrow in ways)
