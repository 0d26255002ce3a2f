"""Every case written in the demo trees, walked in the browser, ends where the case says.

It is a matter of what the page concludes: fingers are left out, which other tests have.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from browser import chromium, needs_chromium, visit
from demos import DEMOS
from playwright.sync_api import Browser, Locator, Page, expect
from walker import kind, number

from treewright.project import Project
from treewright.reason.job.standing import Standing
from treewright.render import site
from treewright.render.compile import compile_tree
from treewright.render.outline import Node, Outline, Symptom

TREES = DEMOS
LONGEST = 120  # screens; more than any way through these trees takes


@cache
def outline(path: Path) -> Outline:
    tree = Project().load(path).tree
    assert tree
    return compile_tree(tree)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


def press(button: Locator) -> None:
    """Quicker than a click, which waits until nothing moves."""
    button.evaluate("it => it.click()")


def read_hazards(page: Page) -> None:
    new = page.locator(".card > button.read")
    if new.count():
        press(new)


def confirm(page: Page) -> None:
    items = page.locator(".card.procedure .items input")
    items.evaluate_all("all => all.forEach((it) => it.click())")
    press(page.locator(".card > button.on"))


def begin(page: Page, tree: Outline, symptom: str, model: str | None) -> None:
    press(page.locator(f"input[name=symptom][value='{symptom}']"))
    if len(tree.models) > 1:
        press(page.locator("input[name=model]").nth(tree.models.index(model or tree.models[0])))
    press(page.get_by_role("button", name="Start", exact=True))


def give(page: Page, node: Node, text: str) -> None:
    """Answers a check with its words or a reading with "180 s" or "left 8.7 bar, right …"."""
    if node.kind == "check":
        labels = [outcome.label for outcome in node.outcomes]
        press(page.locator(".card .answers button").nth(labels.index(text)))
        return
    places = node.places or ("",)
    for at, place in enumerate(places):
        found = re.search(
            rf"(?:^|, ){re.escape(place)} ?([-\d./ ]*\d) ?([^,\d][^,]*)?(?:,|$)", text
        )
        assert found, text
        unit = found[2] and {"uF": "µF", "ohm": "Ω", "Mohm": "MΩ"}.get(found[2], found[2])
        offered = [one.symbol for one in node.units]
        assert unit is None or unit in offered, (unit, offered)
        if unit:
            page.locator(".typed select").nth(at).select_option(unit)
        page.locator(".typed input").nth(at).fill(found[1])
    press(page.locator(".reading > button.on"))


@needs_chromium
@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_cases_end_where_they_say(browser: Browser, tmp_path: Path, path: Path) -> None:
    tree = outline(path)
    file = tmp_path / f"{tree.name}.html"
    file.write_text(site.page(tree), encoding="utf-8")
    by_number = {node.number: node for node in tree.nodes}
    assert tree.cases
    wrong = []
    for case in tree.cases:
        with visit(browser, file) as seen:
            page = seen.page
            begin(page, tree, case.symptom, case.model)
            read = {entry.node: entry.text for entry in case.read}
            for _ in range(LONGEST):
                read_hazards(page)
                node = by_number.get(number(page))
                if node and node.kind in ("fault", "handoff", "done"):
                    break
                if not node or node.kind == "step":
                    confirm(page)
                    continue
                # What a case does not name has its normal answer.
                if node.name in read:
                    give(page, node, read[node.name])
                elif kind(page).lower().endswith("reading"):
                    good = [outcome.normal for outcome in node.outcomes].index(True)
                    press(page.locator(".by-eye summary"))
                    press(page.locator(".by-eye button").nth(good))
                else:
                    give(page, node, next(o.label for o in node.outcomes if o.normal))
            if not node or node.name != case.ends:
                wrong.append((case.name, case.ends, number(page)))
    assert wrong == []


@needs_chromium
def test_many_symptoms_are_searched_by_their_words_and_by_the_faults_behind_them(
    browser: Browser, tmp_path: Path
) -> None:
    path = next(path for path in DEMOS if path.stem == "air-compressor")
    tree = Project().load(path).tree
    assert tree
    made = compile_tree(tree)
    file = tmp_path / "air-compressor.html"
    file.write_text(site.page(made), encoding="utf-8")
    standing = Standing(tree)

    def texts(symptom: Symptom) -> str:
        faults = [made.node(name).title for name in standing.behind(f"symptom {symptom.name}")]
        return " ".join([symptom.title, symptom.about, *faults]).casefold()

    with visit(browser, file) as seen:
        page = seen.page
        field = page.get_by_role("searchbox")
        for words in ("reeds", "REEDS valve", "hum", "fuse", "no such thing", ""):
            field.fill(words)
            wanted = [
                one.name
                for one in made.symptoms
                if all(word in texts(one) for word in words.casefold().split())
            ]
            shown = page.locator("label:visible input[name=symptom]").evaluate_all(
                "them => them.map(it => it.value)"
            )
            assert shown == wanted, words
        assert len(wanted) == len(made.symptoms) >= 5
        field.fill("reeds")
        page.locator("label:visible input[name=symptom]").first.check()
        assert field.input_value() == "reeds"  # and what is chosen stays in sight
        field.fill("no such thing")
        expect(page.locator("label:visible input[name=symptom]")).to_have_count(1)
        expect(page.get_by_role("status").filter(has_text="1 / 5")).to_be_visible()
