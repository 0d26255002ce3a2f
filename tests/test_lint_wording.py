"""The rules on hazards, licences and wording, over their case files and over single questions.

The case files are those of test_lint.py; here each is held against all rules there are, also
those that are not run yet by default.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from demos import DEMOS
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont
from test_lint import FOLDER, load, with_marks, without_marks

from treewright.lint import trade
from treewright.lint.rule import HEADINGS, Rule
from treewright.lint.rules import RULES
from treewright.lint.rules.guards import GUARDS
from treewright.lint.rules.too_long import _WIDEST
from treewright.lint.run import review
from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.model.tree import on_model
from treewright.project import Project
from treewright.render.compile import compile_tree
from treewright.text.diagnostic import Finding
from treewright.text.lettering import MM, Lettering, atkinson, lettering

ROOT = Path(__file__).parents[1]
PUBLISHED = sorted((Path(__file__).parent / "published").glob("*.tree"))
BY_NAME = {rule.name: rule for rule in GUARDS}
# The last of RULES must see what the others found.
ALL = (*RULES[:-1], *(rule for rule in GUARDS if rule not in RULES), RULES[-1])

each_rule = pytest.mark.parametrize("rule", GUARDS, ids=lambda rule: rule.name)


def findings_of(text: str, rules: tuple[Rule, ...] = ALL) -> list[Finding]:
    loaded = load(text)
    assert loaded.findings == ()
    assert loaded.tree is not None
    return list(review(loaded.tree, rules).findings)


def messages_of(rule: str, text: str) -> list[str]:
    return [finding.message for finding in findings_of(text, (BY_NAME[rule],))]


# ---- the case files and the rules' own text ---------------------------------------------------


@pytest.mark.parametrize("end", ["", "-sound"])
@each_rule
def test_case(rule: Rule, end: str, golden: Callable[[Path, str], None]) -> None:
    path = FOLDER / f"{rule.name}{end}.tree"
    plain = without_marks(path.read_text(encoding="utf-8"))
    marked = with_marks(plain, findings_of(plain))
    golden(path, marked)
    assert (f" {rule.name}: " in marked) == (end == "")


@each_rule
def test_documentation_and_its_examples(rule: Rule) -> None:
    parts = rule.parts()
    assert tuple(parts) == HEADINGS
    assert all(parts.values())
    (found,) = findings_of(parts["Not so"] + "\n")
    assert (found.rule, found.level) == (rule.name, rule.level)
    assert findings_of(parts["But so"] + "\n") == []


@each_rule
def test_messages_are_said_in_one_way(rule: Rule) -> None:
    text = without_marks((FOLDER / f"{rule.name}.tree").read_text(encoding="utf-8"))
    for finding in findings_of(text, (rule,)):
        for said in (finding.message, finding.why, finding.help):
            assert said
            assert not said[0].isupper()
            assert not said.endswith(".")
            assert "\n" not in said


@pytest.mark.parametrize("path", [*DEMOS, *PUBLISHED], ids=lambda path: path.stem)
def test_no_tree_that_ships_breaks_a_fault_rule(path: Path) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    assert [f.message for f in review(tree, GUARDS).findings if f.level == "fault"] == []


def test_wording_is_left_alone_in_another_language() -> None:
    said = "  machine: X\n  language: de\n"
    text = WORDED.format(question="Is it normal and does it turn?", answers=_answers("good", "bad"))
    assert messages_of("vague-limit", text)
    for rule in ("vague-limit", "two-in-one", "yes-no-words"):
        assert messages_of(rule, text.replace("  machine: X\n", said)) == []


# ---- one question at a time -------------------------------------------------------------------

WORDED = """\
tree t: Title
  machine: X

symptom s: Symptom
  start at: c

check c: {question}
{answers}
handoff end: End
  to: the workshop
