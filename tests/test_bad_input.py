"""Bad files, hostile text, great sizes: something is said, nothing breaks, nothing hangs.

No times are measured here. What must not take quadratic time is given sizes at which it would
not come back.
"""

from __future__ import annotations

import string
import unicodedata
from pathlib import Path

import pytest
from demos import EVERY
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from test_lint import load

from treewright.project import Loaded, Project, find_trees, lint_all, lint_loaded
from treewright.report import json, terminal
from treewright.syntax.parse import parse
from treewright.text.diagnostic import Finding
from treewright.text.source import Source, Unreadable, read
from treewright.usage import UsageError

TREES = Path(__file__).parents[1] / "trees"
SOUND = """\
tree dry: Pump gives no water

symptom dry: No water
  start at: valve

check valve: Is the valve open?
  how: Look at the lever.
  if yes: found leak
  if no: stop help

fault leak: Suction line leaks
  remedy: Fit a new hose.

handoff help: It is not the pump
  to: the workshop
"""


def linted(folder: Path, name: str = "case.tree", **files: str | bytes) -> list[Finding]:
    """Findings of one of some files, by name without the ending; `lib_x` is lib/x.tree."""
    for stem, content in files.items():
        path = folder / f"{stem.replace('lib_', 'lib/')}.tree"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    found = lint_all([folder / name])
    terminal.render(found)
    json.render(found)
    return found


def said(found: list[Finding]) -> list[str]:
    return [finding.message.replace(str(finding.span.source.path), "FILE") for finding in found]


def is_harmless(shown: str) -> bool:
    """Nothing in it can steer a terminal."""
    steering = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    return not any(unicodedata.category(sign) in steering for sign in shown.replace("\n", ""))


# ---- files ------------------------------------------------------------------------------------


def test_the_sound_tree_of_these_tests_is_sound(tmp_path: Path) -> None:
    assert linted(tmp_path, case=SOUND) == []


@pytest.mark.parametrize(
    "content, message",
    [
        (SOUND.encode("utf-16"), "`FILE` is saved as UTF-16"),
        (SOUND.replace("No water", "Kein Öl").encode("latin-1"),
         "`FILE` is not saved as UTF-8 (see line 3)"),
        (SOUND.encode() + b"\xed\xa0\x80", "`FILE` is not saved as UTF-8 (see line 16)"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "`FILE` is not saved as UTF-8 (see line 1)"),
        (b"", "this file has no tree in it"),
        (b"\n\n  \n", "this file has no tree in it"),
        (b"# one\n  # two\n", "this file has no tree in it"),
        (b"\xef\xbb\xbf", "this file has no tree in it"),
    ],
    ids=["utf-16", "latin-1", "surrogate", "png", "empty", "blank", "comments", "bom"],
)  # fmt: skip
def test_files_that_are_no_trees(tmp_path: Path, content: bytes, message: str) -> None:
    assert said(linted(tmp_path, case=content)) == [message]


def test_a_file_that_is_not_there_is_a_folder_or_is_shut(tmp_path: Path) -> None:
    with pytest.raises(Unreadable) as gone:
        read(tmp_path / "none.tree", "none.tree")
    assert (gone.value.message, gone.value.help) == (
        "there is no file `none.tree`", "check the spelling and the folder",
    )  # fmt: skip
    with pytest.raises(Unreadable, match="is a folder"):
        read(tmp_path)
    with pytest.raises(Unreadable, match="cannot be read"):
        read(Path("a\x00b"))


def test_named_paths(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError, match="there is no file or folder"):
        find_trees([str(tmp_path / "none.tree")])
    with pytest.raises(UsageError, match="has no file that ends in"):
        find_trees([str(tmp_path / "empty")])
    (tmp_path / "folder.tree").mkdir()
    (tmp_path / "folder.tree" / "b.tree").write_text(SOUND)
    (tmp_path / "a.tree").write_text(SOUND)
    named = [str(tmp_path), str(tmp_path / "a.tree")]
    assert find_trees(named) == [tmp_path / "a.tree", tmp_path / "folder.tree" / "b.tree"]


def test_windows_line_ends_and_a_byte_order_mark_are_taken_off(tmp_path: Path) -> None:
    broken = SOUND.replace("if no", "iff no")
    plain = linted(tmp_path, case=broken)
    for windows in (
        broken.replace("\n", "\r\n").encode("utf-8-sig"),
        broken.replace("\n", "\r").encode(),
    ):
        found = linted(tmp_path, case=windows)
        assert [(f.message, f.span.start, f.span.end) for f in found] == [
            (f.message, f.span.start, f.span.end) for f in plain
        ]
        line, column = found[0].span.source.position(found[0].span.start)
        assert (line, column) == (9, 3)


