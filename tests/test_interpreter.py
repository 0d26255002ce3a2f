"""The tests' own interpreter (walk.py): right about a tree small enough to be checked by hand."""

from __future__ import annotations

from fractions import Fraction

import generate
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_lint import sound
from walk import Given, Lost, Values, ends_of, follow_case, inside, judge, walk

from treewright.model.nodes import Fault, Reading
from treewright.model.tree import Tree
from treewright.reason import limits
from treewright.text.interval import Interval, Limits

PRESS = """\
tree press: Press is slow
  machine: Invented press
  models: A, B
  units: metric
symptom slow: Slow
  start at: oil
symptom silent: Silent
  start at: lamp
check oil: Oil?
  if good: go next
  if low: do top-up, then back to oil
reading stroke: Stroke
  spec for A: 10 s ± 1 s
  spec: at most 20 s
  if within: go lamp
  if above: found leak
  if below: found set-wrong
step extra: Extra
  only for: B
  then: go next
check lamp: Lamp?
  if lit: go next
  if dark: go fuse
reading sides: Force
  at: left, right
  if all at least 5 kN: go fine
  if only left below 5 kN: found left-ram
  otherwise: stop maker
check fuse: Fuse?
  if whole: stop maker
  if blown: found fuse-blown
step top-up: Top up
fault leak: Leak
  shows: stroke above, maybe oil low
  remedy: Seal it.
fault set-wrong: Wrong
  shows: stroke below
  remedy: Set it.
fault left-ram: Ram
  shows: sides only left below 5 kN
  remedy: Mend it.
  retest: stroke
fault fuse-blown: Fuse
  shows: lamp dark, fuse blown
  remedy: Fit one.
handoff maker: Maker
  to: the maker
done fine: Fine
case slow-one: One
  symptom: slow
  model: A
  oil: low
  stroke: 11.5 s
  ends: leak
"""


def press(after: str = "finish") -> Tree:
    return sound(PRESS.replace("  units: metric\n", f"  units: metric\n  after remedy: {after}\n"))


def listed(**read: list[int | Values]) -> Given:
    return lambda node, time: read[node.name][time - 1]


def at_sides(left: int, right: int) -> Values:
    return {"left": Fraction(left), "right": Fraction(right)}


@pytest.mark.parametrize(
    ("model", "seconds", "end"),
    [
        ("A", "11", "fine"),
        ("A", "11.001", "leak"),
        ("B", "11.001", "fine"),
        ("A", "8.999", "set-wrong"),
        ("B", "1", "fine"),
    ],
)
def test_limits_hold_for_the_model_they_name(model: str, seconds: str, end: str) -> None:
    answers = listed(oil=[0], stroke=[{None: Fraction(seconds)}], lamp=[0], sides=[at_sides(5, 9)])
    assert walk(press(), "slow", answers, model).end == end


@pytest.mark.parametrize(
    ("left", "right", "end"),
    [(5, 5, "fine"), (4, 5, "left-ram"), (5, 4, "maker"), (4, 4, "maker")],
)
def test_places(left: int, right: int, end: str) -> None:
    answers = listed(lamp=[0], sides=[at_sides(left, right)])
    assert walk(press(), "silent", answers, "B").end == end


def test_a_loop_asks_again_and_is_not_gone_round_for_ever() -> None:
    job = walk(press(), "slow", listed(oil=[1, 1, 0], stroke=[1]), "A")
    assert job.way == ("oil", "oil", "oil", "stroke", "leak")
    assert job.visits[0].does == ("top-up",)
    with pytest.raises(Lost, match="still not at an end after 50"):
        walk(press(), "slow", lambda node, time: 1, "A", visits=50)


def test_a_retest_finishes_or_goes_on_or_finds_it_is_not_mended() -> None:
    answers = listed(oil=[0], stroke=[1, 1, 0], lamp=[1], fuse=[1, 0])
    job = walk(press(), "slow", answers, "A", remedies=True)
    assert job.way == ("oil", "stroke", "leak", "stroke", "leak", "stroke")
    assert (job.end, job.found) == ("stroke", ("leak", "leak"))
    job = walk(press("go on"), "slow", answers, "A", remedies=True)
    assert job.way[5:] == ("stroke", "lamp", "fuse", "fuse-blown", "fuse", "maker")
    assert job.found == ("leak", "leak", "fuse-blown")


def test_a_written_retest_is_taken_and_not_the_check_that_led_here() -> None:
    answers = listed(lamp=[0], sides=[at_sides(1, 9)], stroke=[0])
    job = walk(press(), "silent", answers, "A", remedies=True)
    assert job.way == ("lamp", "sides", "left-ram", "stroke")


