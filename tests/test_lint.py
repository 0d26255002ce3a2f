"""The linter, over data: cases/lint/*.tree with what is to be found written below each line.

A comment line that starts with `#!` belongs to the test and not to the tree: carets stand
below the words that a finding underlines, then follow its rule and message; `#! way` shows
the way to it. A case without such lines must be found sound. `pytest --bless` writes them.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given, settings
from test_graph import random_trees

from treewright.lint.rule import HEADINGS, Rule
from treewright.lint.rules import RULES
from treewright.lint.run import lint, review
from treewright.model.build import build
from treewright.model.graph import graph
from treewright.model.translation import with_translation
from treewright.model.tree import Tree
from treewright.project import Loaded, lint_loaded
from treewright.syntax import ast
from treewright.syntax.parse import parse
from treewright.text.diagnostic import Finding, Level, in_order
from treewright.text.source import Source, read

FOLDER = Path(__file__).parent / "cases" / "lint"
MARK = "#!"
CASES = sorted(FOLDER.glob("*.tree"))


def load(text: str, name: str = "case.tree", folder: Path = FOLDER) -> Loaded:
    """A tree from text, as it is loaded from a file; behind it may stand its translation."""

    def open_library(path: str) -> ast.File:
        file, slips = parse(read(folder / path, path))
        findings.extend(slips)
        return file

    text, head, german = text.partition("\ntranslation ")
    file, findings = parse(Source(name, text))
    tree, slips = build(file, open_library)
    if head:
        beside = Source(name.replace(".tree", ".de.tree"), head.lstrip() + german)
        tree = with_translation(tree, file, "de", beside)
    return Loaded(folder / name, tree, tuple(in_order([*findings, *slips])))


def sound(text: str) -> Tree:
    loaded = load(text)
    assert loaded.findings == ()
    assert loaded.tree is not None
    return loaded.tree


def findings_of(text: str) -> list[Finding]:
    return lint_loaded(load(text))


def without_marks(text: str) -> str:
    lines = text.splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith(MARK))


def with_marks(text: str, findings: list[Finding]) -> str:
    """The tree with its findings below the lines they start in, a library's at the end."""
    below: dict[int, list[str]] = {}
    elsewhere: list[str] = []
    for finding in findings:
        source = finding.span.source
        line, column = source.position(finding.span.start)
        said = f"{finding.rule}: {finding.message}"
        if source.path == "case.tree":
            length = min(finding.span.end, len(source.line(line)) + finding.span.start - column + 1)
            carets = "^" * max(length - finding.span.start, 1)
            marks = below.setdefault(line, [])
            marks.append(f"{MARK}{carets:>{column - 1 - len(MARK) + len(carets)}} {said}")
        else:
            marks = elsewhere
            marks.append(f"{MARK} {source.path}:{line}:{column} {said}")
        if finding.way:
            marks.append(f"{MARK} way {' → '.join(finding.way)}")
    lines: list[str] = []
    for number, line in enumerate(text.splitlines(), 1):
        lines += [line, *below.get(number, ())]
    return "\n".join([*lines, *elsewhere]) + "\n"


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case(path: Path, golden: Callable[[Path, str], None]) -> None:
    plain = without_marks(path.read_text(encoding="utf-8"))
    golden(path, with_marks(plain, findings_of(plain)))


def test_every_rule_has_a_case_that_breaks_it_and_one_that_just_does_not() -> None:
    stems = {path.stem for path in CASES}
    for rule in RULES:
        text = (FOLDER / f"{rule.name}.tree").read_text(encoding="utf-8")
        assert f" {rule.name}: " in text
        assert f"{rule.name}-sound" in stems
        sound_text = (FOLDER / f"{rule.name}-sound.tree").read_text(encoding="utf-8")
        assert f" {rule.name}: " not in sound_text


# ---- the rules' own text ---------------------------------------------------------------------


def rules() -> pytest.MarkDecorator:
    return pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)


@rules()
def test_documentation_has_its_four_parts(rule: Rule) -> None:
    parts = rule.parts()
    assert tuple(parts) == HEADINGS
    assert all(parts.values())
    assert rule.doc.startswith(HEADINGS[0])


@rules()
def test_the_example_breaks_exactly_this_rule(rule: Rule) -> None:
    found = findings_of(rule.parts()["Not so"] + "\n")
    assert {finding.rule for finding in found} == {rule.name}
    assert len(found) == 1
    assert found[0].level is rule.level