"""


def _answers(*labels: str) -> str:
    return "".join(f"  if {label}: stop end\n" for label in labels)


def asked(rule: str, question: str, *labels: str) -> bool:
    text = WORDED.format(question=question, answers=_answers(*(labels or ("yes", "no"))))
    return bool(messages_of(rule, text))


@pytest.mark.parametrize(
    "question",
    [
        "Is the belt tight and the guard on?",
        "Is the belt tight, and is the guard on?",
        "Is it clean or dry?",
        "Is the hose kinked or torn?",
        "Are the plugs clean, dry and tight?",
        "Is the pump warm and not noisy under load?",
        "Does the fan turn and does the lamp light?",
        "Is the lamp lit? Is the fan on?",
        "Where is it wet and how fast does it drip?",
    ],
)
def test_two_in_one(question: str) -> None:
    assert asked("two-in-one", question)


@pytest.mark.parametrize(
    "question",
    [
        "Is the oil between the two marks?",
        "Is the port between pump and tank clear?",
        "Does the stick stand between full and empty?",
        "Does the lamp go on and off?",
        "Can the rod be moved up and down?",
        "Do the plates, frames and springs move?",
        "Are plug and socket clean?",
        "Is the start and stop button whole?",
        "Is every tap shut, the outside ones too?",
        "Does the compressor do what its lamp on the controller says?",
        "Does the pump case have leaks, cracks, or damage?",
        "What do you see and hear as the motor stops?",
        "Is the red and green wire still there?",
        "Is the speed of the feed steady?",
        "Is the hot and cold water shut off?",
    ],
)
def test_one_in_one(question: str) -> None:
    assert not asked("two-in-one", question)


@pytest.mark.parametrize(
    ("question", "answers"),
    [
        ("Is the belt tight?", ("tight", "slack")),
        ("Does it start?", ("at once", "slowly")),
        ("Is it clean or dirty?", ("good", "bad")),
        ("Where does it leak?", ("yes", "no")),
        ("At which place does it leak?", ("at the plug", "no")),
        ("How is the oil?", ("yes", "no")),
        ("With the tank empty, does it start?", ("at once", "slowly")),
        ("When it runs, what do you hear?", ("yes", "no")),
    ],
)
def test_answers_that_do_not_answer(question: str, answers: tuple[str, ...]) -> None:
    assert asked("yes-no-words", question, *answers)


@pytest.mark.parametrize(
    ("question", "answers"),
    [
        ("Is the belt tight?", ("yes", "no")),
        ("Is the belt tight?", ("Yes", "not at all")),
        ("Are the belts tight?", ("both", "one side only", "neither")),
        ("Is it clean or dirty?", ("clean", "dirty")),
        ("Does it start?", ("yes", "lamp lit but silent")),
        ("Where does it leak?", ("nowhere", "at the plug")),
        ("What comes out?", ("no water", "a jet")),
        ("When the switch is pressed, does it start?", ("yes", "no")),
        ("The noise of the pump", ("steady", "a growl")),
        ("Do as the plate says", ("done", "left")),
        ("How many bubbles rise?", ("none", "one or two", "more")),
    ],
)
def test_answers_that_answer(question: str, answers: tuple[str, ...]) -> None:
    assert not asked("yes-no-words", question, *answers)


@pytest.mark.parametrize(
    "question",
    [
        "Is the noise normal?",
        "Is the clearance excessive?",
        "Is the plug in properly?",
        "Is the pressure too high?",
        "Is it hot enough?",
        "Does the gauge show about 18?",
        "Does it take approximately 3 min?",
        "Is the level within limits?",
    ],
)
def test_vague(question: str) -> None:
    assert asked("vague-limit", question)


@pytest.mark.parametrize(
    "question",
    [
        "Is the normally open contact open?",
        "Is it too hot, above 60 °C?",
        "Does the gauge show 18 to 19 bar?",
        "Does it take about 3 min ± 10 s?",
        "Does the oil reach high enough to touch the mark?",
        "Is the seat near the shaft wet?",
        "What is the noise about?",
        "Does it hold for five minutes, which is long enough?",
    ],
)
def test_not_vague(question: str) -> None:
    assert not asked("vague-limit", question)


# ---- licences ---------------------------------------------------------------------------------

REMEDY = """\
tree t: Title
  machine: Cabinet, {machine}

