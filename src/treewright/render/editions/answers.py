"""What differs in the answers of a check or reading: limits, ways on, which of them is good."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from typing import TypeAlias

from treewright.render.editions.found import At
from treewright.render.editions.telling import told
from treewright.render.editions.words import Sayer
from treewright.render.outline import Exit, Node, Outcome, Range, Spec, Test

Pair: TypeAlias = tuple[Outcome | None, Outcome | None]
Models: TypeAlias = Sequence[str]


def pairs_of(old: Node, new: Node, models: Models) -> list[Pair]:
    """Which answer of the old edition is which of the new one; None for one that is not there.

    The same words are the same answer; then the same limits; then what leads to the same place.
    """
    left, right = list(old.outcomes), list(new.outcomes)
    found: list[Pair] = []

    def take(like: Callable[[Outcome, Node], object]) -> None:
        for one in list(left):
            mine = [o for o in left if like(o, old) == like(one, old)]
            theirs = [o for o in right if like(o, new) == like(one, old)]
            if len(mine) == len(theirs) == 1:
                found.append((one, theirs[0]))
                left.remove(one)
                right.remove(theirs[0])

    take(lambda o, n: o.label)
    take(lambda o, n: (_asks(o.test), o.test.kind, _limits(o.test, old, n, models)))
    take(lambda o, n: (_asks(o.test), o.test.kind, o.normal, led(o.exit, models)))
    take(lambda o, n: (_asks(o.test), o.test.kind, led(o.exit, models)))
    return [*found, *((one, None) for one in left), *((None, one) for one in right)]


def answer_changes(
    at: At, old: Node, new: Node, models: Models, was: Sayer, now: Sayer
) -> None:
    """Notes all that differs in the answers of one node."""
    spec_changes(at, old, new, models)
    pairs = pairs_of(old, new, models)
    for before, after in pairs:
        if before is None or after is None:
            if after is not None:
                at.note("check", "answers", "", f"“{after.label}”: {now.way(after.exit)}")
            elif before is not None:
                at.note("check", "answers", f"“{before.label}”: {was.way(before.exit)}", "")
            continue
        _answer(at, before, after, (old, new), models)
        way_changes(at, f"“{after.label}”", before.exit, after.exit, models, (was, now))
    both = [(a, b) for a, b in pairs if a and b]
    if any(a.normal != b.normal for a, b in both):
        at.note("check", "good answer", _labels(a for a, _ in both if a.normal),
                _labels(b for _, b in both if b.normal))  # fmt: skip
    ranked = sorted(both, key=lambda pair: old.outcomes.index(pair[0]))
    order = [new.outcomes.index(b) for _, b in ranked]
    if order != sorted(order):
        at.note("words", "order of the answers", _labels(old.outcomes), _labels(new.outcomes),
                meaning=False)  # fmt: skip


def _labels(outcomes: Iterable[Outcome]) -> str:
    return ", ".join(outcome.label for outcome in outcomes)


def _answer(
    at: At, before: Outcome, after: Outcome, nodes: tuple[Node, Node], models: Models
) -> None:
    old, new = nodes
    if "limit" in (before.test.kind, after.test.kind) and not after.test.verdict:
        limits = _limits(before.test, old, old, models), _limits(after.test, old, new, models)
        asks = _asks(before.test), _asks(after.test)
        if limits[0] != limits[1] or asks[0] != asks[1]:
            at.note("limit", "answer", _said(before), _said(after))
            return
    match told(before.label, after.label, strict=after.test.kind == "answer"):
        case "meaning" if after.test.kind == "answer":
            at.note("check", "answer", f"“{before.label}”", f"“{after.label}”")
        case "meaning" | "wording":
            at.note("words", "answer", f"“{before.label}”", f"“{after.label}”", meaning=False)
        case "same":
            pass


def way_changes(
    at: At,
    what: str,
    old: Exit | None,
    new: Exit | None,
    models: Models,
    say: tuple[Sayer, Sayer],
) -> None:
    """Notes where an answer's way, or a step's own, leads elsewhere."""
    was, now = say[0].way(old), say[1].way(new)
    if led(old, models) != led(new, models):
        at.note("way", what, was, now)
    elif old and new and ("back" in (old.kind, new.kind)) and old.kind != new.kind:
        at.note("words", what, was, now, meaning=False)


def led(way: Exit | None, models: Models) -> object:
    """What is done on a way and where it leads on each model."""
    if way is None:
        return None
    targets = dict(way.by_model)
    return way.does, tuple(targets.get(model, way.target) for model in models)


def spec_changes(at: At, old: Node, new: Node, models: Models) -> None:
    """Notes where the limit of a reading moved, or is only written otherwise."""
    if old.specs == new.specs:
        return
    before_all = len(at.changes)
    for what, some in _by_spec(old, new, models):
        before, after = (_spec(node.specs, some[0]) for node in (old, new))
        if (before and _text(before)) == (after and _text(after)):
            continue
        if before and after and _same_verdicts(old, new, some):
            if before.text != after.text:
                at.note("words", what, before.text, after.text, meaning=False)
        else:
            at.note("limit", what, _text(before), _text(after))
    parted = [[(spec.models, spec.text) for spec in node.specs] for node in (old, new)]
    if len(at.changes) == before_all and parted[0] != parted[1]:  # the same on every model
        at.note("words", "limits", _listed(old.specs), _listed(new.specs), meaning=False)


def _listed(specs: Sequence[Spec]) -> str:
    return "; ".join(f"{', '.join(s.models) or 'all others'}: {_text(s)}" for s in specs)


def _text(spec: Spec | None) -> str:
    if spec is None:
        return ""
    return f"{spec.text}, which is {spec.also}" if spec.also else spec.text


def _by_spec(old: Node, new: Node, models: Models) -> list[tuple[str, list[str]]]:
    """Models that share their limit in both editions, with what to call it."""
    groups: dict[tuple[Spec | None, Spec | None], list[str]] = {}
    for model in models:
        groups.setdefault((_spec(old.specs, model), _spec(new.specs, model)), []).append(model)
    if len(groups) == 1:
        return [("limit", list(models))]
    return [(f"limit for {', '.join(some)}", some) for some in groups.values()]


def _spec(specs: Sequence[Spec], model: str) -> Spec | None:
    general = next((spec for spec in specs if not spec.models), None)
    return next((spec for spec in specs if model in spec.models), general)


def _same_verdicts(old: Node, new: Node, models: Models) -> bool:
    """Whether all that is judged against the spec is judged alike, and anything is."""
    judged = [
        {
            outcome.test.verdict: _limits(outcome.test, old, node, models)
            for outcome in node.outcomes
            if outcome.test.verdict
        }
        for node in (old, new)
    ]
    both = judged[0].keys() & judged[1].keys()
    return bool(both) and all(judged[0][verdict] == judged[1][verdict] for verdict in both)


def _asks(test: Test) -> tuple[object, ...]:
    return test.quantifier, test.place, test.verdict


def _limits(test: Test, old: Node, node: Node, models: Models) -> object:
    """What a test takes on each model, in the old edition's unit where that can be."""
    if test.kind != "limit":
        return test.kind, None
    ranges = dict(test.ranges)
    factor, offset = Fraction(1), Fraction(0)
    unit = node.units[0].symbol if node.units else ""
    for one in old.units:
        if one.symbol == unit:
            factor, offset = Fraction(one.factor), Fraction(one.offset)
            break
    else:
        if old.units:
            return unit, tuple(ranges.items())

    def bound(value: str | None) -> Fraction | None:
        return None if value is None else Fraction(value) * factor + offset

    def interval(one: Range) -> object:
        return bound(one.low), one.low_included, bound(one.high), one.high_included

    return tuple(
        tuple(map(interval, ranges.get(model, ranges.get("*", ())))) for model in models
    )


def _said(outcome: Outcome) -> str:
    return f"“{outcome.label}”" + (f" ({outcome.detail})" if outcome.detail else "")
