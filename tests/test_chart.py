"""The chart: nothing of the tree is missing from it, and nothing an author writes acts in it."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import replace

import pytest
from pypdf import PdfReader
from sample_outline import FREE, hostile, sample, to, word

from treewright.render import chart
from treewright.render.chart.engine import Engine, EngineFailure, find_engine, read_layout
from treewright.render.chart.frame import LEAST, SERIES, SIZES
from treewright.render.chart.layout import Draughtsman
from treewright.render.chart.plan import plan_chart
from treewright.render.chart.shape import figure
from treewright.render.chart.type import DETAIL, Line, in_diamond, wrap
from treewright.render.outline import Node, Outline, Setup, Stage, Symptom
from treewright.render.paper import pages
from treewright.render.prose import plain

SVG = "{http://www.w3.org/2000/svg}"


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)


def words(element: ET.Element) -> str:
    """The words drawn in an element: the lines of type joined, without what is only spoken."""
    return " ".join("".join(text.itertext()) for text in element.iter(f"{SVG}text"))


def drawn(outline: Outline) -> tuple[ET.Element, dict[str, ET.Element]]:
    root = parsed(chart.svg(outline))
    return root, {at: found for found in root.iter() if (at := found.get("id"))}


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def long_tree(checks: int) -> Outline:
    """A tree of so many checks, each with a fault, in stages of ten."""
    nodes: list[Node] = []
    for number in range(1, checks + 1):
        last = number == checks
        nodes.append(
            Node(
                f"check-{number}",
                "check",
                str(number),
                f"Is the indicator lamp number {number} on the side panel lit?",
                "",
                f"stage-{number // 10}",
                (),
                FREE,
                None,
                (),
                (),
                (),
                (Setup("locked", "lock-out", False, False),) if number % 4 == 0 else (),
                ("live",) if number % 3 == 0 else (),
                outcomes=(
                    word("lit", to("well") if last else to(f"check-{number + 1}"), normal=True),
                    word("dark", to(f"fault-{number}", kind="found")),
                ),
            )
        )
    for number in range(1, checks + 1):
        nodes.append(
            Node(
                f"fault-{number}",
                "fault",
                f"F{number}",
                f"Lamp {number} has failed",
                *("", None, (), FREE, None, (), (), (), (), ()),
                remedy="Fit a new lamp of the same rating.",
            )
        )
    nodes.append(
        Node("well", "done", "D1", "All lamps are lit", *("", None, (), FREE, None), *((),) * 5)
    )
    return replace(
        sample(),
        symptoms=(Symptom("dark", "S1", "Panel is dark", "", "check-1", ()),),
        stages=tuple(Stage(f"stage-{n}", f"Row {n}", "", ()) for n in range(checks // 10 + 1)),
        nodes=tuple(nodes),
    )


# What must be on it


def test_every_node_stands_on_the_chart_with_its_number_and_title() -> None:
    outline = sample()
    _, ids = drawn(outline)
    for node in outline.nodes:
        shown = words(ids[f"node-{node.name}"])
        assert node.number in shown.split()
        assert squeezed(plain(node.title)) in squeezed(shown)
        assert squeezed(plain(node.remedy)) in squeezed(shown)
    for symptom in outline.symptoms:
        shown = words(ids[f"chart-symptom-{symptom.name}"])
        assert shown == f"{symptom.number} {symptom.title}"


def test_every_exit_of_a_decision_bears_its_answer_and_its_limit() -> None:
    outline = sample()
    root, _ = drawn(outline)
    arrows: dict[tuple[str | None, str | None], str] = {}
    for group in root.iter(f"{SVG}g"):
        if "arrow" in (group.get("class") or "").split():
            at = (group.get("data-from"), group.get("data-answer"))
            arrows[at] = arrows.get(at, "") + words(group)
    exits = 0
    for node in outline.nodes:
        for index, outcome in enumerate(node.outcomes):
            exits += 1
            wanted = squeezed(outcome.label + outcome.detail)
            assert squeezed(arrows[node.name, str(index)]) == wanted
    assert exits > 15


def test_every_hazard_shows_before_its_node() -> None:
    """In its own bracket, or in that of the set-up directly in front of it; and only once."""
    outline = sample()
    content = plan_chart(outline)
    symbols = {symbol.key: symbol for symbol in content.symbols}
    above: dict[str, list[str]] = {}
    for arrow in content.arrows:
        if arrow.kind != "note":
            continue
        guarded = {arrow.head}
        if symbols[arrow.head].form == "preparation":
            guarded |= {after.head for after in content.arrows if after.tail == arrow.head}
        for key in guarded:
            named = [warning.name for warning in symbols[arrow.tail].warnings]
            above.setdefault(symbols[key].id, []).extend(named)
    dangerous = [node for node in outline.nodes if node.hazards]
    assert dangerous
    assert any(node.setup for node in dangerous)
    procedures = {procedure.name: procedure for procedure in outline.procedures}
    for node in outline.nodes:
        needed = set(node.hazards)
        for setup in (*node.setup, *node.takedown, *node.undo):
            needed.update(procedures[setup.procedure].hazards if setup.procedure else ())
        said = above.get(f"node-{node.name}", [])
        assert needed <= set(said)
        assert len(said) == len(set(said))
    root, _ = drawn(outline)
    shown = words(root)
    for hazard in outline.hazards:
        assert hazard.signal.upper() in shown
        assert squeezed(plain(hazard.title)) in squeezed(shown)


def test_what_is_undone_before_a_retest_is_said_with_its_hazards() -> None:
    outline = sample()
    nodes = tuple(
        replace(node, takedown=(Setup("locked-out", "lock-out", True, True),), hazards=())
        if node.name == "clogged-screen"
        else node
        for node in outline.nodes
    )
    changed = replace(outline, nodes=nodes)
    _, ids = drawn(changed)
    (lock_out,) = [entry for entry in outline.procedures if entry.name == "lock-out"]
    wanted = f"Before you test again: {lock_out.number} {plain(lock_out.title)}"
    assert squeezed(wanted) in squeezed(words(ids["node-clogged-screen"]))
    (fault,) = [node for node in nodes if node.name == "clogged-screen"]
    notes = [s for s in plan_chart(changed).symbols if s.title == f"Before {fault.number}"]
    assert {warning.name for note in notes for warning in note.warnings} >= set(lock_out.hazards)
    assert lock_out.hazards


def test_a_way_that_differs_by_model_says_so() -> None:
    outline = sample()
    nodes = tuple(
        replace(
            node,
            outcomes=tuple(
                replace(one, exit=replace(one.exit, by_model=(("D3", "bath"),)))
                for one in node.outcomes
            ),
        )
        if node.name == "contactor"
        else node
        for node in outline.nodes
    )
    root, _ = drawn(replace(outline, nodes=nodes))
    assert squeezed(f"D3: to {outline.node('bath').number}") in squeezed(words(root))


def test_hazards_of_a_set_up_show_before_it() -> None:
    outline = sample()
    cold = next(node for node in outline.nodes if node.name == "cold")
    assert not cold.hazards and cold.setup[0].procedure == "lock-out"
    content = plan_chart(outline)
    note = next(s for s in content.symbols if s.title == f"Before {cold.number}")
    assert [warning.name for warning in note.warnings] == ["live"]


def test_the_gravest_hazard_stands_first() -> None:
    notes = [s for s in plan_chart(sample()).symbols if len(s.warnings) > 1]
    assert notes
    assert all(note.warnings[0].signal == "danger" for note in notes)


def test_licence_and_people_are_said() -> None:
    root, _ = drawn(sample())
    assert "Only with a licence: electrician" in words(root)
    assert "2 people" in words(root)


def test_a_limit_stands_in_both_units_and_for_each_model() -> None:
    root, ids = drawn(sample())
    assert squeezed("60 °C ± 5 °C (55 to 65 °C); 131 to 149 °F") in squeezed(
        words(ids["node-bath"])
    )
    for limit in ("D2: 12 s ± 3 s (9 to 15 s)", "D3: 20 s ± 4 s (16 to 24 s)"):
        assert squeezed(limit) in squeezed(words(root))


def test_a_step_done_on_the_way_has_a_symbol_at_each_place() -> None:
    outline = sample()
    nodes = tuple(
        replace(
            node,
            outcomes=(*node.outcomes[:1], replace(node.outcomes[1], exit=to("bath", "top-up"))),
        )
        if node.name == "contactor"
        else node
        for node in outline.nodes
    )
    root, ids = drawn(replace(outline, nodes=nodes))
    assert words(ids["node-top-up"]) == words(ids["node-top-up-2"])
    edges = {at for at in ids if at.startswith("edge-")}
    assert {"edge-contactor-top-up-1", "edge-top-up-bath-1", "edge-float-top-up-1"} <= edges
    notices = [one for one in words(root).split("Before ") if one.startswith("9 NOTICE")]
    assert len(notices) == 2


def test_the_undoing_at_an_end_is_said() -> None:
    _, ids = drawn(sample())
    assert squeezed("Before you leave: P5 Take the test gauge off") in squeezed(
        words(ids["node-all-well"])
    )


def test_a_fault_names_what_to_take_again() -> None:
    _, ids = drawn(sample())
    assert "Then take 8 again." in words(ids["node-clogged-screen"])
    assert "Then take 5 again." in words(ids["node-dead-contactor"])  # what led there
    assert words(ids["node-dead-contactor"]).split()[-1] == "5"  # the circle below it


def test_symbols_are_those_of_the_standard() -> None:
    forms = Counter(symbol.form for symbol in plan_chart(sample()).symbols)
    kinds = Counter(node.kind for node in sample().nodes)
    assert forms["decision"] == kinds["check"] + kinds["reading"]
    assert forms["finding"] == kinds["fault"]
    assert forms["terminator"] == kinds["handoff"] + kinds["done"] + len(sample().symptoms)
    assert forms["preparation"] == sum(1 for node in sample().nodes if node.setup)


def test_a_way_that_leads_nowhere_is_shown_as_such() -> None:
    outline = sample()
    nodes = tuple(
        replace(node, exit=replace(node.exit, target=None)) if node.exit else node
        for node in outline.nodes
    )
    assert "no way on" in words(parsed(chart.svg(replace(outline, nodes=nodes))))


# How it flows


def test_loops_and_retests_are_no_arrows_so_that_all_flows_downward() -> None:
    content = plan_chart(sample())
    heads: dict[str, list[str]] = {}
    for arrow in content.arrows:
        heads.setdefault(arrow.tail, []).append(arrow.head)

    def reaches(start: str, wanted: str) -> bool:
        waiting, seen = list(heads.get(start, ())), set()
        while waiting:
            at = waiting.pop()
            if at == wanted:
                return True
            if at not in seen:
                seen.add(at)
                waiting.extend(heads.get(at, ()))
        return False

    assert not any(reaches(symbol.key, symbol.key) for symbol in content.symbols)
    layout = read_layout(find_engine()(chart.dot_source(sample())))
    for arrow in content.arrows:
        assert layout.places[arrow.tail][1] < layout.places[arrow.head][1]


def test_connector_circles_come_in_pairs() -> None:
    content = plan_chart(sample())
    leaving = {s.number for s in content.symbols if s.form == "connector"}
    leaving |= {mark for symbol in content.symbols for mark in symbol.again}
    assert leaving == {s.entered for s in content.symbols if s.entered}
    # 1, 5 to 8 are taken again after a remedy; H2 stands in an earlier stage than what leads there.
    assert leaving == {"1", "5", "6", "7", "8", "H2"}


def test_no_two_symbols_overlap() -> None:
    for outline in (sample(), hostile(), long_tree(30)):
        content = plan_chart(outline)
        figures = {symbol.key: figure(symbol) for symbol in content.symbols}
        layout = read_layout(find_engine()(chart.dot_source(outline)))
        boxes = []
        for key, shape in figures.items():
            x, y = layout.places[key]
            boxes.append((x - shape.width / 2, y - shape.height / 2, shape.width, shape.height))
        for index, (x, y, w, h) in enumerate(boxes):
            for x2, y2, w2, h2 in boxes[index + 1 :]:
                apart = x + w <= x2 + 1 or x2 + w2 <= x + 1 or y + h <= y2 + 1 or y2 + h2 <= y + 1
                assert apart


def test_the_words_of_a_diamond_stay_inside_it() -> None:
    question = "Does the contactor pull in when you press the green start button twice?"
    for text in (question, "Short?", "Donaudampfschiff" * 9, question * 8):
        fitted = in_diamond(Line("12", 18, True), (Line(text, 11, True), Line("8 to 9 bar", 10)))
        top = fitted.top + fitted.lines[0].height
        for line in fitted.lines[1:]:
            far = max(abs(top), abs(top + line.height))
            assert line.width <= fitted.width * (1 - 2 * far / fitted.height)
            top += line.height
        assert squeezed("".join(line.text for line in fitted.lines)) == squeezed(
            f"12{text}8 to 9 bar"
        )


def test_a_number_and_its_unit_are_not_parted() -> None:
    text = "60 °C ± 5 °C (55 to 65 °C); below 43.6 psi"
    for room in range(20, 200, 5):
        for line in wrap(text, room, 10):
            assert not re.match(r"°C|psi", line.text) or room < 50


# What an author writes is text


def test_hostile_text_stays_text() -> None:
    outline = hostile()
    text = chart.svg(outline)
    root = parsed(chart.PROLOG + text)
    known = {"svg", "title", "desc", "rect", "g", "path", "text", "circle", "a"}
    assert {element.tag.removeprefix(SVG) for element in root.iter()} == known
    for element in root.iter():
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert "alert" not in value and "javascript" not in value
            if name.endswith("href"):
                assert re.fullmatch(r"#(step|symptom|procedure)-[a-z0-9.-]+", value)
    shown = squeezed(words(root))
    assert squeezed("</script><script>alert(1)</script>") in shown
    assert "\u202e" not in text
    assert squeezed("Donaudampfschiff" * 12) in shown


def test_hostile_text_leaves_no_label_of_the_graph() -> None:
    dot = chart.dot_source(hostile('"]; evil [URL="javascript:x"]; \\" \\N </a>\x00\x0b\ud800'))
    outside = re.sub(r'"(?:[^"\\]|\\.)*"', '""', dot)
    assert "evil" not in outside and "URL" not in outside
    assert not re.search(r"[\x00-\x08\x0b]", dot)
    layout = read_layout(find_engine()(dot))
    assert set(layout.places) >= {symbol.key for symbol in plan_chart(hostile("x")).symbols}


def test_ids_are_each_used_once() -> None:
    for outline in (sample(), hostile()):
        ids = Counter(e.get("id") for e in parsed(chart.svg(outline)).iter() if e.get("id"))
        assert set(ids.values()) == {1}


def test_the_drawing_can_be_read_aloud_and_fits_its_page() -> None:
    root, ids = drawn(sample())
    assert root.get("role") == "graphics-document"
    assert "width" not in root.attrib and "height" not in root.attrib
    assert ids["chart-title"].text == plain(sample().title)
    assert sample().mark in (ids["chart-desc"].text or "")
    spoken = ids["node-supply"].find(f".//{SVG}title")
    assert spoken is not None and "A shock can kill." in (spoken.text or "")
    assert chart.svg(sample()).startswith("<svg ")


def test_the_same_tree_gives_the_same_bytes() -> None:
    assert chart.svg(sample()) == chart.svg(sample())
    assert chart.dot_source(sample()) == chart.dot_source(sample())
    assert chart.pdf(sample(), "a4") == chart.pdf(sample(), "a4")


# The engine


def failing(times: int) -> tuple[Engine, list[str]]:
    """An engine that fails so many times before it works, and what it was asked."""
    asked: list[str] = []
    sound = find_engine()

    def run(dot: str) -> str:
        asked.append(dot)
        if len(asked) <= times:
            raise EngineFailure("it fell over")
        return sound(dot)

    return run, asked


@pytest.mark.parametrize("times", [1, 2])
def test_a_failing_engine_is_asked_for_less(times: int) -> None:
    run, asked = failing(times)
    root = parsed(chart.svg(sample(), run=run))
    assert len(asked) == times + 1
    assert "subgraph" in asked[0] and "subgraph" not in asked[-1]
    for part in (*sample().nodes, *sample().stages):
        assert squeezed(plain(part.title)) in squeezed(words(root))


def test_an_engine_that_never_works_is_said_in_plain_words() -> None:
    run, _ = failing(99)
    with pytest.raises(chart.ChartError, match="could not be laid out"):
        chart.svg(sample(), run=run)
    with pytest.raises(chart.ChartError, match="there is no program"):
        chart.svg(sample(), program="no-such-program-anywhere")


@pytest.mark.parametrize("answer", ["", "{}", "[1]", '{"bb": "0,0,1"}', "no JSON"])
def test_a_muddled_answer_is_a_failure(answer: str) -> None:
    with pytest.raises(chart.ChartError):
        chart.svg(sample(), run=lambda dot: answer)


@pytest.mark.parametrize("checks", [1, 2, 12, 60, 150])
def test_small_and_large_trees_are_laid_out(checks: int) -> None:
    outline = long_tree(checks)
    _, ids = drawn(outline)
    assert {f"node-{node.name}" for node in outline.nodes} <= set(ids)


def test_graphs_that_fail_together_are_laid_out_one_by_one() -> None:
    sound, asked = find_engine(), []

    def alone(dot: str) -> str:
        asked.append(dot.count("digraph"))
        if asked[-1] > 1:
            raise EngineFailure("one at a time")
        return sound(dot)

    assert chart.pdf(sample(), "a4", run=alone) == chart.pdf(sample(), "a4")
    assert max(asked) > 1 and asked.count(1) > 5


def test_a_chart_is_as_large_as_it_was_measured() -> None:
    for outline in (sample(), hostile(), long_tree(12)):
        draughtsman = Draughtsman(outline, find_engine())
        content = draughtsman.plan()
        (measured,) = draughtsman.measured([content])
        (drawing,) = draughtsman.drawn([content])
        assert measured == pytest.approx(drawing.size, rel=0.02)


# One symptom, one model


def test_a_chart_for_one_symptom_holds_what_it_reaches() -> None:
    ids = {e.get("id") for e in parsed(chart.svg(sample(), symptom="dead")).iter()}
    assert "node-supply" in ids and "node-float" not in ids
    with pytest.raises(LookupError):
        chart.svg(sample(), symptom="no-such")


def test_a_chart_for_one_model_holds_its_limits() -> None:
    shown = words(parsed(chart.svg(sample(), model="D3")))
    assert "20 s ± 4 s" in shown and "12 s ± 3 s" not in shown


# Paper


def texts(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def test_one_sheet_holds_all_of_it() -> None:
    outline = sample()
    used = chart.paper_needed(outline)
    pdf = chart.pdf(outline, used)
    assert pages(pdf) == 1
    (text,) = texts(pdf)
    shown = squeezed(text)
    assert squeezed(outline.mark) in shown
    for hazard in outline.hazards:
        for part in (hazard.title, hazard.harm, hazard.avoid):
            assert squeezed(plain(part)) in shown
    for node in outline.nodes:
        assert squeezed(plain(node.title)) in shown
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert used is not None
    assert sorted((float(box.width), float(box.height))) == pytest.approx(SIZES[used], abs=0.1)


def cut(outline: Outline, paper: chart.Paper) -> tuple[list[str], bytes]:
    pdf = chart.pdf(outline, paper)
    return texts(pdf), pdf


def smallest_type(pdf: bytes) -> float:
    sizes: list[float] = []

    def note(text: str, cm: object, tm: list[float], font: object, size: float) -> None:
        if text.strip():
            sizes.append(abs(size * tm[3] * cm[3]))  # type: ignore[index]

    for page in PdfReader(io.BytesIO(pdf)).pages:
        page.extract_text(visitor_text=note)
    return min(sizes)


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_a_paper_too_small_is_cut_into_pages_that_name_each_other(paper: chart.Paper) -> None:
    found, pdf = cut(sample(), paper)
    assert len(found) > 1
    shown = squeezed(" ".join(found))
    for node in sample().nodes:
        assert squeezed(plain(node.title)) in shown
    for number, text in enumerate(found, 1):
        assert f"page {number} of {len(found)}" in text
    assert re.search(r"page 2\b", found[0])
    assert smallest_type(pdf) >= LEAST - 0.01


def test_without_a_paper_asked_for_it_is_what_an_office_prints() -> None:
    small, large = chart.pdf(long_tree(2)), chart.pdf(long_tree(40))
    for pdf, paper in ((small, "a4"), (large, "a3")):
        for page in PdfReader(io.BytesIO(pdf)).pages:
            sides = sorted((float(page.mediabox.width), float(page.mediabox.height)))
            assert sides == pytest.approx(SIZES[paper], abs=0.1)
        assert smallest_type(pdf) >= LEAST - 0.01
    assert pages(small) == 1 and pages(large) > 1


def test_paper_is_no_larger_than_needed() -> None:
    needed = [chart.paper_needed(long_tree(checks)) for checks in (1, 2, 6, 20, 40)]
    order = [SERIES.index(paper) for paper in needed if paper]
    assert len(order) == 5 and order == sorted(order)
    assert needed[0] == "a4" and order[-1] > order[0]
    for paper in SERIES[: order[3]]:
        assert pages(chart.pdf(long_tree(20), paper)) > 1


def test_a_long_chart_stands_in_columns_on_one_sheet() -> None:
    outline = long_tree(40)
    used = chart.paper_needed(outline)
    assert used is not None
    pdf = chart.pdf(outline, used)
    assert pages(pdf) == 1
    (text,) = texts(pdf)
    assert re.findall(r"page \d+", text) == ["page 1"]  # in the head, on no connector circle
    for number in range(1, 41):
        assert f"F{number}" in text.split()


def test_hostile_text_makes_a_page() -> None:
    assert pages(chart.pdf(hostile(), "a3")) >= 1


def test_smallest_type_of_the_chart_is_known() -> None:
    root, _ = drawn(sample())
    sizes = {float(text.get("font-size", "0")) for text in root.iter(f"{SVG}text")}
    assert min(sizes) == DETAIL


def test_a_tree_without_anything_still_makes_a_chart() -> None:
    bare = replace(sample(), nodes=(), symptoms=(), stages=(), hazards=())
    assert words(parsed(chart.svg(bare))) == ""
    assert pages(chart.pdf(bare)) == 1


def test_the_source_text_of_the_graph_can_be_read() -> None:
    lines = chart.dot_source(sample()).splitlines()
    (decision,) = [line for line in lines if "3 Is the suction screen clear?" in line]
    key = decision.split()[0]
    (answer,) = [line.split()[0] for line in lines if 'label="clogged"' in line]
    (fault,) = [line.split()[0] for line in lines if "F1 Suction screen clogged" in line]
    assert any(line.strip().startswith(f"{key} -> {answer} ") for line in lines)
    notes = [line.split()[0] for line in lines if "CAUTION The edge of the screen" in line]
    assert any(line.strip().startswith(f"{answer} -> {fault} ") for line in lines)
    assert any(f"{note} -> {fault} " in line for note in notes for line in lines)
