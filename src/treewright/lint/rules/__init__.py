"""All rules, in the order in which they are run; `idle-waiver` must see what the others found."""

from __future__ import annotations

from treewright.lint.rule import Rule
from treewright.lint.rules import (
    bare_number,
    dead_end,
    decides_nothing,
    duplicate_name,
    endless_loop,
    gap,
    idle_waiver,
    missing_name,
    no_way_in,
    not_translated,
    overlap,
    two_remedies,
    unreachable,
    unused,
    wrong_unit,
)
from treewright.lint.rules.faults import FAULTS
from treewright.lint.rules.guards import GUARDS
from treewright.lint.rules.proofs import PROOFS

RULES: tuple[Rule, ...] = (
    # Structure
    no_way_in.RULE,
    missing_name.RULE,
    duplicate_name.RULE,
    unreachable.RULE,
    dead_end.RULE,
    endless_loop.RULE,
    decides_nothing.RULE,
    unused.RULE,
    # Limits
    wrong_unit.RULE,
    bare_number.RULE,
    gap.RULE,
    overlap.RULE,
    *PROOFS,
    *GUARDS,
    *FAULTS,
    two_remedies.RULE,
    # Texts
    not_translated.RULE,
    # Waivers
    idle_waiver.RULE,
)
