"""The rules on hazards, licences and wording, in the order in which they are run."""

from __future__ import annotations

from treewright.lint.rule import Rule
from treewright.lint.rules import (
    bare_hazard,
    late_hazard,
    licence_missing,
    too_long,
    two_in_one,
    unguarded,
    vague_limit,
    yes_no_words,
)

GUARDS: tuple[Rule, ...] = (
    # Safety
    bare_hazard.RULE,
    late_hazard.RULE,
    unguarded.RULE,
    licence_missing.RULE,
    # Wording
    vague_limit.RULE,
    two_in_one.RULE,
    yes_no_words.RULE,
    too_long.RULE,
)
