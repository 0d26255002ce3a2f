"""What each check answers with each fault present: the matrix that proofs and orders go by.

A check that a fault lists in its `shows` gives that answer, and with `maybe` the normal one
as well; a check that is not listed gives its normal answer. Knows nothing of ways.
"""

from __future__ import annotations

from functools import cached_property
from typing import TypeAlias

from treewright.model.nodes import Check, Fault, Reading
from treewright.model.tree import Tree, on_model

# The places of the answers that a check may give.
Given: TypeAlias = frozenset[int]


class Answers:
    """The matrix of one model.

    Attributes:
        checks: the checks and readings of the model, in the order of the file.
        faults: its faults, in the order of the file.
    """

    def __init__(self, tree: Tree, model: str | None = None) -> None:
        there = [node for node in tree.nodes.values() if on_model(node.models, model)]
        self.checks = tuple(node for node in there if isinstance(node, Check | Reading))
        self.faults = tuple(node for node in there if isinstance(node, Fault))
        by_name = {check.name: check for check in self.checks}
        # Only what is listed: the rest is normal.
        self._listed: dict[str, dict[str, Given]] = {}
        for fault in self.faults:
            row = self._listed[fault.name] = {}
            for name in dict.fromkeys(one.node.name for one in fault.shows):
                if name in by_name:
                    row[name] = _listed(fault, by_name[name])

    def given(self, fault: str, check: Check | Reading) -> Given:
        """The answers that a check may give with a fault; one of them surely."""
        listed = self._listed[fault].get(check.name)
        return frozenset(check.normal) if listed is None else listed

    def told_by(self, fault: str) -> dict[str, Given]:
        """The checks that may answer other than normal with a fault, and their answers."""
        return self._abnormal[fault]

    @cached_property
    def _abnormal(self) -> dict[str, dict[str, Given]]:
        normal = {check.name: frozenset(check.normal) for check in self.checks}
        return {
            fault: {name: given for name, given in row.items() if given != normal[name]}
            for fault, row in self._listed.items()
        }

    @cached_property
    def groups(self) -> tuple[tuple[str, ...], ...]:
        """The faults, those together that every check answers alike (ambiguity groups)."""
        found: dict[frozenset[tuple[str, Given]], list[str]] = {}
        for fault in self.faults:
            row = frozenset(self._abnormal[fault.name].items())
            found.setdefault(row, []).append(fault.name)
        return tuple(map(tuple, found.values()))

    @cached_property
    def group_of(self) -> dict[str, tuple[str, ...]]:
        """For each fault its ambiguity group, itself in it."""
        return {name: group for group in self.groups for name in group}


def _listed(fault: Fault, check: Check | Reading) -> Given:
    shown = [one for one in fault.shows if one.node.name == check.name]
    if any(one.outcome is None for one in shown):  # a misspelt answer: it may be any of them
        return frozenset(range(len(check.outcomes)))
    given = frozenset(one.outcome for one in shown if one.outcome is not None)
    if all(one.maybe for one in shown):
        given |= frozenset(check.normal)
    return given
