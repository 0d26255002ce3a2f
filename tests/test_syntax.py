"""The language: what is read, and what is said of what cannot be read.

cases/syntax/*.tree hold broken trees with the findings below each line (see test_lint.py; here
what to write instead stands below as well). Limits and numbers are held against values worked
out by hand in tables; the rest against what grammar/language.md says.
"""

from __future__ import annotations

import ast as python
import re
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from demos import EVERY
from test_lint import MARK, load, without_marks

from treewright.project import lint_loaded
from treewright.syntax import ast, grammar
from treewright.syntax.parse import parse
from treewright.text.diagnostic import Finding
from treewright.text.interval import Interval, Limits
from treewright.text.source import Source

ROOT = Path(__file__).parents[1]
CASES = Path(__file__).parent / "cases"
FILES = sorted([*(CASES / "syntax").glob("*.tree"), *(CASES / "model").glob("*.tree")])


def findings_of(path: Path) -> list[Finding]:
    plain = without_marks(path.read_text(encoding="utf-8"))
    return lint_loaded(load(plain, folder=path.parent))


def with_help(text: str, findings: list[Finding]) -> str:
    """The tree with its findings, and their help, below the lines they start in.

    A place at the left edge loses its first two carets to the mark.
    """
    below: dict[int, list[str]] = {}
    for finding in findings:
        source = finding.span.source
        line, column = source.position(finding.span.start)
        carets = "^" * len(finding.span.text.split("\n")[0])
        place = (" " * (column - 1) + carets)[len(MARK) :]
        if source.path != "case.tree":
            line, place = 0, f" {source.path}:{line}:{column}"
        below.setdefault(line, []).append(f"{MARK}{place} {finding.rule}: {finding.message}")
        below[line].append(f"{MARK} help {finding.help}")
    lines: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        lines += [line, *below.get(number, ())]
    return "\n".join([*lines, *below.get(0, ())]) + "\n"


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_case(path: Path, golden: Callable[[Path, str], None]) -> None:
    plain = without_marks(path.read_text(encoding="utf-8"))
    golden(path, with_help(plain, findings_of(path)))


# ---- how it is said ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def said() -> list[Finding]:
    found = [finding for path in FILES for finding in findings_of(path)]
    long = "check a: A?\n  if yes: stop " + "far-" * 6000 + "\ncheck b" + "b" * 30_000 + ": B?\n"
    return found + parse(Source("case.tree", long))[1]


def test_every_message_reads_well(said: list[Finding]) -> None:
    terminals = {name for name in grammar._parser()._terminals_dict if len(name) > 2}
    meant = {"NAME", "MODEL"}  # stand for what is to be put there, in `go NAME`
    jargon = re.compile(
        r"\b(token|terminal|parser?|syntax|exception|error|invalid|unexpected|expected|None|"
        r"null|string|character|regex|list index|tuple|int|str)\b"
    )
    for finding in said:
        for text in (finding.message, finding.help, finding.why):
            assert "\n" not in text
            assert not text.endswith("."), text
            own = re.sub(r"`[^`]*`", "", text)
            assert not jargon.search(own), text
            assert not own[:1].isupper(), text
            assert not set(re.findall(r"\b[A-Z_]{3,}\b", own)) & (terminals - meant), text
        if finding.rule == "syntax":
            assert finding.help, finding.message
            assert len(finding.message) < 160, finding.message


def test_every_place_is_small(said: list[Finding]) -> None:
    for finding in said:
        assert "\n" not in finding.span.text.strip(), finding.message
        assert len(finding.span.text) <= 60, finding.message


def _messages() -> Iterator[tuple[str, str]]:
    """All messages written in the code, as patterns."""
    source = ROOT / "src" / "treewright"
    for path in [*source.glob("syntax/*.py"), *source.glob("model/*.py")]:
        for node in python.walk(python.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, python.Call) or not node.args:
                continue
            called = python.unparse(node.func).split(".")[-1]
            if called not in ("syntax", "Trouble"):
                continue
            first = node.args[0]
            for one in [first.body, first.orelse] if isinstance(first, python.IfExp) else [first]:
                if isinstance(one, python.Constant):
                    yield f"{path.name}:{one.lineno}", re.escape(one.value)
                elif isinstance(one, python.JoinedStr):
                    parts = [
                        re.escape(p.value) if isinstance(p, python.Constant) else ".+"
                        for p in one.values
                    ]
                    yield f"{path.name}:{one.lineno}", "".join(parts)


