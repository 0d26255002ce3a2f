"""Every demo tree driven to every fault by what the fault shows, repaired, retested and left.

All of it in the real page, by pressing its own buttons, on a screen of a phone and of a desk. What
must be found is worked out by the tests' own interpreter of trees.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import chromium, needs_chromium, visit
from playwright.sync_api import Browser
from test_demos import TREES, faults
from walk import ends_of, models_of

from treewright.model.nodes import Check, Reading
from treewright.model.tree import Tree
from treewright.render import site
from treewright.render.compile import compile_tree

# Goes on by pressing what is there, as a technician would: `answers` by the number of the check,
# the good answer for all else, until the record. Says what was shown, found, and left set.
DRIVE = """
async ({ symptom, model, answers, good, leave }) => {
  const all = (selector) => [...document.querySelectorAll(`#walk ${selector}`)];
  const one = (selector) => all(selector)[0] ?? null;
  all('.tools button').find((b) => b.textContent === 'Jobs')?.click();
  one(`input[name=symptom][value='${symptom}']`).click();
  if (model) one(`input[name=model][value='${CSS.escape(model)}']`)?.click();
  all('button').find((b) => b.textContent === 'Start').click();
  const shown = [];
  const found = [];
  let skipped = false;
  for (let turn = 0; turn < 400; turn += 1) {
    const card = one('.card');
    const number = card.querySelector('h2 .number')?.textContent ?? '';
    if (document.documentElement.scrollWidth > innerWidth) shown.push('TOO WIDE');
    const read = one('.card > button.read');
    if (read) { read.click(); continue; }
    shown.push(number || card.className);
    if (card.classList.contains('record')) {
      return { shown, found, held: all('.held li').map((li) => li.textContent) };
    }
    if (card.classList.contains('open')) {
      const text = (selector) => all(selector)[0].innerText;
      return { shown, possible: text('.card .answers'), take: text('.decide') };
    }
    if (card.classList.contains('fault')) found.push(number);
    if (number === leave && !found.length && !skipped) {
      skipped = true;
      one('.card button.cannot').click();
      continue;
    }
    for (const box of all('.card.procedure .items input')) box.click();
    const at = found.length ? good[number] : answers[number] ?? good[number];
    const ways = all('.card.check .answers button');
    const byEye = all('.card.reading .by-eye button');
    if (ways.length) ways[at].click();
    else if (byEye.length) byEye[at].click();
    else one('.card > button.on').click();
  }
  return { shown: [...shown.slice(0, 40), 'NEVER ENDS'] };
}
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as running:
        yield running


def jobs(tree: Tree) -> Iterator[dict[str, Any]]:
    """For each fault a symptom and model from which what it surely shows leads to it alone."""
    checks = [n for n in tree.nodes.values() if isinstance(n, Check | Reading)]
    good = {check.number: min(check.normal) for check in checks}
    numbers = {check.name: check.number for check in checks}
    for fault in faults(tree):
        answers = {numbers[one.node.name]: one.outcome for one in fault.shows if not one.maybe}
        for symptom in tree.symptoms.values():
            for model in models_of(tree, fault.models, symptom.models):
                if set(ends_of(tree, fault, symptom.name, model)) == {fault.name}:
                    yield {"symptom": symptom.name, "model": model, "answers": answers,
                           "good": good, "fault": fault.number}  # fmt: skip
                    break
            else:
                continue
            break


@needs_chromium
@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", TREES)
def test_every_fault_is_found_repaired_and_nothing_is_left_set(
    browser: Browser, tmp_path: Path, name: str, width: int
) -> None:
    tree = TREES[name].tree
    assert tree
    file = tmp_path / f"{name}.html"
    file.write_text(site.page(compile_tree(tree)), encoding="utf-8")
    lasting = {c.title.text for c in tree.conditions.values() if c.undo_by is None}
    wanted = list(jobs(tree))
    assert {job["fault"] for job in wanted} == {fault.number for fault in faults(tree)}
    with visit(browser, file, width=width) as seen:
        seen.page.locator("#walk .card.start").wait_for()
        for job in wanted:
            came = seen.page.evaluate(DRIVE, {**job, "leave": ""})
            assert came.get("found", [])[:1] == [job["fault"]], (job, came)
            assert "TOO WIDE" not in came["shown"]
            assert set(came["held"]) <= lasting, (job, came)


@needs_chromium
@pytest.mark.parametrize("name", TREES)
def test_with_the_telling_check_left_out_the_fault_stays_possible(
    browser: Browser, tmp_path: Path, name: str
) -> None:
    tree = TREES[name].tree
    assert tree
    file = tmp_path / f"{name}.html"
    file.write_text(site.page(compile_tree(tree)), encoding="utf-8")
    titles = {fault.number: fault.name for fault in faults(tree)}
    opened = 0
    with visit(browser, file) as seen:
        seen.page.locator("#walk .card.start").wait_for()
        for job in jobs(tree):
            for check in job["answers"]:
                came = seen.page.evaluate(DRIVE, {**job, "leave": check})
                if "possible" in came:
                    opened += 1
                    assert f"{job['fault']} " in came["possible"], (titles[job["fault"]], came)
                    assert f"Take up {check} now" in came["take"]
                else:
                    assert "found" in came, came
    assert opened >= 5
