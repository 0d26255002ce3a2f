"""What a rule is, and what it may look at.

A rule is one file below `rules/`: its docstring is its documentation, its `RULE` says the
name and the level and holds the check. The context hands every rule the tree, its ways on
each model, and what all rules must agree on: which nodes are looked at, and how a model, a
place or an answer is named in a message. Knows nothing of reports.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Hashable, Iterable, Mapping
from functools import cached_property
from textwrap import dedent
from typing import TypeAlias, TypeVar

from treewright.lint.words import listed
from treewright.model.graph import Graph, graph
from treewright.model.nodes import Check, Node, Reading, ways_of
from treewright.model.tree import Case, Condition, Hazard, Procedure, Stage, Symptom, Tree, on_model
from treewright.model.written import Waiver
from treewright.reason.held import Held
from treewright.reason.limits import Coverage, coverage
from treewright.reason.prove import Prover
from treewright.reason.setup import Setup, setup
from treewright.reason.suspects import Suspects
from treewright.reason.trips import Stop, Trips
from treewright.reason.ways import Ways, ways
from treewright.record import record
from treewright.text.diagnostic import Finding, Fix, Label, Level
from treewright.text.source import Source, Span

Block: TypeAlias = Symptom | Stage | Node | Condition | Procedure | Hazard | Case
Trouble = TypeVar("Trouble", bound=Hashable)

HEADINGS = ("What is looked for", "Why it matters at the machine", "Not so", "But so")


@record
class Rule:
    """One rule.

    Attributes:
        name: as findings, waivers and the command line name it.
        level: of all its findings.
        why: one sentence for a finding: why this matters at the machine.
        doc: the docstring of its module, in the four parts of `HEADINGS`.
        check: looks for findings.
        in_libraries: whether it makes sense for a file that is only used by others.
        of_one_block: whether it only looks at one block at a time: then it can be asked about
            the sound blocks of a tree that could not be read whole.
    """

    name: str
    level: Level
    why: str
    doc: str
    check: Callable[[Context], Iterable[Finding]]
    in_libraries: bool = True
    of_one_block: bool = False

    def finding(
        self,
        message: str,
        span: Span,
        *,
        help: str = "",
        why: str = "",
        labels: tuple[Label, ...] = (),
        way: tuple[str, ...] = (),
        fix: Fix | None = None,
    ) -> Finding:
        """A finding of this rule; `why` where it differs from the rule's own."""
        why = why or self.why
        return Finding(self.name, self.level, message, span, why, help, labels, way, fix)

    def parts(self) -> dict[str, str]:
        """The text of each of the four parts of the documentation, by heading."""
        found: dict[str, list[str]] = {}
        lines: list[str] = []
        for line in self.doc.splitlines():
            if line in HEADINGS:
                lines = found[line] = []
            else:
                lines.append(line)
        return {heading: dedent("\n".join(body)).strip("\n") for heading, body in found.items()}


@record
class Where:
    """On which models something is so. `named` is empty where it is so on all it can be."""

    model: str | None
    named: tuple[str, ...] = ()

    def __str__(self) -> str:
        """ "" or " on B60 and B80", to be put behind a message."""
        return f" on {listed(self.named)}" if self.named else ""


