"""Mending: only what is certain, only for the better, and nothing else in the file."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import generate
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lint import findings_of

from treewright.cli.main import main
from treewright.lint.rules import RULES
from treewright.mend import Change, mend
from treewright.project import Project, lint_all, lint_loaded, review_all
from treewright.render.compile import compile_tree
from treewright.render.data import to_json
from treewright.syntax.errors import slip_of, surely
from treewright.text.diagnostic import Finding, Fix, Level, in_order
from treewright.text.source import Source, Span
from treewright.text.units import other_case

FOLDER = Path(__file__).parent / "cases" / "mend"
CASES = sorted(FOLDER.glob("*.tree"))


def mended(path: Path, content: bytes) -> tuple[bytes, list[Change]]:
    """What is made of a file with this content, and what is said of it."""
    path.write_bytes(content)
    told: list[Change] = []
    mend([path], review_all, told.append)
    return path.read_bytes(), told


def said(path: Path) -> list[tuple[str, str]]:
    return sorted((finding.rule, finding.message) for finding in lint_all([path]))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case(path: Path, tmp_path: Path, golden: Callable[[Path, str], None]) -> None:
    content = path.read_bytes()
    file = tmp_path / "case.tree"
    file.write_bytes(content)
    before = said(file)
    after, told = mended(file, content)
    left = [f"#! {f.rule}: {f.message}\n" for f in lint_all([file])]
    golden(path.with_suffix(".mended"), after.decode() + "".join(left))
    assert bool(told) == (after != content)
    rows, again = content.split(b"\n"), after.split(b"\n")
    assert len(rows) == len(again)
    for number, (row, new) in enumerate(zip(rows, again, strict=True), 1):
        if row.lstrip().startswith(b"#"):
            assert row == new, number
    assert {change.line for change in told} <= set(range(1, len(rows)))
    if path.stem == "new-findings":
        assert after == content and any(f.fix for f in lint_all([file]))
    elif path.stem != "hidden":
        assert len(left) < len(before)
        assert mended(file, after) == (after, [])


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_ends_of_rows_and_the_mark_stay(
    path: Path, end: bytes, mark: bytes, tmp_path: Path
) -> None:
    plain, told = mended(tmp_path / "a.tree", path.read_bytes())
    other, also = mended(tmp_path / "a.tree", mark + path.read_bytes().replace(b"\n", end))
    assert other == mark + plain.replace(b"\n", end)
    assert told == also


TREE = """\
tree pump: Gives no water

symptom dry: No water
  start at: vavle

check valve: Is the valve open?
  if yes: go leak
  if no: stop help

fault leak: Suction line leaks
  remedy: Fit a new hose.
  retest: valve

handoff help: It is not the pump
  to: the workshop
