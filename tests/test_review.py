"""The reviewer's page, as text and in a browser, and the command that writes it."""

from __future__ import annotations

import argparse
import re
import shutil
from collections.abc import Iterator
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from browser import chromium, needs_chromium, visit
from demos import DEMOS
from playwright.sync_api import Browser
from test_lint import CASES, load, without_marks

from treewright.cli import review as command
from treewright.lint.rules import RULES
from treewright.model.tree import Tree
from treewright.project import Loaded, Project, reviewed
from treewright.render import compile as compiling
from treewright.render.chart import ChartError
from treewright.render.outline import Outline
from treewright.report.review import verdict
from treewright.text.diagnostic import Finding, Level
from treewright.text.source import Source, Span

ROOT = Path(__file__).resolve().parents[1]
SMALL = """tree slow-lift: Lift table rises slowly
  machine: Tarn 12 lift table
  models: T12, T20
  edition: 2, 2026-03-01

condition guarded: Guard rail up
  set up by: rail-up
  undo by: rail-down
  excludes: opened

condition opened: Cabinet open
  set up by: open-up

procedure rail-up: Put the rail up
  time: 3/2 min
  - Put it up.

procedure rail-down: Take the rail down
  time: 1 min
  - Take it down.

procedure open-up: Open the cabinet
  time: 5 min
  - Open it.

symptom slow: Rises slowly
  start at: oil

check oil: Is the oil between the marks?
  time: 2 min
  if yes: go load
  if no: do top-up, then go load

step top-up: Top the oil up
  time: 4 min

check load: Is it loaded above its plate?
  time: 30 s
  needs: guarded
  normal: no
  if no: go valve
  if yes: found over-load

check valve: Is the valve dry?
  time: 1 h
  needs: opened
  if yes: go lamp
  if no: found wet-valve

check lamp: Is the lamp on?
  needs: guarded
  if yes: found worn-pump
  if no: found worn-rings

fault over-load: Loaded too much
  share: 1
  shows: load yes
  remedy: Take some off.

fault wet-valve: Valve leaks
  share: 2
  shows: valve no
  remedy: New seals.

fault worn-pump: Pump worn
  share: 3
  remedy: New pump.

fault worn-rings: Rings worn
  share: 2
  shows: maybe lamp yes
  remedy: New rings.

fault nowhere: Never looked for
  remedy: None.
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


def page_of(loaded: Loaded) -> str:
    return command.page(loaded, reviewed(loaded))


def tree_of(loaded: Loaded) -> Tree:
    assert loaded.tree is not None
    return loaded.tree


class Balance(HTMLParser):
    """Fails where a tag is closed that is not the last one open; collects ids and links."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ("meta", "br"):
            self.open.append(tag)
        self.handle_startendtag(tag, attrs)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name == "href"]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def well_formed(text: str) -> Balance:
    """The page's tags close in order, its ids are unique, its links lead somewhere on it."""
    found = Balance()
    found.feed(text)
    assert found.open == []
    assert sorted(set(found.ids)) == sorted(found.ids)
    for link in found.links:
        if link.startswith("#"):
            assert link[1:] in found.ids
        else:
            assert re.fullmatch(r"rules\.html|rule-[a-z-]+\.html", link)
    assert not {"script", "img", "iframe", "link", "object", "form"} & set(found.tags)
    return found


# ---- every finding -------------------------------------------------------------------------

SEEN = """text => {
    const page = new DOMParser().parseFromString(text, 'text/html');
    return [...page.querySelectorAll('.lines .remark')].map(remark => ({
        id: remark.id,
        line: remark.closest('li').id,
        text: remark.textContent,
        words: [...page.querySelectorAll(`.words[href="#${remark.id}"]`)]
            .map(words => [words.closest('li').id, words.textContent]),
    }));
}"""


@needs_chromium
def test_every_finding_of_every_case_stands_at_its_line(browser: Browser) -> None:
    broken = sorted((ROOT / "tests" / "cases" / "syntax").glob("*.tree"))
    cases = [load(without_marks(path.read_text(encoding="utf-8"))) for path in CASES]
    cases += [Project().load(path) for path in broken]
    reader = browser.new_page()
    count = 0
    for loaded in cases:
        text = page_of(loaded)
        well_formed(text)
        shown = {one["id"]: one for one in reader.evaluate(SEEN, text)}
        findings = reviewed(loaded).findings
        assert set(shown) == {f"finding-{n}" for n in range(1, len(findings) + 1)}
        for n, finding in enumerate(findings, 1):
            _is_shown(shown[f"finding-{n}"], finding, tree_of(loaded))
        count += len(findings)
    assert count > 100


