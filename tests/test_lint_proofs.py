"""The rules that reason over all ways (rules/proofs.py), with the machinery of test_lint."""

from __future__ import annotations

import re

import generate
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lint import FOLDER, sound, without_marks
from test_ways import Brute, assert_can_be_taken, texts

from treewright.lint.rule import Rule
from treewright.lint.rules.proofs import PROOFS
from treewright.lint.run import review
from treewright.model.tree import Tree
from treewright.reason.trips import Stop
from treewright.text.diagnostic import Finding, Level


def findings_of(text: str) -> list[Finding]:
    return list(review(sound(text)).findings)


def proofs() -> pytest.MarkDecorator:
    return pytest.mark.parametrize("rule", PROOFS, ids=lambda rule: rule.name)


@proofs()
def test_messages_are_said_in_one_way_and_proved(rule: Rule) -> None:
    text = (FOLDER / f"{rule.name}.tree").read_text(encoding="utf-8")
    for finding in findings_of(without_marks(text)):
        for said in (finding.message, finding.why, finding.help):
            assert said, finding
            assert not said[0].isupper()
            assert not said.endswith(".")
        if finding.rule == rule.name:
            assert finding.way


def stops_of(tree: Tree, finding: Finding) -> tuple[Stop, ...]:
    found = []
    for shown in finding.way:
        name, _, answer = shown.partition(": ")
        number, _, rest = name.partition(" ")
        found.append(Stop(name if number == "symptom" else rest or number, answer))
    return tuple(found)


@settings(max_examples=100, deadline=None)
@given(texts())
def test_every_way_shown_can_be_taken(text: str) -> None:
    tree = sound(text)
    brute = Brute(tree)
    for finding in review(tree, PROOFS).findings:
        assert_can_be_taken(brute, (*stops_of(tree, finding)[:-1],
                                    Stop(stops_of(tree, finding)[-1].node, "")))  # fmt: skip


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_sound_trees_are_left_alone(number: int) -> None:
    """Generated trees are written without regard for the order of set-up and of times: the
    rules on these are left out (what they say of such trees is weighed in test_order_moves)."""
    text = generate.tree(number, nodes=24)
    left_out = ("set-up-twice", "dear-before-cheap")
    rules = tuple(rule for rule in PROOFS if rule.name not in left_out)
    assert [f.message for f in review(sound(text), rules).findings] == []


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_a_loop_that_nothing_puts_in_doubt_is_found(number: int) -> None:
    text = re.sub(r"\n  doubts: .*", "", generate.tree(number, nodes=24))
    found = [f.rule for f in review(sound(text), PROOFS).findings if f.rule == "already-known"]
    assert len(found) == text.count(", then back to")


@settings(max_examples=30, deadline=None)
@given(st.integers(2, 12), st.data())
def test_a_row_in_order_is_sound_and_a_swap_is_found(count: int, data: st.DataObject) -> None:
    """A row of checks, each with one fault: by rising access nothing is opened too soon; with a
    deeper one moved to the front it is; a check that no fault answers splits nothing."""
    depths = sorted(data.draw(st.lists(st.integers(0, 3), min_size=count, max_size=count)))

    def names(text: str) -> list[tuple[str, Level]]:
        return [(f.rule, f.level) for f in review(sound(text), PROOFS).findings]

    def row(order: list[int], idle: int | None = None) -> str:
        lines = ["tree row: Row", "  access: a, b, c, d", "", "symptom s: S", "  start at: n0"]
        for at, depth in enumerate(order):
            lines += [f"check n{at}: N?", f"  access: {'abcd'[depth]}"]
            lines += [f"  if yes: go n{at + 1}" if at + 1 < count else "  if yes: stop h"]
            lines += [f"  if no: found f{at}"]
            if at == idle:
                lines[-2:] = [f"  if yes: go n{at + 1}", f"  if no: go n{at + 2}"]
        lines += ["handoff h: H", "  to: the workshop"]
        for at in range(count):
            if at != idle:
                lines += [f"fault f{at}: F", f"  shows: n{at} no", "  remedy: R."]
        return "\n".join(lines) + "\n"

    assert names(row(depths)) == []
    if depths[0] < depths[-1]:
        assert ("opened-too-soon", Level.DOUBT) in names(row([depths[-1], *depths[:-1]]))
    if count > 3:
        idle = data.draw(st.integers(0, count - 3))
        assert ("splits-nothing", Level.DOUBT) in names(row([0] * count, idle))


@settings(max_examples=100, deadline=None)
@given(texts())
def test_the_ways_of_all_other_rules_can_be_taken_too(text: str) -> None:
    tree = sound(text)
    brute = Brute(tree)
    for finding in review(tree).findings:
        stops = stops_of(tree, finding)
        if stops and stops[-1].node in tree.nodes:
            assert_can_be_taken(brute, (*stops[:-1], Stop(stops[-1].node, "")))
