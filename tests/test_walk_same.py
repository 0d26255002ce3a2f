"""A check that asks what another has asked; and what was left out, met again: in the browser."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, reload, visit
from playwright.sync_api import Browser, Page, expect
from test_record import saved
from walker import answer, confirm, kind, number, page_of_case, read_hazards

CASES = Path(__file__).parent / "cases" / "reasoning"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def lamp(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """1 plug, 2 socket, 3 fuse, 4 the same as 1, 5 the same as 2, 6 the same as 1; 7 doubts 1."""
    return page_of_case(
        CASES / "same-check-known.json", tmp_path_factory.mktemp("walk") / "lamp.html"
    )


def begin(page: Page, symptom: str = "It stays dark") -> None:
    page.get_by_role("radio", name=symptom).check()
    page.get_by_role("radio", name="L1", exact=True).check()
    page.get_by_role("button", name="Start", exact=True).click()


def entry(page: Page, asked: str) -> str:
    """The line of the way so far that belongs to a number."""
    return page.locator(".trail li").filter(has=page.get_by_text(asked, exact=True)).inner_text()


@needs_chromium
def test_what_another_check_has_answered_is_not_asked_again(browser: Browser, lamp: Path) -> None:
    with visit(browser, lamp) as seen:
        page = seen.page
        begin(page)
        answer(page, "yes")
        answer(page, "230")
        confirm(page)  # the case is opened, for the fuse
        answer(page, "yes")
        assert number(page) == "7"  # the step that tightens the plug
        expect(page.locator(".told")).to_have_text("4: as answered at 1. 5: as answered at 2.")
        assert "yes (as answered at 1)" in entry(page, "4")
        assert "230 V: at least 200 V (as answered at 2)" in entry(page, "5")
        reload(page)
        assert number(page) == "7"
        confirm(page)
        assert number(page) == "6"  # put in doubt by the step: asked
        answer(page, "yes")
        known = {one["number"]: one["by"] for one in saved(page)["answers"]}
        assert known == {"1": None, "2": None, "3": None, "4": "1", "5": "2", "6": None}


@needs_chromium
def test_what_was_known_from_another_check_can_be_changed(browser: Browser, lamp: Path) -> None:
    with visit(browser, lamp) as seen:
        page = seen.page
        begin(page)
        answer(page, "yes")
        answer(page, "230")
        confirm(page)
        answer(page, "yes")
        page.locator(".trail li").filter(has=page.get_by_text("4", exact=True)).click()
        assert number(page) == "4"
        expect(page.locator(".card .answers")).to_contain_text("your answer before")
        reload(page)
        assert number(page) == "4"
        answer(page, "no")
        assert kind(page) == "Fault found"
        # Changed back: the reading after it is known again.
        page.get_by_role("button", name="Back", exact=True).click()
        answer(page, "yes")
        assert number(page) == "7"
        page.locator(".trail li").filter(has=page.get_by_text("2", exact=True)).click()
        confirm(page)  # the machine stands as it stood
        answer(page, "210")
        assert number(page) == "7"
        assert "210 V: at least 200 V (as answered at 2)" in entry(page, "5")


@needs_chromium
def test_without_a_number_other_limits_are_asked(browser: Browser, lamp: Path) -> None:
    with visit(browser, lamp) as seen:
        page = seen.page
        begin(page)
        answer(page, "yes")
        page.locator(".by-eye summary").click()
        page.locator(".by-eye button").first.click()
        confirm(page)
        answer(page, "yes")
        assert number(page) == "5"


@needs_chromium
def test_what_was_left_out_stays_so_when_an_earlier_answer_is_changed(
    browser: Browser, lamp: Path
) -> None:
    with visit(browser, lamp) as seen:
        page = seen.page
        begin(page)
        answer(page, "yes")
        answer(page, "230")
        page.locator(".card button.cannot").click()  # the fuse, without the set-up for it
        assert number(page) == "7"
        page.locator(".trail li").filter(has=page.get_by_text("2", exact=True)).click()
        answer(page, "203")  # below: the fuse is met again, and is not asked
        expect(page.locator(".open-now")).to_contain_text("Not done: 3.")
        assert "could not be done (kept)" in entry(page, "3")
        assert number(page) == "7"
        reload(page)
        assert number(page) == "7"
        page.locator(".trail li").filter(has=page.get_by_text("3", exact=True)).click()
        read_hazards(page)
        confirm(page)  # the case is opened
        assert number(page) == "3"
        answer(page, "no")
        assert kind(page) == "Fault found"
