"""The settled form: cases/tidy/*.tree and beside each what it becomes; and what must hold always.

The rules that every file is held to are those the formatter proves of itself; here they are
proven by other means: the compiled tree is compared, comments are counted in the plain text,
and a proof is shown to fail where the layout is spoilt on purpose.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from demos import EVERY as DEMOS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from treewright.cli.tidy import as_shown, tidy_files
from treewright.project import Project
from treewright.render.compile import compile_tree
from treewright.render.data import to_json
from treewright.syntax import grammar, layout, tidy
from treewright.syntax.forms import key_of
from treewright.syntax.lines import blocks
from treewright.syntax.parse import parse
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, read
from treewright.usage import UsageError

ROOT = Path(__file__).parents[1]
FOLDER = Path(__file__).parent / "cases" / "tidy"
CASES = sorted(FOLDER.glob("*.tree"))


def tidied(text: str) -> str:
    """The settled form of a text that can be read."""
    made, findings = tidy.tidy(Source("case.tree", text), as_shown)
    assert not findings, findings[0].message
    return made


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case(path: Path, golden: Callable[[Path, str], None]) -> None:
    made, findings = tidy.tidy(read(path, path.name), as_shown)
    said = "".join(f"{f.span.line}: {f.message}\n" for f in findings)
    golden(path.with_suffix(".tidy"), said or made)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_case_fits_the_page(path: Path) -> None:
    text, findings = tidy.tidy(read(path), as_shown)
    if findings:
        return
    assert text.endswith("\n")
    assert "\n\n\n" not in re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    assert not re.search(r"[ \t]$", text, re.MULTILINE)


# ---- line ends and tabs --------------------------------------------------------------------


def test_tabs_marks_and_line_ends_of_other_systems_go(tmp_path: Path) -> None:
    plain = "tree a: B\n  about: One,\n    two.\n  machine: C\n\nstage s: T\n  about: Three.\n"
    tabbed = plain.replace("    ", "\t\t").replace("  ", "\t")
    path = tmp_path / "a.tree"
    path.write_bytes(b"\xef\xbb\xbf" + tabbed.replace("\n", "\r\n").encode() + b"\r\n\r\n")
    assert tidy_files([str(path)], False, _no_findings) == 0
    assert path.read_bytes() == tidied(plain).encode()


def test_a_tab_is_read_as_the_parser_reads_it() -> None:
    mixed = "check a: B\n  how: One.\n\tif yes: go next\n\tif no,\n\t  really: back to a\n"
    assert tidied(mixed) == (
        "check a: B\n  how: One.\n  if yes: go next\n  if no, really: back to a\n"
    )


def test_findings_of_a_file_with_tabs_are_about_the_file_as_it_is() -> None:
    source = Source("a.tree", "check a: B\n\tif yes: go\n")
    text, findings = tidy.tidy(source, as_shown)
    assert text == source.text
    assert all(finding.span.source is source for finding in findings)


@pytest.mark.parametrize(("text", "form"), [
    ("", ""), ("\n \n", ""), ("#", "#\n"), ("  # a\n\n\n# b", "# a\n\n# b\n"),
    ("tree a: B", "tree a: B\n"),
])  # fmt: skip
def test_files_with_little_in_them(text: str, form: str) -> None:
    assert tidied(text) == form


# ---- the same tree -------------------------------------------------------------------------


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_tree_stays_the_same_tree(path: Path, tmp_path: Path) -> None:
    def compiled(folder: Path) -> tuple[object, list[str]]:
        loaded = Project().load(folder / path.relative_to(ROOT / "trees"))
        assert loaded.tree is not None
        assert loaded.sound, loaded.findings[0].message
        said = [finding.message for finding in Project().lint(loaded.path)]
        if loaded.tree.library:
            return None, said
        return _as_shown(json.loads(to_json(compile_tree(loaded.tree)))), said

    for file in (ROOT / "trees").rglob("*"):
        copy = tmp_path / file.relative_to(ROOT / "trees")
        if file.is_dir():
            copy.mkdir(parents=True, exist_ok=True)
        else:
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(file.read_bytes())
    assert tidy_files([str(tmp_path)], False, _no_findings) == 0
    assert compiled(tmp_path) == compiled(ROOT / "trees")


def _as_shown(value: object) -> object:
    """A compiled tree with its prose as it is shown, without what hangs on the source's rows."""
    if isinstance(value, dict):
        return {k: _as_shown(v) for k, v in value.items() if k not in ("fingerprint", "mark")}
    if isinstance(value, list):
        return [_as_shown(one) for one in value]
    return as_shown(value) if isinstance(value, str) else value


def test_every_line_of_the_language_has_its_place() -> None:
    keys = {key for kind in grammar.KINDS for key in grammar.keys(kind)} - {"spec for"}
    assert keys | {"item", "entry"} == set(layout.ORDER)
    assert len(layout.ORDER) == len(set(layout.ORDER))