symptom s: Symptom
  start at: c

check c: Does it turn?
  if yes: stop end
  if no: found f

fault f: Fault
  remedy: {remedy}
{more}
handoff end: End
  to: the workshop
"""


def licence(remedy: str, more: str = "", machine: str = "230 V") -> list[str]:
    return messages_of("licence-missing", REMEDY.format(remedy=remedy, more=more, machine=machine))


@pytest.mark.parametrize(
    ("remedy", "kind"),
    [
        ("Fit a new contactor of the same rating.", "mains wiring"),
        ("Take the overload relay out and fit its brother.", "mains wiring"),
        ("Look at it. Then tighten the motor terminals.", "mains wiring"),
        ("Fit a new contactor, not a larger one.", "mains wiring"),
        ("Loosen the gas union and blow the pipe through.", "fuel gas"),
        ("Recover the refrigerant.", "refrigerant"),
        ("Top up with R-134a.", None),  # as makers write it; the list has it without the hyphen
        ("Charge with R134a.", "refrigerant"),
        ("Braze the *refrigerant line*.", "refrigerant"),
        ("Drill the pressure vessel.", "a pressure vessel"),
        ("Fit a new safety valve.", "the safety valve"),
    ],
)
def test_licensed_work(remedy: str, kind: str | None) -> None:
    found = licence(remedy)
    if kind is None:
        assert found == []
    else:
        assert len(found) == 1
        assert f"work on {kind}" in found[0]


@pytest.mark.parametrize(
    "remedy",
    [
        "Never loosen a gas union.",
        "Do not open the cooling circuit.",
        "Have a licensed electrician fit a new contactor.",
        "Turn the isolator off and lock it.",
        "Shut the gas valve. Clean the window.",
        "Reset the circuit breaker once.",
        "Measure at the motor terminals with the covers on.",
        "Remove the lid and look at the isolator.",
        "Fit a new gas strut.",
        "Fit new motor mounts.",
        "Watch the refrigerant in the sight glass.",
        "Weld the bracket.",
    ],
)
def test_work_for_anybody(remedy: str) -> None:
    assert licence(remedy) == []


def test_a_contactor_is_only_mains_wiring_where_the_tree_speaks_of_mains() -> None:
    assert licence("Fit a new contactor.", machine="24 V from the truck") == []


def test_a_licence_settles_it() -> None:
    assert licence("Fit a new contactor.", "  licence: a licensed electrician\n") == []


def test_parts_and_tools_name_the_work() -> None:
    assert len(licence("Mend it.", "  parts: contactor 24 A\n")) == 1
    assert len(licence("Mend it.", "  tools: manifold gauge set\n")) == 1
    assert licence("Mend it.", "  parts: contactor label\n") == []


# ---- hazards, against what is shown in the outputs ---------------------------------------------


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_unguarded_says_what_the_outputs_show(path: Path) -> None:
    """With one hazard after the other taken out, what opens the machine and shows none is found."""
    tree = load(path.read_text(encoding="utf-8"), path.name, path.parent).tree
    assert tree is not None
    hazards = dict(tree.hazards)
    opening = {
        node.name: node
        for node in tree.nodes.values()
        if isinstance(node, Check | Reading | Step | Fault)
        and node.cost.access
        and node.cost.access.name in tree.access[1:]
    }
    counts = []
    for name in list(hazards):
        del hazards[name]
        less = replace(tree, hazards=dict(hazards))
        shown = {node.name: node.hazards for node in compile_tree(less).nodes}
        bare = {
            name
            for name, node in opening.items()
            for model in tree.models
            if on_model(node.models, model)
            and not any(on_model(hazards[hazard].models, model) for hazard in shown[name])
        }
        found = {
            finding.message.split("`")[1]
            for finding in review(less, (BY_NAME["unguarded"],)).findings
            if "it opens the machine" in finding.message
        }
        assert found & set(opening) == bare
        counts.append(len(bare))
    assert counts[0] == 0
    assert counts[-1] == len(opening)  # every one of them, once no hazard is left


# ---- how wide a text runs ----------------------------------------------------------------------

LETTERS = "".join(map(chr, range(32, 127))) + "äéßøŁ°±×–—’“”…½"


@pytest.mark.parametrize("bold", [False, True])
def test_widths_against_pillow(bold: bool) -> None:
    """Advance widths at 1000 units, as FreeType reads them through Pillow."""
    import fontpkg_atkinson_hyperlegible as package

    style = "Bold" if bold else "Regular"
    file = Path(next(iter(package.__path__))) / "files" / f"AtkinsonHyperlegible-{style}.ttf"
    font = ImageFont.truetype(str(file), 1000, layout_engine=ImageFont.Layout.BASIC)
    letters = atkinson(bold)
    for char in LETTERS:
        # FreeType rounds a hinted advance to a whole pixel, here a thousandth of the size.
        assert letters.width(char) * 1000 == pytest.approx(font.getlength(char), abs=1)


def test_no_letter_is_wider_than_the_rule_takes_for_granted() -> None:
    letters = atkinson(bold=True)
    assert max(letters.advances.values()) <= _WIDEST


def naive_lines(letters: Lettering, text: str, size: float, room: float) -> int:
    """Words put on a line as long as the whole line still fits."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and letters.width(longer) * size <= room * MM:
            lines[-1] = longer
        else:
            lines.append(word)
    return len(lines)