def test_columns_count_letters_and_not_bytes(tmp_path: Path) -> None:
    found = linted(tmp_path, case=SOUND.replace("if no: stop help", "if n\u00f6\U0001f600: stopp"))
    assert [f.span.source.position(f.span.start) for f in found] == [(9, 11)]


# ---- use --------------------------------------------------------------------------------------

LIBRARY = "library lib: A library\n"
SEAL = "\ndone seal: The seal is good\n  how: Look elsewhere.\n"


def using(path: str) -> str:
    head, rest = SOUND.split("\n", 1)
    return f"{head}\n\nuse {path}\n{rest}"


@pytest.mark.parametrize(
    "path, message",
    [
        ("none.tree", "there is no file `none.tree`"),
        ("../case.tree", "`../case.tree` leads out of the folder of this tree"),
        ("/etc/passwd", "`/etc/passwd` leads out of the folder of this tree"),
        ("C:/x.tree", "`C:/x.tree` leads out of the folder of this tree"),
        ("lib\\x.tree", "`lib\\x.tree` is parted with `\\`"),
        ("lib", "`lib` is no tree file"),
        ("lib.tree", "`lib.tree` is a folder"),
        ("other.tree", "`other.tree` is not a library"),
        ("wide.tree", "`wide.tree` is saved as UTF-16"),
        ("link.tree", "`link.tree` leads out of the folder of this tree"),
        ("a\x00.tree", "there is no file `a\ufffd.tree`"),
    ],
)
def test_use_of_what_is_no_library(tmp_path: Path, path: str, message: str) -> None:
    inside = tmp_path / "inside"
    (inside / "lib.tree").mkdir(parents=True)
    (tmp_path / "secret.tree").write_text(LIBRARY)
    (inside / "link.tree").symlink_to(tmp_path / "secret.tree")
    (inside / "wide.tree").write_bytes(LIBRARY.encode("utf-16"))
    found = linted(inside, case=using(path), other=SOUND)
    assert said(found) == [message]


def test_use_in_a_circle_is_said_once_and_where_it_closes(tmp_path: Path) -> None:
    circle = {"lib_a": LIBRARY + "use b.tree\n", "lib_b": LIBRARY + "use a.tree\n"}
    found = linted(tmp_path, case=using("lib/a.tree"), **circle)
    assert said(found) == ["`a.tree` is used in a circle: it uses, in the end, itself"]
    assert Path(found[0].span.source.path).name == "b.tree"


def test_a_tree_or_a_library_that_uses_itself(tmp_path: Path) -> None:
    found = linted(tmp_path, case=using("case.tree"))
    assert said(found) == ["`case.tree` is used in a circle: it uses, in the end, itself"]
    found = linted(tmp_path, "lib.tree", lib=LIBRARY + "use lib.tree\n" + SEAL)
    assert said(found) == ["`lib.tree` is used in a circle: it uses, in the end, itself"]


def test_a_library_is_linted_alone_and_its_slips_come_with_the_tree_once(tmp_path: Path) -> None:
    slip = LIBRARY + SEAL.replace("how:", "hows:")
    alone = linted(tmp_path, "lib/x.tree", lib_x=slip)
    assert said(alone) == ["a done has no line `hows`"]
    (tmp_path / "one.tree").write_text(using("lib/x.tree"))
    (tmp_path / "two.tree").write_text(using("lib/x.tree").replace("tree dry", "tree wet"))
    assert said(lint_all(find_trees([str(tmp_path)]))) == ["a done has no line `hows`"]


def test_a_library_of_every_model_is_sound_alone(tmp_path: Path) -> None:
    text = LIBRARY + "\nreading speed: Speed\n  only for: B60\n  spec for B60: 3 rpm\n"
    text += "  if within: go seal\n  otherwise: stop help\n" + SEAL
    text += "\nhandoff help: Help\n  to: them\n"
    assert linted(tmp_path, case=text) == []


# ---- great sizes ------------------------------------------------------------------------------


def shown_at_most(found: list[Finding], letters: int = 20_000) -> bool:
    return len(terminal.render(found)) < letters


@pytest.mark.parametrize("line", ["check a: {}", "  {}", "{}", "use {}", "  how: {}",
                                  "fault f: F\n  shows: {}"])  # fmt: skip
