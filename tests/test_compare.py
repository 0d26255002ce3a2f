"""Editions compared: what changed in meaning, what in words, which cards are out of date."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from functools import cache, partial
from pathlib import Path
from random import Random

import generate
import pytest
from edits import EDITS, Edit, limit_moved, wording_changed
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pdf import needs_poppler, poppler, squeezed, words
from sample_outline import hostile, sample

from treewright import resources
from treewright.cli.main import main
from treewright.model.build import build
from treewright.model.tree import Tree
from treewright.reason.standing import standing
from treewright.render import prose
from treewright.render.change_sheet import change_sheet
from treewright.render.compile import compile_tree
from treewright.render.cut import cut
from treewright.render.editions import Comparison, compare
from treewright.render.editions.listing import apart, following, meant, worded
from treewright.render.editions.telling import told
from treewright.render.outline import Outline
from treewright.render.paper import pages
from treewright.render.sheet_words import SheetWords, Standings
from treewright.report import compare as report
from treewright.syntax.parse import parse
from treewright.syntax.tidy import tidy
from treewright.text.source import Source

ROOT = Path(__file__).resolve().parents[1]
WATER = ROOT / "trees" / "water-pump.tree"


def _no_library(name: str) -> None:
    raise AssertionError(name)


@cache
def tree_of(text: str) -> Tree:
    file, findings = parse(Source("x.tree", text))
    tree, slips = build(file, _no_library)  # type: ignore[arg-type]
    assert not findings and not slips and not tree.missing, (findings, slips, tree.missing)
    return tree


@cache
def outline(text: str) -> Outline:
    return compile_tree(tree_of(text))


def stand(text: str, symptom: str | None = None, model: str | None = None) -> Standings:
    return standing(tree_of(text), symptom, model)


def compared(old: str, new: str) -> Comparison:
    known = (partial(stand, old), partial(stand, new))
    return compare(outline(old), outline(new), stand=known)


def named(comparison: Comparison) -> set[tuple[str, str, str, str, bool]]:
    """What was changed, without what follows from it."""
    return {
        (c.topic, c.event, c.name, c.what, c.meaning)
        for c in comparison.changes
        if not c.follows
    }


trees = st.builds(
    lambda nodes, seed: generate.tree(1, nodes, seed), st.integers(12, 60), st.integers(0, 40)
)


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.__name__)
@settings(max_examples=8, deadline=None)
@given(text=trees, seed=st.integers(0, 1000))
def test_a_known_edit_is_named_and_nothing_else(edit: Edit, text: str, seed: int) -> None:
    made = edit(text, Random(seed))
    if made is None:
        return
    changed, expected = made
    old, new = outline(text), outline(changed)
    found = compare(old, new)
    assert named(found) == expected
    # The other way round: what was added is gone, and the rest is told the same.
    back = named(compare(new, old))
    turned = {"added": "gone", "gone": "added"}
    if edit.__name__ != "renamed":
        assert back == {(t, turned.get(e, e), n, w, m) for t, e, n, w, m in expected}
    # What follows from a change is never told without a change of meaning.
    assert any(c.meaning and not c.follows for c in found.changes) or not found.meant
    # Numbers: exactly those that differ under the same name.
    moved = {c.name for c in found.changes if c.topic == "number"}
    before, after = ({n.name: n.number for n in o.nodes} for o in (old, new))
    if edit.__name__ != "renamed":
        assert moved == {n for n in before.keys() & after.keys() if before[n] != after[n]}


@settings(max_examples=25, deadline=None)
@given(text=trees, seed=st.integers(0, 1000), edit=st.sampled_from(EDITS))
def test_a_card_that_is_called_right_prints_the_same(text: str, seed: int, edit: Edit) -> None:
    """What the checklist prints, by the words that go to the page, against what is said of it."""
    made = edit(text, Random(seed))
    if made is None:
        return
    texts = text, made[0]
    for card in compared(*texts).cards:
        if card.kind == "chart" or card.state in ("gone", "new"):
            continue
        pages = []
        for one in texts:
            part = replace(cut(outline(one), card.symptom or None, card.model or None), mark="")
            known = stand(one, card.symptom or None, card.model or None)
            data = SheetWords(part, standing=known if card.kind == "suspects" else None).data()
            if card.model:  # a sheet for one model does not ask for the model
                del data["models"]
            pages.append(json.dumps(_printed(data)))
        same = pages[0] == pages[1]
        assert same == (card.state == "same"), card
        if card.state == "words":
            figures = [re.findall(r"\d+", page) for page in pages]
            assert figures[0] == figures[1]


def _printed(piece: object) -> object:
    """What is handed to the page without the names of what is printed as a number."""
    if isinstance(piece, dict):
        return {k: _printed(v) for k, v in piece.items() if not (k == "name" and piece.get("ref"))}
    return [_printed(one) for one in piece] if isinstance(piece, list | tuple) else piece


@settings(max_examples=15, deadline=None)
@given(text=trees, seed=st.integers(0, 1000))
def test_comments_blanks_and_the_settled_form_change_nothing(text: str, seed: int) -> None:
    random = Random(seed)
    rows = []
    for row in text.split("\n"):
        if row and not row.startswith(" ") and random.random() < 0.3:
            rows += [f"# remark {random.random()}", ""]
        rows.append(row)
    again = "\n".join(rows).replace("  time: ", "  time:   ")
    assert compare(outline(text), outline(again)).changes == ()
    settled, findings = tidy(Source("x.tree", again), prose.html)
    assert not findings
    assert compare(outline(text), outline(settled)).changes == ()


def test_a_limit_in_another_unit_or_form_is_the_same_limit() -> None:
    text = (
        "tree t: T\n  machine: M\n  units: metric\nsymptom s: S\n  start at: r\n"
        "reading r: How much?\n  spec: 8 bar ± 1 bar\n  if within: go d\n  otherwise: stop h\n"
        "handoff h: H\n  to: X\ndone d: D\n"
    )
    moved = compare(outline(text), outline(text.replace("8 bar ± 1 bar", "7 to 9 bar")))
    assert named(moved) == {("words", "changed", "r", "limit", False)}
    # 1 bar is 100 kPa exactly (SI brochure, 9th edition).
    other = compare(outline(text), outline(text.replace("8 bar ± 1 bar", "700 to 900 kPa")))
    assert ("limit", "changed", "r", "unit", True) in named(other)
    assert ("limit", "changed", "r", "limit", True) not in named(other)


@pytest.mark.parametrize(
    ("old", "new", "strict", "expected"),
    [
        ("Turn it.", "Turn it.", False, "same"),
        ("Turn it", "Turn **it**!", True, "wording"),
        ("Turn it gently", "Turn it with care", False, "wording"),
        ("Turn it gently", "Turn it with care", True, "meaning"),
        ("Wait 5 min", "Wait 10 min", False, "meaning"),
        ("Wait ten strokes", "Wait five strokes", False, "meaning"),
        ("Do it with the lock on", "Do it with the lock off", False, "meaning"),
        ("Do touch it", "Do not touch it", False, "meaning"),
        ("3–8 mm", "3-8 mm", False, "wording"),
        ("First 3 then 5", "First 5 then 3", False, "meaning"),
        ("Ölstand prüfen, 3 mm", "Ölstand ablesen, 4 mm", False, "meaning"),
    ],
)
def test_whether_other_words_say_something_else(
    old: str, new: str, strict: bool, expected: str
) -> None:
    assert told(old, new, strict) == expected


def test_the_mark_that_misses_its_change_is_told() -> None:
    old = replace(sample(), edition=3, mark="m", fingerprint="00000000")
    share = tuple(replace(n, share="99") if n.kind == "fault" else n for n in old.nodes)
    assert "still edition 3" in compare(old, replace(old, nodes=share)).mark_trouble
    assert compare(old, replace(old, nodes=share, edition=4)).mark_trouble == ""
    assert "went back" in compare(old, replace(old, edition=2)).mark_trouble
    assert compare(old, replace(old, edition=4)).mark_trouble == ""
    assert "no edition" in compare(old, replace(old, nodes=share, edition=None)).mark_trouble


def test_another_picture_in_the_same_file_is_a_change() -> None:
    old = sample()
    file = next(node.picture.file for node in old.nodes if node.picture)
    assert compare(old, old, {file: b"1"}, {file: b"1"}).changes == ()
    found = compare(old, old, {file: b"1"}, {file: b"2"})
    assert {c.what for c in found.changes} == {"picture"}
    assert all(c.meaning for c in found.changes)
    assert any(card.state == "stale" for card in found.cards if card.kind == "sheet")
    assert all(card.state == "same" for card in found.cards if card.kind == "chart")


SMALL = (ROOT / "tests/cases/sheets/slow-fill.tree").read_text("utf-8").replace(
    "machine: Brindle 60 compressor", "machine: Brindle compressor\n  models: B40, B60"
)  # fmt: skip


def states(old: str, new: str) -> dict[tuple[str, str, str], str]:
    return {(c.kind, c.symptom, c.model): c.state for c in compared(old, new).cards}


def test_what_is_out_of_date_goes_by_what_each_card_prints() -> None:
    """By hand, from the tree: shares stand on no card, what faults show on panels alone."""
    assert set(states(SMALL, SMALL).values()) == {"same"}
    assert set(states(SMALL, SMALL.replace("share: 2", "share: 9")).values()) == {"same"}
    # A leak no longer speaks against low oil: it is not ruled out at the reading any more.
    other = states(SMALL, SMALL.replace("shows: oil no", "shows: maybe oil no"))
    assert {kind for (kind, _, _), state in other.items() if state == "stale"} == {"suspects"}
    assert {state for (kind, _, _), state in other.items() if kind == "suspects"} == {"stale"}
    # Behind the last check it makes no difference to any panel what the leak shows there.
    last = states(SMALL, SMALL.replace("shows: leak above", "shows: maybe leak above"))
    assert set(last.values()) == {"same"}


def test_the_limit_of_one_model_leaves_the_cards_of_others_right() -> None:
    limits = "spec for B40: at most 0.2 bar\n  spec for B60: at most 0.3 bar"
    parted = SMALL.replace("spec: at most 0.2 bar", limits)
    found = states(parted, parted.replace("0.3 bar", "0.4 bar"))
    assert {model for (_, _, model), state in found.items() if state == "same"} == {"B40"}
    assert {model for (_, _, model), state in found.items() if state == "stale"} == {"", "B60"}
    shown = report.text(compared(parted, parted.replace("0.3 bar", "0.4 bar")), 100)
    right = shown[shown.index("still right") :]
    assert "checklist and chart for B40 alone: whole tree" in right
    assert "B60 alone" not in shown  # fares as the card for all models does


def test_a_model_that_is_new_or_gone() -> None:
    more = SMALL.replace("B40, B60", "B40, B60, B90")
    found = states(SMALL, more)
    assert {state for (_, _, model), state in found.items() if model == "B90"} == {"new"}
    assert {state for (_, _, model), state in found.items() if model == "B60"} == {"same"}
    back = states(more, SMALL)
    assert {state for (_, _, model), state in back.items() if model == "B90"} == {"gone"}


def test_where_what_is_known_cannot_be_told_panels_count_as_out_of_date() -> None:
    new = SMALL.replace("shows: leak above", "shows: maybe leak above")
    known = (lambda symptom, model: None, partial(stand, SMALL))
    found = compare(outline(SMALL), outline(new), stand=known)
    assert {card.state for card in found.cards if card.kind == "suspects"} == {"stale"}


def test_of_long_prose_only_what_differs_is_shown() -> None:
    words = "“a b c d e f X g h i j k l”"
    assert apart(words, words.replace("X", "Y Z")) == (
        "“… c d e f X g h i j …”", "“… c d e f Y Z g h i j …”",
    )  # fmt: skip
    assert apart("“X”", "“Y”") == ("“X”", "“Y”")


# ---- the command ---------------------------------------------------------------------------


def _edited(folder: Path, name: str = "water-pump") -> Path:
    """The trees in a folder of their own, with one of them changed."""
    folder.mkdir(parents=True)
    for file in (ROOT / "trees").rglob("*"):
        if file.is_file():
            target = folder / file.relative_to(ROOT / "trees")
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.read_bytes())
    path = folder / f"{name}.tree"
    text = path.read_text(encoding="utf-8")
    changed = text.replace("2.0 bar ± 0.2 bar", "2.0 bar ± 0.3 bar", 1)
    assert changed != text
    path.write_text(changed, encoding="utf-8")
    return path


def _two_editions() -> tuple[str, str]:
    """A small tree, and the same with another limit and another word."""
    old = generate.tree(1, 20, 0)
    made = limit_moved(old, Random(0))
    assert made is not None
    worded = wording_changed(made[0], Random(1))
    assert worded is not None
    return old, worded[0]


def test_the_words_of_the_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], golden: Callable[[Path, str], None]
) -> None:
    files = [tmp_path / "old.tree", tmp_path / "new.tree"]
    for file, text in zip(files, _two_editions(), strict=True):
        file.write_text(text, encoding="utf-8")
    assert main(["compare", *map(str, files)]) == 1
    out = capsys.readouterr().out
    assert str(tmp_path) not in out
    golden(ROOT / "tests/cases/compare/limit.txt", out)
    assert main(["compare", str(files[0]), str(files[0])]) == 0
    assert "nothing has changed" in capsys.readouterr().out


def test_the_json_fits_its_schema(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    schema = json.loads((resources.grammar() / "compare.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    changed = _edited(tmp_path / "new").parent
    (changed / "log-splitter.tree").unlink()
    assert main(["compare", str(ROOT / "trees"), str(changed), "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)
    Draft202012Validator(schema).validate(found)
    by_name = {(t["old"] or t["new"])["name"]: t for t in found["trees"]}
    assert by_name["log-splitter"]["new"] is None
    assert not by_name["cold-room"]["changed"]
    [change] = [c for c in by_name["water-pump"]["changes"] if not c["follows"]]
    assert change["topic"] == "limit" and change["new"].startswith("2.0 bar ± 0.3 bar")
    with pytest.raises(Exception, match="unexpected"):
        Draft202012Validator(schema).validate({**found, "more": 1})


def _git(folder: Path, *arguments: str) -> None:
    subprocess.run(
        ["git", "-c", "user.name=T", "-c", "user.email=t@example.org",
         "-c", "commit.gpgsign=false", *arguments],
        cwd=folder, check=True, capture_output=True,
    )  # fmt: skip


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two commits: the second has another limit, in a library's user, and a library moved on."""
    top = tmp_path / "shop"
    changed = _edited(top / "trees")
    new = changed.read_bytes()
    changed.write_bytes(WATER.read_bytes())
    _git(top, "init", "-q")
    _git(top, "add", ".")
    _git(top, "commit", "-qm", "one")
    _git(top, "tag", "first")
    changed.write_bytes(new)
    library = top / "trees/lib/isolation.tree"
    text = library.read_text(encoding="utf-8")
    old = re.search(r"^  avoid: ", text, re.M)
    assert old is not None
    library.write_text(text.replace("  avoid: ", "  avoid: Above all: ", 1), encoding="utf-8")
    _git(top, "commit", "-qam", "two")
    monkeypatch.chdir(top)
    return top