class Context:
    """What a rule may look at.

    Attributes:
        tree: the tree.
        rules: the rules that are run.
        whole: whether all of the tree could be read, so that what leads where is known.
        models: the tree's models; of a library those that it names anywhere.
        groups: the models, those together for which every block and spec is the same;
            ((None,),) where there are none.
        waived: findings that a waiver let pass, of the rules that ran before.
    """

    def __init__(self, tree: Tree, rules: tuple[Rule, ...] = (), whole: bool = True) -> None:
        self.tree = tree
        self.rules = rules
        self.whole = whole
        self.models = tree.models or (_models_named(tree) if tree.library else ())
        self.groups = _groups(tree, self.models)
        self.waived: list[tuple[Finding, Waiver]] = []  # so far, by the rules before this one
        # Models for which the same blocks are there share their ways, and those for which the
        # same spec holds share what it covers.
        self._limited = {block.models for block in _on_the_way(tree) if block.models}
        self._graphs: dict[tuple[bool, ...], Graph] = {}
        self._coverage: dict[tuple[str, int], Coverage] = {}
        self._trips: dict[str | None, Trips] = {}
        self._suspects: dict[Graph, Suspects] = {}
        self._provers: dict[Trips, Prover] = {}

    def graph(self, model: str | None = None) -> Graph:
        """The ways on one model, or on all together."""
        key = tuple(model is None or model in models for models in self._limited)
        if model is None and self._limited:
            key = ()  # all together is none of the models
        if key not in self._graphs:
            self._graphs[key] = graph(self.tree, model)
        return self._graphs[key]

    @cached_property
    def has_way_in(self) -> bool:
        """Whether any symptom leads to any node."""
        whole = self.graph()
        return any(whole.arcs_from(vertex) for vertex in whole.entries)

    @cached_property
    def is_bare(self) -> bool:
        """Whether some check has answers of which no way on is written yet."""
        nodes = self.tree.nodes.values()
        return any(way.kind == "open" for node in nodes for _, way in ways_of(node))

    @cached_property
    def hoped_for(self) -> frozenset[str]:
        """The names that some misspelt one may have meant: they are only unused because of it."""
        return frozenset(name for missing in self.tree.missing for name in missing.near)

    @cached_property
    def reached(self) -> frozenset[str]:
        """The vertices that are reached on some model."""
        return frozenset().union(*(self.graph(group[0]).reached for group in self.groups))

    def nodes(self, model: str | None) -> list[Node]:
        """The nodes to look at on a model: those reached there.

        All that are there in a library, where no symptom leads anywhere (then that is the
        finding), and in a tree that could not be read whole.
        """
        there = [node for node in self.tree.nodes.values() if on_model(node.models, model)]
        if not self.whole or not self.has_way_in:
            return there
        reached = self.graph(model).reached
        return [node for node in there if node.name in reached]

    def trips(self, model: str | None) -> Trips:
        """The ways that a technician can take on a model; models on which all is known alike
        share them."""
        if model not in self._trips:
            known = ways(self.tree, self.graph(model), model)
            there = (one for one in self._trips.values() if one.ways.says_the_same(known))
            self._trips[model] = next(there, None) or Trips(known)
        return self._trips[model]

    def ways(self, model: str | None) -> Ways:
        """What is known on arrival at each node on a model."""
        return self.trips(model).ways

    @cached_property
    def setup(self) -> Setup:
        """What holds on all ways together, and what is set up and undone."""
        return setup(self.tree)

    def held(self, condition: Condition) -> Held:
        """Follows a condition along one way."""
        return Held(self.tree, self.setup, condition)

    def suspects(self, model: str | None) -> Suspects:
        """Which faults can still be the one at each node on a model."""
        key = self.graph(model)
        if key not in self._suspects:
            self._suspects[key] = Suspects(self.tree, key)
        return self._suspects[key]

    def prover(self, model: str | None) -> Prover:
        """What becomes of each fault on a model, by what it shows."""
        trips = self.trips(model)
        if trips not in self._provers:
            self._provers[trips] = Prover(trips, self.suspects(model))
        return self._provers[trips]

    def way(self, model: str | None, vertex: str, answer: str = "") -> tuple[str, ...]:
        """A shortest way that can be taken to a vertex, and by an answer of it, as shown.

        For example ("symptom dead", "2 supply-voltage: yes", "5 capacitor"). Empty: none is.
        """
        trips = self.trips(model)
        return self.shown(trips.by(vertex, answer) if answer else trips.to(vertex))

    def way_to(self, vertex: str, *models: str | None) -> tuple[str, ...]:
        """A shortest way that can be taken to a vertex or to a step done on a way.

        Args:
            vertex: what it leads to.
            models: the model it is on; left out: the first on which there is one.
        """
        for model in models or tuple(group[0] for group in self.groups):
            if found := self.way(model, vertex):
                return found
            for source, answer in self.graph(model).done_on.get(vertex, ()):
                if before := self.way(model, source, answer):
                    return (*before, *self.shown([Stop(vertex, "")]))
        return ()

    def shown(self, stops: Iterable[Stop]) -> tuple[str, ...]:
        """The stops of a way as a finding shows them."""
        found = []
        for stop in stops:
            node = self.tree.nodes.get(stop.node)
            name = f"{node.number} {stop.node}" if node and node.number else stop.node
            found.append(f"{name}: {stop.answer}" if stop.answer else name)
        return tuple(found)

    def coverage(self, reading: Reading, model: str | None) -> Coverage:
        """What the answers of a reading leave uncovered or cover twice on a model."""
        spec = reading.spec_for(model)
        key = (reading.name, -1 if spec is None else reading.specs.index(spec))
        if key not in self._coverage:
            self._coverage[key] = coverage(reading, model)
        return self._coverage[key]

    def by_model(
        self, find: Callable[[str | None], Iterable[Trouble]]
    ) -> list[tuple[Trouble, Where]]:
        """What `find` finds on each model, each trouble once, with the models it is found on."""
        on: dict[Trouble, list[int]] = {}
        for at, group in enumerate(self.groups):
            for trouble in find(group[0]):
                on.setdefault(trouble, []).append(at)
        found: list[tuple[Trouble, Where]] = []
        for trouble, places in on.items():
            model = self.groups[places[0]][0]
            if len(set(places)) == len(self.groups):
                found.append((trouble, Where(model)))
            else:
                members = {name for at in places for name in self.groups[at]}
                named = tuple(name for name in self.models if name in members)
                found.append((trouble, Where(model, named)))
        return found

    def before(self, name: str) -> tuple[str, ...]:
        """The checks and readings that must come before one, by their `before` lines."""
        return tuple(first for first, then in self._demands if then == name)

    @cached_property
    def _demands(self) -> tuple[tuple[str, str], ...]:
        asked = (n for n in self.tree.nodes.values() if isinstance(n, Check | Reading))
        return tuple((node.name, later.name) for node in asked for later in node.before)

    # ---- which block a place is in ---------------------------------------------------------

    @cached_property
    def waivers(self) -> tuple[tuple[Waiver, Span | None], ...]:
        """All waivers, each with the head of its block (None: it holds for the whole tree)."""
        found: list[tuple[Waiver, Span | None]] = [(one, None) for one in self.tree.waivers]
        for blocks in _blocks(self.tree):
            for block in blocks.values():
                found += [(one, block.span) for one in block.waivers]
        return tuple(found)

    def waiver_of(self, finding: Finding) -> Waiver | None:
        """The waiver that lets a finding pass. A fault cannot be waived."""
        if finding.level is Level.FAULT or not self.waivers:
            return None
        head = self.head(finding.span)
        for waiver, place in self.waivers:
            if waiver.rule == finding.rule and place in (None, head):
                return waiver
        return None

    @cached_property
    def _heads(self) -> dict[Source, tuple[list[int], list[Span]]]:
        tree = self.tree
        heads = [tree.span]
        for blocks in _blocks(tree):
            heads.extend(block.span for block in blocks.values())
        heads.extend(twice.second for twice in tree.twice)
        heads.extend(span for _, _, span in tree.unused)
        found: dict[Source, tuple[list[int], list[Span]]] = {}
        for head in sorted(heads, key=lambda span: span.start):
            starts, spans = found.setdefault(head.source, ([], []))
            starts.append(head.start)
            spans.append(head)
        return found

    def head(self, span: Span) -> Span | None:
        """The name in the head line of the block that a place is in."""
        starts, heads = self._heads.get(span.source, ([], []))
        at = bisect_right(starts, span.start)
        return heads[at - 1] if at else None

    def has_missing(self, head: Span) -> bool:
        """Whether a name written in the block of this head is not there."""
        return any(self.head(missing.span) == head for missing in self.tree.missing)


