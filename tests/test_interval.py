"""Interval algebra, against the library portion and against trying every value."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import portion
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from treewright.text.interval import (
    Interval,
    Limits,
    above,
    at_least,
    at_most,
    below,
    between,
    exactly,
    power_of_ten,
)

F = Fraction

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

ends = st.none() | st.integers(-6, 6).map(F) | st.fractions(-6, 6, max_denominator=4)
spans = st.builds(Interval, ends, st.booleans(), ends, st.booleans())
limits = st.lists(spans, max_size=5).map(lambda each: Limits.of(*each))


def oracle(of: Limits) -> portion.Interval:
    """The same set as portion builds it, one interval at a time."""
    whole = portion.empty()
    for one in of.intervals:
        whole |= portion_of(one)
    return whole


def portion_of(one: Interval) -> portion.Interval:
    return portion.Interval.from_atomic(
        portion.CLOSED if one.low_included else portion.OPEN,
        -portion.inf if one.low is None else one.low,
        portion.inf if one.high is None else one.high,
        portion.CLOSED if one.high_included else portion.OPEN,
    )


def probes(*sets: Limits) -> list[Fraction]:
    """Every break, the middle of every two, and one value beyond each end: nothing else counts."""
    breaks = sorted({value for each in sets for value in each.breakpoints()})
    if not breaks:
        return [F(0)]
    middles = [(low + high) / 2 for low, high in pairwise(breaks)]
    return [*breaks, *middles, breaks[0] - 1, breaks[-1] + 1]


@given(st.lists(spans, max_size=5))
def test_made_from_any_intervals_is_their_union(each: list[Interval]) -> None:
    whole = portion.empty()
    for one in each:
        whole |= portion_of(one)
    assert oracle(Limits.of(*each)) == whole


@given(limits, limits)
def test_algebra_agrees_with_portion(one: Limits, two: Limits) -> None:
    assert oracle(one | two) == oracle(one) | oracle(two)
    assert oracle(one & two) == oracle(one) & oracle(two)
    assert oracle(one - two) == oracle(one) - oracle(two)
    assert oracle(one.complement()) == ~oracle(one)
    assert one.is_empty == oracle(one).empty == (not one)


@given(limits, limits)
def test_algebra_agrees_with_every_value_tried(one: Limits, two: Limits) -> None:
    for value in probes(one, two):
        inside, inside_two = one.contains(value), two.contains(value)
        assert inside == (value in oracle(one))
        assert (one | two).contains(value) == (inside or inside_two)
        assert (one & two).contains(value) == (inside and inside_two)
        assert (one - two).contains(value) == (inside and not inside_two)
        assert one.complement().contains(value) != inside


@given(limits, limits)
def test_equal_sets_are_equal_objects(one: Limits, two: Limits) -> None:
    assert (one == two) == (oracle(one) == oracle(two))
    assert one.complement().complement() == one
    assert Limits(tuple(reversed(one.intervals))) == one


@given(limits)
def test_intervals_are_in_order_and_apart(one: Limits) -> None:
    for left, right in pairwise(one.intervals):
        assert left.high is not None and right.low is not None
        assert left.high <= right.low
        assert left.high < right.low or not (left.high_included or right.low_included)
    assert not any(each.is_empty for each in one.intervals)


@given(limits)
def test_example_lies_inside(one: Limits) -> None:
    if one.is_empty:
        with pytest.raises(ValueError, match="no value"):
            one.example()
    else:
        assert one.contains(one.example())


# What a person would name, read off a scale of tens. (Worked out by hand.)
@pytest.mark.parametrize(
    ("of", "expected"),
    [
        (exactly(F(43, 5)), F("8.6")),
        (between(8, F(43, 5)), F("8.1")),
        (between(150, 210), F("160")),
        (Limits.of(Interval(F("8.6"), False, F(9), False)), F("8.7")),
        (Limits.of(Interval(F("8.65"), True, F("8.75"), True)), F("8.7")),
        (between(0, F(1, 3)), F("0.1")),
        (above(F("8.6")), F("8.7")),
        (below(150), F("140")),
        (below(F(3, 8)), F("0.37")),
        (at_least(0), F(1)),
        (at_most(0), F(-1)),
        (below(-5), F("-5.1")),
        (Limits.ALL, F(0)),
    ],
)
def test_example_is_a_round_value(of: Limits, expected: Fraction) -> None:
    assert of.example() == expected


def test_words_of_the_language() -> None:
    assert at_least(8).contains(F(8)) and not above(8).contains(F(8))
    assert at_most(8).contains(F(8)) and not below(8).contains(F(8))
    assert between(8, 9).contains(F(8)) and between(8, 9).contains(F(9))
    assert between(9, 8) == Limits.NONE
    assert below(8) | at_least(8) == Limits.ALL
    assert (below(8) | above(8)).complement() == exactly(8)
    assert exactly(8).breakpoints() == (F(8),)


def test_an_end_that_is_not_there_is_never_included() -> None:
    assert Interval(None, True, None, True) == Interval(None, False, None, False)


@given(st.fractions(min_value=F(1, 10**9), max_value=10**9))
def test_power_of_ten(bound: Fraction) -> None:
    power = power_of_ten(bound)
    assert power <= bound < 10 * power
    assert power in {F(10) ** exponent for exponent in range(-9, 10)}