# ---- any blanks, any order, any comments ---------------------------------------------------

PIECES = [
    piece
    for path in [*DEMOS, ROOT / "tests" / "cases" / "compile" / "everything.tree"]
    for piece in tidied(read(path).text).split("\n\n")
    if piece.split(" ")[0] in grammar.KINDS
]  # paragraphs of a tidy file that begin with a block; some end within its prose
BLOCKS = [piece for piece in PIECES if not parse(Source("piece", piece))[1]]


@st.composite
def spoilt(draw: st.DrawFn) -> tuple[str, str]:
    """A tidy text, and the same with other blanks, order of lines and comments."""
    chosen = draw(st.lists(st.sampled_from(BLOCKS), min_size=1, max_size=4))
    random = Random(draw(st.integers(0, 10**6)))
    comments = draw(st.booleans())
    rows: list[str] = []
    for block in chosen:
        source = Source("piece", block)
        (raw,), _ = blocks(source)
        lines = [source.text[line.start : line.end] for line in raw.lines]
        kind, head = block.split(" ")[0], block.split("\n")[0]
        lines = _shuffled(kind, lines, random)
        step = random.randint(1, 7)
        rows += [""] * random.randint(0, 2)
        rows.append(head.replace(": ", random.choice([":", " :  ", ": "]), 1))
        for line in lines:
            first, *later = line.split("\n")
            rows += [" " * random.randint(0, 3)] * random.choice([0, 0, 1])
            rows.append(" " * step + _blanks(kind, first, random))
            deeper = random.randint(1, 5) - 4
            rows += [" " * (step + deeper) + row if row.strip() else row for row in later]
    if comments:
        for number in range(random.randint(1, 6)):
            comment = " " * random.randint(0, 9) + f"# note {number}"
            rows.insert(random.randint(0, len(rows)), comment)
    tails = [row + " " * random.randint(0, 2) for row in rows]
    return "\n\n".join(chosen) + "\n", "\n".join(tails)


def _key(kind: str, line: str) -> str:
    return key_of(kind, line) or ("-" if line.startswith("-") else "entry")


def _shuffled(kind: str, lines: list[str], random: Random) -> list[str]:
    """The lines in another order, those of one key in their own."""
    keys = [_key(kind, line) for line in lines]
    random.shuffle(keys)
    left = {key: [line for line in lines if _key(kind, line) == key] for key in keys}
    return [left[key].pop(0) for key in keys]


def _blanks(kind: str, row: str, random: Random) -> str:
    """Other blanks where they have no meaning: at the first colon, at commas of lists."""
    if row.startswith("-"):
        return row
    row = re.sub(": ?", random.choice([":", " : ", ":  "]), row, count=1)
    if _key(kind, row) in ("tools", "parts", "needs", "shows", "at", "only for", "models"):
        row = re.sub(", ", random.choice([",", " ,", "  ,   "]), row)
    return row


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(spoilt())
def test_spoilt_blanks_and_order_come_back(texts: tuple[str, str]) -> None:
    form, written = texts
    made = tidied(written)
    assert tidied(made) == made
    assert _comments(made) == _comments(written)
    plain = "\n".join(row for row in made.split("\n") if not row.lstrip().startswith("#"))
    assert re.sub(r"\n\n+", "\n\n", plain).strip() == re.sub(r"\n\n+", "\n\n", form).strip()


def _comments(text: str) -> Counter[str]:
    return Counter(row.strip() for row in text.split("\n") if row.lstrip().startswith("#"))


WORDS = st.sampled_from([
    "oil", "gauge", "1.", "-", "*", "#", ">", "```", "`a  b`", "**bold", "end**", "=", "---",
    "time:", "if", "x\\", "[a](b)", "3.5", "bar,", "\\", "&amp;", "<b>", "_", "a" * 99, "+",
    "~~~", "12)", "not:", "how:", "set up by:", "\u00a0", "8\u00a0bar", "\x85", "!", "[x]:", "https://x.y",
])  # fmt: skip
ROWS = st.lists(WORDS, min_size=1, max_size=40).map(" ".join)


@settings(deadline=None, max_examples=300)
@given(st.lists(st.tuples(st.integers(0, 6), ROWS), min_size=1, max_size=6), st.booleans())
def test_any_prose_is_shown_as_before(rows: list[tuple[int, str]], below: bool) -> None:
    text = "check a: B\n  how:" + ("\n     " if below else " ") + "\n     ".join(
        " " * depth + row for depth, row in rows
    ) + "\n  if yes: go next\n"  # fmt: skip
    source = Source("a.tree", text)
    before, findings = parse(source)
    if findings:
        assert tidy.tidy(source, as_shown)[0] == text
        return
    made = tidied(text)
    again, _ = parse(Source("b.tree", made))
    (how, _), (how_again, _) = before.blocks[0].lines, again.blocks[0].lines
    assert as_shown(how.value.text) == as_shown(how_again.value.text)  # type: ignore[union-attr]
    assert how.value.text.split() == how_again.value.text.split()  # type: ignore[union-attr]


