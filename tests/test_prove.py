"""Faults followed by what they show, cases as they were read, and how that is told."""

from __future__ import annotations

import argparse
import json
import random
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
from demos import DEMOS
from test_lint import sound
from walk import Lost, ends_of, follow_case, models_of

from treewright.cli.prove import run
from treewright.lint.rule import Context
from treewright.model.graph import entry, graph
from treewright.model.nodes import Check, Fault, Reading, Step
from treewright.model.tree import Case, Tree
from treewright.project import Project
from treewright.reason.cases import follow_case as followed_case
from treewright.report.proof import Proof, prove
from treewright.report.prove import as_json, junit, table
from treewright.usage import UsageError

TREES = DEMOS
PUBLISHED = sorted((Path(__file__).parent / "published").glob("*.tree"))

each_tree = pytest.mark.parametrize("path", [*TREES, *PUBLISHED], ids=lambda path: path.stem)


def tree_at(path: Path) -> Tree:
    found = Project().load(path).tree
    assert found is not None
    return found


# ---- against the tests' own interpreter ------------------------------------------------------


def compare_ends(tree: Tree) -> int:
    """Holds all ends of all faults against an interpreter that shares no code; counts them."""
    context, count = Context(tree), 0
    mended = {
        name.name for node in tree.nodes.values() if isinstance(node, Step)
        for name in node.doubts or ()
    }  # fmt: skip
    for group in context.groups:
        model = group[0]
        prover = context.prover(model)
        for fault in tree.nodes.values():
            if not isinstance(fault, Fault) or model not in models_of(tree, fault.models):
                continue
            for symptom in tree.symptoms.values():
                if model not in models_of(tree, symptom.models):
                    continue
                expected = ends_of(tree, fault, symptom.name, model)
                found = prover.ends(fault.name, [entry(symptom.name)])
                if mended & {one.node.name for one in fault.shows if not one.maybe}:
                    assert set(found) >= set(expected)  # a step may mend what it shows
                else:
                    assert set(found) == set(expected)
                    for end, way in found.items():
                        assert len(way) == len(expected[end]) + 1  # and the symptom
                count += len(found)
    return count


@each_tree
def test_ends_against_the_interpreter(path: Path) -> None:
    assert compare_ends(tree_at(path)) >= 7


def made_tree(seed: int) -> str:
    """A random tree: checks with two or three answers, forward and some back, faults that show
    this and that, cases that read this and that."""
    dice = random.Random(seed)
    checks = dice.randint(2, 7)
    faults = [f"f{at}" for at in range(dice.randint(1, 5))]
    answers = {f"c{at}": dice.randint(2, 3) for at in range(checks)}
    lines = ["tree made: Made", f"  after remedy: {dice.choice(['finish', 'go on'])}", ""]
    for at in range(2):
        lines += [f"symptom s{at}: Seen", f"  start at: c{dice.randrange(min(2, checks))}", ""]
    for at, (name, count) in enumerate(answers.items()):
        lines += [f"check {name}: Is it so?", f"  normal: a{dice.randrange(count)}"]
        for answer in range(count):
            kind = dice.random()
            if kind < 0.1:
                way = f"back to c{dice.randint(0, at)}"
            elif kind < 0.55 and at + 1 < checks:
                way = f"go c{dice.randint(at + 1, checks - 1)}"
            elif kind < 0.65:
                way = "stop shop"
            else:
                way = f"found {dice.choice(faults)}"
            lines.append(f"  if a{answer}: {way}")
        lines.append("")
    for name in faults:
        lines += [f"fault {name}: Broken", "  remedy: Mend it."]
        shown = dice.sample(list(answers), dice.randint(1, len(answers)))
        shows = (
            f"{dice.choice(['', '', 'maybe '])}{check} a{dice.randrange(answers[check])}"
            for check in shown
        )
        lines += [f"  shows: {', '.join(shows)}"]
        if dice.random() < 0.3:
            lines.append(f"  retest: {dice.choice(list(answers))}")
        lines.append("")
    lines += ["handoff shop: Not here", "  to: the workshop", ""]
    for at in range(4):
        lines += [f"case k{at}: Known", f"  symptom: s{dice.randrange(2)}"]
        for check in dice.sample(list(answers), dice.randint(1, len(answers))):
            lines.append(f"  {check}: a{dice.randrange(answers[check])}")
        lines += [f"  ends: {dice.choice([*faults, 'shop'])}", ""]
    return "\n".join(lines)