def _is_shown(shown: dict[str, Any], finding: Finding, tree: Tree) -> None:
    source = finding.span.source
    sources = [tree.source, *(s for s in tree.sources if s is not tree.source)]
    home = (sources.index(source) if source in sources else len(sources)) + 1  # a translation's
    assert shown["line"] == f"line-{home}-{finding.span.line}"
    said = " ".join(shown["text"].split())
    for text in (finding.rule, finding.level.value, finding.message, finding.why, finding.help):
        assert " ".join(text.split()) in said
    for stop in finding.way:
        assert " ".join(stop.split()) in said
    words = finding.span.text.split("\n")[0]
    first = "".join(text for line, text in shown["words"] if line == shown["line"])
    # Where several findings underline the same words, these lead to the gravest and first.
    assert first == "" or first.strip() in words or not words
    if shown["words"]:
        assert shown["words"][0][0] == shown["line"]


def test_words_are_underlined_once_for_each_finding() -> None:
    loaded = load(without_marks((CASES[0].parent / "gap.tree").read_text(encoding="utf-8")))
    found = [(m[1], unescape(m[2])) for m in re.finditer(
        r'<a class="words \w+" href="#finding-(\d+)">(.*?)</a>', page_of(loaded))]  # fmt: skip
    spans = [f.span.text for f in reviewed(loaded).findings]
    same = {text: n for n, text in reversed(list(enumerate(spans, 1)))}
    assert found == [(str(n), text) for n, text in enumerate(spans, 1) if same[text] == n]


def test_the_summary_counts_and_links_each_finding() -> None:
    loaded = load(without_marks((CASES[0].parent / "gap.tree").read_text(encoding="utf-8")))
    text = page_of(loaded)
    count = len(reviewed(loaded).findings)
    summary = text.split('<ol class="summary">')[1].split("</ol>")[0]
    assert summary.count("<li>") == count
    assert f"{count} faults: may not be printed" in text
    assert 'href="rule-gap.html"' in text


# ---- verdict -------------------------------------------------------------------------------


def _found(*levels: Level) -> list[Finding]:
    return [Finding("r", level, f"m{n}", Span(Source("x", ""), 0, 0)) for n, level in
            enumerate(levels)]  # fmt: skip


@pytest.mark.parametrize(
    ("levels", "text"),
    [
        ((), "no fault: may be printed"),
        ((Level.FAULT,), "1 fault: may not be printed"),
        ((Level.DOUBT, Level.FAULT, Level.DOUBT), "1 fault, 2 doubts: may not be printed"),
        ((Level.DOUBT, Level.DOUBT), "no fault: may be printed; 2 doubts to decide"),
        ((Level.WORDING, Level.DOUBT),
         "no fault: may be printed; 1 doubt and 1 wording to decide"),
    ],
)  # fmt: skip
def test_the_verdict_is_one_line(levels: tuple[Level, ...], text: str) -> None:
    assert verdict(_found(*levels)).text == text


# ---- author text is data -------------------------------------------------------------------

HOSTILE = (
    '</style></svg></title><script>alert(1)</script><img src=x onerror=alert(1)> "\'&amp; '
    "{{ 7*7 }} \u202etxt.exe"
)