@pytest.mark.parametrize("word", ["x", "x ", "x: ", "1,", "`", "do a, then "])
def test_five_million_letters_in_one_line(tmp_path: Path, line: str, word: str) -> None:
    long = line.replace("{}", word * (5_000_000 // len(word)))
    found = linted(tmp_path, case=f"{SOUND}\n{long}\n")
    assert shown_at_most(found)
    assert len(json.render(found)) < 20_000


def test_ten_thousand_levels_of_indentation(tmp_path: Path) -> None:
    stairs = "".join(f"{' ' * level}word\n" for level in range(4, 10_000))
    text = SOUND.replace("  how: Look at the lever.\n", "  how: Look\n" + stairs)
    assert linted(tmp_path, case=text) == []
    found = linted(tmp_path, case=SOUND + "".join(f"{' ' * n}if a: b\n" for n in range(4_000)))
    assert shown_at_most(found)


def test_a_hundred_thousand_lines(tmp_path: Path) -> None:
    prose = SOUND.replace("lever.\n", "lever.\n" + "    and again\n" * 100_000)
    assert linted(tmp_path, case=prose) == []
    assert linted(tmp_path, case="\n" * 100_000 + SOUND) == []
    junk = linted(tmp_path, case=SOUND + "junk\n" * 100_000)
    assert said(junk) == ["`junk` starts no block"]
    assert said(linted(tmp_path, case="junk\n" * 1000)) == ["`junk` starts no block"]


def test_ten_thousand_blocks_one_behind_the_other() -> None:
    text = SOUND.replace("found leak", "go c0").replace("\nfault", "{}\nfault")
    chain = "".join(
        f"\ncheck c{n}: Is it {n}?\n  if yes: go c{n + 1}\n  if no: stop help\n"
        for n in range(10_000)
    )
    last = "\ncheck c10000: Is it?\n  if yes: found leak\n  if no: stop help\n"
    loaded = load(text.replace("{}", chain + last))
    assert loaded.findings == () and loaded.tree is not None
    assert len(loaded.tree.nodes) == 10_004


def test_a_chain_of_a_thousand_steps_done_first() -> None:
    text = SOUND.replace("stop help", "do prime, then " * 1000 + "stop help", 1)
    text += "\nstep prime: Fill it\n  how: To the brim.\n"
    loaded = load(text)
    assert lint_loaded(loaded) == []


# ---- hostile text -----------------------------------------------------------------------------

ODD = [
    "\x00", "\x1b[31m", "\x07", "\x7f", "\x85", "\u202e", "\u2066", "\u200b", "\ufeff", "\u2028",
    "\u2029", "\x0b", "\x0c", "\ud7ff", "\U000e0001", "</script>", "<!--", "]]>", "{{x}}",
    "{% x %}", "#{x}",
    "$(rm -rf x)", "`x`", "\\", '"', "'", "&amp;", "%s", "{0}", "\\N{DASH}", "*" * 50,
    "[" * 2000, "> " * 500,
]  # fmt: skip


@pytest.mark.parametrize("odd", ODD, ids=range(len(ODD)))
def test_odd_text_is_text(tmp_path: Path, odd: str) -> None:
    for text in (
        SOUND.replace("No water", f"No {odd} water"),
        SOUND.replace("the lever", f"the {odd} lever"),
        SOUND.replace("the workshop", f"the {odd} workshop"),
    ):
        assert [f for f in linted(tmp_path, case=text) if f.rule != "too-long"] == []
    for place in ("valve", "if yes", "start at", "tree", "  if", "found leak", "\nfault"):
        for text in (SOUND.replace(place, place + odd), SOUND.replace(place, odd + place)):
            found = linted(tmp_path, case=text)
            assert is_harmless(terminal.render(found))


@pytest.mark.parametrize(
    "number",
    ["1e9", "1/0", "0/0", "9" * 20, "9" * 5000, "1/" + "9" * 5000, ".", "..5", "1.2.3", "--1",
     "0x10", "1_000", "inf", "nan", "-0", "٣", "²", "1" + " " * 100 + "1/2", "1/2/3"],
)  # fmt: skip
def test_numbers_that_are_none(tmp_path: Path, number: str) -> None:
    reading = "\nreading flow: Flow\n  {}\n  if below 3 L/min: found leak\n  otherwise: stop help\n"
    for line in ("spec: {} bar", "spec: 3 ± {} bar", "spec: {} to 4 bar", "people: {}",
                 "time: {} min"):  # fmt: skip
        text = SOUND + reading.replace("{}", line.replace("{}", number))
        text = text.replace("if yes: found leak", "if yes: go flow")
        found = linted(tmp_path, case=text)
        assert shown_at_most(found)


# ---- cut, mixed, changed ----------------------------------------------------------------------


def quietly(text: str) -> Loaded:
    """Everything that looks at a tree, without an exception."""
    loaded = load(text, folder=TREES)
    found = lint_loaded(loaded)
    for finding in found:
        source = finding.span.source
        assert 0 <= finding.span.start <= finding.span.end <= len(source.text), finding
        assert "\n" not in finding.message
    assert is_harmless(terminal.render(found))
    json.render(found)
    return loaded


def test_a_demo_tree_cut_off_anywhere() -> None:
    text = (TREES / "air-compressor.tree").read_text(encoding="utf-8")
    assert quietly(text).findings == ()
    for cut in range(0, len(text), len(text) // 20 + 1):
        quietly(text[:cut])
        parse(Source("case.tree", text[cut:]))


def test_a_small_tree_cut_off_at_every_letter() -> None:
    text = (TREES.parent / "tests" / "cases" / "model" / "whole.tree").read_text(encoding="utf-8")
    assert load(text, folder=TREES).findings == ()
    for cut in range(len(text)):
        parse(Source("case.tree", text[cut:]))
        if cut % 4 == 0:
            quietly(text[:cut])


DEMOS = [path.read_text(encoding="utf-8") for path in EVERY]
PIECES = [line.strip() for text in DEMOS for line in text.splitlines() if line.strip()]
WORDS = sorted({word for piece in PIECES for word in piece.split()})


@st.composite
def changed(draw: st.DrawFn) -> str:
    """A stretch of a demo tree with a few slips in it."""
    text = draw(st.sampled_from(DEMOS))
    lines = text.splitlines()
    start = draw(st.integers(0, len(lines) - 1))
    lines = lines[: draw(st.integers(0, 20))] + lines[start : start + draw(st.integers(1, 60))]
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(["cut", "twice", "swap", "in", "out", "letter", "word", "mix"])):
            case "cut":
                lines[at] = lines[at][: draw(st.integers(0, 40))]
            case "twice":
                lines.insert(at, lines[at])
            case "swap":
                lines[at], lines[0] = lines[0], lines[at]
            case "in":
                lines[at] = draw(st.sampled_from([" ", "  ", "\t", "    "])) + lines[at]
            case "out":
                lines[at] = lines[at].strip()
            case "letter":
                place = draw(st.integers(0, len(lines[at])))
                sign = draw(st.sampled_from(string.printable + "±°½–\u202e\x00ß"))
                lines[at] = lines[at][:place] + sign + lines[at][place:]
            case "word":
                words = lines[at].split(" ")
                words[draw(st.integers(0, len(words) - 1))] = draw(st.sampled_from(WORDS))
                lines[at] = " ".join(words)
            case _:
                lines[at] = "  " + draw(st.sampled_from(PIECES))
    return "\n".join(lines) + draw(st.sampled_from(["", "\n", "\r\n", " ", ":"]))


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(changed())
def test_changed_trees_break_nothing(text: str) -> None:
    quietly(text)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200))
