"""All that a random tree says is found again in the text of its sheets and of its chart.

Steps, limits, answers, findings and hazards; on every paper, whole and for one symptom or model;
small and large; in letters that no font has, in words that never end. Read back with poppler.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from generate import tree as generated
from hypothesis import given, settings
from hypothesis import strategies as st
from pdf import needs_poppler, poppler, squeezed

from treewright.model.build import build
from treewright.render import chart, prose, sheet
from treewright.render.compile import compile_tree
from treewright.render.cut import cut
from treewright.render.outline import Outline
from treewright.render.paper import legible
from treewright.render.sheet_form import PAPERS, Paper
from treewright.syntax.parse import parse
from treewright.text.source import Source

pytestmark = needs_poppler

SALTS = {
    "plain": "",
    "other letters": " Ёлка Ωμέγα čşž",
    "right to left": " \u05e9\u05dc\u05d5\u05dd \u0633\u0644\u0627\u0645",
    "no font has it": " \u4e2d\u6587 \U0001f527",
    "hostile": " <b>& #let x $1$ {{7}} \\u{41}",
    "endless": " " + "W" * 150,
    "long": " word and word" * 30,
}


@cache
def outline_of(text: str) -> Outline:
    file, findings = parse(Source("one.tree", text))
    assert findings == []
    return compile_tree(build(file, lambda name: file)[0])


def salted(outline: Outline, salt: str) -> Outline:
    """With `salt` behind what an author writes; names, numbers and limits stay."""

    def of(words: str) -> str:
        return words + salt if words else words

    return replace(
        outline,
        nodes=tuple(
            replace(node, title=of(node.title), remedy=of(node.remedy), to=of(node.to),
                    outcomes=tuple(replace(one, label=of(one.label))
                                   if one.test.kind == "answer" else one
                                   for one in node.outcomes))
            for node in outline.nodes
        ),
        symptoms=tuple(replace(one, title=of(one.title)) for one in outline.symptoms),
        procedures=tuple(
            replace(one, title=of(one.title), items=tuple(map(of, one.items)))
            for one in outline.procedures
        ),
        hazards=tuple(
            replace(one, title=of(one.title), harm=of(one.harm), avoid=of(one.avoid))
            for one in outline.hazards
        ),
    )  # fmt: skip


def printed(words: str) -> str:
    return squeezed(legible(prose.plain(words)))


def of_both(part: Outline) -> Iterator[str]:
    """What must be found on the checklist and on the chart."""
    for node in part.nodes:
        yield printed(node.title)
        yield printed(node.remedy)
        for outcome in node.outcomes:
            yield squeezed(legible(outcome.label))
        for spec in node.specs:
            yield squeezed(spec.text)
            yield squeezed(spec.also)
    for symptom in part.symptoms:
        yield symptom.number + printed(symptom.title)
    for hazard in part.hazards:
        yield from map(printed, (hazard.title, hazard.harm, hazard.avoid))


def of_sheet(part: Outline) -> Iterator[str]:
    yield from of_both(part)
    for node in part.nodes:
        yield node.number + printed(node.title)
        yield squeezed(legible(node.to))
    for procedure in part.procedures:
        yield procedure.number + printed(procedure.title)
        yield from map(printed, procedure.items)


def text_of(pdf: bytes) -> str:
    with TemporaryDirectory() as folder:
        # Between the pages stand the head of one and the foot of the other.
        return squeezed(poppler("pdftotext", pdf, Path(folder), "-raw"))


trees = st.builds(
    lambda size, seed: generated(1, size, seed), st.integers(12, 40), st.integers(0, 99)
)


@settings(max_examples=14, deadline=None)
@given(
    text=trees,
    salt=st.sampled_from(sorted(SALTS)),
    paper=st.sampled_from(PAPERS),
    one=st.sampled_from(["whole", "symptom", "model"]),
    short=st.booleans(),
)
def test_on_a_sheet(text: str, salt: str, paper: Paper, one: str, short: bool) -> None:
    outline = salted(outline_of(text), SALTS[salt])
    symptom = outline.symptoms[-1].name if one == "symptom" else None
    model = outline.models[0] if one == "model" else None
    pdf = sheet.sheet(outline, paper, symptom, model, extras=sheet.Extras(short=short))
    got = text_of(pdf)
    for wanted in of_sheet(cut(outline, symptom, model)):
        assert wanted in got


@settings(max_examples=8, deadline=None)
@given(
    text=trees,
    salt=st.sampled_from(sorted(SALTS)),
    paper=st.sampled_from(["a4", "letter", "a3", "a0"]),
    one=st.sampled_from(["whole", "symptom", "model"]),
)
def test_on_a_chart(text: str, salt: str, paper: chart.Paper, one: str) -> None:
    outline = salted(outline_of(text), SALTS[salt])
    symptom = outline.symptoms[-1].name if one == "symptom" else None
    model = outline.models[0] if one == "model" else None
    got = text_of(chart.pdf(outline, paper, symptom=symptom, model=model))
    for wanted in of_both(cut(outline, symptom, model)):
        assert wanted in got


@pytest.mark.parametrize("salt", sorted(SALTS))
def test_on_a_card_of_one_symptom_in_any_letters(salt: str) -> None:
    outline = salted(outline_of(generated(2, 16, 3)), SALTS[salt])
    symptom = outline.symptoms[0].name
    got = text_of(sheet.sheet(outline, "card", symptom))
    for wanted in of_sheet(cut(outline, symptom)):
        assert wanted in got


SMALLEST = """tree lamp: Lamp stays dark
  machine: Bench lamp

symptom dark: No light
  start at: plug

check plug: Is the plug in?
  normal: yes
  if yes: stop further
  if no: found loose

fault loose: Plug out
  shows: plug no
  remedy: Put it in.

handoff further: It is not the plug
  to: the workshop
"""


@pytest.mark.parametrize("text", [SMALLEST, generated(1, 300, 4)], ids=["3", "300"])
@pytest.mark.parametrize("paper", ["legal", "card"])
def test_the_smallest_and_the_largest(text: str, paper: Paper) -> None:
    outline = outline_of(text)
    assert len(outline.nodes) in range(3, 4) or len(outline.nodes) >= 300
    got = text_of(sheet.sheet(outline, paper))
    for wanted in of_sheet(outline):
        assert wanted in got
    if paper == "card":
        got = text_of(chart.pdf(outline, "a3"))
        for wanted in of_both(outline):
            assert wanted in got
