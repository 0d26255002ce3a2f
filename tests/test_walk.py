"""Ways through a tree: faults reached, set-up, hazards, retests, ends."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, visit
from playwright.sync_api import Browser, Page, expect
from sample_outline import PICTURES, sample
from walker import SVG, begin, changed, confirm, go, kind, number

from treewright.render import site
from treewright.render.outline import Node


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("walk") / "weak-jet.html"
    file.write_text(site.page(sample(), SVG, PICTURES), encoding="utf-8")
    return file


WALKS = [
    ("F1", "Jets are weak", "D2", ["yes", "clogged"]),
    ("F2", "Pump does not start", "D2", ["230 231", "no"]),
    ("F3", "Pump does not start", "D3", ["230 231", "yes", "54.9"]),
    ("F4", "Jets are weak", "D2", ["yes", "clear", "60", "15.1"]),
    ("F5", "Jets are weak", "D3", ["yes", "clear", "60", "24", "2.9 3.0"]),
    ("F6", "Jets are weak", "D2", ["low", "yes", "clear", "60", "9", "3.0 3.7"]),
    ("F7", "Jets are weak", "D2", ["yes", "clear", "60", "9", "2.9 3.7"]),
]


@needs_chromium
@pytest.mark.parametrize(("fault", "symptom", "model", "answers"), WALKS, ids=lambda w: str(w)[:9])
def test_every_fault_is_reached_by_answers(
    browser: Browser, tree: Path, fault: str, symptom: str, model: str, answers: list[str]
) -> None:
    with visit(browser, tree) as seen:
        begin(seen.page, symptom, model)
        assert go(seen.page, *answers, until=lambda page: kind(page) == "Fault found")[-1] == fault


def test_the_walks_reach_every_fault_there_is() -> None:
    faults = {node.number for node in sample().nodes if node.kind == "fault"}
    assert {walk[0] for walk in WALKS} == faults


@needs_chromium
def test_set_up_comes_once_is_undone_where_excluded_and_at_the_end(
    browser: Browser, tree: Path
) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        # 1 float, P1 lock out, 2 cover (needs locked-out), 3 screen (needs it too: not again),
        # 10 close the cover on the way, 6 bath, P2 restore (warm excludes locked-out),
        # P3 warm up, 7 prime, P4 gauge (warm still holds: not again), 8 jets, D1, P5 undo.
        assert go(page, "yes", "clear", "60", "12", "3.0 3.6") == [
            *("1", "P1", "2", "3", "10", "6", "P2", "P3", "7", "P4", "8", "D1", "P5"),
            "Record of this job",
        ]
        record = page.locator(".record").last.inner_text()
        assert "Undone at the end\nTest gauge fitted" in record


@needs_chromium
def test_what_excludes_a_need_is_undone_last_set_first(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        assert go(page, "yes", "clogged") == ["1", "P1", "2", "3", "F1"]
        confirm(page)
        # The retest is written: 8. It needs warm; cover-off and locked-out exclude that.
        assert go(page) == ["P6", "P2", "P3", "P4", "8"]
        assert kind(page) == "Retest: reading"
        # A bad answer goes where it always goes; then the good one ends the job.
        assert go(page, "2.5 3.2") == ["8", "F5"]
        confirm(page)
        assert go(page, "3.2 3.2") == ["8", "Repaired", "P5", "Record of this job"]


@needs_chromium
def test_without_a_written_retest_the_check_that_led_here_is_taken_again(
    browser: Browser, tree: Path
) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Pump does not start", "D2")
        assert go(page, "230 230", "no") == ["4", "5", "P1", "F2"]
        confirm(page)
        # The lock was set up for the remedy alone, so it comes off before the retest.
        assert go(page) == ["P2", "5"]
        assert kind(page) == "Retest: check"
        assert go(page, "yes") == ["5", "Repaired", "Record of this job"]


@needs_chromium
def test_a_hand_off_says_whom_to_call_and_lets_the_lock_stay(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear", "66", until=lambda page: number(page) == "H1")
        expect(page.locator(".card .to")).to_contain_text("a licensed electrician")
        confirm(page)
        assert number(page) == "P2"
        page.get_by_role("button", name="Left as it is").click()
        expect(page.locator(".record").last).to_contain_text(
            "Supply switched off, locked and tagged"
        )


@needs_chromium
def test_a_fault_may_stay_unrepaired_and_the_record_says_so(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clogged")
        page.get_by_role("button", name="Not repaired now").click()
        assert go(page) == ["Not repaired", "P6", "P2", "Record of this job"]
        expect(page.locator(".record").last).to_contain_text("Not repaired")


@needs_chromium
def test_hazards_stand_before_the_step_on_screen(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")

        def hazards_first(page: Page) -> bool:
            panels = page.locator("#walk :is(.card, .lines) .hazard")
            if kind(page) == "Record of this job":
                return False
            for at in range(panels.count()):
                panel, question = (
                    panels.nth(at).bounding_box(),
                    page.locator(".card .question").bounding_box(),
                )
                assert panel and question and panel["y"] + panel["height"] <= question["y"]
            met[number(page)] = [
                panels.nth(at).get_attribute("data-hazard") for at in range(panels.count())
            ]
            return False

        met: dict[str, list[str | None]] = {}
        go(page, "yes", "clear", "60", "12", "3 3", until=hazards_first)
        assert met["P1"] == met["P2"] == ["live"]
        assert met["3"] == ["sharp-screen"]
        assert met["P3"] == ["hot-jet"]  # it holds while warm: shown before warming up
        assert met["8"] == met["P5"] == ["hot-jet"]
        assert met["1"] == met["2"] == []


@needs_chromium
def test_after_remedy_go_on_follows_the_good_answer(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "on.html"
    file.write_text(site.page(replace(sample(), after_remedy="go on")), encoding="utf-8")
    with visit(browser, file) as seen:
        page = seen.page
        begin(page, "Pump does not start", "D2")
        go(page, "230 230", "no")
        confirm(page)
        assert go(page, "yes") == ["P2", "5", "6"]


@needs_chromium
def test_next_leads_elsewhere_on_another_model(browser: Browser, tmp_path: Path) -> None:
    def on_d3_to_jets(node: Node) -> Node:
        assert node.exit
        return replace(node, exit=replace(node.exit, by_model=(("D3", "bath"),)))

    file = tmp_path / "models.html"
    file.write_text(site.page(changed("open-cover", on_d3_to_jets)), encoding="utf-8")
    for model, then in (("D2", "3"), ("D3", "6")):
        with visit(browser, file) as seen:
            begin(seen.page, "Jets are weak", model)
            assert go(seen.page, "yes") == ["1", "P1", "2", then]


@needs_chromium
def test_the_limit_shown_behind_an_answer_is_the_models_own(
    browser: Browser, tmp_path: Path
) -> None:
    def with_details(node: Node) -> Node:
        within = replace(node.outcomes[0], details=(("D2", "9 to 15 s"), ("*", "16 to 24 s")))
        return replace(node, outcomes=(within, *node.outcomes[1:]))

    file = tmp_path / "details.html"
    file.write_text(site.page(changed("prime", with_details)), encoding="utf-8")
    for model, text in (("D2", "9 to 15 s"), ("D3", "16 to 24 s")):
        with visit(browser, file) as seen:
            begin(seen.page, "Jets are weak", model)
            go(seen.page, "yes", "clear", "60")
            expect(seen.page.locator(".limits .detail").first).to_have_text(text)


@needs_chromium
def test_a_do_that_is_a_procedure_sets_what_it_sets_up(browser: Browser, tmp_path: Path) -> None:
    def lock_first(node: Node) -> Node:
        yes = node.outcomes[0]
        locked = replace(yes, exit=replace(yes.exit, does=("lock-out",)))
        return replace(node, outcomes=(locked, *node.outcomes[1:]))

    file = tmp_path / "do.html"
    file.write_text(site.page(changed("float", lock_first)), encoding="utf-8")
    with visit(browser, file) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        assert go(page, "yes") == ["1", "P1", "2", "3"]
        assert go(page, "clogged") == ["3", "F1"]
