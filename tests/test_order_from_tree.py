"""The question that a tree puts, and its author's order followed: by hand, and on the demos."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from demos import DEMOS
from test_lint import load

from treewright.model.graph import graph
from treewright.model.tree import Tree
from treewright.project import Project
from treewright.reason.order.author import follow_author
from treewright.reason.order.author_plan import author_plan
from treewright.reason.order.exact import best_order
from treewright.reason.order.from_tree import question
from treewright.reason.order.instance import Last, bits
from treewright.reason.order.plan import reckon
from treewright.reason.weigh_walk import Walk

# The author asks the dear check first, and sets the pump up for both of the others.
PUMP = """\
tree pump: Pump gives little
  machine: Invented pump

condition running: Pump running
  set up by: start-it
  undo by: stop-it

procedure start-it: Start the pump
  time: 4 min
  - Start it.

procedure stop-it: Stop the pump
  time: 1 min
  - Stop it.

symptom little: Gives little water
  start at: look-in

check look-in: Is the wheel whole?
  time: 30 min
  if yes: go wipe
  if no: found wheel

step wipe: Wipe the gauge
  time: 2 min
  then: go gauge

check gauge: Is the pressure right?
  time: 2 min
  needs: running
  if yes: go noise
  if no: found valve

check noise: Does it rattle?
  time: 1 min
  needs: running
  if yes: found bearing
  if no: found strainer
  normal: no

fault wheel: Wheel worn
  share: 1
  time: 60 min
  shows: look-in no
  remedy: Fit a new wheel.

fault valve: Valve leaks
  share: 6
  time: 20 min
  shows: gauge no, maybe noise yes
  remedy: Fit a new valve.

fault bearing: Bearing worn
  share: 2
  time: 40 min
  shows: noise yes
  remedy: Fit a new bearing.

fault strainer: Strainer clogged
  share: 1
  time: 5 min
  shows: noise no
  remedy: Clean the strainer.
"""


def tree_of(text: str) -> Tree:
    loaded = load(text)
    assert loaded.findings == ()
    assert loaded.tree is not None
    return loaded.tree


def test_the_question() -> None:
    tree = tree_of(PUMP)
    of = question(tree, graph(tree), "little")
    assert of is not None
    it = of.instance
    assert [suspect.name for suspect in it.suspects] == ["wheel", "valve", "bearing", "strainer"]
    assert [probe.name for probe in it.probes] == ["look-in", "gauge", "noise"]
    assert [state.name for state in it.states] == ["running"]
    assert it.probes[0].gives == (0b1110, 0b0001)
    assert it.probes[1].gives == (0b1101, 0b0010)
    assert it.probes[2].gives == (0b0110, 0b1011)  # the valve may rattle, or not
    assert [suspect.confirm for suspect in it.suspects] == [0, 1, None, None]
    assert of.silent == of.no_share == of.no_time == ()


@pytest.mark.parametrize("last", ["inferred", "confirmed"])
def test_the_author_followed_by_hand(last: Last) -> None:
    tree = tree_of(PUMP)
    of = question(tree, graph(tree), "little", last)
    assert of is not None
    author = follow_author(tree, graph(tree), "little", of)
    minutes = {"wheel": 30, "valve": 30 + 4 + 2, "bearing": 37, "strainer": 37}
    if last == "confirmed":  # what confirms a fault was done on each way, so only remedies
        for name, remedy in (("wheel", 60), ("valve", 20), ("bearing", 40), ("strainer", 5)):
            minutes[name] += remedy
    assert {name: end.minutes for name, (end,) in author.ends.items()} == minutes
    shares = {"wheel": 1, "valve": 6, "bearing": 2, "strainer": 1}
    assert author.expected == Fraction(sum(minutes[n] * share for n, share in shares.items()), 10)
    assert author.worst == max(minutes.values())
    assert author.besides == Fraction(2 * 9, 10)
    assert author.astray == ()


def test_the_best_by_hand() -> None:
    tree = tree_of(PUMP)
    of = question(tree, graph(tree), "little")
    assert of is not None
    best = best_order(of.instance)
    # Gauge first (6 for the valve), then the noise (7 for the bearing), then inside (37).
    assert best.expected == Fraction(6 * 6 + 2 * 7 + 2 * 37, 10)
    assert reckon(of.instance, best.plan).worst == 37


def test_what_is_not_written_is_named() -> None:
    text = PUMP.replace("  share: 6\n", "").replace("  time: 1 min\n  needs", "  needs")
    text = text.replace("  shows: noise no\n", "")
    tree = tree_of(text)
    of = question(tree, graph(tree), "little")
    assert of is not None
    assert of.no_share == ("valve",)
    assert of.no_time == ("noise",)
    assert of.silent == ("strainer",)
    assert of.instance.suspects[1].share == Fraction(3, 2)  # the mean of 1 and 2
    assert of.instance.probes[2].cost == 16  # the middle of 30 and 2


def test_a_fault_that_ends_elsewhere_is_astray() -> None:
    tree = tree_of(PUMP.replace("  shows: noise no", "  shows: gauge no"))
    of = question(tree, graph(tree), "little")
    assert of is not None
    author = follow_author(tree, graph(tree), "little", of)
    assert author.astray == ("strainer",)
    assert [end.node for end in author.ends["strainer"]] == ["valve"]


def asks(text: str, last: Last = "inferred") -> tuple[list[str], dict[str, list[str]]]:
    """The checks of the question for `little`, and by check those that must come before it."""
    tree = tree_of(text)
    of = question(tree, graph(tree), "little", last)
    assert of is not None
    names = [probe.name for probe in of.instance.probes]
    return names, {
        probe.name: [names[at] for at in bits(probe.after)]
        for probe in of.instance.probes
        if probe.after
    }


def test_what_comes_before() -> None:
    text = PUMP.replace("  needs: running\n  if yes: found", "  before: look-in\n  if yes: found")
    text = text.replace("  time: 2 min\n  needs", "  before: noise\n  time: 2 min\n  needs")
    demands = {"look-in": ["gauge", "noise"], "noise": ["gauge"]}
    assert asks(text) == (["look-in", "gauge", "noise"], demands)
    tree = tree_of(text)
    of = question(tree, graph(tree), "little")
    assert of is not None
    best = best_order(of.instance)
    assert best.plan.probe == 1  # the gauge; then, what it leaves
    # Valve 6; bearing 6 + 1; wheel and strainer 7 + 30.
    assert best.expected == Fraction(6 * 6 + 2 * 7 + 2 * 37, 10)


def test_what_must_come_before_is_asked_though_no_way_leads_there() -> None:
    more = """
