"""Answers and their limits: outcomes of checks and readings, what faults show, cases.

Limits come out in the unit of their reading where they measure the same thing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import cast

from treewright.model.lines import Lines
from treewright.model.nodes import (
    Against,
    Check,
    Node,
    Otherwise,
    Outcome,
    Quantifier,
    Reading,
    Shown,
    Spec,
    Stated,
    Test,
    Verdict,
    Way,
    Words,
)
from treewright.model.scope import Names, Scope
from treewright.model.tree import CaseEntry, Twice
from treewright.model.written import Name
from treewright.syntax import ast
from treewright.syntax.errors import syntax
from treewright.text import quantity, units
from treewright.text.interval import Limits
from treewright.text.source import Span
from treewright.text.units import Unit

MakeWay = Callable[[ast.WayText, Scope], Way]


def squeeze(text: str) -> str:
    """Words to compare answers by: single blanks, small letters."""
    return " ".join(text.split()).casefold()


@dataclass(slots=True)
class Answers:
    """Reads the answers of one check or reading."""

    lines: Lines
    names: Names
    make_way: MakeWay

    def specs(self) -> tuple[Unit | None, tuple[Spec, ...]]:
        """The reading's unit (its `unit:` line, else the first one written) and its specs."""
        placed = self.lines.one("unit")
        declared = placed[0].value if placed else None
        assert declared is None or isinstance(declared, Unit)
        written: list[ast.SpecText] = []
        for line, _ in self.lines.all("spec"):
            assert isinstance(line.value, ast.SpecText)
            written.append(line.value)
        unit = declared or next((s.limit.unit for s in written if s.limit.unit), None)
        unit = unit or next(
            (limit.unit for limit in self._stated() if limit.unit is not None), None
        )
        specs = []
        named: dict[str, ast.SpecText] = {}
        for spec in written:
            limits, of = self._unify(spec.limit, unit, declared)
            models = tuple(word.text for word in spec.models)
            for model in models or ("",):
                if model in named:
                    what = f"spec for {model}" if model else "spec"
                    self.names.twice.append(
                        Twice("spec", what, named[model].limit.span, spec.limit.span)
                    )
                named[model] = spec
            specs.append(
                Spec(models, limits, of, " ".join(spec.limit.span.text.split()),
                     spec.limit.span, spec.limit.unit is None)
            )  # fmt: skip
        return unit, tuple(specs)

    def _stated(self) -> list[ast.Limit]:
        found = []
        for line, _ in self.lines.all("if"):
            assert isinstance(line.value, ast.Answer)
            test = line.value.test
            if test is not None and isinstance(test.what, ast.Limit):
                found.append(test.what)
        return found

    @staticmethod
    def _unify(
        limit: ast.Limit, unit: Unit | None, declared: Unit | None
    ) -> tuple[Limits, Unit | None]:
        if limit.unit is None:
            return limit.limits, declared
        if unit is None or limit.unit.dimension != unit.dimension:
            return limit.limits, limit.unit
        return quantity.converted(limit.limits, limit.unit, unit), unit

    def outcomes(
        self, unit: Unit | None, places: tuple[str, ...], specs: tuple[Spec, ...]
    ) -> tuple[Outcome, ...]:
        """The answers: those of an `answers` line, then those with a way that are not among them.

        A reading with a spec that writes no answers has those that the spec can give.
        """
        found: list[Outcome] = []
        placed_unit = self.lines.one("unit")
        declared = placed_unit[0].value if placed_unit else None
        for answer, span, scope in self._written():
            words = answer.words
            label = " ".join(words.text.split()) if words else "otherwise"
            test: Test = Words()
            if words is None or (answer.way is None and label == "otherwise"):
                test = Otherwise()
            elif answer.test is not None:
                test = self._test(answer.test, words, unit, declared, places, specs)  # type: ignore[arg-type]
            way = _open(span) if answer.way is None else self.make_way(answer.way, scope)
            made = Outcome(label, test, way, span)
            known = [squeeze(one.label) for one in found]
            at = known.index(squeeze(label)) if squeeze(label) in known else None
            if at is None:
                found.append(made)
            elif found[at].way.kind == "open" and answer.way is not None:
                found[at] = made
            else:
                self.names.twice.append(Twice("answer", label, found[at].span, span))
        if found or places or not specs or self.lines.broken:
            return tuple(found)
        span = specs[0].span
        return tuple(Outcome(v, Against(v), _open(span), span) for v in _verdicts(specs))

    def _written(self) -> Iterator[tuple[ast.Answer, Span, Scope]]:
        """All answers written, each with the place of its words."""
        for line, scope in self.lines.all("answers"):
            for named in cast("tuple[ast.Answer, ...]", line.value):
                assert named.words is not None
                yield named, named.words.span, scope
        for line, scope in (*self.lines.all("if"), *self.lines.all("otherwise")):
            answer = line.value
            assert isinstance(answer, ast.Answer)
            start = line.span.start
            here = Span(line.span.source, start, start + len("otherwise"))
            yield answer, answer.words.span if answer.words else here, scope

    def _test(
        self,
        test: ast.ReadingTest,
        words: ast.Word,
        unit: Unit | None,
        declared: Unit | None,
        places: tuple[str, ...],
        specs: tuple[Spec, ...],
    ) -> Test:
        if places and test.quantifier == "one" and not self.lines.broken:
            self.names.findings.append(
                syntax(
                    "this reading is taken at several places, and the answer does not say at which",
                    words.span,
                    f"write `all {words.text}`, `any {words.text}`, `none {words.text}` or "
                    f"`only {places[0]} {words.text}`",
                )
            )
        if not places and test.quantifier != "one" and not self.lines.broken:
            self.names.findings.append(
                syntax(
                    f"`{test.quantifier}` asks for several places, and this reading has one",
                    words.span,
                    "name the places, `at: left, right`, or leave the word out",
                )
            )
        place = test.place.text if test.place else None
        if test.place is not None and place not in places and places:
            self.names.miss("place", test.place, places)
        quantifier: Quantifier = test.quantifier
        if isinstance(test.what, ast.Verdict):
            if not specs and not self.lines.broken:
                self.names.findings.append(
                    syntax(
                        f"`{test.what.verdict}` is judged against a spec, and there is none here",
                        words.span,
                        "add its limit, like `spec: 180 s ± 30 s`, or write the limit here",
                    )
                )
            verdict: Verdict = test.what.verdict
            return Against(verdict, quantifier, place)
        limits, of = self._unify(test.what, unit, declared)
        return Stated(limits, of, quantifier, place, test.what.unit is None)

    def normal(self, outcomes: tuple[Outcome, ...]) -> tuple[int, ...]:
        """The good answers: as `normal:` says, else within the spec, else the first one."""
        word = self.lines.word("normal")
        if word is not None:
            index = match_answer(word[0].text, outcomes)
            if index is None:
                self.names.miss("answer", word[0], [o.label for o in outcomes])
                return ()
            return (index,)
        within = tuple(
            i
            for i, o in enumerate(outcomes)
            if isinstance(o.test, Against)
            and o.test.verdict == "within"
            and o.test.quantifier in ("one", "all")
        )
        return within or ((0,) if outcomes else ())


