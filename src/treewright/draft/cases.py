"""Known jobs in a drafted tree: what is asked on their way, and whether they still end right."""

from __future__ import annotations

from dataclasses import field

from treewright.draft.names import Names
from treewright.model.nodes import Check, Reading
from treewright.model.tree import Case, CaseEntry, Tree
from treewright.reason.cases import models_of_case
from treewright.reason.draft import Draft, To
from treewright.reason.limits import judge
from treewright.record import record


@record
class Told:
    """A case along the drafted ways.

    Attributes:
        asked: by check, the name under which it is asked on this way.
        trouble: why it cannot be followed, or where it ends instead; "" where all is well.
    """

    asked: dict[str, str] = field(default_factory=dict)
    trouble: str = ""


def told(tree: Tree, case: Case, draft: Draft, made: Names) -> Told:
    """Follows a case by what was read."""
    starts = {begun.symptom: begun.to for begun in draft.begun}
    read = {entry.node.name: entry for entry in case.read}
    if case.symptom is None or case.ends is None or case.symptom.name not in starts:
        return Told({}, "It names no symptom or no end.")
    at: To | None = starts[case.symptom.name]
    asked: dict[str, str] = {}
    while at is not None and at.place >= 0:
        place = draft.places[at.place]
        node = tree.nodes[place.check]
        entry = read.get(place.check)
        if entry is None:
            return Told(asked, f"This job does not say what `{place.check}` was, which is asked"
                               " now: fill it in.")  # fmt: skip
        assert isinstance(node, Check | Reading)
        answer = _answer(tree, case, node, entry)
        if answer is None:
            return Told(asked, f"No one answer covers what this job read at `{place.check}`.")
        asked[place.check] = made.places[at.place]
        at = place.ways.get(answer)
    end = at.fault if at is not None else made.unknown
    if end != case.ends.name:
        return Told(asked, f"This job ends at `{end}` now, and not at `{case.ends.name}`.")
    return Told(asked)


def _answer(tree: Tree, case: Case, node: Check | Reading, entry: CaseEntry) -> int | None:
    if entry.outcome is not None:
        return entry.outcome
    if isinstance(node, Check):
        return None
    found = set()
    for model in models_of_case(tree, case):
        try:
            found.add(judge(node, model, dict(entry.values)))
        except KeyError:
            return None
    one = found.pop() if len(found) == 1 else ()
    return one[0] if len(one) == 1 else None
