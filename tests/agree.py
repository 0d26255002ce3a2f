"""The reasoning of the page's script and of the program, side by side on the same job.

The script's files are loaded into an empty page of a real browser; a job is a symptom, a model
and the list of what was said, as the page keeps it. Both sides give the same summary.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from typing import Any

from browser import chromium
from playwright.sync_api import Page

from treewright.model.nodes import Check, Done, Fault, Handoff, Reading
from treewright.model.tree import Tree
from treewright.reason.job.follow import follow
from treewright.reason.job.frames import Entry
from treewright.reason.job.standing import Standing
from treewright.reason.limits import judge
from treewright.render import walk, web
from treewright.render.compile import compile_tree
from treewright.text.units import Unit, convert, find_unit

REASONING = (
    "exact.js", "tree.js", "facts.js", "suspects.js", "places.js", "change.js", "job.js",
)  # fmt: skip
"""All of the script that decides; nothing of it needs a page."""

_SUMMARY = """
let opened = null;
window.looks = 0; // how often all ways were gone through
const { find } = Places;
Places.find = (...all) => {
  window.looks += 1;
  return find(...all);
};
window.agree = (data, jobs) => {
  if (data) opened = Tree.open(data);
  const tree = opened;
  const name = (one) => one?.name ?? null;
  let before = []; // entries that go on from job to job, as they do while a page is used
  return jobs.map(({ symptom, model, entries }) => {
    const texts = entries.map((one) => JSON.stringify([symptom, model, one]));
    const same = (at) => before[at]?.text === texts[at];
    const kept = entries.map((one, at) => (same(at) ? before[at].entry : { ...one }));
    before = texts.map((text, at) => ({ text, entry: kept[at] }));
    const job = { ...Job.fresh(symptom, model), entries: kept };
    for (const entry of job.entries) {
      if (!entry.values) continue;
      const node = tree.nodes.get(entry.key.slice(5));
      const read = new Map(entry.values.map((value) =>
        [value.place, Tree.inOwnUnit(node, Exact.typed(value.text).value, value.unit)]));
      entry.answer = Tree.judge(node, read, model);
    }
    const answers = job.entries.map((entry) => entry.answer ?? null);
    const view = Job.replay(tree, job);
    const { open, out } = Suspects.weigh(tree, job, view);
    const percents = Suspects.percents(open);
    const { faults } = Suspects.possible(tree, job, view);
    return {
      answers,
      passed: view.passed.map((one) => one.entry.key),
      known: view.passed.map((one) => one.entry).filter((one) => one.by)
        .map((one) => [one.key, one.answer, one.by]),
      due: view.frame.key,
      held: view.held,
      places: view.places.map((one) => [one.state, name(one.procedure ?? one.node)]),
      skipped: [...view.open?.skipped ?? []],
      still: open.map((one) => [one.name, percents.get(one)?.whole ?? null]),
      out: Object.fromEntries([...out].map(([fault, by]) => [fault.name, name(by)])),
      possible: view.places.length ? faults.map(name) : [],
      deciding: Suspects.deciding(tree, job, open).map(name),
      end: view.end.kind ?? '',
      left: view.end.left,
    };
  });
};
"""


@contextmanager
def reasoning_page() -> Iterator[Page]:
    """A page that holds the reasoning of the script and nothing else."""
    script = "".join(web.read(f"js/{name}") for name in REASONING)
    with chromium() as browser:
        page = browser.new_page()
        page.add_script_tag(content=f"(() => {{\n'use strict';\n{script}{_SUMMARY}}})();")
        yield page


def in_page(page: Page, tree: Tree, jobs: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """What the script makes of some jobs of a tree."""
    data = json.loads(json.dumps(walk.data(compile_tree(tree))))
    found: list[dict[str, Any]] = page.evaluate("([data, jobs]) => agree(data, jobs)", [data, jobs])
    return found


class Program:
    """What the program makes of jobs of a tree on one model."""

    def __init__(self, tree: Tree, model: str | None) -> None:
        self.tree, self.model = tree, model
        self.standing = Standing(tree, model)

    def summary(self, symptom: str, entries: Sequence[dict[str, Any]]) -> dict[str, Any]:
        said = [self.entry(one) for one in entries]
        job = follow(self.tree, symptom, self.model, said)
        weighed = self.standing.weigh(symptom, job.facts, job.mended)
        percents = self.standing.percents(weighed.open)
        possible = self.standing.possible(weighed, job.places) if job.places else ()
        return {
            "answers": [one.answer for one in said],
            "passed": [one.key for one in job.entries],
            "known": [[one.key, one.answer, one.by] for one in job.entries if one.by],
            "due": job.due,
            "held": list(job.held),
            "places": [[one.state, _named(one)] for one in job.places],
            "skipped": list(job.skipped),
            "still": [[name, percents[name]] for name in weighed.open],
            "out": weighed.out,
            "possible": list(possible),
            "deciding": list(self.standing.deciding(weighed.open)),
            "end": job.end,
            "left": list(job.left),
        }

    def answers_of(self, symptom: str) -> tuple[str, ...]:
        """The faults behind a symptom."""
        return self.standing.behind(f"symptom {symptom}")

    def ways(self, symptom: str, fault: str) -> Iterator[list[dict[str, Any]]]:
        """The job of a machine with a fault up to its remedy, by what it shows; on the first model
        the same with each of its checks left out."""
        plain = self.way(symptom, fault, "")
        yield plain
        for entry in plain if self.model in (None, self.tree.models[0]) else ():
            name = entry["key"].removeprefix("node/")
            if "answer" in entry:
                yield self.way(symptom, fault, name)

    def way(self, symptom: str, fault: str, without: str) -> list[dict[str, Any]]:
        entries: list[dict[str, Any]] = []
        while len(entries) < 200:
            due = follow(self.tree, symptom, self.model, map(self.entry, entries)).due
            node = self.tree.nodes.get(due.removeprefix("node/"))
            if due in ("open", "record") or isinstance(node, Fault | Handoff | Done):
                break
            entry: dict[str, Any] = {"key": due}
            if isinstance(node, Check | Reading):
                if node.name == without:
                    entry["skip"] = True
                else:
                    entry["answer"] = min(self.standing.answers.given(fault, node))
            entries.append(entry)
        return entries

    def entry(self, said: dict[str, Any]) -> Entry:
        known = {key: value for key, value in said.items() if key != "values"}
        if "held" in known:
            known["held"] = tuple(known["held"])
        if "values" in said:
            name = said["key"].removeprefix("node/")
            known["answer"] = self.judged(name, said["values"])
            known["values"] = tuple(
                (one["place"] or None, Fraction(one["text"]), _unit(one["unit"]))
                for one in said["values"]
            )
        return Entry(**known)

    def judged(self, name: str, values: Sequence[dict[str, str]]) -> int:
        reading = self.tree.nodes[name]
        assert isinstance(reading, Reading) and reading.unit
        own = reading.unit
        read = {
            value["place"] or None: convert(Fraction(value["text"]), _unit(value["unit"]), own)
            for value in values
        }
        found = judge(reading, self.model, read)
        return found[0] if found else -1


def _unit(symbol: str) -> Unit:
    unit = find_unit(symbol)
    assert unit is not None
    return unit


def _named(place: Any) -> str | None:
    named = place.procedure or place.node
    return named.name if named else None