# ---- the proofs can fail -------------------------------------------------------------------

PROVEN = """\
check a: B
  # c
  how: One two.
  time: 2 min
  if yes: go next
  if no: back to a
"""


@pytest.mark.parametrize(("old", "new", "said"), [
    ("two.", "tow.", "mean the same"),
    ("2 min", "3 min", "mean the same"),
    ("2 min", "120 s", ""),
    ("a: B", "a: C", "mean the same"),
    ("if yes: go next\n  if no: back to a", "if no: back to a\n  if yes: go next", "mean the same"),
    ("  # c\n  how: One two.\n", "  how: One two.\n  # c\n", "a comment"),
    ("  # c\n", "", "a comment"),
    ("# c", "# d", "a comment"),
    ("go next", "goto next", "could not be read"),
    ("", "", ""),
])  # fmt: skip
def test_a_spoilt_form_is_refused(
    monkeypatch: pytest.MonkeyPatch, old: str, new: str, said: str
) -> None:
    def spoil(*_: object) -> str:
        return PROVEN.replace(old, new) if old else PROVEN

    monkeypatch.setattr(tidy, "lay_out", spoil)
    if not said:
        assert tidied(PROVEN) == PROVEN.replace(old, new)
        return
    with pytest.raises(tidy.Unproven, match=said):
        tidied(PROVEN)


def test_a_form_that_does_not_settle_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def creep(written: object, same: object) -> str:
        made.append(PROVEN.replace("  ", " " * (2 + len(made))))
        return made[-1]

    made: list[str] = []
    monkeypatch.setattr(tidy, "lay_out", creep)
    with pytest.raises(tidy.Unproven, match="tidied once more"):
        tidied(PROVEN)


# ---- the command ---------------------------------------------------------------------------


def _no_findings(findings: list[Finding], files: int) -> None:
    raise AssertionError(findings)


UNTIDY = "tree a: B\n   machine:   C\n"
TIDY = "tree a: B\n  machine: C\n"


def test_check_names_what_would_change(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, text in (("a", UNTIDY), ("b", TIDY), ("c", UNTIDY)):
        (tmp_path / f"{name}.tree").write_text(text, encoding="utf-8")
    assert tidy_files([str(tmp_path)], True, _no_findings) == 1
    shown = capsys.readouterr().out.split()
    assert shown == [(tmp_path / f"{name}.tree").as_posix() for name in "ac"]
    assert (tmp_path / "a.tree").read_text(encoding="utf-8") == UNTIDY
    assert tidy_files([str(tmp_path)], False, _no_findings) == 0
    assert capsys.readouterr().out.split() == shown
    assert (tmp_path / "a.tree").read_text(encoding="utf-8") == TIDY
    assert tidy_files([str(tmp_path)], True, _no_findings) == 0
    assert capsys.readouterr().out == ""


def test_who_may_read_a_file_stays_and_so_does_a_link(tmp_path: Path) -> None:
    target, link = tmp_path / "a.tree", tmp_path / "b.tree"
    target.write_text(UNTIDY, encoding="utf-8")
    target.chmod(0o640)
    link.symlink_to(target)
    assert tidy_files([str(link)], False, _no_findings) == 0
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == TIDY
    assert target.stat().st_mode & 0o777 == 0o640


def test_a_file_that_cannot_be_read_is_left_and_the_next_is_tidied(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.tree").write_text("tree a: B\n  machin: C\n", encoding="utf-8")
    (tmp_path / "b.tree").write_text(UNTIDY, encoding="utf-8")
    said: list[tuple[int, int]] = []
    told = lambda found, files: said.append((len(found), files))  # noqa: E731
    assert tidy_files([str(tmp_path)], False, told) == 1
    assert said == [(1, 2)]
    assert (tmp_path / "a.tree").read_text(encoding="utf-8") == "tree a: B\n  machin: C\n"
    assert (tmp_path / "b.tree").read_text(encoding="utf-8") == TIDY
    (tmp_path / "a.tree").write_bytes(b"tree a: \xff\n")
    (tmp_path / "b.tree").write_bytes(b"tree a:  B\x00\n")
    assert tidy_files([str(tmp_path)], False, _no_findings) == 2
    assert (tmp_path / "b.tree").read_bytes() == b"tree a:  B\x00\n"
    said_on_error = capsys.readouterr().err
    assert "is not saved as UTF-8" in said_on_error
    assert "is left as it is" in said_on_error
    with pytest.raises(UsageError):
        tidy_files([str(tmp_path / "none.tree")], False, _no_findings)
