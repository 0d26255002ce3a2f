"""The start page of a folder, and the folder kept on a device: offline, updated, installed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, reload, visit
from host import host
from playwright.sync_api import Browser, BrowserContext, expect
from sample_outline import PICTURES, hostile, sample
from walker import SVG, begin, changed, go, number

from treewright.cli.main import main
from treewright.render import offline, site

SMALL = """tree {name}: It does not run
symptom dead: It does not run
  start at: plug
check plug: Is it plugged in?
  if yes: stop maker
  if no: found unplugged
fault unplugged: Not plugged in
  shows: plug no
  remedy: Plug it in.
handoff maker: For the maker
  to: the maker
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


def folder_of(folder: Path, edition: str = "5e11ab1e") -> None:
    """A folder as `treewright build` writes it, as far as a browser shows it."""
    first = replace(sample(), fingerprint=edition, mark=f"weak-jet · {edition}")
    if edition != "5e11ab1e":
        again = changed("float", lambda node: replace(node, title="Is the float up?"))
        first = replace(first, nodes=again.nodes)
    other = replace(sample(), name="other-jet", machine="Gull rinse bench", title="Rinse is cold")
    pages = {
        "weak-jet.html": site.page(first, SVG, PICTURES).encode(),
        "other-jet.html": site.page(other).encode(),
        "index.html": site.index([first, other]).encode(),
    }
    beside = offline.files(pages, "index.html")
    for name, content in {**pages, **beside, "weak-jet-chart.svg": SVG.encode()}.items():
        (folder / name).write_bytes(content)


@needs_chromium
def test_the_start_page_finds_symptoms_faults_and_machines(
    browser: Browser, tmp_path: Path
) -> None:
    file = tmp_path / "index.html"
    file.write_text(site.index([sample(), hostile()]), encoding="utf-8")
    with visit(browser, file) as seen:
        page = seen.page
        field = page.get_by_role("searchbox")
        for words, shown in (
            ("pump start", 2),
            ("nozzle worn LEFT", 2),
            ("dunlin d3", 2),
            ("donaudampfschiff", 1),
            ("gearbox", 0),
        ):
            field.fill(words)
            expect(page.locator("#count")).to_have_text(f"{shown} of 2 trees")
            assert page.locator(".tree:visible").count() == shown
        field.fill("")
        hrefs = (
            page.locator(".tree")
            .first.locator("a")
            .evaluate_all("links => links.map(link => link.getAttribute('href'))")
        )
        assert hrefs == [
            "weak-jet.html#symptom-weak",
            "weak-jet.html#symptom-dead",
            "weak-jet.html",
            "weak-jet-chart.svg",
            "weak-jet-chart.pdf",
            "weak-jet-a4.pdf",
            "weak-jet-letter.pdf",
        ]
        assert page.evaluate("document.querySelectorAll('main :is(b, img)').length") == 0
    with visit(browser, file, script=False) as seen:
        page = seen.page
        assert page.locator(".tree:visible").count() == 2
        expect(page.locator("#search")).to_be_hidden()
        expect(page.locator(".mark").first).to_have_text(sample().mark)


@needs_chromium
def test_the_start_page_can_be_narrowed_to_a_machine_and_read_in_another_language(
    browser: Browser, tmp_path: Path
) -> None:
    folder_of(tmp_path)
    for width in (320, 360, 1280):
        with visit(browser, tmp_path / "index.html", width=width) as seen:
            page = seen.page
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            page.get_by_label("Machine", exact=True).select_option("Gull rinse bench")
            expect(page.locator(".tree:visible")).to_have_count(1)
            expect(page.locator("#count")).to_have_text("1 of 2 trees")
            page.get_by_label("Language").select_option("de")
            expect(page.locator("h1")).to_have_text("Diagnosebäume")
            expect(page.locator("#count")).to_have_text("1 von 2 Bäumen")
            assert page.evaluate("document.documentElement.lang") == "de"
            title = page.locator(".tree:visible h2")
            assert title.evaluate("it => it.closest('[lang]').lang") == "en"
            reload(page)
            expect(page.locator("h1")).to_have_text("Diagnosebäume")


@needs_chromium
def test_a_language_that_is_chosen_on_one_page_is_followed_by_the_others(
    browser: Browser, tmp_path: Path
) -> None:
    folder_of(tmp_path)
    with visit(browser, tmp_path / "index.html") as seen:
        index = seen.page
        walk = index.context.new_page()
        walk.set_default_timeout(5000)
        walk.goto((tmp_path / "weak-jet.html").as_uri())
        begin(walk, "Jets are weak", "D2")
        go(walk, "yes")
        index.get_by_label("Language").select_option("de")
        expect(walk.get_by_role("button", name="Uhr anhalten")).to_be_visible()
        assert number(walk) == "3"
        walk.get_by_label("Sprache").select_option("es")
        expect(index.locator("h1")).to_have_text("Árboles de diagnóstico")


def test_the_worker_changes_with_any_page_and_with_nothing_else(tmp_path: Path) -> None:
    pages = {"a.html": b"one", "b.html": b"two"}
    first = offline.files(pages, "a.html")
    assert offline.files(dict(reversed(pages.items())), "a.html") == first
    assert offline.files({**pages, "b.html": b"2"}, "a.html")["sw.js"] != first["sw.js"]
    assert offline.files({"a.html": b"onetwo", "b.html": b""}, "a.html")["sw.js"] != first["sw.js"]
    manifest = json.loads(first["manifest.webmanifest"])
    assert manifest["start_url"] == "a.html" and manifest["scope"] == "./"
    assert manifest["icons"][0]["src"] in first


