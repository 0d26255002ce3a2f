"""Runs the rules over a tree: what they find, without what the author waived."""

from __future__ import annotations

from dataclasses import dataclass

from treewright.lint.rule import Context, Rule
from treewright.lint.rules import RULES
from treewright.model.tree import Tree, Waiver
from treewright.text.diagnostic import Finding, in_order


@dataclass(frozen=True, slots=True)
class Review:
    """What the linter found, and what it found but the author waived, with the reason."""

    findings: tuple[Finding, ...]
    waived: tuple[tuple[Finding, Waiver], ...]


def review(tree: Tree, rules: tuple[Rule, ...] = RULES, whole: bool = True) -> Review:
    """Looks at a tree by all rules, or by those given; findings in a stable order.

    Args:
        tree: the tree.
        rules: the rules.
        whole: whether all of it could be read.
    """
    context = Context(tree, rules, whole)
    found: list[Finding] = []
    for rule in rules:
        if tree.library and not rule.in_libraries:
            continue
        for finding in rule.check(context):
            waiver = context.waiver_of(finding)
            if waiver:
                context.waived.append((finding, waiver))
            else:
                found.append(finding)
    waivers = dict(context.waived)
    waived = tuple((finding, waivers[finding]) for finding in in_order(list(waivers)))
    return Review(tuple(in_order(found)), waived)


def lint(tree: Tree) -> list[Finding]:
    """All findings that are not waived, about a tree that could be read whole."""
    return list(review(tree).findings)


def lint_blocks(tree: Tree) -> list[Finding]:
    """The findings about single blocks, of a tree that could not be read whole."""
    return list(review(tree, tuple(rule for rule in RULES if rule.of_one_block), False).findings)