def test_what_is_only_there_on_one_model_is_passed_over_on_the_other() -> None:
    text = PRESS.replace("if within: go lamp", "if within: go next").replace(
        "step extra: Extra\n  only for: B\n  then: go next",
        "check extra: Extra?\n  only for: B\n  if yes: go next\n  if no: stop maker",
    )
    answers = listed(oil=[0], stroke=[0], extra=[1], lamp=[1], fuse=[0])
    assert walk(sound(text), "slow", answers, "A").way == ("oil", "stroke", "lamp", "fuse", "maker")
    assert walk(sound(text), "slow", answers, "B").way == ("oil", "stroke", "extra", "maker")


def test_a_case() -> None:
    tree = press()
    assert follow_case(tree, tree.cases["slow-one"], "A").way == ("oil", "oil", "stroke", "leak")


@pytest.mark.parametrize(
    ("line", "other", "said"),
    [
        ("  stroke: 11.5 s\n", "", "asks stroke, and the case does not say"),
        ("  oil: low\n", "  oil: low\n  fuse: whole\n", "never asks fuse"),
    ],
)
def test_a_case_that_says_too_little_or_too_much(line: str, other: str, said: str) -> None:
    tree = sound(PRESS.replace(line, other))
    with pytest.raises(Lost, match=said):
        follow_case(tree, tree.cases["slow-one"], "A")


def test_a_case_goes_on_after_a_fault_that_is_not_its_end() -> None:
    text = PRESS.replace("  units: metric\n", "  units: metric\n  after remedy: go on\n").replace(
        "  ends: leak", "  lamp: dark\n  fuse: whole\n  ends: maker"
    )
    tree = sound(text)
    job = follow_case(tree, tree.cases["slow-one"], "A")
    assert job.way == ("oil", "oil", "stroke", "leak", "stroke", "lamp", "fuse", "maker")


def ends(text: str, fault: str, symptom: str) -> dict[str, tuple[str, ...]]:
    tree = sound(text)
    node = tree.nodes[fault]
    assert isinstance(node, Fault)
    return ends_of(tree, node, symptom, "A")


def test_a_fault_by_what_it_shows() -> None:
    assert ends(PRESS, "leak", "slow") == {"leak": ("oil", "stroke", "leak")}
    assert ends(PRESS, "leak", "silent") == {"fine": ("lamp", "sides", "fine")}
    way = ("oil", "stroke", "lamp", "fuse", "fuse-blown")
    assert ends(PRESS, "fuse-blown", "slow") == {"fuse-blown": way}


@pytest.mark.parametrize(
    ("shows", "symptom", "found"),
    [
        ("maybe lamp dark, fuse blown", "silent", {"fuse-blown", "fine"}),
        ("stroke above, fuse blown", "slow", {"leak"}),
        ("maybe stroke above, lamp dark, fuse blown", "slow", {"leak", "fuse-blown"}),
    ],
)
def test_a_fault_whose_shows_lead_elsewhere(shows: str, symptom: str, found: set[str]) -> None:
    text = PRESS.replace("shows: lamp dark, fuse blown", f"shows: {shows}")
    assert set(ends(text, "fuse-blown", symptom)) == found


# ---- against the program's own judging -------------------------------------------------------

ENDS = st.fractions(-9, 9, max_denominator=3)
INTERVALS = st.builds(Interval, st.none() | ENDS, st.booleans(), st.none() | ENDS, st.booleans())


@given(st.lists(INTERVALS, max_size=3), ENDS)
def test_inside_agrees_with_the_intervals(parts: list[Interval], value: Fraction) -> None:
    made = Limits.of(*parts)
    assert inside(made, value) == made.contains(value)
    assert inside(made, value) == any(inside(Limits.of(part), value) for part in parts)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.data())
def test_two_judges_of_a_reading_agree(number: int, data: st.DataObject) -> None:
    tree = sound(generate.tree(number, nodes=16))
    for node in tree.nodes.values():
        if not isinstance(node, Reading):
            continue
        found = [s.limits.breakpoints() for s in node.specs]
        found += [getattr(o.test, "limits", Limits.NONE).breakpoints() for o in node.outcomes]
        near = st.sampled_from(sorted({end for some in found for end in some}))
        off = st.sampled_from([Fraction(0), Fraction(1, 10**6), Fraction(-1, 10**6), Fraction(99)])
        values = {place: data.draw(near) + data.draw(off) for place in node.places or (None,)}
        for model in (*generate.MODELS, None):
            assert judge(node, model, values) == limits.judge(node, model, values)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(generate.MODELS))
def test_generated_trees_are_right_about_themselves(number: int, model: str) -> None:
    tree = sound(generate.tree(number, nodes=16))
    for case in tree.cases.values():
        assert case.ends is not None
        assert follow_case(tree, case, model).end == case.ends.name
    for node in tree.nodes.values():
        if isinstance(node, Fault):
            found = [ends_of(tree, node, symptom, model) for symptom in tree.symptoms]
            assert any(set(one) == {node.name} for one in found)