symptom hot: Runs hot
  start at: rest
check rest: Is it at rest?
  before: look-in
  time: 3 min
  if yes: go look-in
  if no: found wheel
"""
    names, demands = asks(PUMP + more)
    assert names == ["look-in", "gauge", "noise", "rest"]
    assert demands == {"look-in": ["rest"]}


def test_nothing_is_torn_down_before_the_checks_from_outside() -> None:
    ladder = PUMP.replace("Invented pump", "Invented pump\n  access: outside, torn-down")
    ladder = ladder.replace("time: 30 min", "time: 1 min\n  access: torn-down")
    ladder = ladder.replace("  time: 2 min\n  needs", "  access: outside\n  time: 2 min\n  needs")
    tree = tree_of(ladder.replace("rattle?\n", "rattle?\n  access: outside\n"))
    of = question(tree, graph(tree), "little")
    assert of is not None
    best = best_order(of.instance)
    opened = {plan.faults for plan in best.plan.nodes() if plan.probe == 0}
    assert opened == {0b1001}  # wheel or strainer: all that look the same from outside
    assert best.expected == Fraction(6 * 6 + 2 * 7 + 2 * 8, 10)


FOLDER = Path(__file__).parents[1] / "trees"


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_authors_of_the_demos_are_not_below_the_bound(path: Path) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    ways = graph(tree, tree.models[0] if tree.models else None)
    lasts: tuple[Last, ...] = ("inferred", "confirmed")
    for symptom in tree.symptoms:
        for last in lasts:
            of = question(tree, ways, symptom, last)
            assert of is not None
            author = follow_author(tree, ways, symptom, of)
            best = best_order(of.instance, points=150)
            assert reckon(of.instance, best.plan).expected == best.expected
            assert best.at_least <= best.expected
            if not author.astray:
                assert best.at_least <= author.expected
            for ends in author.ends.values():
                assert sum(end.part for end in ends) == 1


# ---- checks that are the same -----------------------------------------------------------------

# After the gauge nobody needs the second gauge any more, on the way of the valve's `maybe`; only
# `purge` puts it in doubt. Minutes by hand, from the times and shares below.
GAUGES = """\
tree pump: Pump gives little
  machine: Invented pump

