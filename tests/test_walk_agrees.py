"""The page's script and the program reason alike: on cases written down, and on random jobs.

`tests/cases/reasoning` holds jobs as data: a tree, what was said, and what must come of it.
Both sides must give exactly that.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from agree import Program, in_page, reasoning_page
from browser import needs_chromium
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page
from test_demos import TREES
from test_lint import load

from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree
from treewright.reason.job.follow import Followed, follow
from treewright.reason.job.frames import Entry

CASES = sorted((Path(__file__).parent / "cases" / "reasoning").glob("*.json"))


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    with reasoning_page() as running:
        yield running


def tree_of(text: str) -> Tree:
    loaded = load(text)
    assert loaded.findings == (), (loaded.findings, text)
    assert loaded.tree is not None
    return loaded.tree


# ---- cases written down -----------------------------------------------------------------------


@needs_chromium
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_comes_out_as_written(
    page: Page, path: Path, golden: Callable[[Path, str], None]
) -> None:
    case = json.loads(path.read_text(encoding="utf-8"))
    tree = tree_of("\n".join(case["tree"]) + "\n")
    job = {"symptom": case["symptom"], "model": case["model"], "entries": case["entries"]}
    ours = Program(tree, case["model"]).summary(case["symptom"], case["entries"])
    [theirs] = in_page(page, tree, [job])
    assert theirs == ours
    golden(path, _written({**case, "expect": ours}))


@needs_chromium
def test_all_ways_are_gone_through_once_for_each_answer(page: Page) -> None:
    """However long the job is by then; and not at all where an answer is only taken back."""
    case = json.loads((CASES[0].parent / "all-left-out.json").read_text(encoding="utf-8"))
    entries = case["entries"]
    job = {"symptom": case["symptom"], "model": case["model"]}
    longer = [{**job, "entries": entries[: at + 1]} for at in range(len(entries))]
    before = page.evaluate("window.looks")
    in_page(page, tree_of("\n".join(case["tree"]) + "\n"), [*longer, *reversed(longer)])
    assert page.evaluate("window.looks") - before == len(entries)


def _written(case: dict[str, Any]) -> str:
    """A case as it is kept: one line for each line of the tree, each entry, each expectation."""

    def lines(value: Any, indent: str) -> str:
        if isinstance(value, list):
            each = [f"{indent}  {json.dumps(one, ensure_ascii=False)}" for one in value]
            return "[\n" + ",\n".join(each) + f"\n{indent}]" if each else "[]"
        if isinstance(value, dict):
            each = [f"{indent}  {json.dumps(k)}: {json.dumps(v, ensure_ascii=False)}"
                    for k, v in value.items()]  # fmt: skip
            return "{\n" + ",\n".join(each) + f"\n{indent}}}"
        return json.dumps(value, ensure_ascii=False)

    return (
        "{\n"
        + ",\n".join(f"  {json.dumps(k)}: {lines(v, '  ')}" for k, v in case.items())
        + "\n}\n"
    )


# ---- random jobs ------------------------------------------------------------------------------

CHECKS = tuple(f"c{n}" for n in range(5))
STEPS = ("s0", "s1")
FAULTS = ("f0", "f1", "f2", "f3")
ENDS = ("h0", "d0")
CONDITIONS = ("wet", "hot", "open")


@st.composite
def trees(draw: st.DrawFn) -> str:
    """Small trees of every kind of block, sound or not: loops, dead ends, faults that show
    nothing, conditions that exclude one another."""
    some = st.lists(st.sampled_from(CONDITIONS), max_size=2, unique=True)

    def named(key: str, names: list[str]) -> list[str]:
        return [f"  {key}: {', '.join(names)}"] if names else []

    def way() -> str:
        does = draw(st.lists(st.sampled_from((*STEPS, "p0", "p1")), max_size=1))
        first = "".join(f"do {one}, then " for one in does)
        kind, names = draw(st.sampled_from([
            ("go", CHECKS), ("go", CHECKS), ("go", STEPS), ("found", FAULTS), ("found", FAULTS),
            ("back to", CHECKS), ("stop", ENDS[:1]), ("go", ENDS[1:]),
        ]))  # fmt: skip
        return f"{first}{kind} {draw(st.sampled_from(names))}"

    lines = ["tree t: T", f"  after remedy: {draw(st.sampled_from(('finish', 'go on')))}",
             "symptom s: S", "  start at: c0"]  # fmt: skip
    for n in range(2):
        lines += [f"procedure p{n}: P", "  - Do it."]
    for at, name in enumerate(CONDITIONS):
        lines += [f"condition {name}: C"]
        lines += (
            [f"  set up by: {draw(st.sampled_from(('p0', 'p1')))}"] if draw(st.booleans()) else []
        )
        lines += [f"  undo by: {draw(st.sampled_from(('p0', 'p1', 'none')))}"]
        lines += named("excludes", [one for one in draw(some) if one != name and at])
    for name in CHECKS:
        lines += [f"check {name}: Q", *named("needs", draw(some))]
        same = draw(st.sampled_from(("", "", *CHECKS)))
        lines += named("same as", [same] if same not in ("", name) else [])
        lines += [f"  if a{n}: {way()}" for n in range(draw(st.integers(2, 3)))]
    for name in STEPS:
        doubts = draw(st.lists(st.sampled_from(CHECKS), max_size=2, unique=True))
        lines += [f"step {name}: S", *named("needs", draw(some)), *named("sets", draw(some)),
                  *named("clears", draw(some)), *named("doubts", doubts),
                  f"  then: {way()}"]  # fmt: skip
    for name in FAULTS:
        shows = []
        for check in draw(st.lists(st.sampled_from(CHECKS), max_size=3, unique=True)):
            shown = draw(
                st.sampled_from(("{} a0", "{} a1", "maybe {} a1", "maybe {} a0, maybe {} a1"))
            )
            shows.append(shown.replace("{}", check))
        share = draw(st.sampled_from(("", "0", "1", "2.5", "7")))
        doubts = draw(st.sampled_from(([], ["none"], ["c1"], ["c0", "c2"])))
        lines += [f"fault {name}: F", *named("needs", draw(some)), *named("shows", shows),
                  *named("doubts", doubts), "  remedy: Mend it."]  # fmt: skip
        lines += [f"  share: {share}"] if share else []
        lines += [f"  retest: {draw(st.sampled_from(CHECKS))}"] if draw(st.booleans()) else []
    return "\n".join([*lines, "handoff h0: H", "  to: Someone", "done d0: D", ""])


def said_to(draw: st.DrawFn, tree: Tree, job: Followed) -> Any:
    """Something that can be said to what is due, or None at the record."""
    if job.due == "record":
        return None
    if job.skipped and draw(st.integers(0, 9)) == 0:
        return {"key": "turn", "to": draw(st.sampled_from(job.skipped))}
    if job.due == "open":
        ends = [place.node.name for place in job.places if place.state == "end" and place.node]
        chosen = draw(st.sampled_from(["", *ends]))
        return {"key": "open", **({"choose": chosen} if chosen else {})}
    kind, _, name = job.due.partition("/")
    node = tree.nodes.get(name) if kind == "node" else None
    if isinstance(node, Check | Reading):
        at = draw(st.integers(-1, len(node.outcomes) - 1))
        return {"key": job.due, **({"skip": True} if at < 0 else {"answer": at})}
    entry: dict[str, Any] = {"key": job.due}
    if isinstance(node, Fault) and draw(st.integers(0, 3)) == 0:
        entry["left"] = True
    elif job.places and kind in ("do", "node") and draw(st.booleans()):
        entry["undone"] = True
    return entry


def as_said(entry: Entry) -> dict[str, Any]:
    """An entry as the page keeps it: only what is said of it."""
    fields = {name: getattr(entry, name) for name in ("key", "answer", "to", "choose", "by")}
    marks = {name: True for name in ("skip", "undone", "left", "kept", "mended")
             if getattr(entry, name)}  # fmt: skip
    return {key: value for key, value in fields.items() if value not in (None, "")} | marks


@needs_chromium
@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_random_jobs_are_reasoned_alike(page: Page, data: st.DataObject) -> None:
    tree = tree_of(data.draw(trees()))
    program = Program(tree, None)
    entries: list[dict[str, Any]] = []
    jobs, ours = [], []
    for _ in range(data.draw(st.integers(1, 25))):
        job = follow(tree, "s", None, [Entry(**one) for one in entries])
        said = said_to(data.draw, tree, job)
        if said is None:
            break
        entries = [*map(as_said, job.entries), said]
        jobs.append({"symptom": "s", "model": None, "entries": entries})
        ours.append(program.summary("s", entries))
        known = [key for key, _, _ in ours[-1]["known"]]
        assert len(ours[-1]["passed"]) in range(len(entries), len(entries) + len(known) + 1)
    for theirs, expected in zip(in_page(page, tree, jobs), ours, strict=True):
        assert theirs == expected


@needs_chromium
@pytest.mark.parametrize("name", TREES)
def test_every_way_of_a_demo_tree_is_reasoned_alike(page: Page, name: str) -> None:
    """Every fault by what it shows, each check on the way also left out once."""
    tree = TREES[name].tree
    assert tree is not None
    jobs, ours = [], []
    for model in tree.models or (None,):
        program = Program(tree, model)
        for symptom in tree.symptoms.values():
            for fault in program.answers_of(symptom.name):
                for entries in program.ways(symptom.name, fault):
                    jobs.append({"symptom": symptom.name, "model": model, "entries": entries})
                    ours.append(program.summary(symptom.name, entries))
    assert len(jobs) > 50
    for theirs, expected in zip(in_page(page, tree, jobs), ours, strict=True):
        assert theirs == expected
