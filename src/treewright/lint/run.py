"""Runs the rules over a tree: what they find, without what the author waived."""

from __future__ import annotations

from treewright.lint.review import Review
from treewright.lint.rule import Context, Rule
from treewright.lint.rules import RULES
from treewright.model.tree import Tree
from treewright.text.diagnostic import Finding, in_order


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


def review_blocks(tree: Tree) -> Review:
    """Looks at single blocks alone: for a tree that could not be read whole."""
    return review(tree, tuple(rule for rule in RULES if rule.of_one_block), whole=False)