def test_a_walk_through_made_anew_keeps_the_other_pages_of_its_folder(tmp_path: Path) -> None:
    def made(*names: str) -> list[str]:
        paths = [str(tmp_path / f"{name}.tree") for name in names]
        assert main(["site", *paths, "--out", str(out)]) == 0
        return list(offline.kept((out / "sw.js").read_bytes()))

    out = tmp_path / "out"
    for name in ("lamp", "fan"):
        (tmp_path / f"{name}.tree").write_text(SMALL.format(name=name), encoding="utf-8")
    assert made("lamp", "fan") == ["fan.html", "lamp.html"]
    (out / "index.html").write_text("the start page", encoding="utf-8")
    pages = {path.name: path.read_bytes() for path in out.glob("*.html")}
    whole = offline.files(pages, "index.html")
    (out / "sw.js").write_bytes(whole["sw.js"])  # as a build of the folder leaves it
    assert made("fan") == ["fan.html", "index.html", "lamp.html"]
    assert (out / "sw.js").read_bytes() == whole["sw.js"]  # nothing has changed
    assert json.loads((out / "manifest.webmanifest").read_text())["start_url"] == "index.html"
    # What is gone, is not ours or lies elsewhere is not kept.
    (out / "lamp.html").unlink()
    (out / "other.html").write_text("by another hand", encoding="utf-8")
    (tmp_path / "above.html").write_text("above", encoding="utf-8")
    worker = out / "sw.js"
    worker.write_text(worker.read_text().replace('"fan.html"', '"fan.html", "../above.html", 7'))
    assert made("fan") == ["fan.html", "index.html"]
    for text in ("", "const FILES = {];\n", "const FILES = 7;\n", "self.onfetch = null;\n"):
        worker.write_text(text, encoding="utf-8")
        assert made("fan") == ["fan.html"]


def own_requests(context: BrowserContext, address: str) -> list[str]:
    """A list that grows by every address that is not the folder's own."""
    foreign: list[str] = []

    def note(url: str) -> None:
        if not url.startswith((address, "data:", "blob:")):
            foreign.append(url)

    context.on("request", lambda request: note(request.url))
    return foreign


@needs_chromium
def test_a_folder_that_was_opened_once_opens_without_a_network(
    browser: Browser, tmp_path: Path
) -> None:
    folder_of(tmp_path)
    context = browser.new_context(viewport={"width": 390, "height": 844})
    with host(tmp_path) as address:
        foreign = own_requests(context, address)
        page = context.new_page()
        page.set_default_timeout(5000)
        page.goto(address)
        page.wait_for_function("navigator.serviceWorker.ready.then(it => it.active.state)")
        page.goto(address + "weak-jet-chart.svg")
    context.set_offline(True)
    for name in ("", "index.html", "other-jet.html"):
        page.goto(address + name)
        expect(page.locator("h1")).to_be_visible()
    page.goto(address + "weak-jet.html#symptom-weak")
    begin(page, "Jets are weak", "D2")
    go(page, "yes")
    reload(page)
    assert number(page) == "3"
    page.goto(address + "weak-jet-chart.svg")  # looked at before, so kept, too
    assert foreign == []
    context.close()


@needs_chromium
def test_an_update_is_noticed_asked_for_and_the_job_goes_on(
    browser: Browser, tmp_path: Path
) -> None:
    folder_of(tmp_path)
    context = browser.new_context(viewport={"width": 390, "height": 844})
    with host(tmp_path) as address:
        page = context.new_page()
        page.set_default_timeout(8000)
        page.goto(address + "weak-jet.html")
        page.wait_for_function("navigator.serviceWorker.ready.then(it => it.active.state)")
        begin(page, "Jets are weak", "D2")
        reload(page)
        go(page, "yes")
        folder_of(tmp_path, "0ther000")
        reload(page)  # the new worker waits; the page is still the old one
        assert number(page) == "3"
        page.get_by_role("button", name="Load it now").click()
        card = page.locator(".card.edition")
        expect(card).to_contain_text("This page: weak-jet · 0ther000")
        page.get_by_role("button", name="Begin this job again").click()
        page.locator(".card > button.on").click()
        expect(page.locator(".card .question")).to_contain_text("Is the float up?")
        assert page.evaluate("caches.keys().then(names => names.length)") == 1
    context.close()


@needs_chromium
def test_browsers_that_install_find_what_they_ask_for(browser: Browser, tmp_path: Path) -> None:
    folder_of(tmp_path)
    context = browser.new_context()
    with host(tmp_path) as address:
        page = context.new_page()
        page.goto(address)
        page.wait_for_function("navigator.serviceWorker.ready.then(it => it.active.state)")
        session = context.new_cdp_session(page)
        found = session.send("Page.getAppManifest")
        assert found["errors"] == [] and found["url"] == address + "manifest.webmanifest"
        assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] in (
            [],
            [{"errorId": "in-incognito", "errorArguments": []}],  # what a test's window always is
        )
    context.close()


@needs_chromium
def test_from_a_stick_no_worker_is_asked_for(browser: Browser, tmp_path: Path) -> None:
    folder_of(tmp_path)
    for name in ("index.html", "weak-jet.html"):
        with visit(browser, tmp_path / name) as seen:  # a request beyond the file would fail
            expect(seen.page.locator("h1")).to_be_visible()
            assert seen.page.locator("link[rel=manifest]").count() == 0