def test_every_message_has_a_case_that_shows_it(said: list[Finding]) -> None:
    shown = [finding.message for finding in said if finding.rule == "syntax"]
    translated = (CASES / "lint" / "not-translated.tree").read_text(encoding="utf-8")
    shown += re.findall(r"not-translated: (.+)", translated)  # which test_lint compares
    patterns = list(_messages())
    assert len(patterns) > 60
    missing = [
        (place, pattern)
        for place, pattern in patterns
        if not any(re.fullmatch(pattern, message) for message in shown)
    ]
    assert not missing, missing


# ---- limits and other values ------------------------------------------------------------------

LIMITS = [
    [cell.strip() for cell in row.split("|")]
    for row in (CASES / "syntax" / "limits.txt").read_text(encoding="utf-8").splitlines()
    if not row.startswith("#")
]


def limits_of(text: str) -> Limits:
    """Limits from a table's own notation: "(.., 3) [5, 25/4]"."""
    found = []
    for opening, low, high, closing in re.findall(r"([\[(])(\S+), (\S+)([\])])", text):
        ends = [None if end == ".." else Fraction(end) for end in (low, high)]
        found.append(Interval(ends[0], opening == "[", ends[1], closing == "]"))
    return Limits.of(*found)


def block_of(text: str) -> ast.Block:
    file, findings = parse(Source("case.tree", text))
    assert findings == []
    return file.blocks[0]


def value_of(kind: str, line: str) -> ast.Value:
    return block_of(f"{kind} a: Text\n  {line}\n").lines[0].value


@pytest.mark.parametrize("written, limits, unit", LIMITS, ids=[row[0] for row in LIMITS])
def test_limits(written: str, limits: str, unit: str) -> None:
    spec = value_of("reading", f"spec: {written}")
    assert isinstance(spec, ast.SpecText)
    assert spec.limit.limits == limits_of(limits)
    assert (spec.limit.unit.symbol if spec.limit.unit else "-") == unit
    assert spec.limit.span.text == written
    answer = value_of("reading", f"if {written}: go next")
    assert isinstance(answer, ast.Answer) and answer.test is not None
    assert isinstance(answer.test.what, ast.Limit)
    assert answer.test.what.limits == spec.limit.limits
    assert answer.words is not None and answer.words.text == written


@pytest.mark.parametrize(
    "written, minutes",
    [("2 min", 2), ("4 h", 240), ("1 h 30 min", 90), ("90 s", Fraction(3, 2)), ("1.5 h", 90),
     ("2 d", 2880), ("1/2 h", 30)],
)  # fmt: skip
def test_time(written: str, minutes: int | Fraction) -> None:
    assert value_of("check", f"time: {written}") == minutes


@pytest.mark.parametrize(
    "written, kind, does, target",
    [
        ("go valve", "go", [], "valve"),
        ("go next", "next", [], None),
        ("go oil.oil-level", "go", [], "oil.oil-level"),
        ("found worn-rings", "found", [], "worn-rings"),
        ("stop electrician", "stop", [], "electrician"),
        ("back to oil-level", "back", [], "oil-level"),
        ("do drain, then go next", "next", ["drain"], None),
        ("do drain, then do top-up, then back to level", "back", ["drain", "top-up"], "level"),
        ("go next-one", "go", [], "next-one"),
        ("go to-one", "go", [], "to-one"),
        ("do\n    drain, then\n    go next", "next", ["drain"], None),
    ],
)
def test_ways(written: str, kind: str, does: list[str], target: str | None) -> None:
    for block, line in (("step", "then"), ("check", "if yes"), ("check", "otherwise")):
        value = value_of(block, f"{line}: {written}")
        way = value.way if isinstance(value, ast.Answer) else value
        assert isinstance(way, ast.WayText)
        assert (way.kind, [word.text for word in way.does]) == (kind, does)
        assert (way.target.text if way.target else None) == target


def words(value: ast.Value) -> list[str]:
    assert isinstance(value, tuple)
    return [word.text for word in value if isinstance(word, ast.Word)]


