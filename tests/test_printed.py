"""What the demo trees print, word for word: to be read before it is kept (`pytest --bless`).

Kept small: of a chart's source without the sizes, of a sheet for one model only what differs from
the one for all.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from difflib import unified_diff
from functools import cache
from pathlib import Path

import pytest
from pdf import needs_poppler, poppler

from treewright.making import Made, Sound, sound
from treewright.render import chart
from treewright.render.change_sheet import change_sheet
from treewright.render.cut import cut
from treewright.render.editions import compare
from treewright.render.outline import Outline
from treewright.render.sheet import sheet

ROOT = Path(__file__).resolve().parents[1]
KEPT = ROOT / "tests" / "cases" / "printed"
TREES = ("air-compressor", "cold-room", "log-splitter", "water-pump")

Golden = Callable[[Path, str], None]


@cache
def demo(name: str) -> Sound:
    (one,) = sound([ROOT / "trees" / f"{name}.tree"], Made())
    return one


def printed(pdf: bytes, folder: Path) -> str:
    text = poppler("pdftotext", pdf, folder, "-raw").replace("\u200b", "")
    # The hash of the content is another for every word in the tree, on every page.
    return re.sub(r"( · \d{4}-\d\d-\d\d) · [0-9a-f]{8}\b", r"\1", text).replace("\f", "\n---\n")


def of_sheet(name: str, folder: Path, paper: str = "a4", **asked: str) -> str:
    one = demo(name)
    pdf = sheet(one.outline, paper, pictures=one.pictures, **asked)  # type: ignore[arg-type]
    return printed(pdf, folder)


def shortest_symptom(outline: Outline) -> str:
    """The one that reaches least."""
    return min(outline.symptoms, key=lambda one: len(cut(outline, one.name).nodes)).name


@needs_poppler
@pytest.mark.parametrize("name", TREES)
def test_the_checklist_on_a4(name: str, golden: Golden, tmp_path: Path) -> None:
    golden(KEPT / f"{name}-a4.txt", of_sheet(name, tmp_path))


@needs_poppler
@pytest.mark.parametrize("name", TREES)
def test_the_card_of_one_symptom(name: str, golden: Golden, tmp_path: Path) -> None:
    symptom = shortest_symptom(demo(name).outline)
    text = of_sheet(name, tmp_path, "card", symptom=symptom)
    golden(KEPT / f"{name}-{symptom}-card.txt", text)


@needs_poppler
@pytest.mark.parametrize("name", TREES)
def test_the_checklist_for_one_model(name: str, golden: Golden, tmp_path: Path) -> None:
    model = demo(name).outline.models[0]
    every, one = (
        [
            re.sub(r" ?\(?page \d+\)?| of \d+", "", line)
            for line in text.split("\n")
            if not line.endswith(" serial no.")  # the head of each page
        ]
        for text in (of_sheet(name, tmp_path), of_sheet(name, tmp_path, model=model))
    )
    differs = unified_diff(every, one, "all models", model, n=0, lineterm="")
    told = [line for line in differs if not line.startswith("@@")]
    golden(KEPT / f"{name}-{model}.diff", "\n".join(told) + "\n")


@needs_poppler
@pytest.mark.parametrize("name", TREES)
def test_the_change_sheet(name: str, golden: Golden, tmp_path: Path) -> None:
    """The tree against itself before three changes: a hazard, a remedy, an answer's words."""
    new = demo(name).outline
    hazard = replace(new.hazards[0], avoid="Keep away from it.")
    nodes = [
        replace(node, remedy="Ask.") if node.number == "F2" else
        replace(node, title="Was it looked at?") if node.number == "1" else node
        for node in new.nodes
    ]  # fmt: skip
    old = replace(new, hazards=(hazard, *new.hazards[1:]), nodes=tuple(nodes), mark="before")
    pdf = change_sheet([(old, new, compare(old, new))], "a4")
    golden(KEPT / f"{name}-changes.txt", printed(pdf, tmp_path))


@pytest.mark.parametrize("name", TREES)
def test_the_source_of_the_chart(name: str, golden: Golden) -> None:
    dot = chart.dot_source(demo(name).outline)
    golden(KEPT / f"{name}.dot", re.sub(r', (?:width|height)="[\d.]+"', "", dot))