@pytest.mark.parametrize("seed", range(150))
def test_random_trees_against_the_interpreter(seed: int) -> None:
    tree = sound(made_tree(seed))
    compare_ends(tree)
    for case in tree.cases.values():
        compare_case(tree, case, None)


def verdict_by_hand(tree: Tree, fault: Fault) -> str:
    """From what the interpreter says of each symptom alone."""
    ways = graph(tree)
    entries = [one for one in ways.entries if fault.name in ways.reached_from([one], retests=False)]
    ends = [set(ends_of(tree, fault, one.removeprefix("symptom "), None)) for one in entries]
    checks = [node for node in tree.nodes.values() if isinstance(node, Check)]
    faults = [node for node in tree.nodes.values() if isinstance(node, Fault)]
    mates = {f.name for f in faults if all(may(f, c) == may(fault, c) for c in checks)}
    others = {one.name for one in faults} - mates
    finding = [one for one in ends if fault.name in one]
    if not entries:
        return "unreached"
    if finding or any(one & mates for one in ends):
        if mates > {fault.name}:
            return "alike"
        return "perhaps" if any(one & others for one in finding) else "found"
    return "wrong" if any(one & others for one in ends) else "lost"


def may(fault: Fault, check: Check | Reading) -> set[int | None]:
    """What a check may answer with a fault, by the words of the language reference."""
    shown = [one for one in fault.shows if one.node.name == check.name]
    surely = any(not one.maybe for one in shown)
    return {one.outcome for one in shown} | (set() if surely else set(check.normal))


@pytest.mark.parametrize("seed", range(150))
def test_verdicts_against_the_interpreter(seed: int) -> None:
    tree = sound(made_tree(seed))
    for one in Context(tree).prover(None).faults:
        fault = tree.nodes[one.fault]
        assert isinstance(fault, Fault)
        assert one.verdict == verdict_by_hand(tree, fault)


def test_the_random_trees_have_every_verdict() -> None:
    provers = (Context(sound(made_tree(seed))).prover(None) for seed in range(150))
    met = {one.verdict for prover in provers for one in prover.faults}
    assert met == {"found", "alike", "perhaps", "wrong", "lost", "unreached"}


def compare_case(tree: Tree, case: Case, model: str | None) -> None:
    found = followed_case(tree, Context(tree).suspects(model), case, model)
    assert case.ends is not None
    try:
        job = follow_case(tree, case, model)
    except Lost as lost:
        # Where it goes round the interpreter counts stops; an end it went past is no end there.
        if found.outcome == "ends":
            assert any(stop.answer == "retest" for stop in found.way)
        elif "never asks" in str(lost):
            assert found.outcome in ("not-asked", "elsewhere")
        return
    if found.outcome == "ends":
        assert case.ends.name in (job.end, *job.found)
    else:
        assert found.outcome == "elsewhere"
        assert found.end == job.end or found.end in job.found


@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_cases_of_the_demos_against_the_interpreter(path: Path) -> None:
    tree = tree_at(path)
    for case in tree.cases.values():
        for model in (case.model,) if case.model else models_of(tree):
            compare_case(tree, case, model)
            found = followed_case(tree, Context(tree).suspects(model), case, model)
            assert found.outcome == "ends"


# ---- verdicts ----------------------------------------------------------------------------------

SMALL = """\
tree made: A & B < C
  models: A, B

symptom weak: Weak
  start at: lamp

check lamp: How is the lamp?
  time: 2 min
  if bright: go plug
  if dim: found flat-cell

check plug: Is the plug clean?
  time: 30 s
  if yes: go band
  if no: found dirty-plug

check band: Is the band tight?
  if yes: stop shop
  if no: found slack
  if soaked: found wet-plug

fault flat-cell: Cell flat "<b>&
  share: 3
  shows: lamp dim
  remedy: Charge it.

fault dirty-plug: Plug dirty
  share: 1
  shows: plug no, maybe lamp dim
  remedy: Clean it.

fault slack: Band slack
  share: 0
  shows: lamp bright
  remedy: Tighten it.

fault wet-plug: Plug wet
  share: 4
  shows: plug no, maybe lamp dim
  remedy: Dry it.

fault lost: Nobody looks for it
  share: 0
  shows: plug no
  remedy: Look.

case good: Was so
  symptom: weak
  lamp: dim
  ends: flat-cell

case bad: Was not so
  symptom: weak
  lamp: bright
  plug: no
  ends: flat-cell

handoff shop: Not here
  to: the workshop
"""


