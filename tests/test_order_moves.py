"""Checks moved ahead in the author's tree: what that saves, and what speaks against it."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import generate
import pytest
from demos import DEMOS
from test_lint import findings_of, sound

from treewright.model.graph import graph
from treewright.model.tree import Tree
from treewright.project import Project
from treewright.reason.order.author import follow_author
from treewright.reason.order.from_tree import question
from treewright.reason.order.movable import AuthorsOrder
from treewright.reason.order.moves import Gain, gains, moved, ways_of
from treewright.text.quantity import number_text

HEAD = "tree made: Made\n  access: outside, covers\n  models: B60, B80\n"
FIRST = "symptom weak: Weak\n  start at: dear\n"
DEAR = "check dear: Is the wheel whole?\n  time: 20 min\n  if yes: go cheap\n  if no: found wheel\n"
CHEAP = "check cheap: Is the valve open?\n  time: 2 min\n  if yes: stop shop\n  if no: found shut\n"
WHEEL = "fault wheel: Wheel worn\n  share: 1\n  shows: dear no\n  remedy: Fit a new one.\n"
SHUT = "fault shut: Valve shut\n  share: 3\n  shows: cheap no\n  remedy: Open it.\n"
SHOP = "handoff shop: Neither\n  to: the workshop\n"
BASE = "\n".join((HEAD, FIRST, DEAR, CHEAP, WHEEL, SHUT, SHOP))

SWAPPED = BASE.replace("start at: dear", "start at: cheap").replace("yes: go cheap", "yes: stop s")
SWAPPED = SWAPPED.replace("stop shop", "go dear").replace("yes: stop s\n", "yes: stop shop\n")


def asked(tree: Tree, model: str | None = None) -> list[AuthorsOrder]:
    ways = graph(tree, model)
    found = []
    for symptom in tree.symptoms:
        of = question(tree, ways, symptom)
        assert of is not None
        found.append(AuthorsOrder(symptom, of, follow_author(tree, ways, symptom, of)))
    return found


def all_gains(tree: Tree, model: str | None = None) -> list[Gain]:
    some = asked(tree, model)
    return gains(tree, graph(tree, model), some, {one.symptom: Fraction(1, 100) for one in some})


def dear(text: str) -> list[str]:
    return [one.message for one in findings_of(text) if one.rule == "dear-before-cheap"]


def test_both_trees_weighed() -> None:
    (before,), (after,) = asked(sound(BASE)), asked(sound(SWAPPED))
    assert before.followed.expected == 20 + Fraction(3, 4) * 2
    assert after.followed.expected == 2 + Fraction(1, 4) * 20
    (gain,) = all_gains(sound(BASE))
    assert (gain.move.first, gain.move.then, gain.move.swap) == ("dear", "cheap", True)
    assert gain.most.before == before.followed.expected
    assert gain.most.after == after.followed.expected
    (said,) = dear(BASE)
    assert "`cheap` in front of `dear` saves 14.5 of 21.5 min on average" in said
    assert dear(SWAPPED) == []


def test_the_tree_with_a_check_moved_is_the_tree_written_so() -> None:
    (gain,) = all_gains(sound(BASE))
    there, written = moved(sound(BASE), gain.move), sound(SWAPPED)
    for model in (None, "B60", "B80"):
        arcs = {(a.source, a.answer, a.target) for a in graph(there, model).arcs}
        assert arcs == {(a.source, a.answer, a.target) for a in graph(written, model).arcs}


LIVE = "\ndanger live: Live\n  harm: Kills.\n  avoid: Gloves.\n  at: cheap\n"
RUNNING = "\ncondition on: On\n  set up by: start\n  undo by: none\n\n"
RUNNING += "procedure start: Start\n  time: 60 min\n  - Start.\n"
STEP = "\nstep mend: Mend\n  time: 1 min\n  then: go cheap\n"
OTHER = "\nsymptom loud: Loud\n  start at: cheap\n"

AGAINST = {
    "it is demanded": ("  time: 20 min", "  time: 20 min\n  before: cheap", ""),
    "it goes deeper": ("  time: 2 min", "  time: 2 min\n  access: covers", ""),
    "it brings a hazard": ("", "", LIVE),
    "it takes a licence": ("  time: 2 min", "  time: 2 min\n  licence: An electrician", ""),
    "it takes more people": ("  time: 2 min", "  time: 2 min\n  people: 2", ""),
    "it takes parts": ("  time: 2 min", "  time: 2 min\n  parts: seal", ""),
    "the first one hands over": ("found wheel\n", "found wheel\n  if hot: stop shop\n", ""),
    "the first one has something done": ("  if yes: go cheap", "  if yes: do mend, then go cheap",
                                         STEP),
    "a step is between": ("  if yes: go cheap", "  if yes: go mend", STEP),
    "set-up takes as long": ("  time: 2 min", "  time: 2 min\n  needs: on", RUNNING),
    "a time is not written": ("  time: 2 min\n", "", ""),
    "a share is not written": ("  share: 3\n", "", ""),
    "a fault shows nothing": ("  shows: cheap no\n", "", ""),
    "another way leads to it": ("", "", OTHER),
    "the first finds more": ("share: 1", "share: 60", ""),
    "it asks the same": ("  time: 2 min", "  time: 2 min\n  same as: dear", ""),
    "it saves less than a minute": ("time: 20 min", "time: 1 min", ""),
    "a fault of the first may answer either": ("dear no", "dear no, maybe cheap no", ""),
}  # fmt: skip


@pytest.mark.parametrize("why", AGAINST)
def test_what_speaks_for_the_order(why: str) -> None:
    old, new, more = AGAINST[why]
    assert BASE.count(old) == 1 or not old
    text = (BASE.replace(old, new) if old else BASE) + more
    assert not {"syntax", "missing-name"} & {one.rule for one in findings_of(text)}
    assert dear(text) == []


THIRD = "\ncheck third: Does it turn?\n  time: 1 min\n  if yes: found shut\n  if no: stop shop\n"


def test_what_must_come_later_is_not_reached_past_it() -> None:
    text = BASE.replace("if no: found shut", "if no: go third") + THIRD
    assert dear(text) != []
    assert dear(text.replace("time: 20 min", "time: 20 min\n  before: third")) == []


def test_a_twentieth_of_the_whole() -> None:
    long = "check long: Is the pipe whole?\n  time: {} min\n  if no: found pipe\n"
    long += "  if yes: go dear\n  normal: yes\n"
    pipe = "fault pipe: Pipe broken\n  share: 4\n  shows: long no\n  remedy: Fit a new one.\n"
    text = BASE.replace("start at: dear", "start at: long") + "\n" + pipe + "\n"
    # Half of the jobs end at the long one; of the others the swap saves 14.5 min each.
    assert len(dear(text + long.format(120))) == 1
    assert dear(text + long.format(140)) == []


def test_a_symptom_that_would_lose_keeps_the_order() -> None:
    # From the second symptom it is always the wheel: the short check would be one too many.
    more = "\nsymptom loud: Loud\n  start at: ear\n\ncheck ear: Does it grind?\n  time: 1 min\n"
    more += "  if yes: go dear\n  if no: found shut\n"
    text = BASE.replace("dear no\n", "dear no, ear yes\n")
    text = text.replace("cheap no\n", "cheap no, ear no\n") + more
    assert dear(text) == []
    assert dear(text.replace("yes: go dear", "yes: stop shop")) != []


def test_a_check_is_moved_to_the_front() -> None:
    middle = "check middle: Is it oiled?\n  time: 5 min\n  if yes: go cheap\n  if no: found dry\n"
    dry = "fault dry: Dry\n  share: 1\n  shows: middle no\n  remedy: Oil it.\n"
    tree = sound(BASE.replace("if yes: go cheap", "if yes: go middle") + f"\n{middle}\n{dry}")
    best, *rest = all_gains(tree)
    assert (best.move.then, best.move.first) == ("cheap", "dear")
    assert set(best.move.between) == {"dear", "middle"}
    # 20 + 5 * 4/5 + 2 * 3/5 before; 2 + 20 * 2/5 + 5 * 1/5 after.
    assert (best.most.before, best.most.after) == (Fraction(126, 5), 11)
    assert [(one.move.first, one.move.then) for one in rest] == [
        ("dear", "middle"), ("middle", "cheap"),
    ]  # fmt: skip


def test_how_many_ways_a_fault_may_take() -> None:
    (one,) = asked(sound(BASE.replace("cheap no", "maybe cheap no, maybe dear no")))
    assert ways_of(one.question) == 4


def test_what_is_said_of_generated_trees_is_so() -> None:
    """The two checks exchanged by hand, in the text: then both trees are weighed."""
    count = 0
    for seed in range(60):
        text = generate.tree(seed, nodes=24)
        for finding in findings_of(text):
            if finding.rule == "dear-before-cheap":
                count += 1
                _weigh_both(text, finding.message)
    assert count > 5


def _weigh_both(text: str, message: str) -> None:
    then, first = re.findall(r"`(look-\d+)`", message)[:2]
    symptom = re.search(r"symptom (\S+)", message)
    assert symptom is not None
    # In a generated tree every check goes on to the next: the blocks themselves are exchanged.
    blocks = text.split("\n\n")
    at = {block.split(":")[0].split()[-1]: n for n, block in enumerate(blocks)}
    blocks[at[first]], blocks[at[then]] = blocks[at[then]], blocks[at[first]]
    other = "\n\n".join(blocks).replace(f"start at: {first}\n", f"start at: {then}\n")
    (before,), (after,) = (
        [one for one in asked(tree, tree.models[0]) if one.symptom == symptom[1]]
        for tree in (sound(text), sound(other))
    )
    saved = before.followed.expected - after.followed.expected
    assert f"saves {number_text(saved, 1)} of" in message
    assert saved >= max(1, before.followed.expected / 20)


TREES = DEMOS


@pytest.mark.parametrize("path", TREES, ids=lambda path: path.stem)
def test_moves_in_the_demos_keep_all_ends(path: Path) -> None:
    tree = Project().load(path).tree
    assert tree is not None
    for model in tree.models:
        for gain in all_gains(tree, model):
            there = moved(tree, gain.move)
            for one, saved in zip(
                [one for one in asked(tree, model) if one.symptom in
                 {saved.symptom for saved in gain.saved}],
                gain.saved, strict=True,
            ):  # fmt: skip
                after = follow_author(there, graph(there, model), one.symptom, one.question)
                assert after.expected == saved.after <= saved.before == one.followed.expected
                assert after.astray == one.followed.astray
                assert after.besides == one.followed.besides
