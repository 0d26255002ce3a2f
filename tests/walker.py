"""Drives a walk-through as a technician would; shared by the tests of the walk-through."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from playwright.sync_api import Page
from sample_outline import sample
from test_lint import load

from treewright.render import site
from treewright.render.compile import compile_tree
from treewright.render.outline import Node, Outline

SVG = (
    '<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">'
    '<g id="node-float"><a href="#step-float"><rect width="9" height="9"/></a></g>'
    '<g id="node-screen"><a href="#step-screen"><rect y="20" width="9" height="9"/></a></g></svg>'
)


def page_of_case(case: Path, file: Path) -> Path:
    """Writes the walk-through of the tree of a case of tests/cases/reasoning."""
    loaded = load("\n".join(json.loads(case.read_text(encoding="utf-8"))["tree"]) + "\n")
    assert loaded.tree
    file.write_text(site.page(compile_tree(loaded.tree)), encoding="utf-8")
    return file


def begin(page: Page, symptom: str, model: str) -> None:
    page.get_by_role("radio", name=symptom).check()
    page.get_by_role("radio", name=model, exact=True).check()
    page.get_by_role("button", name="Start", exact=True).click()


def number(page: Page) -> str:
    found = page.locator(".card h2 .number")
    return found.inner_text() if found.count() else ""


def kind(page: Page) -> str:
    return page.locator(".card h2 .kind").inner_text()


def read_hazards(page: Page) -> None:
    """Reads what is new to be read, if anything is."""
    new = page.locator(".card > button.read")
    if new.count():
        new.click()


def confirm(page: Page) -> None:
    """Ticks every line that has to be ticked, and goes on."""
    read_hazards(page)
    for box in page.locator(".card.procedure .items input").all():
        box.check()
    page.locator(".card > button.on").click()


def type_in(page: Page, *values: str, unit: str | None = None) -> None:
    read_hazards(page)
    for at, value in enumerate(values):
        if unit:
            page.locator(".typed select").nth(at).select_option(unit)
        page.locator(".typed input").nth(at).fill(value)


def answer(page: Page, given: str) -> None:
    """Answers a check by its words, or a reading by numbers ("3.1 2.5", "50 psi")."""
    read_hazards(page)
    if kind(page).lower().endswith("reading"):
        values = given.split()
        unit = values.pop() if not re.match(r"[-\d]", values[-1]) else None
        type_in(page, *values, unit=unit)
        page.locator(".reading > button.on").click()
    else:
        words = re.compile(rf"^\s*\d?\s*{re.escape(given)}\s*(your answer before)?$")
        page.locator(".card .answers button").filter(has_text=words).click()


def go(page: Page, *answers: str, until: Callable[[Page], bool] | None = None) -> list[str]:
    """Goes on, giving the answers in turn and confirming all else.

    Stops where an answer is due and none is left, at a fault, at the record, or on `until`.

    Returns:
        The numbers of what was shown, the last one included.
    """
    left = list(answers)
    seen = []
    while True:
        seen.append(number(page) or kind(page))
        if until and until(page):
            return seen
        read_hazards(page)
        what = kind(page)
        if what in ("Fault found", "Record of this job"):
            assert left == []
            return seen
        if page.locator(".card .answers button, .reading").count():
            if not left:
                return seen
            answer(page, left.pop(0))
        else:
            confirm(page)


def changed(name: str, change: Callable[[Node], Node]) -> Outline:
    """The sample with one node made otherwise."""
    plain = sample()
    nodes = tuple(change(node) if node.name == name else node for node in plain.nodes)
    return replace(plain, nodes=nodes)
