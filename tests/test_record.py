"""Jobs: recorded, saved, loaded, kept side by side, timed, carried over to another edition."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from browser import Visit, chromium, needs_chromium, reload, visit
from jsonschema import Draft202012Validator
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from sample_outline import PICTURES, hostile, sample
from walker import SVG, begin, changed, confirm, go, number

from treewright import resources
from treewright.render import site
from treewright.render.outline import Node, Outline

SCHEMA = json.loads((resources.grammar() / "record.schema.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return page_of(tmp_path_factory.mktemp("record"), sample())


def page_of(folder: Path, outline: Outline) -> Path:
    file = folder / "weak-jet.html"
    file.write_text(site.page(outline, SVG, PICTURES), encoding="utf-8")
    return file


def saved(page: Page) -> dict[str, Any]:
    """The record as the page saves it now; valid in any case."""
    closed = page.locator(".job-details:not([open]) summary")
    if closed.count():
        closed.click()
    with page.expect_download() as waited:
        page.get_by_role("button", name="Save as a file").click()
    record = json.loads(waited.value.path().read_text(encoding="utf-8"))
    VALIDATOR.validate(record)
    assert isinstance(record, dict)
    return record


def aside(page: Page) -> None:
    page.get_by_role("button", name="Jobs", exact=True).click()


def load(page: Page, written: str | bytes) -> str:
    content = written.encode() if isinstance(written, str) else written
    page.locator("#loaded").evaluate("told => { told.textContent = ''; }")
    page.locator(".load input").set_input_files(
        {"name": "job.json", "mimeType": "application/json", "buffer": content}
    )
    expect(page.locator("#loaded")).not_to_be_empty()
    return page.locator("#loaded").inner_text()


def kept(page: Page) -> dict[str, str]:
    """All that the page keeps on the device."""
    found = page.evaluate("({ ...localStorage })")
    assert isinstance(found, dict)
    return found


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@needs_chromium
def test_records_of_every_kind_of_job_fit_the_schema(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        assert saved(page)["end"] is None
        go(page, "yes", "clogged")
        page.get_by_role("button", name="Not repaired now").click()
        go(page)
        record = saved(page)
        assert record["end"]["kind"] == "left"
        assert [one["number"] for one in record["done"]][:2] == ["P1", "2"]
        aside(page)
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear", "66", until=lambda page: number(page) == "H1")
        confirm(page)
        page.get_by_role("button", name="Left as it is").click()
        record = saved(page)
        assert record["end"]["kind"] == "handoff" and record["leftSet"]
        reading = record["answers"][-1]
        assert reading["readings"] == [
            {"place": "", "typed": "66", "unit": "°C", "text": "66 °C"}
        ]
        assert (reading["answer"], reading["good"]) == ("above", False)
        assert "65 °C" in reading["limit"]
        aside(page)
        begin(page, "Pump does not start", "D2")
        go(page, "230 230", "no")
        confirm(page)
        assert saved(page)["findings"][0]["repaired"] is True
        go(page, "yes")
        assert saved(page)["end"]["kind"] == "finish"


@needs_chromium
def test_jobs_stand_side_by_side_and_one_is_deleted_when_that_is_confirmed(
    browser: Browser, tree: Path
) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        page.locator(".job-details summary").click()
        page.get_by_label("Serial number").fill("A-17")
        go(page, "yes")
        aside(page)
        begin(page, "Pump does not start", "D3")
        page.locator(".job-details summary").click()
        page.get_by_label("Serial number").fill("B-4")
        reload(page)
        assert number(page) == "4"
        aside(page)
        jobs = page.locator(".jobs li")
        expect(jobs).to_have_count(2)
        first = jobs.filter(has_text="A-17")
        expect(first).to_contain_text("D2 · Jets are weak")
        expect(first).to_contain_text("3 ")
        jobs.filter(has_text="B-4").get_by_role("button", name="Delete").click()
        page.keyboard.press("Enter")  # in passing: the job is kept
        expect(page.locator("dialog")).to_have_count(0)
        expect(jobs).to_have_count(2)
        jobs.filter(has_text="B-4").get_by_role("button", name="Delete").click()
        page.locator("dialog").get_by_role("button", name="No, keep it").click()
        expect(jobs).to_have_count(2)
        jobs.filter(has_text="B-4").get_by_role("button", name="Delete").click()
        page.locator("dialog").get_by_role("button", name="Delete it").click()
        expect(jobs).to_have_count(1)
        reload(page)
        first.get_by_role("button", name="Go on with it").click()
        assert number(page) == "3"


@needs_chromium
def test_a_saved_job_goes_on_where_it_was_on_another_device(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        begin(seen.page, "Jets are weak", "D2")
        go(seen.page, "yes", "clear", "60")
        at, record = number(seen.page), saved(seen.page)
    with visit(browser, tree) as seen:
        page = seen.page
        assert "was loaded" in load(page, json.dumps(record))
        page.locator(".jobs li").get_by_role("button", name="Go on with it").click()
        assert number(page) == at
        again = saved(page)
        assert again["answers"] == record["answers"] and again["minutes"] >= record["minutes"]
        load_again = json.dumps(record)
        aside(page)
        assert "was loaded" in load(page, load_again)
        expect(page.locator(".jobs li")).to_have_count(2)


@needs_chromium
def test_a_bad_or_foreign_file_is_said_to_be_one_and_changes_nothing(
    browser: Browser, tree: Path
) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear", "60", "12")
        record = saved(page)
        aside(page)
        before = kept(page)
        foreign = "not a job saved by a page like this"
        for written, said in (
            ("", "cannot be read"),
            ("{", "cannot be read"),
            (b"\xff\xfe\x00", "cannot be read"),
            ("null", foreign),
            ("[]", foreign),
            ('"text"', foreign),
            ("{}", foreign),
            (json.dumps({**record, "record": "another"}), foreign),
            (json.dumps({**record, "version": 2}), "newer kind of page"),
            (json.dumps({**record, "tree": {"name": "<b>x"}}), "another tree, <b>x"),
            (json.dumps({**record, "job": None}), foreign),
            (json.dumps({**record, "job": {**record["job"], "entries": "all"}}), foreign),
        ):
            assert said in load(page, written)
            assert kept(page) == before
        # Whatever is broken at random in the job is refused, or asked about before it goes on;
        # what the page takes, the schema takes.
        chance = random.Random(5)
        for _ in range(60):
            broken = copy.deepcopy(record)
            break_one(broken["job"], chance)
            told = load(page, json.dumps(broken))
            taken = "was loaded" in told
            assert taken or (foreign in told and kept(page) == before), told
            if taken:
                assert [error.message for error in VALIDATOR.iter_errors(broken)] == []
                page.locator(".jobs li").first.locator("button").first.click()
                expect(page.locator(".card h2")).to_be_visible()
                if page.locator(".card.edition").count():
                    page.locator(".card.edition button").first.click()
                    expect(page.locator(".card h2")).to_be_visible()
                if page.locator(".tools").get_by_role("button", name="Jobs", exact=True).count():
                    aside(page)
                page.evaluate("before => { localStorage.clear(); Object.entries(before)"
                              ".forEach(([key, value]) => localStorage.setItem(key, value)); }",
                              before)  # fmt: skip
                reload(page)


ODD = (None, "", "x" * 20, "<img src=x onerror=alert(1)>", -1, 0, 3, 99, 1.5, [], {}, [None], True)


def break_one(job: dict[str, Any], chance: random.Random) -> None:
    """Puts something odd in the place of one value, or takes it out."""
    place: Any = job
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = chance.choice(keys)
        if isinstance(place[key], dict | list) and place[key] and chance.random() < 0.8:
            place = place[key]
            continue
        if isinstance(place, dict) and chance.random() < 0.3:
            del place[key]
        else:
            place[key] = chance.choice(ODD)
        return


@needs_chromium
def test_what_another_page_left_in_the_storage_does_no_harm(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear")
        [key] = [key for key in kept(page) if ":job:" in key]
        job = json.loads(kept(page)[key])
        chance = random.Random(11)
        for _ in range(40):
            broken = copy.deepcopy(job)
            break_one(broken, chance)
            page.evaluate("([key, text]) => localStorage.setItem(key, text)",
                          [key, json.dumps(broken)])  # fmt: skip
            reload(page)
            expect(page.locator(".card h2")).to_be_visible()


@needs_chromium
def test_the_clock_can_be_stopped_and_survives_a_reload(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        page.clock.install()
        reload(page)
        begin(page, "Jets are weak", "D2")
        page.clock.fast_forward("05:00")
        expect(page.locator(".clock")).to_contain_text("5 min")
        page.get_by_role("button", name="Stop the clock").click()
        page.clock.fast_forward("30:00")
        expect(page.locator(".clock")).to_contain_text("5 min on this job · clock stopped")
        reload(page)
        page.get_by_role("button", name="Start the clock").click()
        page.clock.fast_forward("02:00")
        reload(page)
        page.clock.fast_forward("01:00")
        go(page, "yes")
        page.clock.fast_forward("03:00")
        aside(page)
        page.clock.fast_forward("01:00:00")
        page.get_by_role("button", name="Go on with it").click()
        page.clock.fast_forward("01:00")
        record = saved(page)
        assert record["answers"][0]["minutes"] == pytest.approx(8, abs=0.2)
        assert record["minutes"] == pytest.approx(12, abs=0.4)


def other(change: str) -> Outline:
    """Another edition: one thing changed."""

    def changes(node: Node) -> Node:
        match change:
            case "question":
                return replace(node, title=f"{node.title} Really?")
            case "hazard":
                return replace(node, hazards=("live",))
            case "order":
                return replace(node, outcomes=node.outcomes[::-1])
            case _:
                return node

    outline = changed("screen", changes)
    return replace(outline, fingerprint="0ther000", mark=f"weak-jet · edition 9 · {change}")


@needs_chromium
@pytest.mark.parametrize(
    ("change", "kept_entries", "then"),
    [("nothing", 4, "10"), ("order", 4, "10"), ("question", 3, "stand"), ("hazard", 3, "stand")],
)
def test_another_edition_is_noticed_and_takes_over_what_still_fits(
    browser: Browser, tmp_path: Path, change: str, kept_entries: int, then: str
) -> None:
    file = page_of(tmp_path, sample())
    with visit(browser, file) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        assert go(page, "yes", "clear", until=lambda page: number(page) == "10")[-1] == "10"
        entries = saved(page)["job"]["entries"]
        assert [one["key"] for one in entries] == [
            "node/float", "set-up/locked-out/lock-out", "node/open-cover", "node/screen",
        ]  # fmt: skip
        page_of(tmp_path, other(change))
        reload(page)
        card = page.locator(".card.edition")
        expect(card).to_contain_text(f"This page: weak-jet · edition 9 · {change}")
        expect(card).to_contain_text(f"Begun with: {sample().mark}")
        expect(card).to_contain_text(f"{kept_entries} of 4 entries still fit")
        reload(page)
        page.get_by_role("button", name="Take over what still fits").click()
        if then == "stand":  # the lock may be on: how the machine stands is asked
            expect(page.locator(".card h2")).to_contain_text("How does the machine stand now?")
            confirm(page)
            assert number(page) == "3"
        else:
            assert number(page) == then
        record = saved(page)
        assert record["before"] == [sample().mark]
        assert record["tree"]["fingerprint"] == "0ther000"
        reload(page)
        expect(page.locator(".card.edition")).to_have_count(0)


@needs_chromium
def test_a_job_of_another_edition_can_be_begun_again_or_left(
    browser: Browser, tmp_path: Path
) -> None:
    file = page_of(tmp_path, sample())
    with visit(browser, file) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear")
        page_of(tmp_path, other("question"))
        reload(page)
        page.get_by_role("button", name="Leave it").click()
        expect(page.locator(".jobs li")).to_contain_text("another edition")
        page.locator(".jobs li button").first.click()
        page.get_by_role("button", name="Begin this job again").click()
        expect(page.locator(".card h2")).to_contain_text("How does the machine stand now?")
        confirm(page)
        assert number(page) == "1"


def open_with(browser: Browser, file: Path, script: str) -> Any:
    """A visit where something is done to the page before its own script runs."""

    class Opened:
        def __enter__(self) -> Visit:
            self.manager = visit(browser, file)
            seen = self.manager.__enter__()
            seen.page.add_init_script(script)
            reload(seen.page)
            return seen

        def __exit__(self, *error: Any) -> None:
            self.manager.__exit__(*error)

    return Opened()


@needs_chromium
@pytest.mark.parametrize(
    ("script", "said"),
    [
        ("Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', "
         "'SecurityError'); } });", "keeps nothing for this page"),
        ("Storage.prototype.setItem = () => { throw new DOMException('full', "
         "'QuotaExceededError'); };", "keeps nothing for this page"),
    ],
    ids=["blocked", "private"],
)  # fmt: skip
def test_without_storage_jobs_live_as_long_as_the_page_and_that_is_said(
    browser: Browser, tree: Path, script: str, said: str
) -> None:
    with open_with(browser, tree, script) as seen:
        page = seen.page
        expect(page.locator(".trouble")).to_contain_text(said)
        begin(page, "Jets are weak", "D2")
        go(page, "yes")
        expect(page.locator(".trouble")).to_be_visible()
        aside(page)
        page.get_by_role("button", name="Go on with it").click()
        assert number(page) == "3"
        saved(page)


@needs_chromium
def test_a_full_device_is_said_to_be_full(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        page.evaluate(
            "for (let size = 4e6; size >= 1; size = Math.floor(size / 2)) { try { for (let at = 0; "
            "at < 3; at += 1) localStorage.setItem(`f${size}-${at}`, "
            "'x'.repeat(size)); } catch {} }"
        )
        go(page, "yes")
        expect(page.locator(".trouble")).to_contain_text("no room left")
        assert number(page) == "3"
        page.evaluate("Object.keys(localStorage).filter(key => key[0] === 'f')"
                      ".forEach(key => localStorage.removeItem(key))")  # fmt: skip
        go(page, "clear")
        expect(page.locator(".trouble")).to_be_hidden()


@needs_chromium
def test_the_record_is_printed_on_one_page(browser: Browser, tree: Path, tmp_path: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "low", "yes", "clear", "60", "9", "3.0 3.7")
        confirm(page)
        go(page, "3.2 3.2")
        page.get_by_label("Serial number").fill("A-17")
        page.get_by_label("Note").fill("Belt frayed, new one ordered.")
        for size in ("A4", "Letter"):
            file = tmp_path / f"{size}.pdf"
            page.pdf(path=file, format=size)
            [sheet] = PdfReader(file).pages
            text = sheet.extract_text()
            for words in ("A-17", "Belt frayed", "Repaired; the retest passed", sample().mark):
                assert words in text
            for button in ("Save as a file", "Print", "Gloves"):
                assert button not in text


@needs_chromium
def test_hostile_text_in_every_field_stays_text(browser: Browser, tmp_path: Path) -> None:
    evil = '<img src=x onerror="alert(1)">"\'</script>\u202e'
    with visit(browser, page_of(tmp_path, hostile())) as seen:
        page = seen.page
        page.get_by_role("radio", name="Jets are weak").check()
        page.get_by_role("radio", name="D2", exact=True).check()
        page.get_by_role("button", name="Start", exact=True).click()
        page.locator(".job-details summary").click()
        for field in ("Done by", "Serial number", "Hours run", "Note"):
            page.get_by_label(field).fill(evil)
        record = saved(page)
        assert [record[key] for key in ("who", "serial", "hours", "note")] == [evil] * 4
        aside(page)
        expect(page.locator(".jobs li")).to_contain_text(evil[:20])
        assert "was loaded" in load(page, json.dumps(record))
        assert page.locator("#walk img").count() == 0