"""
SOUND = TREE.replace("vavle", "valve").replace("go leak", "found leak")


def test_ends_of_rows_may_be_mixed(tmp_path: Path) -> None:
    def mixed(text: str) -> bytes:
        rows = text.split("\n")
        ends = [("\r\n", "\n", "\r")[at % 3] for at in range(len(rows) - 1)]
        return "".join(row + end for row, end in zip(rows, [*ends, ""], strict=True)).encode()

    assert mended(tmp_path / "a.tree", mixed(TREE))[0] == mixed(SOUND)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_what_the_documentation_mends_is_not_made_worse(rule: object, tmp_path: Path) -> None:
    text = rule.parts()["Not so"] + "\n"  # type: ignore[attr-defined]
    after, told = mended(tmp_path / "example.tree", text.encode())
    assert len(findings_of(after.decode())) == len(findings_of(text)) - (1 if told else 0)


def test_a_fix_is_no_part_of_what_was_found() -> None:
    span = Span(Source("a.tree", "abc"), 0, 1)
    plain = Finding("gap", Level.FAULT, "m", span)
    fixed = Finding("gap", Level.FAULT, "m", span, fix=Fix(span, "x", "t"))
    assert plain == fixed and hash(plain) == hash(fixed) and in_order([plain, fixed]) == [plain]


# ---- what is certain ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "written, meant",
    [("oil-levl", "oil-level"), ("oil-levell", "oil-level"), ("oil-lavel", "oil-level"),
     ("oli-level", "oil-level"), ("oillevel", "oil-level"), ("oil-lvele", ""), ("level", ""),
     ("belt-2", ""), ("belt-11", ""), ("hos", ""), ("hot", ""), ("oil-level", ""),
     ("pumps", ""), ("pum", ""), ("pumb", "")],
)  # fmt: skip
def test_slips_of_the_finger(written: str, meant: str) -> None:
    # two names, pump and pumpe, are one slip from `pumps`; `pumb` is one from pump and from plumb
    names = ["oil-level", "belt-1", "hose", "pump", "pumpe", "plumb"]
    assert slip_of(written, names) == meant


@given(st.text("ab-1", min_size=4, max_size=7), st.text("ab-1", min_size=4, max_size=7))
def test_a_slip_is_what_trying_all_of_them_gives(word: str, other: str) -> None:
    letters = "ab-"
    made = set()
    for at in range(len(word) + 1):
        head, tail = word[:at], word[at:]
        made |= {head + letter + tail for letter in letters}
        if tail and not tail[0].isdigit():
            made |= {head + tail[1:]} | {head + letter + tail[1:] for letter in letters}
        if len(tail) > 1 and not (tail[0] + tail[1]).count("1"):
            made.add(head + tail[1] + tail[0] + tail[2:])
    expected = other if other in made - {word} else ""
    assert slip_of(word, [other]) == expected


@pytest.mark.parametrize(
    "written, meant",
    [("Bar", "bar"), ("PSI", "psi"), ("KW", "kW"), ("v", "V"), ("l/MIN", "L/min"), ("Min", "min"),
     ("S", "s"), ("mpa", ""), ("Mbar", ""), ("MOHM", ""), ("bar", ""), ("barr", ""),
     ("Bar/Min", "bar/min"), ("MV", ""), ("km/H", "km/h")],
)  # fmt: skip
def test_units_in_other_letters(written: str, meant: str) -> None:
    assert other_case(written) == meant


def test_words_that_can_only_be_one() -> None:
    assert surely("remdy", {"remedy", "time"}) == "remedy"
    assert surely("time", {"times", "time"}) == "time"
    assert surely("modls", {"model", "models"}) == "models"
    assert surely("timess", {"times", "timesss"}) == ""
    assert surely("tm", {"time"}) == ""


# ---- the command -------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pump.tree").write_text(TREE)
    return tmp_path


def test_it_says_what_it_did_and_what_is_left(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "pump.tree").write_text(TREE.replace("retest: valve", "retest: nobody"))
    assert main(["lint", "--fix", "."]) == 1
    said = capsys.readouterr().out.splitlines()
    assert said[:2] == [
        "pump.tree:4: `vavle` is now `valve`",
        "pump.tree:7: `go leak` is now `found leak`",
    ]
    assert said[2].startswith("fault missing-name  pump.tree:12")
    assert main(["lint", "."]) == 1


def test_json_is_all_that_is_written_where_it_was_asked_for(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["lint", "--fix", "--format", "json", "pump.tree"]) == 0
    written = capsys.readouterr()
    assert json.loads(written.out) == {"version": 1, "findings": []}
    assert "is now `valve`" in written.err
    assert (folder / "pump.tree").read_text() == SOUND


def test_a_mended_file_keeps_its_mode_and_its_link(folder: Path) -> None:
    (folder / "pump.tree").chmod(0o600)
    (folder / "link.tree").symlink_to("pump.tree")
    assert main(["lint", "--fix", "link.tree"]) == 0
    assert (folder / "link.tree").is_symlink()
    assert (folder / "pump.tree").read_text() == SOUND
    assert (folder / "pump.tree").stat().st_mode & 0o777 == 0o600


def test_a_file_that_cannot_be_written_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*args: object, **kwargs: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", fail)
    assert main(["lint", "--fix", "pump.tree"]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert (folder / "pump.tree").read_text() == TREE


LIBRARY = """\
library help: Help

check lever: Is the lever whole?
  if yes: go nobody
  if no: found nobody

handoff nobody: Nobody can help
  to: the workshop
