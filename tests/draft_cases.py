"""Trees without ways, made by seed; and a drafted tree walked with every fault, step by step.

The walk goes by the tests' own interpreter. What a fault answers, and what setting up and undoing
takes, is worked out here anew from the tree alone.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import product

from walk import walk

from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree

WORDS = ("fine", "low", "odd", "gone")


def bare(seed: int, faults: int = 6, checks: int = 5) -> str:
    """A tree without ways: 2 to 4 answers, `maybe`, conditions that exclude each other."""
    rng = random.Random(seed)
    out = ["tree made: Machine does not run\n  machine: Invented machine\n  units: metric\n"]
    for at, other in ((1, 2), (2, 1), (3, 0)):
        excludes = f"  excludes: state-{other}\n" if other else ""
        out.append(
            f"condition state-{at}: State {at}\n  set up by: make-{at}\n  undo by: end-{at}\n"
            f"{excludes}\nprocedure make-{at}: Make {at}\n  time: {rng.randint(1, 9)} min\n"
            f"  - Do it.\n\nprocedure end-{at}: End {at}\n  time: {rng.randint(1, 9)} min\n"
            "  - Undo it.\n"
        )
    symptoms = ["still", "slow"][: rng.randint(1, 2)]
    out += [f"symptom {name}: It is {name}\n" for name in symptoms]
    answers = {}
    for at in range(checks):
        words = WORDS[: rng.randint(2, 4)]
        answers[f"c{at}"] = words
        needs = rng.choice(["", "", "1", "2", "3", "13"])
        needs = f"  needs: {', '.join(f'state-{n}' for n in needs)}\n" if needs else ""
        later = [f"c{n}" for n in range(at + 1, checks) if seed % 3 == 0 and rng.random() < 0.3]
        needs += f"  before: {', '.join(later)}\n" if later else ""
        out.append(
            f"check c{at}: What is {at} like?\n{needs}  time: {rng.randint(1, 20)} min\n"
            f"  answers: {', '.join(words)}\n"
        )
    for at in range(faults):
        shows = []
        for name, words in answers.items():
            chance = rng.random()
            if chance < 0.35:
                shows.append(f"{name} {rng.choice(words[1:])}")
            elif chance < 0.45:
                shows.append(f"maybe {name} {rng.choice(words[1:])}")
        lines = f"  shows: {', '.join(shows)}\n" if shows else ""
        if len(symptoms) > 1 and at > 1 and rng.random() < 0.4:
            lines += f"  symptoms: {rng.choice(symptoms)}\n"
        out.append(f"fault f{at}: Fault {at}\n  share: {rng.randint(1, 30)}\n{lines}"
                   f"  remedy: Mend {at}.\n")  # fmt: skip
    return "\n".join(out)


def stripped(text: str) -> str:
    """A tree with its ways taken out: answers are only named, symptoms begin nowhere."""
    out = []
    for block in re.split(r"(?m)^(?=\S)", text):
        if re.match(r"(check|reading)\b", block):
            found = re.findall(r"(?m)^  (?:if ([^:\n]+)|(otherwise)):.*$", block)
            block = re.sub(r"(?m)^  (?:if [^:\n]+|otherwise):.*\n(?:   .*\n)*", "", block)
            if found:
                named = ", ".join(one or other for one, other in found)
                block = f"{block.rstrip()}\n  answers: {named}\n\n"
        out.append(re.sub(r"(?m)^  start at:.*\n", "", block))
    return "".join(out)


def ends_of(tree: Tree, fault: Fault, symptom: str) -> Iterator[tuple[str, Fraction, Fraction]]:
    """All ends of a fault: the end, how often it comes to it (of 1), the minutes."""
    given = {}
    for node in tree.nodes.values():
        if isinstance(node, Check | Reading):
            shown = [one for one in fault.shows if one.node.name == root(tree, node.name)]
            told = {one.outcome for one in shown if one.outcome is not None}
            if all(one.maybe for one in shown):
                told |= set(node.normal)
            given[node.name] = sorted(told)
    unsure = sorted({root(tree, name) for name, told in given.items() if len(told) > 1})
    choices = list(product(*(given[name] for name in unsure)))
    for choice in choices:
        answers = {name: told[0] for name, told in given.items()}
        for name in given:
            if root(tree, name) in unsure:
                answers[name] = choice[unsure.index(root(tree, name))]
        job = walk(tree, symptom, lambda node, _, said=answers: said[node.name])  # type: ignore[misc]
        yield job.end, Fraction(1, len(choices)), took(tree, job.way)


def in_turn(tree: Tree) -> bool:
    """Whether on all ways, whatever is answered, each check comes after what is `before` it."""
    first: dict[str, set[str]] = {}
    for node in tree.nodes.values():
        if isinstance(node, Check | Reading):
            for later in node.before:
                first.setdefault(root(tree, later.name), set()).add(root(tree, node.name))

    def follow(name: str, done: frozenset[str]) -> bool:
        node = tree.nodes[name]
        if not isinstance(node, Check | Reading):
            return True
        if first.get(root(tree, name), set()) - done:
            return False
        now = done | {root(tree, name)}
        return all(follow(o.way.target.name, now) for o in node.outcomes if o.way.target)

    starts = [symptom.start for symptom in tree.symptoms.values()]
    return all(start is not None and follow(start.name, frozenset()) for start in starts)


def root(tree: Tree, name: str) -> str:
    """The check that another one is the same as, in the end."""
    node = tree.nodes[name]
    while isinstance(node, Check | Reading) and node.same_as is not None:
        node = tree.nodes[node.same_as.name]
    return node.name


def took(tree: Tree, way: tuple[str, ...]) -> Fraction:
    """The minutes of the checks on a way, and of what is set up and undone for them."""
    total, held = Fraction(0), []
    for name in way[:-1]:
        node = tree.nodes[name]
        wanted = {need.name for need in node.needs}
        for condition in (c for c in tree.conditions if c in wanted and c not in held):
            for other in list(held):
                mine, its = tree.conditions[condition], tree.conditions[other]
                if any(one.name == other for one in mine.excludes) or any(
                    one.name == condition for one in its.excludes
                ):
                    held.remove(other)
                    total += minutes_of(tree, its.undo_by.name if its.undo_by else "")
            made = tree.conditions[condition].set_up_by
            total += minutes_of(tree, made.name if made else "")
            held.append(condition)
        assert node.cost.minutes is not None
        total += node.cost.minutes
    return total


def minutes_of(tree: Tree, procedure: str) -> Fraction:
    one = tree.procedures.get(procedure)
    return (one.cost.minutes if one else None) or Fraction(0)