def test_lists_of_names_models_and_phrases() -> None:
    assert words(value_of("check", "needs: warm, locked-out,dry")) == ["warm", "locked-out", "dry"]
    assert words(value_of("tree", "models: B60, D-40/2, 7.5X")) == ["B60", "D-40/2", "7.5X"]
    assert words(value_of("check", "tools: stopwatch, feeler  gauge 0.05 to 1 mm")) == [
        "stopwatch", "feeler gauge 0.05 to 1 mm",
    ]  # fmt: skip
    assert words(value_of("check", "needs: warm,\n    # not yet\n    dry")) == ["warm", "dry"]


def test_answers_of_a_check_are_its_own_words() -> None:
    for text in ("yes", "one side only", "3 to 5", "left, then right", "if at all", "don't know"):
        value = value_of("check", f"if {text}: go next")
        assert isinstance(value, ast.Answer) and value.words is not None
        assert (value.words.text, value.test) == (text, None)


@pytest.mark.parametrize(
    "written, quantifier, place, what",
    [
        ("within", "one", None, "within"),
        ("all within", "all", None, "within"),
        ("any below", "any", None, "below"),
        ("none above", "none", None, "above"),
        ("only left above", "only", "left", "above"),
        ("only left above 8.6", "only", "left", None),
        ("all 8.0 to 8.6", "all", None, None),
    ],
)
def test_answers_of_a_reading(
    written: str, quantifier: str, place: str | None, what: str | None
) -> None:
    value = value_of("reading", f"if {written}: go next")
    assert isinstance(value, ast.Answer) and value.test is not None
    test = value.test
    assert test.quantifier == quantifier
    assert (test.place.text if test.place else None) == place
    assert (test.what.verdict if isinstance(test.what, ast.Verdict) else None) == what


def test_what_a_fault_shows() -> None:
    value = value_of("fault", "shows: pump-up above, maybe oil.level any  below 8.0,\n    x low")
    assert isinstance(value, tuple)
    shown = [(s.node.text, s.answer.text, s.maybe) for s in value if isinstance(s, ast.Show)]
    assert shown == [
        ("pump-up", "above", False), ("oil.level", "any below 8.0", True), ("x", "low", False),
    ]  # fmt: skip


def test_lines_of_a_case() -> None:
    for line, places in (
        ("pump-up: 260 s", [(None, 260, "s")]),
        ("oil: 3/8", [(None, Fraction(3, 8), None)]),
        ("ends-play: left 8.7 bar, right 8.2 bar",
         [("left", Fraction(87, 10), "bar"), ("right", Fraction(41, 5), "bar")]),
        ("oil-level: yes", []),
        ("look: left side, right side", []),
    ):  # fmt: skip
        value = value_of("case", line)
        assert isinstance(value, ast.Entry)
        measured = [
            (place.text if place else None, a.value, a.unit.symbol if a.unit else None)
            for place, a in value.measured
        ]
        assert measured == places
        assert value.value.text == line.partition(": ")[2]


def test_the_other_lines() -> None:
    spec = value_of("reading", "spec for B60, D-40/2: 3 bar")
    assert isinstance(spec, ast.SpecText)
    assert [word.text for word in spec.models] == ["B60", "D-40/2"]
    picture = value_of("check", 'picture: pics/ports.jpg "Test ports, left: \\"')
    assert isinstance(picture, ast.PictureText)
    assert (picture.file.text, picture.caption) == ("pics/ports.jpg", "Test ports, left: \\")
    bare = value_of("check", "picture: ports.jpg")
    assert isinstance(bare, ast.PictureText)
    assert (bare.file.text, bare.caption) == ("ports.jpg", "")
    waive = value_of("check", "waive gap: The gauge: it ends at 10 bar.")
    assert isinstance(waive, ast.WaiveText)
    assert (waive.rule.text, waive.reason.text) == ("gap", "The gauge: it ends at 10 bar.")
    assert value_of("tree", "edition: 3, 2026-10-01") == ast.EditionText(3, "2026-10-01")
    assert value_of("tree", "units: us, also metric") == ast.UnitsText("us", "metric")
    assert value_of("tree", "units: us") == ast.UnitsText("us", "")
    assert value_of("fault", "share: 2.5") == Fraction(5, 2)
    assert value_of("check", "people: 2") == 2