"""


def test_a_library_is_only_touched_where_it_was_named(folder: Path) -> None:
    text = SOUND.replace("\n\nsymptom", "\nuse lib/help.tree\n\nsymptom", 1)
    text = text.replace("stop help", "go lever").replace("handoff help", "handoff helper")
    text = text[: text.index("\nhandoff")]
    (folder / "pump.tree").write_text(text)
    library = folder / "lib" / "help.tree"
    library.parent.mkdir()
    library.write_text(LIBRARY)
    assert main(["lint", "--fix", "pump.tree"]) == 1
    assert library.read_text() == LIBRARY
    assert (folder / "pump.tree").read_text() == text
    main(["lint", "--fix", "pump.tree", "lib"])
    assert library.read_text() == LIBRARY.replace("go nobody", "stop nobody").replace(
        "found nobody", "stop nobody"
    )
    assert (folder / "pump.tree").read_text() == text


def test_one_fix_that_does_harm_does_not_keep_the_others_back(tmp_path: Path) -> None:
    text = (FOLDER / "new-findings.tree").read_text()
    assert "remedy: Fit" in text
    spoiled = text.replace("retest: lever", "retest: levr")
    after, told = mended(tmp_path / "a.tree", spoiled.encode())
    assert after.decode() == text
    assert [change.text for change in told] == ["`levr` is now `lever`"]


# ---- generated trees ---------------------------------------------------------------------------

SOUND_TREES = {
    seed: text for seed in range(40) if not findings_of(text := generate.tree(seed, 8))
}


def meaning(path: Path) -> dict[str, object]:
    """All that is compiled of a tree but what tells one text from another."""
    loaded = Project().load(path)
    assert loaded.tree is not None
    assert [f for f in lint_loaded(loaded) if f.level is Level.FAULT] == []
    made = json.loads(to_json(compile_tree(loaded.tree)))
    return {key: value for key, value in made.items() if key not in ("fingerprint", "mark")}


def test_there_are_generated_trees_without_a_finding() -> None:
    assert len(SOUND_TREES) >= 3


@pytest.mark.parametrize("seed", SOUND_TREES)
def test_a_tree_without_a_finding_is_left_alone(seed: int, tmp_path: Path) -> None:
    content = SOUND_TREES[seed].encode()
    assert mended(tmp_path / "a.tree", content) == (content, [])


SPOILT: tuple[tuple[str, Callable[[re.Match[str]], str]], ...] = (
    (r"(?<=: )(?:found|stop)(?= )", lambda found: "go"),
    (r"(?<=[ ,]{2})[a-z ]+(?=:)", lambda found: found[0].capitalize()),
    (r"(?<=\n)[a-z]{4,}(?= )", lambda found: found[0][:2] + found[0][3:]),
    (r"(?:(?<=go )|(?<=back to )|(?<=found )|(?<=at: )|(?<=needs: ))[a-z][a-z-]{4,}",
     lambda found: found[0][:2] + found[0][3:]),
    (r"(?<=go )[a-z]+-[a-z0-9-]+", lambda found: found[0].upper().replace("-", " ")),
    (r"\n  (?=[a-z ]+:)", lambda found: "\n\t"),
    (r"\n  (?=(?:if|time|needs|retest))", lambda found: "\n    "),
    (r"\n  (?=(?:if|time|needs|retest))", lambda found: "\n "),
    (r"(?<=\d )bar", lambda found: "Bar"),
    (r"back to", lambda found: "go"),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_a_slip_is_mended_or_left_and_never_turned_into_another_meaning(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    seed = data.draw(st.sampled_from(sorted(SOUND_TREES)))
    pattern, spoil = data.draw(st.sampled_from(SPOILT))
    text = SOUND_TREES[seed]
    places = list(re.finditer(pattern, text))
    if not places:
        return
    found = data.draw(st.sampled_from(places))
    spoilt = text[: found.start()] + spoil(found) + text[found.end() :]
    path = tmp_path_factory.getbasetemp() / "spoilt.tree"
    path.write_text(text)
    meant = meaning(path)
    after, told = mended(path, spoilt.encode())
    if told and not lint_all([path]):
        assert meaning(path) == meant
    if not told:
        assert after == spoilt.encode()
