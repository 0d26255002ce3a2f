"""Held to the open standards: WCAG by axe-core, HTML by the Nu checker, on every kind of screen.

Both checkers are programs of their own, which had no part in making the pages.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from browser import chromium, needs_chromium, reload, visit
from playwright.sync_api import Browser, Page, expect
from sample_outline import PICTURES, hostile, sample
from test_languages import pumps
from test_record import other, page_of
from walker import SVG, answer, begin, confirm, go, number, read_hazards

from treewright.render import chart, site

CHECKERS = Path(sys.prefix) / "node_modules"
AXE = CHECKERS / "axe-core" / "axe.min.js"
NU = CHECKERS / "vnu-jar" / "build" / "dist" / "vnu.jar"
STANDARDS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

# Where they must be there, a missing checker is a failure.
needs_axe = pytest.mark.skipif(not AXE.exists() and "CI" not in os.environ, reason="no axe-core")
needs_nu = pytest.mark.skipif(
    not (NU.exists() and shutil.which("java")) and "CI" not in os.environ, reason="no Nu checker"
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


@cache
def axe() -> str:
    return AXE.read_text(encoding="utf-8")


def accessible(page: Page, what: str) -> None:
    """Fails with what axe-core finds on what is shown now."""
    page.evaluate(axe())
    found: list[dict[str, Any]] = page.evaluate(
        "tags => axe.run(document, { runOnly: tags, resultTypes: ['violations'] })"
        ".then(result => result.violations)",
        STANDARDS,
    )
    said = [
        (one["id"], one["help"], one["nodes"][0]["html"][:200],
             one["nodes"][0]["failureSummary"])
        for one in found
    ]  # fmt: skip
    assert said == [], what


@needs_chromium
@needs_axe
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_no_kind_of_screen_has_a_finding(browser: Browser, tmp_path: Path, dark: bool) -> None:
    file = tmp_path / "weak-jet.html"
    file.write_text(site.page(sample(), chart.svg(sample()), PICTURES), encoding="utf-8")
    with visit(browser, file) as seen:
        page = seen.page
        if dark:
            page.emulate_media(color_scheme="dark")
        seen_kinds = set()

        def looked_at(page: Page) -> bool:
            kind = page.locator(".card").first.get_attribute("class") or ""
            if kind not in seen_kinds:
                seen_kinds.add(kind)
                accessible(page, kind)
            return False

        accessible(page, "start")
        page.get_by_role("radio", name="Jets are weak").check()
        page.get_by_role("radio", name="D2", exact=True).check()
        accessible(page, "start, ready list")
        page.get_by_role("button", name="Start", exact=True).click()
        go(page, "low", "yes", "clear", "60", "9", "3.0 3.7", until=looked_at)
        page.locator(".suspects summary").click()
        page.locator(".job-details summary").click()
        accessible(page, "all that is folded, open")
        confirm(page)
        go(page, "3.2 3.2", until=looked_at)
        accessible(page, "record")
        page.get_by_role("button", name="Jobs", exact=True).first.click()
        accessible(page, "start, with a job")
        page.locator(".jobs li").get_by_role("button", name="Delete").click()
        accessible(page, "question")
        page.keyboard.press("Escape")
        page.get_by_role("button", name="Chart").click()
        accessible(page, "chart")
        page.keyboard.press("Escape")
        page.get_by_role("button", name="All steps").click()
        # Steps far below are not drawn before they come near, and cannot be looked at.
        page.evaluate(
            "document.querySelectorAll('.step')"
            ".forEach(it => { it.style.contentVisibility = 'visible'; })"
        )
        accessible(page, "document")
        page.get_by_role("button", name="Back to one step").click()
        begin(page, "Pump does not start", "D2")
        read_hazards(page)
        page.locator(".typed input").first.fill("warm")
        accessible(page, "a reading that is no number")
        page.get_by_role("button", name="Gloves").click()
        accessible(page, "gloves")
        go(page, "230 230")
        page.locator(".trail button").first.click()
        accessible(page, "an answer taken back")
        page.get_by_role("button", name="Cannot do this now").click()
        accessible(page, "with a check left out")
        page_of(tmp_path, other("question"))
        reload(page)
        accessible(page, "another edition")
        expect(page.locator(".card.edition")).to_be_visible()
    wanted = {"check", "reading", "step", "fault", "procedure", "end record"}
    assert wanted <= {kind.removeprefix("card ").split(" set-up")[0] for kind in seen_kinds}


@needs_chromium
@needs_axe
def test_a_page_in_two_languages_the_start_page_and_no_script(
    browser: Browser, tmp_path: Path
) -> None:
    own, german = pumps()
    file = tmp_path / "water-pump.html"
    file.write_text(site.page(own, SVG, {}, (german,)), encoding="utf-8")
    with visit(browser, file) as seen:
        seen.page.get_by_label("Language").select_option("de")
        accessible(seen.page, "start, German")
        seen.page.locator("input[name=symptom]").first.check()
        seen.page.locator("input[name=model]").first.check()
        seen.page.get_by_role("button", name="Beginnen").click()
        accessible(seen.page, "step, German")
        seen.page.get_by_label("Sprache").select_option("es")
        accessible(seen.page, "step, Spanish and English")
    index = tmp_path / "index.html"
    index.write_text(site.index([own, sample()], translations={own.name: (german,)}))
    with visit(browser, index) as seen:
        accessible(seen.page, "start page")
        seen.page.get_by_role("searchbox").fill("membrane")
        accessible(seen.page, "start page, searched")
        seen.page.get_by_label("Language").select_option("de")
        expect(seen.page.locator(".tree h2:visible").first).to_have_text(german.title)
        accessible(seen.page, "start page, German")


@needs_nu
def test_the_nu_checker_has_no_error(tmp_path: Path) -> None:
    own, german = pumps()
    pages = {
        "page.html": site.page(sample(), SVG, PICTURES),
        "hostile.html": site.page(hostile(), SVG, PICTURES),
        "bare.html": site.page(sample()),
        "german.html": site.page(own, SVG, {}, (german,)),
        "index.html": site.index([own, hostile()], translations={own.name: (german,)}),
        "empty.html": site.index([]),
    }
    for name, text in pages.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    done = subprocess.run(
        ["java", "-jar", str(NU), "--errors-only", *(str(tmp_path / name) for name in pages)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == "" and done.returncode == 0


@needs_nu
@needs_chromium
def test_the_page_that_the_script_makes_has_no_error_either(
    browser: Browser, tmp_path: Path
) -> None:
    file = page_of(tmp_path, sample())
    shown = []

    def keep(page: Page) -> bool:
        path = tmp_path / f"shown-{len(shown)}.html"
        text = page.evaluate("document.documentElement.outerHTML")
        # Where the document may stand in the page: it is the same as in the test above.
        path.write_text("<!doctype html>" + re.sub(r' style="[^"]*"', "", text), encoding="utf-8")
        shown.append(str(path))
        return False

    with visit(browser, file) as seen:
        page = seen.page
        keep(page)
        begin(page, "Jets are weak", "D2")
        go(page, "yes", "clear", "60", until=keep)
        answer(page, "9")
        go(page, "3.0 3.7", until=keep)
        confirm(page)
        go(page, "3.2 3.2", until=keep)
    done = subprocess.run(
        ["java", "-jar", str(NU), "--errors-only", *shown],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == "" and len(shown) > 15


# ---- ways of use -------------------------------------------------------------------------------


@needs_chromium
def test_every_target_can_be_reached_by_keyboard_in_order_and_shows_its_focus(
    browser: Browser, tmp_path: Path
) -> None:
    with visit(browser, page_of(tmp_path, sample())) as seen:
        page = seen.page
        begin(page, "Jets are weak", "D2")
        read_hazards(page)
        page.evaluate("document.activeElement.blur()")
        wanted = page.evaluate(
            "[...document.querySelectorAll('#walk :is(button, input, select, textarea, summary)')]"
            ".filter(it => it.checkVisibility() && !it.disabled).map(it => it.textContent)"
        )
        met = []
        for _ in range(len(wanted)):
            page.keyboard.press("Tab")
            met.append(page.evaluate("document.activeElement.textContent"))
            style = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert style == "solid", met[-1]
        assert met == wanted


@needs_chromium
def test_gloves_make_every_target_larger(browser: Browser, tmp_path: Path) -> None:
    with visit(browser, page_of(tmp_path, sample())) as seen:
        page = seen.page
        page.get_by_role("button", name="Gloves").click()
        begin(page, "Pump does not start", "D2")

        def large(page: Page) -> bool:
            small = page.evaluate(
                "[...document.querySelectorAll('.card :is(button, select, summary, input:not("
                "[type=checkbox], [type=radio])), .back button, .tools button, .language select')]"
                ".filter(it => it.checkVisibility() && it.getBoundingClientRect().height < 72)"
                ".filter(it => !it.closest('.hazard')).map(it => it.outerHTML.slice(0, 80))"
            )
            assert small == [], number(page)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            return False

        go(page, "230 230", "no", until=large)


@needs_chromium
def test_nothing_moves_where_that_is_not_wanted(browser: Browser, tmp_path: Path) -> None:
    with visit(browser, page_of(tmp_path, sample())) as seen:
        page = seen.page
        page.emulate_media(reduced_motion="reduce")
        begin(page, "Jets are weak", "D2")
        assert page.evaluate(
            "[...document.querySelectorAll('*')].map(it => getComputedStyle(it)).filter(it => "
            "it.animationName !== 'none' || !['0s', ''].includes(it.transitionDuration)).length"
        ) == 0  # fmt: skip
        assert page.evaluate("document.getAnimations().length") == 0


@needs_chromium
def test_the_new_step_is_told(browser: Browser, tmp_path: Path) -> None:
    with visit(browser, page_of(tmp_path, sample())) as seen:
        page = seen.page
        told = page.locator("#said")
        assert told.get_attribute("aria-live") == "polite"
        begin(page, "Jets are weak", "D2")
        expect(told).to_contain_text("1 Check: Does the level float stand above the mark?")
        go(page, "yes")
        expect(told).to_contain_text("3 Check: Is the suction screen clear?")


@needs_chromium
def test_without_script_the_tree_can_be_followed_from_each_symptom_to_its_ends(
    browser: Browser, tmp_path: Path
) -> None:
    own, _ = pumps()
    file = tmp_path / "water-pump.html"
    file.write_text(site.page(own), encoding="utf-8")
    nodes = {node.name: node for node in own.nodes}
    with visit(browser, file, script=False) as seen:
        page = seen.page
        expect(page.locator(".note.no-script")).to_be_visible()
        for node in own.nodes:
            step = page.locator(f"[id='step-{node.name}']")
            text = step.text_content() or ""
            links = step.locator("a").evaluate_all(
                "them => them.map(it => it.getAttribute('href'))"
            )
            exits = [one.exit for one in node.outcomes] + [node.exit] * (node.exit is not None)
            for exit in exits:
                assert f"#step-{exit.target}" in links
                for do in exit.does:
                    assert f"#step-{do}" in links or f"#procedure-{do}" in links
            for piece in (*node.setup, *node.takedown, *node.undo):
                assert piece.procedure is None or f"#procedure-{piece.procedure}" in links
            for hazard in node.hazards:
                signal = next(one.signal.upper() for one in own.hazards if one.name == hazard)
                assert text.index(signal) < text.index(node.title), (node.name, text)
            if node.kind == "fault":
                assert node.remedy.split()[0] in text
                assert node.retest is None or f"#step-{node.retest}" in links
            if node.kind == "handoff":
                assert node.to in text
        met, queue = set(), [symptom.start for symptom in own.symptoms]
        while queue:
            name = queue.pop()
            if name in met:
                continue
            met.add(name)
            queue += page.locator(f"[id='step-{name}'] .way a").evaluate_all(
                "them => them.map(it => it.getAttribute('href'))"
                ".filter(it => it.startsWith('#step-')).map(it => it.slice(6))"
            )
        ends = {name for name, node in nodes.items() if node.kind in ("fault", "handoff", "done")}
        assert ends <= met


@needs_chromium
@pytest.mark.parametrize("width", [320, 360, 390, 1280])
def test_every_width_from_400_percent_zoom_to_a_desk(
    browser: Browser, tmp_path: Path, width: int
) -> None:
    with visit(browser, page_of(tmp_path, hostile()), width=width) as seen:
        page = seen.page

        def fits() -> None:
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")

        fits()
        page.get_by_role("radio", name="Jets are weak").check()
        page.get_by_role("radio", name="D2", exact=True).check()
        fits()
        page.get_by_role("button", name="Start", exact=True).click()
        page.locator(".job-details summary").click()
        fits()
        page.get_by_role("button", name="All steps").click()
        fits()
        page.get_by_role("button", name="Back to one step").click()
        page.get_by_role("button", name="Jobs", exact=True).first.click()
        fits()
