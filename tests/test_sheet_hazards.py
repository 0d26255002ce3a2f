"""No checklist hides a hazard: all is told up front, and on every page before its first step."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from pdf import in_words, needs_poppler, poppler, squeezed, words
from sample_outline import sample

from treewright.render import prose, sheet
from treewright.render.outline import Outline
from treewright.render.sheet_form import Form, Paper
from treewright.render.sheet_phrases import Phrases, letter

pytestmark = needs_poppler


def pages_of(pdf: bytes, folder: Path, *options: str) -> list[str]:
    text = poppler("pdftotext", pdf, folder, "-raw", *options).replace("\u200b", "")
    return text.split("\f")[:-1]


def headings(outline: Outline, page: str) -> list[tuple[int, str]]:
    """Where on a page each entry begins, and the name of what it is."""
    found = []
    flat = squeezed(page)
    for part in (*outline.nodes, *outline.procedures):
        title = squeezed(part.number + prose.plain(part.title))
        # Not a reference to it, "10 Prime the pump", which has its page or its way in front.
        found += [(match.start(), part.name) for match in re.finditer(re.escape(title), flat)]
    return sorted(found)


FORMS = [Form("a4"), Form("letter", 2), Form("legal")]


@pytest.mark.parametrize("form", FORMS, ids=lambda form: f"{form.paper}-{form.columns}")
def test_on_every_page_a_hazard_is_told_in_full_before_the_first_step_that_has_it(
    form: Form, tmp_path: Path
) -> None:
    outline = sample()
    parts = {part.name: part for part in (*outline.nodes, *outline.procedures)}
    hazards = {hazard.name: hazard for hazard in outline.hazards}
    met = set()
    pdf = sheet.sheet(outline, form.paper, form=form)
    for page in pages_of(pdf, tmp_path):
        flat = squeezed(page)
        before = 0
        for at, name in headings(outline, page):
            for hazard in (hazards[one] for one in parts[name].hazards):
                title, avoid = (squeezed(one) for one in in_words(hazard.title, hazard.avoid))
                if title not in flat[before:at]:
                    break  # a reference, not the entry
                full = f"{hazard.signal.upper()}{title}"
                told = re.search(re.escape(full) + r".*?" + re.escape(avoid), flat[:at])
                assert told, (hazard.name, name)
                met.add((hazard.name, name))
            else:
                before = at
    assert met == {(one, part.name) for part in parts.values() for one in part.hazards}


def test_the_list_up_front_says_all_there_is_to_say(tmp_path: Path) -> None:
    outline = sample()
    text = words(sheet.sheet(outline, "a4"), tmp_path)
    for hazard in outline.hazards:
        title, harm, avoid = in_words(hazard.title, hazard.harm, hazard.avoid)
        assert f"{hazard.signal.upper()} {title} {harm} {avoid}" in text


@pytest.mark.parametrize("columns", [1, 2])
def test_on_each_side_of_a_card_a_hazard_is_named_once_and_then_by_its_letter(
    columns: int, tmp_path: Path
) -> None:
    outline = sample()
    letters = Phrases(outline).letters
    form = Form("card", 1 if columns == 1 else 2)
    sides = pages_of(sheet.sheet(outline, "card", form=form), tmp_path)
    listed = {}
    for number, side in enumerate(sides, 1):
        for hazard in outline.hazards:
            title, harm = in_words(hazard.title, hazard.harm)
            told = f"{hazard.signal.upper()}{letters[hazard.name]}{squeezed(title)}"
            if told + squeezed(harm) in squeezed(side):
                listed[hazard.name] = number
    assert set(listed) == {hazard.name for hazard in outline.hazards}
    for number, side in enumerate(sides, 1):
        flat = squeezed(side)
        for hazard in outline.hazards:
            mark = letters[hazard.name]
            title = squeezed(prose.plain(hazard.title))
            used = re.search(rf"(DANGER|WARNING|CAUTION|NOTICE|·){mark}(?![a-z])", flat)
            if used and listed[hazard.name] != number:
                # The first on the side says its name, and where the rest is.
                assert f"{mark}{title}(page{listed[hazard.name]})" in flat[used.start() :]


def test_every_step_of_a_card_has_the_letters_of_its_hazards_before_it(tmp_path: Path) -> None:
    outline = sample()
    letters = Phrases(outline).letters
    lines = poppler("pdftotext", sheet.sheet(outline, "card"), tmp_path, "-raw").splitlines()
    text = squeezed(" ".join(lines))
    for part in outline.nodes:
        title = squeezed(part.number + prose.plain(part.title))
        at = text.rindex(title)
        ahead = text[max(0, at - 400) : at]
        for name in part.hazards:
            assert re.search(rf"(DANGER|WARNING|CAUTION|NOTICE|·){letters[name]}", ahead), part.name


@pytest.mark.parametrize(
    ("at", "mark"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ")]
)
def test_letters(at: int, mark: str) -> None:
    assert letter(at) == mark


@pytest.mark.parametrize("paper", ["a4", "card"])
def test_forty_hazards_at_one_step(paper: Paper, tmp_path: Path) -> None:
    outline = sample()
    first = outline.hazards[0]
    many = tuple(replace(first, name=f"h{n}", title=f"Hazard number {n}.") for n in range(40))
    nodes = tuple(replace(node, hazards=tuple(h.name for h in many)) for node in outline.nodes)
    text = words(sheet.sheet(replace(outline, hazards=many, nodes=nodes, procedures=()), paper),
                 tmp_path)  # fmt: skip
    for n in range(40):
        assert text.count(f"Hazard number {n}.") > 2


def test_the_page_of_the_list_is_right_behind_text_longer_than_a_page(tmp_path: Path) -> None:
    outline = replace(sample(), about="Word by word, and line by line. " * 150)
    sides = pages_of(sheet.sheet(outline, "card"), tmp_path)
    letters = Phrases(outline).letters
    for hazard in outline.hazards:
        title, harm = (squeezed(one) for one in in_words(hazard.title, hazard.harm))
        mark = letters[hazard.name]
        panel = mark + title + harm
        (listed,) = [at for at, side in enumerate(sides, 1) if panel in squeezed(side)]
        told = re.findall(re.escape(mark + title) + r"\(page(\d+)\)", squeezed(" ".join(sides)))
        assert told and set(told) == {str(listed)}