@needs_chromium
def test_hostile_text_shows_as_text(browser: Browser, tmp_path: Path) -> None:
    tree = f"""tree t: {HOSTILE}
  machine: {HOSTILE}
  about: {HOSTILE}

condition wet: {HOSTILE}
  set up by: soak

procedure soak: {HOSTILE}
  - {HOSTILE}

symptom s: {HOSTILE}
  start at: a

check a: {HOSTILE}
  needs: wet
  if yes: go b
  if no: go b
  waive decides-nothing: {HOSTILE}

reading b: {HOSTILE}
  unit: bar
  if below 2: found f
  if above 3: found {HOSTILE}

fault f: {HOSTILE}
  remedy: {HOSTILE}
"""
    file = tmp_path / "t.html"
    text = page_of(load(tree))
    file.write_text(text, encoding="utf-8")
    well_formed(text)
    with visit(browser, file) as seen:  # fails on a request, a dialog, an error
        page = seen.page
        assert page.evaluate("document.querySelectorAll('script, img, iframe').length") == 0
        assert page.locator("h1").inner_text().startswith("</style></svg></title><script>alert")
        listing = page.locator(".lines").all_text_contents()
        assert sum("<script>alert(1)</script><img src=x" in one for one in listing) >= 1
        assert "\u202e" not in "".join(listing)
        reason = page.locator("#waived .reason").inner_text()
        assert "<img src=x onerror=alert(1)>" in reason
        assert "49" not in reason


@needs_chromium
def test_nothing_runs_over_the_edge_of_a_phone(browser: Browser, tmp_path: Path) -> None:
    for loaded in (load(SMALL), Project().load(DEMOS[0])):
        file = tmp_path / "t.html"
        file.write_text(page_of(loaded), encoding="utf-8")
        for width in (390, 1280):
            with visit(browser, file, width=width) as seen:
                wide = seen.page.evaluate("document.documentElement.scrollWidth")
                assert wide <= width


# ---- marks on the chart --------------------------------------------------------------------

MARKS = """() => [...document.querySelectorAll('.chart-view g[id]')].flatMap(group => {
    const ring = group.querySelector('.ring');
    if (!ring) return [];
    const [r, m] = [ring, group.querySelector('.rim')].map(e => e.getBoundingClientRect());
    const style = getComputedStyle(ring);
    return [{
        id: group.id, level: ring.getAttribute('class'), dash: style.strokeDasharray,
        around: r.left < m.left && r.top < m.top && r.right > m.right && r.bottom > m.bottom,
        near: m.left - r.left < 20 && r.bottom - m.bottom < 20,
        tabs: [...group.querySelectorAll('.tab')].map(
            tab => [tab.getAttribute('href'), tab.querySelector('text').textContent]),
    }];
})"""

FAULTY = """tree t: Lift
  machine: Tarn 12 lift table

hazard-free: x

danger live: Live parts
  harm: Kills.
  avoid: Keep away.
  at: nowhere

symptom s: Slow
  start at: a

check a: Is it on?
  if yes: go b
  if no: go b

reading b: Pressure
  unit: bar
  if below 2: do wash, then go gone
  if above 3: found f

step wash: Wash it

fault f: Worn
  remedy: New.
""".replace("hazard-free: x\n\n", "")


@needs_chromium
def test_marks_stand_at_the_nodes_of_the_findings(browser: Browser, tmp_path: Path) -> None:
    loaded = load(FAULTY)
    file = tmp_path / "t.html"
    file.write_text(page_of(loaded), encoding="utf-8")
    with visit(browser, file, width=1280) as seen:
        marks = {mark["id"]: mark for mark in seen.page.evaluate(MARKS)}
    at: dict[str, list[tuple[str, str]]] = {}
    symbols = {"symptom s": "chart-symptom-s", "check a": "node-a", "reading b": "node-b",
               "step wash": "node-wash", "fault f": "node-f"}  # fmt: skip
    expected_off = []
    for n, finding in enumerate(reviewed(loaded).findings, 1):
        above = FAULTY[: finding.span.end].splitlines()
        head = next(line for line in reversed(above) if line[:1].strip())
        sign = {"fault": "!", "doubt": "?", "wording": "~"}[finding.level.value]
        id = symbols.get(head.split(":")[0])
        if id is None:
            expected_off.append(f"#finding-{n}")
        else:
            at.setdefault(id, []).append((f"#finding-{n}", f"{sign} {n}"))
    assert {"node-a", "node-b"} <= set(at)
    assert expected_off
    assert set(marks) == set(at)
    for id, mark in marks.items():
        assert sorted(map(tuple, mark["tabs"])) == sorted(at[id])
        assert mark["around"] and mark["near"]
    assert marks["node-a"]["level"] == "ring doubt"
    assert marks["node-a"]["dash"] != "none"
    assert marks["node-b"]["level"] == "ring fault"
    assert marks["node-b"]["dash"] == "none"
    off = page_of(loaded).split("does not stand on the chart")[1].split("</p>")[0]
    assert re.findall(r'href="(#finding-\d+)"', off) == expected_off


