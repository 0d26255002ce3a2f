"""The binder: every checklist of a folder in one PDF, found by contents, symptom and tool."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from pdf import needs_poppler, poppler, squeezed, words
from pypdf import PdfReader
from sample_outline import PICTURES, hostile, sample

from treewright.cli.main import main
from treewright.project import Project
from treewright.render import prose
from treewright.render.binder import binder
from treewright.render.binder_words import letter
from treewright.render.bound import bind
from treewright.render.change_sheet import part
from treewright.render.compile import compile_tree
from treewright.render.editions import compare
from treewright.render.outline import Outline
from treewright.render.paper import PaperError, pages
from treewright.render.sheet import sheet

pytestmark = needs_poppler
TREES = Path(__file__).resolve().parents[1] / "trees"


@cache
def outlines() -> tuple[Outline, ...]:
    found = []
    for name in ("water-pump", "air-compressor"):
        tree = Project().load(TREES / f"{name}.tree").tree
        assert tree is not None
        found.append(compile_tree(tree))
    return (*found, sample())


@cache
def sheets(paper: str = "a4") -> tuple[bytes, ...]:
    return tuple(sheet(one, paper, pictures=PICTURES) for one in outlines())  # type: ignore[arg-type]


@cache
def made() -> bytes:
    return binder(outlines(), sheets(), "a4", "The *shop*")


@cache
def reader() -> PdfReader:
    return PdfReader(BytesIO(made()), strict=True)


def starts() -> list[int]:
    """The page on which each checklist begins, from the pages of the loose ones."""
    counts = [pages(one) for one in sheets()]
    ahead = pages(made()) - sum(counts)
    return [ahead + 1 + sum(counts[:at]) for at in range(len(counts))]


def page_of_step(at: int, outline: Outline, name: str, folder: Path) -> int:
    """The page of the binder on which a step begins, as poppler reads the loose checklist."""
    node = outline.node(name)
    head = f"{node.number} {prose.plain(node.title)}"
    sides = poppler("pdftotext", sheets()[at], folder, "-raw").replace("\u200b", "").split("\f")
    found = [page for page, side in enumerate(sides) if f"\n{head}" in " ".join(side.split(" "))]
    (page,) = found
    return starts()[at] + page


def test_each_checklist_is_in_it_word_for_word(tmp_path: Path) -> None:
    for start, loose in zip(starts(), sheets(), strict=True):
        last = start + pages(loose) - 1
        bound = words(made(), tmp_path, "-f", str(start), "-l", str(last))
        numbers = [str(n) for n in range(start, last + 1)]
        # All that is new is the binder's page number on each page.
        rest = squeezed(bound)
        alone = squeezed(words(loose, tmp_path))
        assert len(rest) == len(alone) + len("".join(numbers))


def test_the_page_numbers_on_the_pages_and_in_the_contents(tmp_path: Path) -> None:
    last = pages(made())
    for start in starts():
        for number in (start, start + 1, last):
            text = words(made(), tmp_path, "-f", str(number), "-l", str(number),
                         "-x", "500", "-y", "0", "-W", "95", "-H", "32")  # fmt: skip
            assert re.search(rf"\b{number}$", text), (number, text)
    contents = words(made(), tmp_path, "-f", "2", "-l", "2")
    for at, (outline, start) in enumerate(zip(outlines(), starts(), strict=True)):
        title = re.escape(prose.plain(outline.title))
        assert re.search(rf"{letter(at)} {title} – .*?[ .]{start}\b", contents), outline.name


def test_every_symptom_tool_and_hazard_is_found_by_its_page(tmp_path: Path) -> None:
    first = min(starts())
    front = words(made(), tmp_path, "-f", "1", "-l", str(first - 1))
    later = 0
    for at, (outline, start) in enumerate(zip(outlines(), starts(), strict=True)):
        numbers = {node.name: node.number for node in outline.nodes}
        for symptom in outline.symptoms:
            step = page_of_step(at, outline, symptom.start, tmp_path)
            later += step > start
            ahead = f"{prose.plain(symptom.title)} – {prose.plain(outline.machine)}"
            ahead = re.escape(squeezed(ahead))
            behind = squeezed(
                f": {symptom.number}, checklist from page {start}, "
                f"start at step {numbers[symptom.start]}"
            )
            line = rf"{ahead}(\(only[^)]*\))?{behind}\.*{step}(?!\d)"
            assert re.search(line, squeezed(front)), symptom.title
        for hazard in outline.hazards:
            assert squeezed(prose.plain(hazard.avoid)) in squeezed(front)
        for entry in (*outline.nodes, *outline.procedures):
            for tool in entry.cost.tools:
                # The name of one tool may be the end of another's.
                lines = re.finditer(rf"{re.escape(tool)} ((?:[A-C] |· |[FP]?\d+,? ?)+)", front)
                mine = [re.search(rf"{letter(at)} ([FP\d, ]+)", line[1]) for line in lines]
                at_all = [one[1].replace(",", "").split() for one in mine if one]
                assert any(entry.number in some for some in at_all), tool
    assert later > 5  # not only where a checklist begins


def test_the_words_before_the_checklists(
    tmp_path: Path, golden: Callable[[Path, str], None]
) -> None:
    trees = (sample(),)
    pdf = binder(trees, [sheet(sample(), "a4")], "a4", "One machine")
    ahead = pages(pdf) - pages(sheet(sample(), "a4"))
    text = poppler("pdftotext", pdf, tmp_path, "-raw", "-l", str(ahead))
    text = re.sub(r"(page \d+) of \d+", r"\1", text)  # how long a checklist is, is no matter here
    golden(TREES.parent / "tests/cases/binder/front.txt", re.sub(r"( \.)+ ", " … ", text))


def test_links_lead_to_the_pages_they_name(tmp_path: Path) -> None:
    steps = {
        page_of_step(at, outline, symptom.start, tmp_path)
        for at, outline in enumerate(outlines())
        for symptom in outline.symptoms
    }
    found = reader()
    places = {p.indirect_reference.idnum: n for n, p in enumerate(found.pages, 1)}  # type: ignore[union-attr]
    led = 0
    for page in found.pages[: min(starts()) - 1]:
        for note in page.get("/Annots", []):
            note = note.get_object()
            assert "/A" not in note  # no address is left
            number = places[note["/Dest"][0].idnum]
            said = re.search(r"\d+", note.get("/Contents", ""))
            assert said is None or int(said[0]) == number
            assert number in starts() or number in steps or number < min(starts())
            led += 1
    assert led > 20


def test_links_inside_a_checklist_stay_inside_it() -> None:
    found = reader()
    places = {p.indirect_reference.idnum: n for n, p in enumerate(found.pages, 1)}  # type: ignore[union-attr]
    ends = [*starts()[1:], pages(made()) + 1]
    inside = 0
    for start, end in zip(starts(), ends, strict=True):
        for number in range(start, end):
            for note in found.pages[number - 1].get("/Annots", []):
                target = note.get_object()["/Dest"][0].idnum
                assert start <= places[target] < end
                inside += 1
    assert inside > 100


def test_bookmarks_first_the_binders_own_then_each_checklist_with_its_stages() -> None:
    found = reader()
    tops = [one for one in found.outline if not isinstance(one, list)]
    titles = [(str(one.title), found.get_destination_page_number(one) + 1) for one in tops]
    names = [title for title, _ in titles]
    assert names[:2] == ["The *shop*", "Contents"]
    for outline, start in zip(outlines(), starts(), strict=True):
        assert (prose.plain(outline.title), start) in titles
    nested = [one for one in found.outline if isinstance(one, list)]
    assert any("Have ready" in str([e.title for e in group if not isinstance(e, list)])
               for group in nested)  # fmt: skip


def test_it_is_tagged_as_the_checklists_are(tmp_path: Path) -> None:
    # Of a small one: poppler takes the longer the more there is, and more than that.
    few = (sample(), replace(sample(), title="Another"))
    small = binder(few, [sheet(one, "a4", pictures=PICTURES) for one in few], "a4", "The *shop*")
    tree = poppler("pdfinfo", small, tmp_path, "-struct-text")
    assert tree.startswith("Document")
    heads = re.findall(r'H1.*?\n\s+"(.*?)"', tree)
    for outline in few:
        assert prose.plain(outline.title) in heads
    shown = poppler("pdfinfo", made(), tmp_path)
    assert re.search(r"Tagged:\s+yes", shown) and re.search(r"Title:\s+The \*shop\*", shown)
    assert b"<pdfuaid:part>1" in made() and b"/Lang(en)" in made()
    # Every mark on a page has its tag: the keys are one after the other, and none twice.
    root = reader().trailer["/Root"]["/StructTreeRoot"]  # type: ignore[index]
    keys = root["/ParentTree"]["/Nums"][::2]
    assert list(keys) == list(range(len(keys)))
    pages_keys = [page["/StructParents"] for page in reader().pages]
    assert len(set(pages_keys)) == len(pages_keys)


def test_no_word_lies_outside_its_page(tmp_path: Path) -> None:
    boxes = poppler("pdftotext", made(), tmp_path, "-bbox")
    for page in re.split(r"<page ", boxes)[1:]:
        size = re.match(r'width="([\d.]+)" height="([\d.]+)"', page)
        assert size is not None
        for x, y in re.findall(r'xMax="([\d.]+)" yMax="([\d.]+)"', page):
            assert float(x) <= float(size[1]) and float(y) <= float(size[2])


def test_same_in_same_out_and_other_editions_another_mark() -> None:
    assert binder(outlines(), sheets(), "a4", "The *shop*") == made()
    other = (replace(outlines()[0], mark="other"), *outlines()[1:])
    assert binder(other, sheets(), "a4", "The *shop*") != made()


def test_letter_paper_hostile_words_and_what_changed(tmp_path: Path) -> None:
    trees = (sample(), hostile())
    loose = [sheet(one, "letter") for one in trees]
    changes = [part(trees[0], trees[1], compare(*trees)), part(None, sample(), None)]
    pdf = binder(trees, loose, "letter", "A (b\\) \x00 <c>", changes)
    assert pages(pdf) > sum(map(pages, loose)) + 5
    shown = words(pdf, tmp_path)
    assert "What changed" in shown and "This tree is new." in shown
    assert re.search(r"Page size:\s+612 x 792", poppler("pdfinfo", pdf, tmp_path))


def test_letters_go_on_after_z() -> None:
    assert [letter(at) for at in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_what_is_no_pdf_of_ours_is_not_bound() -> None:
    with pytest.raises(PaperError):
        bind([b"%PDF-1.4 something else"])


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["binder", str(TREES), "--out", str(tmp_path), "--paper", "letter",
                 "--since", str(TREES)]) == 0  # fmt: skip
    assert capsys.readouterr().out == f"{tmp_path.as_posix()}/binder-letter.pdf\n"
    pdf = (tmp_path / "binder-letter.pdf").read_bytes()
    shown = words(pdf, tmp_path)
    assert "Checklists for 4 trees" in shown
    assert "Nothing has changed since the older edition." in shown
    assert str(TREES).encode() not in pdf
    broken = tmp_path / "broken"
    broken.mkdir()
    (broken / "x.tree").write_text("tree x: X\n  nonsense\n", encoding="utf-8")
    assert main(["binder", str(broken), "--out", str(tmp_path)]) == 2
    assert "can be printed" in capsys.readouterr().err
