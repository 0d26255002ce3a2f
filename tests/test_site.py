"""The page as text, how it is used, and the start page."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, visit
from playwright.sync_api import Browser, Page, expect
from sample_outline import PICTURES, hostile, sample
from walker import SVG, begin, confirm, go, number, read_hazards, type_in

from treewright.render import site, web

BUDGET = 60_000  # bytes of style, script and page around the tree's own data


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("walk") / "weak-jet.html"
    file.write_text(site.page(sample(), SVG, PICTURES), encoding="utf-8")
    return file


def test_same_input_same_page() -> None:
    assert site.page(sample(), SVG, PICTURES) == site.page(sample(), SVG, PICTURES)


def carried(text: str) -> tuple[str, str, str, str]:
    """The style sheet, the packed script, what unpacks it, and the script unpacked."""
    style = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    script = re.findall(r'<script data-packed="([^"]*)">(.*?)</script>', text, re.DOTALL)
    assert len(style) == len(script) == 1 and "<script>" not in text
    [(packed, unpack)] = script
    return style[0], packed, unpack, zlib.decompress(base64.b64decode(packed)).decode()


def test_style_and_script_keep_to_the_budget() -> None:
    text = site.page(sample(), SVG, PICTURES)
    parts = carried(text)
    assert [bool(part) for part in parts] == [True, True, True, True]
    assert sum(len(part.encode()) for part in parts[:3]) < BUDGET  # the script travels packed
    empty = re.sub(r'id="whole">.*?</main>|class="tree".*?</script>', "", text, flags=re.DOTALL)
    assert len(empty.encode()) < BUDGET  # without the document and the data of the tree


def test_policy_lets_in_exactly_what_the_page_carries() -> None:
    text = site.page(sample(), SVG, PICTURES)
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', text)
    assert policy
    allowed = set(re.findall(r"sha256-([^&']+)", policy[1]))
    style, _, unpack, script = carried(text)
    assert allowed == {
        base64.b64encode(hashlib.sha256(part.encode()).digest()).decode()
        for part in (style, unpack, script, web.style_of(("walk.css",)))
    }
    assert json.dumps(web.style_of(("walk.css",)), ensure_ascii=False)[1:-1][:500] in script
    assert "default-src 'none'" in policy[1].replace("&#39;", "'")
    assert "unsafe" not in policy[1]


def test_data_cannot_end_its_element() -> None:
    text = site.page(hostile(), SVG, PICTURES)
    found = re.search(r'<script type="application/json" [^>]*>(.*?)</script>', text, re.DOTALL)
    assert found
    assert not re.search("[<>&\u2028\u2029]", found[1])
    assert [node["name"] for node in json.loads(found[1])["nodes"]] == [
        node.name for node in sample().nodes
    ]


def test_hazards_stand_before_their_step_in_the_document() -> None:
    text = site.page(sample(), "", PICTURES)
    for node in sample().nodes:
        at = text.index(f'id="step-{node.name}"')
        title = text.index('class="title"', at)
        assert [
            name for name in node.hazards if f'data-hazard="{name}"' not in text[at:title]
        ] == []


def test_a_picture_of_no_known_kind_is_said_to_be_missing() -> None:
    text = site.page(sample(), "", {"screen.png": b"<svg onload=alert(1)>"})
    assert "The picture is not in this copy." in text and "onload" not in text


@needs_chromium
def test_the_keyboard_is_enough(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        press = page.keyboard.press
        page.get_by_role("radio", name="Pump does not start").focus()
        press("Space")
        page.get_by_role("radio", name="D2", exact=True).focus()
        press("Space")
        while page.evaluate("document.activeElement.textContent") != "Start":
            press("Tab")
        press("Enter")
        assert page.evaluate("document.activeElement.tagName") == "H2"
        press("1")  # the hazard is read
        press("Tab")
        while page.evaluate("document.activeElement.tagName") != "INPUT":
            press("Tab")
        press("2")
        assert page.evaluate("document.activeElement.value") == "2"  # typed, not chosen
        page.keyboard.type("30")
        press("Tab")
        press("Tab")
        page.keyboard.type("231")
        press("Enter")
        assert number(page) == "5"
        assert page.evaluate("document.activeElement.textContent").startswith("5")
        said = page.locator("#said")
        expect(said).to_contain_text("5 Check: Does the contactor pull in")
        press("9")
        assert number(page) == "5"
        press("2")
        assert number(page) == "P1"
        while number(page) == "P1":
            press("Tab")
            if page.evaluate("document.activeElement.type") == "checkbox":
                press("Space")
            press("1")
        assert number(page) == "F2"


@needs_chromium
def test_ready_list_holds_what_the_symptom_can_reach_and_no_more(
    browser: Browser, tree: Path
) -> None:
    with visit(browser, tree, anchor="#symptom-dead") as seen:
        page = seen.page
        assert page.get_by_role("radio", name="Pump does not start").is_checked()
        page.get_by_role("radio", name="D2", exact=True).check()
        ready = page.locator(".ready")
        for text in ("voltmeter", "electrician", "stopwatch", "contactor", "lock and tag"):
            expect(ready).to_contain_text(text)
        for text in ("torch", "screen gasket", "cleaner"):
            expect(ready).not_to_contain_text(text)


@needs_chromium
def test_targets_are_large_and_nothing_scrolls_sideways(browser: Browser, tree: Path) -> None:
    for width in (390, 320):  # 320: 1280 at 400 % zoom
        with visit(browser, tree, width=width) as seen:
            page = seen.page

            def fits(page: Page) -> bool:
                assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
                small = page.evaluate(
                    "[...document.querySelectorAll('#walk button, #walk summary, #walk select,"
                    " #walk input:not([type=radio], [type=checkbox]), #walk label')]"
                    ".filter(e => e.checkVisibility())"
                    ".filter(e => e.getBoundingClientRect().height < 48).map(e => e.outerHTML)"
                )
                assert small == []
                return False

            fits(page)
            begin(page, "Jets are weak", "D2")
            go(page, "low", "yes", "clear", "60", "12", "2.5 2.5", until=fits)
            confirm(page)
            go(page, "3 3", until=fits)
            page.locator(".trail button").nth(3).click()
            fits(page)
            page.get_by_role("button", name="Put back").click()
            page.get_by_role("button", name="Jobs", exact=True).click()
            fits(page)
            begin(page, "Pump does not start", "D2")
            go(page, "230 230")
            page.get_by_role("button", name="Cannot do this now").click()
            go(page, until=lambda page: "open" in page.locator(".card").get_attribute("class"))
            fits(page)


@needs_chromium
def test_chart_shows_the_way_taken_and_links_only_look(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        go(page, "yes")
        page.get_by_role("button", name="Chart").click()
        assert "taken" in (page.locator("#node-float").get_attribute("class") or "")
        assert "here" in (page.locator("#node-screen").get_attribute("class") or "")
        page.locator("#node-float a").click()
        expect(page.locator("dialog.look")).to_contain_text("Does the level float stand")
        page.locator("dialog.look").get_by_role("button", name="Close").click()
        page.get_by_role("button", name="Close").click()
        assert number(page) == "3"


@needs_chromium
def test_hostile_text_shows_as_text(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "hostile.html"
    file.write_text(site.page(hostile(), SVG, PICTURES), encoding="utf-8")
    with visit(browser, file) as seen:
        page = seen.page
        page.get_by_role("radio", name="Jets are weak").check()
        page.get_by_role("radio", name="D2", exact=True).check()
        page.get_by_role("button", name="Start", exact=True).click()

        def is_text(page: Page) -> bool:
            expect(page.locator(".card .question").first).to_contain_text(
                "</script><script>alert(1)</script><b>bold</b>"
                if number(page) not in ("", "Repaired")
                else ""
            )
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            assert page.locator("#walk :is(b, script, img[onerror])").count() == 0
            return False

        def first(page: Page) -> None:
            read_hazards(page)
            page.locator(".card .answers button").first.click()

        is_text(page)
        first(page)
        for _ in range(2):
            is_text(page)
            confirm(page)
        is_text(page)
        first(page)
        is_text(page)
        confirm(page)
        type_in(page, "60")
        page.locator(".reading > button.on").click()
        is_text(page)
        addresses = page.evaluate("[...document.links].map(link => link.href)")
        assert all(
            address.startswith(("file:", "https://example.invalid/")) for address in addresses
        )


@needs_chromium
def test_without_script_the_document_can_be_read(browser: Browser, tree: Path) -> None:
    with visit(browser, tree, script=False) as seen:
        page = seen.page
        expect(page.locator("#walk")).to_be_hidden()
        for node in sample().nodes:
            expect(page.locator(f"#step-{node.name}")).to_be_visible()
        page.locator("#step-float .answers a", has_text="2 Take off the side cover").click()
        assert page.url.endswith("#step-open-cover")
        targets = page.locator("#document a").evaluate_all(
            "links => links.map(link => link.getAttribute('href'))"
        )
        assert [t for t in targets if page.locator(f"[id='{t[1:]}']").count() != 1] == []


@needs_chromium
def test_all_steps_can_be_read_with_script_too(browser: Browser, tree: Path) -> None:
    with visit(browser, tree) as seen:
        page = seen.page
        expect(page.locator("#step-float")).to_be_hidden()
        page.get_by_role("button", name="All steps").click()
        expect(page.locator("#step-float")).to_be_visible()
        page.get_by_role("button", name="Back to one step at a time").click()
        expect(page.locator("#step-float")).to_be_hidden()