def _blocks(tree: Tree) -> tuple[Mapping[str, Block], ...]:
    """All blocks of the tree, by kind."""
    return (
        tree.symptoms, tree.stages, tree.nodes, tree.conditions,
        tree.procedures, tree.hazards, tree.cases,
    )  # fmt: skip


def _on_the_way(tree: Tree) -> tuple[Symptom | Node, ...]:
    return (*tree.symptoms.values(), *tree.nodes.values())


def _limited(tree: Tree) -> tuple[tuple[str, ...], ...]:
    """The models of each block and spec, each such list once."""
    limited: dict[tuple[str, ...], None] = {}
    for block in _on_the_way(tree):
        limited[block.models] = None
        if isinstance(block, Reading):
            limited.update(dict.fromkeys(spec.models for spec in block.specs))
    return tuple(limited)


def _models_named(tree: Tree) -> tuple[str, ...]:
    return tuple(dict.fromkeys(model for models in _limited(tree) for model in models))


def _groups(tree: Tree, names: tuple[str, ...]) -> tuple[tuple[str | None, ...], ...]:
    if not names:
        return ((None,),)
    limited = _limited(tree)
    groups: dict[tuple[bool, ...], list[str | None]] = {}
    for model in names:
        groups.setdefault(tuple(model in models for models in limited), []).append(model)
    return tuple(map(tuple, groups.values()))
