"""The rules that reason over all ways: what is known, what is set up, what is still open."""

from __future__ import annotations

from treewright.lint.rule import Rule
from treewright.lint.rules import (
    already_known,
    dear_before_cheap,
    fights_itself,
    left_set,
    need_not_met,
    never_taken,
    opened_too_soon,
    out_of_turn,
    set_up_twice,
    splits_nothing,
)

PROOFS: tuple[Rule, ...] = (
    # Limits
    already_known.RULE,
    never_taken.RULE,
    # Set-up and safety
    need_not_met.RULE,
    left_set.RULE,
    fights_itself.RULE,
    set_up_twice.RULE,
    # Order
    out_of_turn.RULE,
    opened_too_soon.RULE,
    dear_before_cheap.RULE,
    splits_nothing.RULE,
)