symptom little: Gives little water
  start at: gauge

check gauge: Is the pressure right?
  time: 4 min
  if yes: go rattle
  if no: go gauge-2

check rattle: Does it rattle?
  time: 1 min
  if no: go gauge-2
  if yes: found bearing

check gauge-2: Is the pressure still right?
  time: 6 min
  same as: gauge
  if no: go hot
  normal: yes
  if yes: go hot

check hot: Is it hot?
  time: 2 min
  if no: found strainer
  if yes: found valve

fault valve: Valve leaks
  share: 2
  shows: maybe gauge no, hot yes
  remedy: Fit a new valve.

fault bearing: Bearing worn
  share: 1
  shows: rattle yes, hot yes
  remedy: Fit a new bearing.

fault strainer: Strainer clogged
  share: 1
  shows: gauge no
  remedy: Clean the strainer.
"""
PURGED = GAUGES.replace("  if no: go gauge-2\n  if yes", "  if no: go purge\n  if yes") + """
step purge: Let the air out
  doubts: gauge-2
  then: go gauge-2
"""


def test_checks_that_are_the_same_are_one_question() -> None:
    tree = tree_of(GAUGES)
    of = question(tree, graph(tree), "little")
    assert of is not None
    assert [probe.name for probe in of.instance.probes] == ["gauge", "rattle", "gauge-2", "hot"]
    assert of.instance.alike == (0b0101, 0b0010, 0b0101, 0b1000)
    # Does it rattle, 1 min for all; hot or not, 2 min for the three of four that do not.
    assert best_order(of.instance).expected == Fraction(1 * 4 + 2 * 3, 4)
    followed = follow_author(tree, graph(tree), "little", of)
    # Valve: gauge no, hot: 6 min; or gauge yes, rattle, hot: 7 min. Each half of the time.
    assert [end.minutes for end in followed.ends["valve"]] == [7, 6]
    assert followed.expected == Fraction(2 * Fraction(13, 2) + 5 + 6, 4)
    assert followed.astray == ()


def test_what_a_step_puts_in_doubt_is_asked_and_paid_again() -> None:
    tree = tree_of(PURGED)
    of = question(tree, graph(tree), "little")
    assert of is not None
    followed = follow_author(tree, graph(tree), "little", of)
    # Valve: gauge yes, rattle, purge, gauge again, hot: 13 min; or gauge no, hot: 6 min.
    assert {end.minutes for end in followed.ends["valve"]} == {13, 6}


def test_a_fault_that_shows_something_else_there_makes_two_checks_of_them() -> None:
    tree = tree_of(GAUGES.replace("shows: gauge no\n", "shows: gauge no, gauge-2 yes\n"))
    of = question(tree, graph(tree), "little")
    assert of is not None and not any(probe.same for probe in of.instance.probes)


def test_the_same_check_without_a_time_takes_as_long() -> None:
    tree = tree_of(GAUGES.replace("  time: 6 min\n", ""))
    of = question(tree, graph(tree), "little")
    assert of is not None and of.no_time == ()
    assert of.instance.probes[2].cost == 4


def test_weighed_the_second_gauge_is_not_paid() -> None:
    for text, minutes in ((GAUGES, {7, 6}), (PURGED, {13, 6})):
        tree = tree_of(text)
        of = question(tree, graph(tree), "little")
        assert of is not None
        ends = Walk(tree, graph(tree), "little", of).ends(0)
        assert ends is not None and {end.minutes("inferred") for end in ends} == minutes


def test_the_authors_order_as_a_plan_passes_over_what_is_known() -> None:
    tree = tree_of(GAUGES)
    of = question(tree, graph(tree), "little")
    assert of is not None
    plan = author_plan(tree, graph(tree), "little", of)
    assert plan is not None
    asked = {one.probe for one in plan.nodes() if one.probe is not None}
    assert {of.instance.probes[at].name for at in asked} == {"gauge", "rattle", "hot"}
    assert reckon(of.instance, plan).expected == Fraction(6)
    purged = tree_of(PURGED)
    assert author_plan(purged, graph(purged), "little", of) is None
