"""Each fault of a tree followed by what it shows, each case as it was read: what became of it.

Puts together, over all models, what `reason/prove` and `reason/cases` found, and says it in a
few words. Knows nothing of tables and files.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from treewright.lint.rule import Context
from treewright.lint.words import listed
from treewright.model.nodes import Fault
from treewright.model.tree import Case, Tree
from treewright.reason.cases import CaseFollowed, follow_case, models_of_case
from treewright.reason.minutes import Minutes, minutes
from treewright.reason.prove import Proven
from treewright.record import record

_WRONG = ("wrong", "lost", "unreached")


@record
class ProvenFault:
    """A fault on some models.

    `on`: "" or " on B60 and B80". `way`: as findings show it. `minutes`: to the end of the way,
    where the fault is found. `share`: of all shares, in percent; None where not every fault has
    one.
    """

    fault: Fault
    proven: Proven
    on: str
    way: tuple[str, ...]
    minutes: Minutes | None
    share: Fraction | None

    @property
    def good(self) -> bool:
        return self.proven.verdict not in _WRONG

    @property
    def words(self) -> str:
        """What became of it, in a few words."""
        one = self.proven
        match one.verdict:
            case "found":
                said = "found"
            case "alike":
                said = f"shares its answers with {listed(one.alike)}"
            case "perhaps":
                said = f"found, or taken for {listed(name for name, _ in one.taken_for)}"
            case "wrong":
                said = f"found as {one.taken_for[0][0]}"
            case "lost" if one.at is not None:
                said = f"lost at {self.way[-2]}"
            case "lost":
                said = "lost: its answers go round, or contradict each other"
            case "silent":
                said = "shows nothing: not followed"
            case "unreached":
                said = "lost: no symptom leads to it"
        return said + self.on


@record
class ProvenCase:
    """A case on some models; `way` and `on` as with a fault."""

    case: Case
    followed: CaseFollowed
    on: str
    way: tuple[str, ...]

    @property
    def good(self) -> bool:
        return self.followed.outcome == "ends"

    @property
    def words(self) -> str:
        """What became of it, in a few words."""
        one, ends = self.followed, self.case.ends
        match one.outcome:
            case "ends":
                said = f"ends at {one.end}"
            case "elsewhere":
                left = f", left at {one.left.node}: {one.left.answer}" if one.left else ""
                said = f"ends at {one.end}, not at {ends}{left}"
            case "not-said":
                said = f"does not say what {one.end} was"
            case "no-answer":
                said = f"no one answer of {one.end} covers what was read"
            case "nowhere":
                said = f"no way on at {one.end}"
            case "round":
                said = f"goes round for ever at {one.end}"
            case "not-asked":
                said = f"ends at {one.end}, but {one.entry.node if one.entry else ''} is not asked"
            case "unread":
                said = "not followed: it names what is not there"
        return said + self.on


@record
class Proof:
    """All faults and cases of a tree, in the order of the file."""

    tree: Tree
    faults: tuple[ProvenFault, ...]
    cases: tuple[ProvenCase, ...]

    @property
    def failed(self) -> int:
        """How many are not found, or end elsewhere."""
        return sum(not one.good for one in self.faults) + sum(not one.good for one in self.cases)

    @property
    def good(self) -> bool:
        return not self.failed


def prove(tree: Tree) -> Proof:
    """Follows all faults and cases of a tree that could be read whole."""
    context = Context(tree)
    nodes = [node for node in tree.nodes.values() if isinstance(node, Fault)]
    total = sum((node.share or Fraction(0) for node in nodes), Fraction(0))
    whole = bool(total) and all(node.share is not None for node in nodes)
    found = context.by_model(lambda model: context.prover(model).faults)
    order = {node.name: at for at, node in enumerate(nodes)}
    faults = []
    for one, where in sorted(found, key=lambda item: order[item[0].fault]):
        fault = tree.nodes[one.fault]
        assert isinstance(fault, Fault)
        at_end = one.verdict in ("found", "alike", "perhaps")
        took = minutes(tree, one.way) if at_end else None
        share = fault.share * 100 / total if whole and fault.share is not None else None
        way = context.shown(one.way)
        faults.append(ProvenFault(fault, one, str(where), way, took, share))
    return Proof(tree, tuple(faults), tuple(_cases(context)))


def _cases(context: Context) -> Iterable[ProvenCase]:
    tree = context.tree
    for case in tree.cases.values():
        on: dict[CaseFollowed, list[str]] = {}
        for model in models_of_case(tree, case):
            followed = follow_case(tree, context.suspects(model), case, model)
            on.setdefault(followed, []).extend([model] if model else [])
        for followed, models in on.items():
            where = f" on {listed(models)}" if models and len(on) > 1 else ""
            yield ProvenCase(case, followed, where, context.shown(followed.way))