def proof_of(text: str) -> Proof:
    return prove(sound(text))


def test_verdicts_by_hand() -> None:
    proof = proof_of(SMALL)
    assert {one.fault.name: one.words for one in proof.faults} == {
        "flat-cell": "found",
        "dirty-plug": "shares its answers with wet-plug",
        "slack": "lost at 3 band: yes",
        "wet-plug": "shares its answers with dirty-plug",
        "lost": "lost: no symptom leads to it",
    }
    assert {one.case.name: one.words for one in proof.cases} == {
        "good": "ends at flat-cell",
        "bad": "ends at dirty-plug, not at flat-cell, left at lamp: bright",
    }
    assert not proof.good
    assert proof.failed == 3


def test_minutes_and_shares_by_hand() -> None:
    faults = {one.fault.name: one for one in proof_of(SMALL).faults}
    took = faults["dirty-plug"].minutes
    assert took is not None and took.total == Fraction(5, 2)  # lamp 2 min, plug 30 s
    assert faults["slack"].minutes is None
    assert faults["flat-cell"].share == Fraction(75, 2)  # 3 of 8


def test_taken_for_another_and_found_as_another() -> None:
    share = "  share: 4\n  shows: plug no, "
    text = SMALL.replace(f"{share}maybe lamp dim", f"{share}lamp dim")
    words = {one.fault.name: one.words for one in proof_of(text).faults}
    assert words["dirty-plug"] == "found, or taken for flat-cell"
    assert words["wet-plug"] == "found as flat-cell"


def test_a_fault_that_shows_nothing_is_not_followed() -> None:
    text = SMALL.replace("  shows: lamp bright\n", "")
    (slack,) = [one for one in proof_of(text).faults if one.fault.name == "slack"]
    assert slack.words == "shows nothing: not followed"
    assert slack.good
    assert "3 of 5 faults found, 1 not followed" in table(proof_of(text))


def test_what_is_so_on_one_model_only_is_said_of_it() -> None:
    text = SMALL.replace("check band: Is the band tight?", "check band: Is the band tight?\n"
                         "  only for: B").replace("  if yes: go band", "  if yes: go next")
    text = text.replace("shows: lamp bright", "shows: band no")
    text += "\ncheck last: Is it late?\n  if yes: stop shop\n  if no: stop shop\n"
    words = [one.words for one in proof_of(text).faults if one.fault.name == "slack"]
    assert words == ["lost: no symptom leads to it on A", "found on B"]


def test_answers_that_no_machine_gives_together_are_no_way() -> None:
    """The second reading asks the same: a fault whose answers contradict each other is lost."""
    text = """\
tree made: Twice

symptom weak: Weak
  start at: first

reading first: Pressure
  unit: bar
  if at least 5: stop shop
  if below 5: go second

reading second: Pressure again
  same as: first
  unit: bar
  if below 4: found burst
  if at least 4: found leak

fault leak: Leaks
  shows: first below 5, second at least 4
  remedy: Mend it.

fault burst: Burst
  shows: first below 5, second below 4
  remedy: Mend it.

handoff shop: Not here
  to: the workshop
"""
    assert prove(sound(text)).good
    odd = text.replace("if below 5: go second", "if below 5: go second\n  normal: at least 5")
    odd = odd.replace("second below 4\n", "second below 4\n", 1)
    odd = odd.replace("  if below 4: found burst", "  if below 6: found burst")
    odd = odd.replace("  if at least 4: found leak", "  if at least 6: found leak")
    odd = odd.replace("second at least 4", "second at least 6")
    odd = odd.replace("second below 4", "second below 6")
    words = {one.fault.name: one.words for one in prove(sound(odd)).faults}
    assert words == {
        "leak": "lost: its answers go round, or contradict each other",
        "burst": "found",
    }


# ---- how it is told ----------------------------------------------------------------------------