@pytest.mark.parametrize(
    "asked",
    [
        ["--git", "first", "HEAD", "trees/water-pump.tree"],
        ["--git", "HEAD~1", "HEAD", "TOP/trees/water-pump.tree"],
        ["first:trees/water-pump.tree", "trees/water-pump.tree"],
        ["first:./trees/water-pump.tree", "HEAD:trees/water-pump.tree"],
    ],
)
def test_two_revisions_each_with_its_own_libraries(
    repository: Path, asked: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    asked = [one.replace("TOP", str(repository)) for one in asked]
    assert main(["compare", *asked, "--format", "json"]) == 1
    found = json.loads(capsys.readouterr().out)
    [tree] = found["trees"]
    told = {(c["topic"], c["what"]) for c in tree["changes"] if not c["follows"]}
    assert ("limit", "limit for W60") in told
    assert ("hazard", "avoid") in told


def test_folders_of_revisions(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for asked in (["--git", "first", "HEAD", "trees"], ["first:trees", "HEAD:trees"],
                  ["--git", "first", "HEAD", "."]):  # fmt: skip
        assert main(["compare", *asked, "--format", "json"]) == 1
        found = json.loads(capsys.readouterr().out)
        assert [t["new"]["name"] for t in found["trees"]] == [
            "air-compressor", "cold-room", "log-splitter", "water-pump",
        ]  # fmt: skip
    assert main(["compare", "--git", "HEAD", "HEAD", "trees"]) == 0


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--git", "nope", "HEAD", "trees"], "git knows no revision `nope`"),
        (["--git", "--all", "HEAD", "trees"], "is no revision|expected 2 arguments"),
        (["HEAD:nix.tree", "trees/water-pump.tree"], "no file or folder `nix.tree`"),
        (["trees/water-pump.tree"], "name two editions"),
        (["--git", "first", "HEAD", "trees", "trees"], "stands one path"),
        (["trees/nix.tree", "trees/water-pump.tree"], "no file or folder `trees/nix.tree`"),
        (["trees/lib/oil.tree", "trees/water-pump.tree"], "is a library"),
    ],
)
def test_what_cannot_be_compared_is_said(
    repository: Path, asked: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        status = main(["compare", *asked])
    except SystemExit as left:
        status = int(str(left.code))
    assert status == 2
    error = capsys.readouterr().err
    assert re.search(said, error)
    assert "Traceback" not in error


def test_without_git_that_is_said(
    repository: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", str(repository / "nowhere"))
    assert main(["compare", "--git", "first", "HEAD", "trees"]) == 2
    assert "needs the program `git`" in capsys.readouterr().err


def test_outside_of_a_repository_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    assert main(["compare", "--git", "first", "HEAD", "."]) == 2
    assert "in no git repository" in capsys.readouterr().err


def test_a_tree_that_cannot_be_read_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.tree"
    bad.write_text("tree x: X\n  nonsense\n", encoding="utf-8")
    assert main(["compare", str(bad), str(WATER)]) == 2
    assert "cannot be read whole (line 2" in capsys.readouterr().err


def test_hostile_words_are_compared_as_they_are() -> None:
    assert compare(hostile(), hostile()).changes == ()
    found = compare(sample(), hostile())
    assert found.meant
    told = report.text(found)
    assert "\x1b" not in told and "\u202e" not in told


# ---- the change sheet ----------------------------------------------------------------------


@needs_poppler
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_change_sheet_is_one_page_that_says_it_all(tmp_path: Path, paper: str) -> None:
    old = outline(generate.tree(1, 40, 3))
    text = generate.tree(1, 40, 3)
    for count, edit in enumerate(EDITS[::2]):
        made = edit(text, Random(count))
        text = made[0] if made and edit.__name__ != "renamed" else text
    found = compare(old, outline(text))
    pdf = change_sheet([(old, found.new, found)], paper)  # type: ignore[arg-type]
    assert pdf == change_sheet([(old, found.new, found)], paper)  # type: ignore[arg-type]
    assert pages(pdf) == 1
    shown = squeezed(words(pdf, tmp_path))
    for group in (*meant(found), *following(found), *worded(found)):
        for entry in group.entries:
            assert squeezed(entry.place) in shown
            assert all(squeezed(one) in shown for one in entry.sentences), entry
    for card in found.cards:
        assert squeezed(card.title) in shown
    assert squeezed(found.mark_trouble) in shown
    for outline_ in (old, found.new):
        assert squeezed(outline_.mark) in shown
    # In points, as poppler rounds them.
    html = poppler("pdftohtml", pdf, tmp_path, "-xml", "-stdout", "-i", "-zoom", "1")
    sizes = [int(size) for size in re.findall(r'size="(\d+)"', html)]
    assert sizes and min(sizes) >= 8


@needs_poppler
def test_the_words_of_the_change_sheet(
    tmp_path: Path, golden: Callable[[Path, str], None]
) -> None:
    old, new = map(outline, _two_editions())
    pdf = change_sheet([(old, new, compare(old, new))], "a4")
    text = poppler("pdftotext", pdf, tmp_path, "-raw")
    golden(ROOT / "tests/cases/compare/change-sheet.txt", text)


@needs_poppler
def test_a_change_sheet_that_is_too_full_loses_nothing(tmp_path: Path) -> None:
    old = outline(generate.tree(1, 300, 3))
    nodes = tuple(replace(node, remedy=node.remedy + " Then rest.") for node in old.nodes)
    found = compare(old, replace(old, nodes=nodes, edition=2))
    pdf = change_sheet([(old, found.new, found)], "a4")
    shown = squeezed(words(pdf, tmp_path))
    assert pages(pdf) > 1
    for node in nodes:
        assert squeezed(f"{node.number} {node.title}") in shown or not node.remedy


@needs_poppler
def test_trees_that_are_new_or_gone_and_hostile_words(tmp_path: Path) -> None:
    found = compare(sample(), hostile())
    trees = [(sample(), None, None), (None, sample(), None), (sample(), hostile(), found)]
    pdf = change_sheet(trees, "a4")
    shown = words(pdf, tmp_path)
    assert "This tree is new." in shown and "This tree is gone" in shown
    assert pages(pdf) >= 3


# ---- nothing is passed over ----------------------------------------------------------------

# What is not compared by itself, and why.
PASSED_OVER = {
    "Outline.fingerprint": "of the content, which is compared",
    "Outline.mark": "it is told, not compared",
    "Outline.edition": "it is told, not compared",
    "Outline.date": "it is told, not compared",
    "Node.first": "never printed; it follows from ways and set-up",
    "Outcome.details": "follows from the test",
    "Outcome.detail": "follows from the test",
    "Outcome.label": "compared as what it asks for, where it is a limit",
    "Spec.also": "follows from the text and the units of the tree",
    "Node.units": "its own unit is; the others follow from the units of the tree",
    "Unit.factor": "follows from the symbol",
    "Unit.offset": "follows from the symbol",
    "Exit.kind": "go and next are the same way",
    "Setup.procedure": "compared as a whole",
    "Cost.minutes": "compared as it is said",
}


def _variants(value: object) -> list[object]:
    """The value with one thing in it changed, once for each thing."""
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int):
        return [value + 1]
    if isinstance(value, str):
        return [str(int(value) + 1)] if value.isdigit() else [f"{value} 977"]
    if isinstance(value, tuple) and value:
        return [value[:-1]]
    return []


def _changed_outlines(of: Outline) -> list[tuple[str, Outline]]:
    """The outline with one field of one block changed, for every field of every kind of block."""
    found: list[tuple[str, Outline]] = []
    for entry in fields(of):
        value = getattr(of, entry.name)
        if not (isinstance(value, tuple) and value and is_dataclass(value[0])):
            found += [(f"Outline.{entry.name}", replace(of, **{entry.name: v}))
                      for v in _variants(value)]  # fmt: skip
            continue
        for at, block in enumerate(value):
            for name, made in _changed_blocks(block):
                blocks = (*value[:at], made, *value[at + 1 :])
                found.append((name, replace(of, **{entry.name: blocks})))
    return found


def _changed_blocks(block: object) -> list[tuple[str, object]]:
    found: list[tuple[str, object]] = []
    for entry in fields(block):  # type: ignore[arg-type]
        value = getattr(block, entry.name)
        if entry.name in ("name", "node", "outcome", "test"):
            continue  # other tests see to names and limits
        if is_dataclass(value):
            inner = [(name, one) for name, one in _changed_blocks(value)]
            found += [(name, replace(block, **{entry.name: one})) for name, one in inner]  # type: ignore[type-var]
        elif isinstance(value, tuple) and value and is_dataclass(value[0]):
            for name, one in _changed_blocks(value[0]):
                found.append((name, replace(block, **{entry.name: (one, *value[1:])})))  # type: ignore[type-var]
            if entry.name != "outcomes":  # faults may show the last one
                found.append((f"{type(block).__name__}.{entry.name}",
                              replace(block, **{entry.name: value[:-1]})))  # type: ignore[type-var]  # fmt: skip
        else:
            found += [(f"{type(block).__name__}.{entry.name}", replace(block, **{entry.name: one}))  # type: ignore[type-var]
                      for one in _variants(value)]  # fmt: skip
    return found


def test_every_field_of_an_outline_is_compared() -> None:
    of = sample()
    tried, missed = set(), set()
    for name, changed in _changed_outlines(of):
        tried.add(name)
        if name not in PASSED_OVER and not compare(of, changed).changes:
            missed.add(name)
    assert not missed
    assert len(tried) > 60  # it did reach them
