"""The texts of limits: what an answer asks for, in both unit systems, for each model.

A limit shown in the second unit system is rounded inward, so that nothing passes there that
the author's limit would fail.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from treewright.model.nodes import Against, Check, Otherwise, Outcome, Reading, Spec, Stated, Words
from treewright.model.tree import Tree
from treewright.reason.limits import region
from treewright.render import outline as out
from treewright.text import quantity, units
from treewright.text.interval import Limits
from treewright.text.units import Unit

_JOIN = " / "  # between a limit and the same in the other unit system


class Limiter:
    """Writes limits for one tree's unit systems."""

    def __init__(self, tree: Tree) -> None:
        self.systems = (tree.units, tree.also) if tree.also else (tree.units,)
        # By reading and model: the ends of its limits, and what is shown for each.
        self._ends: dict[tuple[str, str | None], dict[Fraction, Fraction]] = {}

    def other(self, unit: Unit | None) -> Unit | None:
        """The unit in which a limit is shown besides its own; None where there is none."""
        if unit is None:
            return None
        found = (units.partner(unit, system) for system in self.systems)
        return next((partner for partner in found if partner is not None), None)

    def also(self, limits: Limits, unit: Unit | None) -> str:
        other = self.other(unit)
        if unit is None or other is None or limits.is_empty:
            return ""
        return quantity.inward_text(limits, unit, other)

    def units(self, reading: Reading) -> tuple[out.Unit, ...]:
        """The units a reading may be typed in, its own first."""
        own = reading.unit
        if own is None:
            return ()
        found = []
        for unit in units.typable(own, self.systems):
            zero = units.convert(_ZERO, unit, own)
            factor = units.convert(_ONE, unit, own) - zero
            found.append(out.Unit(unit.symbol, str(factor), str(zero)))
        return tuple(found)

    def specs(self, reading: Reading) -> tuple[out.Spec, ...]:
        return tuple(
            out.Spec(spec.models, self.spec_text(spec), self.also(spec.limits, spec.unit))
            for spec in reading.specs
        )

    def spec_text(self, spec: Spec) -> str:
        """A spec as written, and the range behind a tolerance."""
        text = spec.text
        if spec.bare and spec.unit is not None:
            text = f"{text} {spec.unit.symbol}"
        low, high = spec.limits.intervals[0].low, spec.limits.intervals[-1].high
        plain = low is None or high is None or low == high or " to " in f" {text} "
        if plain or spec.unit is None:
            return text
        shown = quantity.limits_text(spec.limits, spec.unit, fractions=_in_fractions(spec))
        return f"{text} ({shown})"

    def label(self, node: Check | Reading, outcome: Outcome) -> str:
        """The author's words, with the unit where they leave it out."""
        match outcome.test:
            case Stated(bare=True, unit=Unit() as unit):
                return f"{outcome.label} {unit.symbol}"
            case _:
                return outcome.label

    def detail(self, node: Check | Reading, outcome: Outcome) -> str:
        """The limit behind an answer: for a verdict by model, for a limit in the other unit."""
        if not isinstance(node, Reading):
            return ""
        match outcome.test:
            case Words() | Otherwise():
                return ""
            case Stated(limits=limits, unit=unit) as test:
                return _at_places(test, limits, lambda some: self.answered(node, None, some, unit))
            case Against():
                parts = []
                for spec in node.specs:
                    text = self.against(node, outcome, spec)
                    who = ", ".join(spec.models) if spec.models else "others"
                    named = spec.models or len(node.specs) > 1
                    parts += [f"{who}: {text}" if named else text] if text else []
                return "; ".join(parts)

    def details(self, node: Check | Reading, outcome: Outcome) -> tuple[tuple[str, str], ...]:
        """The limit behind a verdict, by model; "*" for every model that no spec names.

        A model on which nothing can be so has an empty text, so that it does not take the
        one of "*".
        """
        if not isinstance(node, Reading) or not isinstance(outcome.test, Against):
            return ()
        return tuple(
            (model, self.against(node, outcome, spec))
            for spec in node.specs
            for model in spec.models or ("*",)
        )

    def against(self, node: Reading, outcome: Outcome, spec: Spec) -> str:
        """What a verdict asks for under one spec; "" where nothing can be so."""
        model = spec.models[0] if spec.models else None
        limits = region(outcome, node, model)
        if limits.is_empty or not isinstance(outcome.test, Against):
            return ""

        def both(some: Limits) -> str:
            own = quantity.limits_text(some, spec.unit, fractions=_in_fractions(spec))
            also = self.answered(node, model, some, spec.unit)
            return f"{own}{_JOIN}{also}" if also else own

        return _at_places(outcome.test, limits, both)

    def answered(
        self, node: Reading, model: str | None, limits: Limits, unit: Unit | None
    ) -> str:
        """An answer's limits in the other unit system; "" where there is none.

        All answers of a reading show the same values there for the ends they share.
        """
        other = self.other(unit)
        if unit is None or other is None or unit != node.unit:
            return self.also(limits, unit)
        key = (node.name, model)
        if key not in self._ends:
            answers = [
                region(outcome, node, model)
                for outcome in node.outcomes
                if not isinstance(outcome.test, Otherwise)
            ]
            good = Limits.NONE
            for index in node.normal:
                test = node.outcomes[index].test
                if isinstance(test, Against | Stated):
                    inside = region(node.outcomes[index], node, model)
                    good |= inside.complement() if test.quantifier == "none" else inside
            self._ends[key] = quantity.shown_ends(good, answers, unit, other)
        return quantity.limits_between(limits, self._ends[key], other)

    def test(self, node: Check | Reading, outcome: Outcome) -> out.Test:
        """What decides an answer, exactly."""
        test = outcome.test
        match test:
            case Words():
                return out.Test("answer", "one", None, None, ())
            case Otherwise():
                return out.Test("otherwise", "one", None, None, ())
            case Stated(limits=limits):
                stated = (("*", _ranges(limits)),)
                return out.Test("limit", test.quantifier, test.place, None, stated)
            case Against():
                if not isinstance(node, Reading):
                    return out.Test("limit", "one", None, test.verdict, ())
                ranges = tuple(
                    (model or "*", _ranges(region(outcome, node, model)))
                    for spec in node.specs
                    for model in spec.models or (None,)
                )
                return out.Test("limit", test.quantifier, test.place, test.verdict, ranges)


def _at_places(test: Against | Stated, limits: Limits, write: Callable[[Limits], str]) -> str:
    """A limit as it is asked for at the places; `write` puts limits into words.

    `none` and `only` say that places lie outside. What lies outside is written and rounded as
    a limit of its own: rounding the limit inward would let a value pass that lies inside.
    """
    match test.quantifier:
        case "none":
            outside = write(limits.complement())
            return f"all {outside}" if outside else ""
        case "only":
            inside, outside = write(limits), write(limits.complement())
            return f"{test.place} {inside}, the others {outside}" if inside and outside else ""
        case _:
            return write(limits)


def _in_fractions(spec: Spec) -> bool:
    """Whether the author wrote fractions, "3/8 in"."""
    return re.search(r"\d/\d", spec.text) is not None


def _ranges(limits: Limits) -> tuple[out.Range, ...]:
    return tuple(
        out.Range(
            None if one.low is None else str(one.low),
            one.low_included,
            None if one.high is None else str(one.high),
            one.high_included,
        )
        for one in limits.intervals
    )


_ZERO, _ONE = Fraction(0), Fraction(1)