TABLE = """\
made: A & B < C
    fault                minutes       share   by what it shows
F1  Cell flat "<b>&      2 min         37.5 %  found
    symptom weak → 1 lamp: dim → F1 flat-cell
F2  Plug dirty           2 min 30 s    12.5 %  shares its answers with wet-plug
    symptom weak → 1 lamp: bright → 2 plug: no → F2 dirty-plug
F3  Band slack           -             0.0 %   lost at 3 band: yes
    symptom weak → 1 lamp: bright → 2 plug: yes → 3 band: yes → H1 shop
F4  Plug wet             2 min 30 s    50.0 %  shares its answers with dirty-plug
    symptom weak → 1 lamp: bright → 2 plug: no → F2 dirty-plug
F5  Nobody looks for it  -             0.0 %   lost: no symptom leads to it

case              as it was read
good  Was so      ends at flat-cell
bad   Was not so  ends at dirty-plug, not at flat-cell, left at lamp: bright
      symptom weak → 1 lamp: bright → 2 plug: no → F2 dirty-plug: retest → 2 plug

3 of 5 faults found, 1 of 2 cases end where they say
"""


def test_the_table() -> None:
    assert [line.split() for line in table(proof_of(SMALL)).splitlines()] == [
        line.split() for line in TABLE.splitlines()
    ]
    assert max(map(len, table(proof_of(SMALL), 60).splitlines())) <= 90


def test_the_table_is_harmless() -> None:
    text = SMALL.replace("Band slack", "Band \x1b[31m slack \u202e")
    shown = table(prove(sound(text)))
    assert "\x1b" not in shown and "\u202e" not in shown


def test_the_json() -> None:
    shown = json.loads(as_json([proof_of(SMALL)]))
    (tree,) = shown["trees"]
    assert (shown["version"], tree["name"], tree["good"]) == (1, "made", False)
    first, second = tree["faults"][:2]
    assert first["minutes"] == 2 and second["minutes"] == 2.5
    assert first["share"] == 37.5
    assert second["alike"] == ["wet-plug"]
    assert first["way"] == ["symptom weak", "1 lamp: dim", "F1 flat-cell"]
    assert [case["outcome"] for case in tree["cases"]] == ["ends", "elsewhere"]
    assert as_json([proof_of(SMALL)]).isascii()


def test_the_junit_is_well_formed_and_counts_right() -> None:
    text = SMALL.replace("check lamp: ", "check lamp: \x01").replace("dim", 'dim <&"\'\ufffe ]]>')
    made = junit([prove(sound(text))], ["odd<&.tree"])
    root = ElementTree.fromstring(made)
    assert root.tag == "testsuites"
    first, second = root
    cases = list(first)
    assert first.get("tests") == str(len(cases)) == "7"
    assert first.get("failures") == str(len(first.findall("testcase/failure"))) == "3"
    assert [case.get("name") for case in cases][:2] == ["F1 flat-cell", "F2 dirty-plug"]
    (failure,) = [c.find("failure") for c in cases if c.get("name") == "F3 slack"]
    assert failure is not None and failure.get("message") == "lost at 3 band: yes"
    assert second.get("errors") == str(len(second.findall("testcase/error"))) == "1"
    assert second.get("name") == "odd<&.tree"
    out = cases[0].findtext("system-out")
    assert out is not None and 'dim <&"\' ]]>' in out.replace("\ufffd", "")


def options(*paths: Path, format: str = "text", junit: Path | None = None) -> argparse.Namespace:
    return argparse.Namespace(
        paths=[str(path) for path in paths], format=format, junit=junit and str(junit)
    )


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(options(TREES[0].parent, junit=tmp_path / "proof.xml")) == 0
    said = capsys.readouterr().out
    assert said.count(" faults found, ") == len(TREES)
    assert len(ElementTree.parse(tmp_path / "proof.xml").getroot()) == len(TREES)

    small = tmp_path / "small.tree"
    small.write_text(SMALL, encoding="utf-8")
    assert run(options(small, format="json")) == 1
    assert json.loads(capsys.readouterr().out)["trees"][0]["good"] is False

    small.write_text(SMALL + "\nchck odd: Odd\n", encoding="utf-8")
    assert run(options(small, junit=tmp_path / "odd.xml")) == 1
    assert "syntax" in capsys.readouterr().err
    assert ElementTree.parse(tmp_path / "odd.xml").find("testsuite/testcase/error") is not None

    with pytest.raises(UsageError):
        run(options(TREES[0].parent / "lib"))