def _open(span: Span) -> Way:
    """The way on of an answer for which none is written yet."""
    return Way("open", (), None, span)


def _verdicts(specs: tuple[Spec, ...]) -> Iterator[Verdict]:
    """What a reading can be against its specs, the good one first."""
    yield "within"
    ends = [spec.limits.intervals for spec in specs if spec.limits.intervals]
    if any(one[0].low is not None for one in ends):
        yield "below"
    if any(one[-1].high is not None for one in ends):
        yield "above"


def match_answer(text: str, outcomes: tuple[Outcome, ...]) -> int | None:
    """The answer with these words."""
    wanted = squeeze(text)
    return next((i for i, o in enumerate(outcomes) if squeeze(o.label) == wanted), None)


def shown(
    show: ast.Show, scope: Scope, names: Names, nodes: dict[str, Node]
) -> Shown | None:
    """What a fault shows at a check; None where the check is not there (it is noted)."""
    node = names.name(scope, show.node, "node")
    if node is None:
        return None
    target = nodes.get(node.name)
    outcome = None
    if isinstance(target, Check | Reading):
        outcome = match_answer(show.answer.text, target.outcomes)
        if outcome is None:
            names.miss("answer", show.answer, [o.label for o in target.outcomes])
    elif target is not None:
        names.miss("check or reading", show.node, [])
    return Shown(node, outcome, show.maybe, show.answer.text, show.answer.span)


def case_entry(
    entry: ast.Entry, scope: Scope, names: Names, nodes: dict[str, Node]
) -> CaseEntry | None:
    """A line of a case: the answer it names, or the values by place in the reading's unit."""
    name = names.name(scope, entry.node, "node")
    if name is None:
        return None
    plain = CaseEntry(name, entry.value.text, entry.value.span)
    node = nodes.get(name.name)
    if not isinstance(node, Check | Reading):
        if node is not None:
            names.miss("check or reading", entry.node, [])
        return plain
    outcome = match_answer(entry.value.text, node.outcomes)
    if outcome is not None or isinstance(node, Check) or not entry.measured:
        if outcome is None:
            names.miss("answer", entry.value, [o.label for o in node.outcomes])
        return CaseEntry(name, entry.value.text, entry.value.span, outcome)
    return _measured(name, entry, node, names)


def _measured(name: Name, entry: ast.Entry, node: Reading, names: Names) -> CaseEntry:
    written = next((a.unit for _, a in entry.measured if a.unit is not None), None)
    unit = node.unit
    same = written is not None and unit is not None and written.dimension == unit.dimension
    values = []
    for place, amount in entry.measured:
        if place is not None and place.text not in node.places:
            names.miss("place", place, node.places)
        value = amount.value
        mine = amount.unit or written
        if same and mine is not None and unit is not None and mine.dimension == unit.dimension:
            value = units.convert(value, mine, unit)
        values.append((place.text if place else None, value))
    given = {place for place, _ in values}
    wanted: set[str | None] = set(node.places)
    if node.places and wanted - given:
        lacking = " and ".join(place for place in node.places if place not in given)
        example = ", ".join(f"{place} …" for place in node.places)
        names.findings.append(
            syntax(
                f"this case has no value at {lacking}", entry.value.span,
                f"give one at each place: `{entry.node.text}: {example}`",
            )
        )  # fmt: skip
    return CaseEntry(
        name, entry.value.text, entry.value.span, None, tuple(values), unit if same else written
    )