@rules()
def test_the_mended_example_breaks_none(rule: Rule) -> None:
    assert findings_of(rule.parts()["But so"] + "\n") == []


@rules()
def test_messages_are_said_in_one_way(rule: Rule) -> None:
    text = (FOLDER / f"{rule.name}.tree").read_text(encoding="utf-8")
    for finding in findings_of(without_marks(text)):
        for said in (finding.message, finding.why, finding.help):
            assert said, finding
            assert not said[0].isupper()
            assert not said.endswith(".")
            assert "\n" not in said


def test_names_of_rules_differ() -> None:
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names)


# ---- waivers, libraries, trees that could not be read whole -----------------------------------

WAIVED = """\
tree slow-fill: Fills slowly

symptom slow: Takes too long
  start at: oil-level

check oil-level: Is the oil clean?
  if yes: stop look-further
  if no: stop look-further
  waive decides-nothing: The maker wants the answer written down.

handoff look-further: It is not the oil
  to: the workshop
"""


def test_a_waiver_lets_a_doubt_pass_and_its_reason_is_kept() -> None:
    found = review(sound(WAIVED))
    assert found.findings == ()
    ((finding, waiver),) = found.waived
    assert finding.rule == "decides-nothing"
    assert waiver.reason == "The maker wants the answer written down."


def test_a_waiver_of_the_tree_holds_everywhere() -> None:
    line = "  waive decides-nothing: The maker wants the answer written down.\n"
    moved = WAIVED.replace(line, "").replace("slowly\n", "slowly\n" + line, 1)
    assert lint(sound(moved)) == []


def test_a_fault_cannot_be_waived() -> None:
    text = WAIVED.replace("  if no: stop look-further", "  if no: go next")
    text = text.replace("waive decides-nothing", "waive dead-end")
    assert [finding.rule for finding in findings_of(text)] == ["dead-end", "idle-waiver"]


def test_a_library_is_not_asked_for_a_way_in() -> None:
    text = WAIVED.replace("tree slow-fill", "library slow-fill").replace("  waive", "  # waive")
    text = text.replace("symptom slow: Takes too long\n  start at: oil-level\n", "")
    assert [finding.rule for finding in findings_of(text)] == ["decides-nothing"]


def test_one_slip_hides_nothing_in_other_blocks() -> None:
    text = WAIVED.replace("  waive", "  wave")
    hose = "\ncheck hose: Is it whole?\n  if yes: go oil-level\n  if no: go oil-level\n"
    found = findings_of(text + hose)
    assert [finding.rule for finding in found] == ["syntax", "decides-nothing"]
    assert found[1].level is Level.DOUBT


# ---- random trees ------------------------------------------------------------------------------


def vertex_of(stop: str, made: Tree) -> tuple[str, str]:
    """A stop of a shown way as vertex and answer; hand-made trees have no numbers."""
    name, _, answer = stop.partition(": ")
    assert name in made.nodes or name.removeprefix("symptom ") in made.symptoms
    return name, answer


@given(random_trees())
def test_every_way_shown_can_be_taken(made: Tree) -> None:
    ways = graph(made)
    for finding in lint(made):
        stops = [vertex_of(stop, made) for stop in finding.way]
        assert not stops or stops[0][0] in ways.entries
        for (name, answer), (target, _) in pairwise(stops):
            arcs = [arc for arc in ways.arcs_from(name) if arc.answer == answer]
            assert any(target == arc.target or target in arc.does for arc in arcs)


@settings(deadline=None)
@given(random_trees())
def test_endless_loops_against_networkx(made: Tree) -> None:
    ways = graph(made)
    whole: nx.DiGraph[str] = nx.DiGraph()
    whole.add_nodes_from(ways.vertices)
    # Every way of these trees has a target; a fault is an end, its retest no way round.
    whole.add_edges_from((a.source, a.target) for a in ways.arcs if a.way_kind != "retest")
    has_way_in = any(ways.arcs_from(start) for start in ways.entries)
    expected = set()
    for part in nx.strongly_connected_components(whole):
        goes_round = any(target in part for name in part for target in whole[name])
        leaves = any(target not in part for name in part for target in whole[name])
        if goes_round and not leaves and (not has_way_in or part & ways.reached):
            expected.add(min(part))
    found = [finding for finding in lint(made) if finding.rule == "endless-loop"]
    endless = [one.message for one in found if "does not say so" not in one.message]
    assert len(set(endless)) == len(expected)
    for first in expected:
        assert any(f"`{first}`" in message for message in endless)