def test_any_text_breaks_nothing(text: str) -> None:
    quietly(text)
    quietly("tree a: A\ncheck b: B\n  " + text)


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from(["if ", "spec: ", "then: ", "shows: ", "time: ", "unit: ", "as in: ", "at: "]),
    st.lists(st.sampled_from([*WORDS[:400], ",", ":", "±", "-", "to", "or", "8", "bar", "%"]),
             max_size=8),
    st.sampled_from(["check", "reading", "step", "fault", "case", "tree", "danger"]),
)  # fmt: skip
def test_any_words_in_a_line_break_nothing(key: str, words: list[str], kind: str) -> None:
    quietly(f"tree t: T\n{kind} b: B\n  {key}{' '.join(words)}\n  {' '.join(words)}\n")


# ---- once more, the same ----------------------------------------------------------------------


def test_a_project_reads_a_file_once_and_says_the_same_again(tmp_path: Path) -> None:
    (tmp_path / "a.tree").write_text(SOUND.replace("if no", "iff no"))
    project = Project()
    first = project.lint(tmp_path / "a.tree")
    (tmp_path / "a.tree").unlink()
    assert project.lint(tmp_path / "a.tree") == first


BESIDE = """\
tree pump: Pump
use shop.tree

symptom dry: Dry
  start at: valve

check valve: Is it open?
  if yes: found leek
  if no: found leak

fault leak: Leak
  remedy: Mend it.
"""


@pytest.mark.parametrize(
    "slip, told",
    [
        ("chek level: Full?\n", True),  # its name can be read
        ("check level Full?\n", True),
        ("check: Full?\n", False),
        ("probe level: Full?\n", False),  # of a kind that nobody knows
        ("chek level Full?\n", False),
        ("use none.tree\n", False),
        ("use\n", False),
        ("tree two: Another\n", False),  # what stands behind it is not this tree's
        ("if yes: found leak\n", True),  # no block
    ],
)
def test_a_wrong_name_is_told_where_no_block_may_have_it(
    slip: str, told: bool, tmp_path: Path
) -> None:
    (tmp_path / "shop.tree").write_text("library shop: Shop\n", encoding="utf-8")
    path = tmp_path / "pump.tree"
    path.write_text(BESIDE + "\n" + slip, encoding="utf-8")
    rules = [(one.rule, one.span.text) for one in lint_loaded(Project().load(path))]
    assert any(rule in ("syntax", "file") for rule, _ in rules)
    assert (("missing-name", "leek") in rules) == told