@given(
    st.lists(st.text("abcdefgilmWM.,?'", min_size=1, max_size=9), max_size=40).map(" ".join),
    st.sampled_from([9.0, 14.0]),
    st.sampled_from([50.0, 120.0]),
)
def test_lines_against_a_naive_breaker(text: str, size: float, room: float) -> None:
    letters = atkinson(bold=True)
    assert letters.lines(text, size, room) == naive_lines(letters, text, size, room)


def test_lines_break_behind_hyphens_and_inside_what_is_too_wide() -> None:
    letters = atkinson()
    room = letters.width("aaaa-") / MM * 10 + 0.001
    assert letters.lines("aaaa-aaaa", 10, room) == 2
    assert letters.lines("aaaa\u00a0aaaa", 10, room) == 2  # broken, as it is wider than the line
    assert letters.lines("", 10, room) == 0
    assert letters.lines("a" * 100, 10, letters.width("a" * 10) / MM * 10 + 0.001) == 10


def test_a_font_that_is_none() -> None:
    for data in (b"", b"\x00\x01\x00\x00\x00\x01" + b"x" * 40):
        with pytest.raises(ValueError, match="no TrueType font"):
            lettering(data)


# ---- the word lists ----------------------------------------------------------------------------


def test_the_word_lists_are_written_as_they_say() -> None:
    lists = trade._lists()
    entries = [
        entry
        for part in lists.values()
        for block in (part if isinstance(part, list) else [part])
        for value in block.values()
        if isinstance(value, list)
        for entry in value
    ]
    assert len(entries) > 300
    for entry in entries:
        assert entry == " ".join(entry.split())
        assert entry == entry.lower()


def test_a_tool_without_its_size() -> None:
    for written, name in [
        ("insulation tester 500 V", "insulation tester"),
        ("10 kohm 5 W resistor", "resistor"),
        ("gauge 0 to 5000 psi with hose", "gauge"),
        ("hydraulic press", "hydraulic press"),
        ("13 mm spanner", "spanner"),
    ]:
        assert trade.without_figures(written) == name