# ---- the same page, and trees that are not whole -------------------------------------------


def test_same_tree_same_page_wherever_it_lies(tmp_path: Path) -> None:
    demo = ROOT / "trees" / "air-compressor.tree"
    shutil.copytree(ROOT / "trees", tmp_path / "elsewhere")
    first, again = page_of(Project().load(demo)), page_of(Project().load(demo))
    moved = page_of(Project().load(tmp_path / "elsewhere" / demo.name))
    assert first == again == moved
    assert str(tmp_path) not in moved


def test_a_file_that_could_not_be_read_whole_says_so() -> None:
    text = page_of(load(FAULTY.replace("check a: Is it on?", "chek a: Is it on?")))
    assert "could not be read whole" in text
    assert "may not be printed" in text
    well_formed(text)


def test_a_library_has_no_chart_and_no_verdict_on_printing() -> None:
    text = page_of(Project().load(ROOT / "trees" / "lib" / "isolation.tree"))
    assert 'id="chart"' not in text
    assert 'id="coverage"' not in text
    well_formed(text)


@pytest.mark.parametrize("slip", [KeyError("x"), ChartError("too many lines")])
def test_what_cannot_be_compiled_or_drawn_is_said(
    slip: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(tree: Tree) -> Outline:
        raise slip

    monkeypatch.setattr(compiling, "compile_tree", fail)
    text = page_of(load(FAULTY))
    well_formed(text)
    assert "There is no chart of this tree." in text
    assert ("cannot be compiled" if isinstance(slip, KeyError) else "too many lines") in text
    if isinstance(slip, KeyError):  # a tree without a fault must compile: a slip comes out
        with pytest.raises(KeyError):
            page_of(Project().load(DEMOS[0]))


# ---- the command ---------------------------------------------------------------------------


def _run(out: Path, *paths: Path) -> int:
    return command.run(argparse.Namespace(paths=[str(path) for path in paths], out=str(out)))


def test_the_command_writes_pages_and_says_what_was_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "good.tree").write_text(SMALL.split("fault nowhere")[0])
    (tmp_path / "bad.tree").write_text(FAULTY)
    (tmp_path / "headless.tree").write_text("check a: Is it on?\n  if yes: go a\n")
    (tmp_path / "odd.tree").write_bytes(b"\xff\xfe\x00")
    out = tmp_path / "out"
    assert _run(out, tmp_path) == 1
    said = capsys.readouterr()
    assert "is saved as UTF-16" in " ".join(said.err.split())
    assert "Traceback" not in said.err
    made = {path.name for path in out.iterdir()}
    assert {"slow-lift-review.html", "t-review.html", "headless-review.html"} <= made
    assert made - {f"{n}-review.html" for n in ("slow-lift", "t", "headless")} == {
        "rules.html", *(f"rule-{rule.name}.html" for rule in RULES)
    }  # fmt: skip
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    _run(out, tmp_path)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_two_trees_of_one_name_have_two_pages(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / f"{name}.tree").write_text(FAULTY)
    _run(tmp_path / "out", tmp_path)
    assert {p.name for p in (tmp_path / "out").glob("*-review.html")} == {
        "t-review.html", "t-2-review.html"
    }  # fmt: skip


def test_what_a_sound_tree_costs_is_on_the_page(tmp_path: Path) -> None:
    """Faults by checks, minutes and order; of a tree with a fault they are not worked out."""
    compressor = next(path for path in DEMOS if path.stem == "air-compressor")
    loaded = Project().load(compressor)
    made = command.page(loaded, reviewed(loaded))
    assert 'id="matrix-title"' in made and 'id="weigh-title"' in made
    text = unescape(re.sub(r"<[^>]+>", "", made))
    assert "best   20.2 min on average, 26 min at most, proven: no order takes less" in text
    assert "90 of 100 jobs" in text
    assert "would bring the expected time from" in text
    odd = tmp_path / "odd.tree"
    odd.write_text(compressor.read_text(encoding="utf-8").replace("found drain-open", "found no"))
    shutil.copytree(compressor.parent / "lib", tmp_path / "lib")
    loaded = Project().load(odd)
    assert 'id="matrix-title"' not in command.page(loaded, reviewed(loaded))
