"""Coverage of a reading's answers, against brute force and against portion.

Brute force tries every value where something can change: each end of a limit, a value
between any two, and one beyond either end, at every place. All expected values here are
computed so, or by hand from the plain meaning of the words; none is taken from the code.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise, product

import portion
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from treewright.model.nodes import (
    Against,
    Otherwise,
    Outcome,
    Quantifier,
    Reading,
    Spec,
    Stated,
    Test,
    Verdict,
    Way,
)
from treewright.model.written import Text
from treewright.reason.limits import Values, coverage, judge, judgeable, region
from treewright.text.interval import (
    Interval,
    Limits,
    above,
    at_least,
    at_most,
    below,
    between,
    exactly,
)
from treewright.text.source import Source, Span
from treewright.text.units import Unit, find_unit

SOURCE = Source("made.tree", "made by hand")
PLACE = Span(SOURCE, 0, 4)
NOWHERE = Way("next", (), None, PLACE)


def unit(symbol: str) -> Unit:
    found = find_unit(symbol)
    assert found is not None
    return found


def reading(
    *tests: Test,
    places: tuple[str, ...] = (),
    specs: tuple[Spec, ...] = (),
    measured_in: Unit | None = None,
) -> Reading:
    outcomes = tuple(Outcome(f"a{at}", test, NOWHERE, PLACE) for at, test in enumerate(tests))
    return Reading(
        "made", Text("A reading", PLACE), PLACE,
        outcomes=outcomes, unit=measured_in, places=places, specs=specs,
    )  # fmt: skip


def spec(limits: Limits, *models: str, unit: Unit | None = None) -> Spec:
    return Spec(models, limits, unit, "", PLACE)


def stated(limits: Limits, quantifier: Quantifier = "one", place: str | None = None) -> Stated:
    return Stated(limits, None, quantifier, place)


# ---- the plain meaning of the words, for brute force -----------------------------------------


def applies(test: Stated, values: dict[str | None, Fraction]) -> bool:
    inside = [place for place, value in values.items() if holds(test.limits, value)]
    match test.quantifier:
        case "one":
            return inside == [None]
        case "all":
            return len(inside) == len(values)
        case "any":
            return len(inside) >= 1
        case "none":
            return len(inside) == 0
        case "only":
            return inside == [test.place]


def holds(limits: Limits, value: Fraction) -> bool:
    return any(
        (i.low is None or i.low < value or (i.low_included and i.low == value))
        and (i.high is None or value < i.high or (i.high_included and i.high == value))
        for i in limits.intervals
    )


def all_values(tests: list[Stated]) -> list[Fraction]:
    ends = sorted(
        {
            end
            for test in tests
            for interval in test.limits.intervals
            for end in (interval.low, interval.high)
            if end is not None
        }
    )
    if not ends:
        return [Fraction(0)]
    between_ends = [(one + two) / 2 for one, two in pairwise(ends)]
    return sorted([ends[0] - 1, *ends, *between_ends, ends[-1] + 1])


@st.composite
def intervals(draw: st.DrawFn) -> Interval:
    low, high = draw(st.none() | st.integers(0, 6)), draw(st.none() | st.integers(0, 6))
    return Interval(
        None if low is None else Fraction(low), draw(st.booleans()),
        None if high is None else Fraction(high), draw(st.booleans()),
    )  # fmt: skip


def limits() -> st.SearchStrategy[Limits]:
    return st.lists(intervals(), min_size=1, max_size=2).map(lambda some: Limits.of(*some))


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    places = draw(st.sampled_from([(), ("left",), ("left", "right"), ("left", "mid", "right")]))
    if places:
        one = st.builds(stated, limits(), st.sampled_from(["all", "any", "none"]))
        only = st.builds(stated, limits(), st.just("only"), st.sampled_from(places))
        tests = draw(st.lists(one | only, min_size=1, max_size=4))
    else:
        tests = draw(st.lists(st.builds(stated, limits()), min_size=1, max_size=4))
    return reading(*tests, *([Otherwise()] if draw(st.integers(0, 9)) == 0 else []), places=places)


def brute_force(made: Reading) -> list[tuple[dict[str | None, Fraction], list[int]]]:
    """Every case that can differ, with the answers that apply (`otherwise` left out)."""
    tests = [one.test for one in made.outcomes if isinstance(one.test, Stated)]
    places: tuple[str | None, ...] = made.places or (None,)
    cases = []
    for combination in product(all_values(tests), repeat=len(places)):
        values = dict(zip(places, combination, strict=True))
        cases.append((values, [at for at, test in enumerate(tests) if applies(test, values)]))
    return cases


@settings(max_examples=300, deadline=None)
@given(readings())
def test_coverage_against_brute_force(made: Reading) -> None:
    found = coverage(made, None)
    cases = brute_force(made)
    has_otherwise = isinstance(made.outcomes[-1].test, Otherwise)
    assert bool(found.gaps) == (not has_otherwise and any(not applying for _, applying in cases))
    expected = {pair for _, applying in cases for pair in combinations(applying, 2)}
    assert {(one.first, one.second) for one in found.overlaps} == expected
    tests = [one.test for one in made.outcomes if isinstance(one.test, Stated)]
    for gap in found.gaps:
        assert not any(applies(test, dict(gap.values)) for test in tests)
    for overlap in found.overlaps:
        assert applies(tests[overlap.first], dict(overlap.values))
        assert applies(tests[overlap.second], dict(overlap.values))


@settings(max_examples=300, deadline=None)
@given(readings())
def test_gaps_where_all_places_read_the_same_are_all_told(made: Reading) -> None:
    found = coverage(made, None)
    alike = [
        (next(iter(values.values())), applying)
        for values, applying in brute_force(made)
        if len(set(values.values())) == 1
    ]
    if not isinstance(made.outcomes[-1].test, Otherwise):
        told = [gap.limits for gap in found.gaps if gap.limits is not None]
        for value, applying in alike:
            assert any(holds(one, value) for one in told) == (not applying)


@settings(max_examples=200, deadline=None)
@given(readings())
def test_judge_against_brute_force(made: Reading) -> None:
    last = len(made.outcomes) - 1
    otherwise = (last,) if isinstance(made.outcomes[last].test, Otherwise) else ()
    for values, applying in brute_force(made):
        assert judge(made, None, values) == (tuple(applying) or otherwise)


def as_portion(limits: Limits) -> portion.Interval:
    result = portion.empty()
    for one in limits.intervals:
        result |= portion.Interval.from_atomic(
            portion.CLOSED if one.low_included else portion.OPEN,
            -portion.inf if one.low is None else one.low,
            portion.inf if one.high is None else one.high,
            portion.CLOSED if one.high_included else portion.OPEN,
        )
    return result


@settings(max_examples=200, deadline=None)
@given(st.lists(limits(), min_size=1, max_size=4))
def test_single_readings_against_portion(some: list[Limits]) -> None:
    found = coverage(reading(*map(stated, some)), None)
    covered = portion.empty()
    for one in some:
        covered |= as_portion(one)
    told = portion.empty()
    for gap in found.gaps:
        assert gap.limits is not None
        told |= as_portion(gap.limits)
    assert told == ~covered
    assert {(one.first, one.second) for one in found.overlaps} == {
        (first, second)
        for first, second in combinations(range(len(some)), 2)
        if not (as_portion(some[first]) & as_portion(some[second])).empty
    }


# ---- single cases ----------------------------------------------------------------------------


def test_outlets_that_no_answer_fits() -> None:
    low, high = Fraction(8), Fraction(43, 5)  # 8.0 to 8.6 bar
    good = stated(between(low, high), "all")
    any_low = stated(below(low), "any")
    only_left = stated(above(high), "only", "left")
    made = reading(good, any_low, only_left, places=("left", "right"), measured_in=unit("bar"))
    found = coverage(made, None)
    (gap,) = found.gaps
    assert gap.limits == above(high)  # both too high; a right one alone is no second cause
    (overlap,) = found.overlaps  # left too high and right too low
    assert (overlap.first, overlap.second) == (1, 2)
    complete = reading(good, any_low, only_left, Otherwise(), places=("left", "right"))
    assert coverage(complete, None).gaps == ()


def test_a_gap_that_only_different_values_show() -> None:
    good, low, high = between(8, 9), below(8), above(9)
    tests = (stated(good, "all"), stated(low, "all"), stated(high, "any"))
    made = reading(*tests, places=("left", "right"), measured_in=unit("bar"))
    (gap,) = coverage(made, None).gaps
    assert gap.limits is None
    assert sorted(holds(good, value) for _, value in gap.values) == [False, True]
    assert sorted(holds(low, value) for _, value in gap.values) == [False, True]


def test_the_one_place_that_no_answer_names() -> None:
    tests = (stated(below(8), "all"), stated(below(8), "none"), stated(below(8), "only", "left"))
    (gap,) = coverage(reading(*tests, places=("left", "right")), None).gaps
    assert [value < 8 for _, value in gap.values] == [False, True]
    named = (*tests, stated(below(8), "only", "right"))
    assert coverage(reading(*named, places=("left", "right")), None).gaps == ()


def test_twelve_places_each_named() -> None:
    places = tuple(f"cylinder-{at}" for at in range(1, 13))
    only = [stated(below(10), "only", place) for place in places]
    all_good, none_good = stated(at_least(10), "all"), stated(at_least(10), "none")
    found = coverage(reading(all_good, none_good, *only, places=places), None)
    (gap,) = found.gaps  # two cylinders low, or more, but not all
    weak = [value for _, value in gap.values if value < 10]
    assert 2 <= len(weak) < 12
    assert found.overlaps == ()
    complete = reading(all_good, none_good, *only, Otherwise(), places=places)
    assert coverage(complete, None) == coverage(reading(Otherwise()), None)


@pytest.mark.parametrize(
    ("limit", "verdict", "expected"),
    [
        (between(150, 210), "within", between(150, 210)),
        (between(150, 210), "below", below(150)),
        (between(150, 210), "above", above(210)),
        (at_least(8), "below", below(8)),
        (at_least(8), "above", Limits.NONE),
        (at_most(2), "above", above(2)),
        (below(5), "above", at_least(5)),
        (below(3) | above(5), "below", Limits.NONE),
        (exactly(4), "above", above(4)),
    ],
)
def test_what_a_verdict_means(limit: Limits, verdict: Verdict, expected: Limits) -> None:
    made = reading(Against(verdict), specs=(spec(limit),))
    assert region(made.outcomes[0], made, None) == expected


def test_each_model_has_its_own_limits() -> None:
    bar, psi = unit("bar"), unit("psi")
    specs = (spec(between(8, 9), unit=bar), spec(between(145, 160), "U60", unit=psi))
    tests = (Against("within"), Against("above"), stated(below(8)))
    made = reading(*tests, specs=specs, measured_in=bar)
    assert coverage(made, "B60") == coverage(reading(Otherwise()), None)
    gaps = coverage(made, "U60").gaps  # 145 psi are 9.997 bar: nothing from 8 bar up to there
    assert len(gaps) == 1
    assert gaps[0].limits is not None
    assert holds(gaps[0].limits, Fraction(999, 100))
    assert not holds(gaps[0].limits, Fraction(10))


def test_nothing_reads_below_zero() -> None:
    made = reading(stated(between(0, 3)), stated(above(3)), measured_in=unit("mm"))
    assert coverage(made, None).gaps == ()
    toe = reading(stated(between(-2, 2)), stated(above(2)), measured_in=unit("mm"))
    (gap,) = coverage(toe, None).gaps  # an offset: here it can be negative
    assert gap.limits == below(-2)


def test_a_gap_down_to_zero_is_told_as_below() -> None:
    made = reading(stated(at_least(3)), measured_in=unit("mm"))
    (gap,) = coverage(made, None).gaps
    assert gap.limits == below(3)
    assert 0 <= dict(gap.values)[None] < 3


def test_what_cannot_be_judged_has_no_gap() -> None:
    for made in (
        reading(Against("within")),  # no spec
        reading(Against("within"), specs=(spec(between(1, 2), "B80"),)),  # none for this model
        reading(stated(between(1, 2), "all")),  # no places
        reading(stated(between(1, 2)), places=("left",)),  # which place?
        reading(stated(between(1, 2), "only", "top"), places=("left",)),  # no such place
        reading(Stated(between(1, 2), unit("psi")), measured_in=unit("mm")),
        reading(),
    ):
        assert coverage(made, "B60") == coverage(reading(Otherwise()), None)
    assert judgeable(reading(Against("within"), specs=(spec(between(1, 2), "B80"),)), "B80")
    assert not judgeable(reading(Against("within"), specs=(spec(between(1, 2), "B80"),)), "B60")


def test_examples_are_round() -> None:
    made = reading(stated(between(8, Fraction(43, 5))), measured_in=unit("bar"))
    examples: list[Values] = [gap.values for gap in coverage(made, None).gaps]
    assert all(value.denominator in (1, 2, 5, 10) for values in examples for _, value in values)


def test_a_place_without_a_value() -> None:
    made = reading(stated(between(1, 2), "all"), places=("left", "right"))
    with pytest.raises(KeyError):
        judge(made, None, {"left": Fraction(1)})
