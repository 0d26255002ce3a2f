"""Runs the rules over a tree: what they find, without what the author waived."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from treewright.lint.review import Review
from treewright.lint.rule import Context, Rule
from treewright.lint.rules import RULES, missing_name
from treewright.model.tree import Missing, Tree
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
    """Looks at single blocks alone, and for names: for a tree that could not be read whole."""
    rules = tuple(rule for rule in RULES if rule.of_one_block or rule is missing_name.RULE)
    return review(replace(tree, missing=tuple(_surely_missing(tree))), rules, whole=False)


# What names of blocks were looked for as; of all else a broken block may have more than is read.
_BLOCKS = (
    "node", "node or procedure", "procedure or node", "procedure", "condition", "symptom",
    "hazard", "stage",
)  # fmt: skip


def _surely_missing(tree: Tree) -> Iterator[Missing]:
    """The names of blocks that nothing has, whatever else is in what could not be read.

    What a broken block says of itself (answers, places, models) is not known; its name is. A head
    that reads as a line of the block above has a name, too.
    """
    if tree.nameless:
        return
    broken = "\n".join(span.text for span in tree.broken)
    for missing in tree.missing:
        word = re.escape(missing.written.rpartition(".")[2])
        if missing.what in _BLOCKS and not re.search(rf"^\s*[\w-]+\s+{word}\s*:", broken, re.M):
            yield missing