# ---- prose ------------------------------------------------------------------------------------


def prose(text: str) -> str:
    value = block_of(text).lines[0].value
    assert isinstance(value, ast.Prose)
    return value.text


def test_prose_goes_on_and_keeps_its_shape() -> None:
    assert prose(
        "check a: A?\n  how: First line\n    second line.\n\n    New paragraph:\n"
        "    - one\n      - below one\n    - two\n\n    > quoted\n  time: 2 min\n"
    ) == (
        "First line\nsecond line.\n\nNew paragraph:\n- one\n  - below one\n- two\n\n> quoted"
    )


def test_comments_in_prose_are_no_prose_and_part_nothing() -> None:
    assert prose("check a: A?\n  how: One\n    # not this\n# nor this\n    two # but this\n") == (
        "One\ntwo # but this"
    )


def test_a_title_may_hold_colons_and_marks() -> None:
    block = block_of("check a: Is it open: yes, or `no`? #1\n  if yes: go next\n")
    assert block.title.text == "Is it open: yes, or `no`? #1"


def test_items_of_a_procedure_hold_lists_of_their_own() -> None:
    text = "procedure a: A\n  - Do this\n    - and this\n    - and that\n  - Then that.\n"
    block = block_of(text)
    assert [line.value.text for line in block.lines if isinstance(line.value, ast.Prose)] == [
        "Do this\n- and this\n- and that", "Then that.",
    ]  # fmt: skip


def test_what_looks_like_markup_stays_what_it_is() -> None:
    odd = "</script> #{x} $(rm) {{y}} \"q\" 'q' `c` \\ & <b> \u202e \x1b[31m 100 %"
    assert prose(f"check a: A?\n  how: {odd}\n") == odd


def test_every_kind_of_line_can_be_read() -> None:
    """Each line that the grammar has is in some demo tree or library, or is tried here."""
    seen: set[tuple[str, str]] = set()
    extra = """\
tree t: T
  language: en-GB
  waive gap: Because.
check a: A?
  only for: B60
  same as: b
  before: b
  answers: yes, no
  waive gap: Because.
fault f: F
  symptoms: s, t
stage b: B
  about: Text
  only for: B60
step c: C
  sets: warm
  clears: cold
case d: D
  model: B60
"""
    texts = [path.read_text(encoding="utf-8") for path in EVERY]
    for text in [*texts, extra]:
        file, findings = parse(Source("case.tree", text))
        assert findings == []
        seen |= {(block.kind, line.key) for block in file.blocks for line in block.lines}
    keys = {key for kind in grammar.KINDS for key in grammar.keys(kind)}
    assert keys == {key for _, key in seen if key not in ("item", "entry")}


def test_the_reference_names_every_line_and_block() -> None:
    reference = (ROOT / "grammar" / "language.md").read_text(encoding="utf-8")
    for kind in grammar.KINDS:
        assert re.search(rf"`{kind}\b", reference), kind
        for key in grammar.keys(kind):
            assert re.search(rf"`(?:.*[ ,])?{key}\b", reference), key


def test_answers_without_a_way_on() -> None:
    block = block_of("check a: A?\n  answers: yes ,  a bit  low, otherwise\n")
    [line] = block.lines
    assert line.key == "answers" and isinstance(line.value, tuple)
    assert [one.words.text for one in line.value if isinstance(one, ast.Answer) and one.words] == [
        "yes", "a bit low", "otherwise",
    ]  # fmt: skip
    text = "reading a: A\n  answers: all 8 to 9 bar,\n    any below 8 bar , otherwise\n"
    [line] = block_of(text).lines
    assert isinstance(line.value, tuple)
    answers = [one for one in line.value if isinstance(one, ast.Answer)]
    assert [one.words.text for one in answers if one.words] == [
        "all 8 to 9 bar", "any below 8 bar", "otherwise",
    ]  # fmt: skip
    assert [one.test.quantifier if one.test else None for one in answers] == ["all", "any", None]
    assert [text[one.words.span.start : one.words.span.end] for one in answers if one.words] == [
        "all 8 to 9 bar", "any below 8 bar", "otherwise",
    ]  # fmt: skip
