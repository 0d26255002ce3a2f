"""Figures of merit of a matrix of faults by checks: what it detects, and how far it isolates.

The figures are those of the trade, in the spirit of IEEE 1522 and MIL-HDBK-2165 (definitions
from memory); they look at what the checks could tell, whatever order they are asked in.
Exact. Faults weigh by their shares where every one has a share, otherwise all alike.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from treewright.reason.answers import Answers
from treewright.record import record

SIZES = (1, 2, 3)
"""The sizes of groups for which it is said how much is isolated."""


@record
class Merit:
    """The figures of one model; shares from 0 to 1.

    Attributes:
        by_shares: whether faults weigh by their shares; otherwise all weigh alike.
        detected: the share of faults for which some check surely gives no normal answer.
        isolated: for each of `SIZES`, of what is detected the share that lies in a group of at
            most this size; None where nothing is detected.
        over_groups: mean size of a group, each group counted once.
        expected: mean size of the group that a fault lies in, faults by their weights.
        over_faults: the same, each fault counted once.
    """

    by_shares: bool
    detected: Fraction
    isolated: tuple[Fraction | None, ...]
    over_groups: Fraction
    expected: Fraction
    over_faults: Fraction


def merit(answers: Answers) -> Merit | None:
    """The figures of a matrix; None where it has no fault."""
    faults = answers.faults
    if not faults:
        return None
    shares = [fault.share for fault in faults]
    by_shares = all(share is not None for share in shares) and any(shares)
    weight = {f.name: (f.share or Fraction(0)) if by_shares else Fraction(1) for f in faults}
    size = {name: len(group) for name, group in answers.group_of.items()}
    normal = {check.name: set(check.normal) for check in answers.checks}
    detected = [
        name
        for name in weight
        if any(not given & normal[check] for check, given in answers.told_by(name).items())
    ]

    def weighed(names: Iterable[str]) -> Fraction:
        return sum((weight[name] for name in names), Fraction(0))

    whole, seen = weighed(weight), weighed(detected)
    return Merit(
        by_shares,
        seen / whole,
        tuple(
            weighed(name for name in detected if size[name] <= most) / seen if seen else None
            for most in SIZES
        ),
        Fraction(len(faults), len(answers.groups)),
        sum((weight[name] * size[name] for name in weight), Fraction(0)) / whole,
        Fraction(sum(size.values()), len(faults)),
    )

