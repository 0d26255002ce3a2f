"""The rules that follow faults and known jobs through the tree, in the order they are run."""

from __future__ import annotations

from treewright.lint.rule import Rule
from treewright.lint.rules import (
    cannot_tell,
    case_astray,
    never_found,
    no_remedy,
    no_retest,
    no_share,
    wrong_finding,
)

FAULTS: tuple[Rule, ...] = (
    never_found.RULE,
    wrong_finding.RULE,
    cannot_tell.RULE,
    no_remedy.RULE,
    no_retest.RULE,
    no_share.RULE,
    case_astray.RULE,
)
