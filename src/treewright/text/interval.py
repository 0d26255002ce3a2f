"""Sets of values on a line, exact: the limits of a reading and how they lie to each other.

Used to prove that answers cover every value once, and to show a value that falls between.
Knows nothing of units or of the language.
"""

from __future__ import annotations

from fractions import Fraction
from typing import ClassVar

from treewright.record import record

# A cut parts the line just before (False) or just after (True) a value; the first number puts
# the cuts below and above all values at the two ends. An interval is what lies between two.
_Cut = tuple[int, Fraction, bool]
_BELOW_ALL: _Cut = (-1, Fraction(0), False)
_ABOVE_ALL: _Cut = (1, Fraction(0), False)


@record
class Interval:
    """The values from `low` to `high`; None: no end there (and then nothing is included)."""

    low: Fraction | None
    low_included: bool
    high: Fraction | None
    high_included: bool

    def __post_init__(self) -> None:
        if self.low is None:
            object.__setattr__(self, "low_included", False)
        if self.high is None:
            object.__setattr__(self, "high_included", False)

    @property
    def is_point(self) -> bool:
        """It holds one value and no other."""
        return self.low is not None and self.low == self.high and not self.is_empty

    @property
    def is_empty(self) -> bool:
        start, end = _cuts(self)
        return start >= end


def _cuts(interval: Interval) -> tuple[_Cut, _Cut]:
    low, high = interval.low, interval.high
    start = _BELOW_ALL if low is None else (0, low, not interval.low_included)
    end = _ABOVE_ALL if high is None else (0, high, interval.high_included)
    return start, end


def _between(start: _Cut, end: _Cut) -> Interval:
    return Interval(
        start[1] if start != _BELOW_ALL else None,
        not start[2],
        end[1] if end != _ABOVE_ALL else None,
        end[2],
    )


@record
class Limits:
    """A set of values: intervals in rising order, none empty, no two that touch.

    Whatever intervals it is made from are brought into that form, so that two equal sets
    are equal objects.
    """

    intervals: tuple[Interval, ...]

    ALL: ClassVar[Limits]
    NONE: ClassVar[Limits]

    def __post_init__(self) -> None:
        merged: list[tuple[_Cut, _Cut]] = []
        for start, end in sorted(_cuts(interval) for interval in self.intervals):
            if start >= end:
                continue
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        object.__setattr__(self, "intervals", tuple(_between(*cuts) for cuts in merged))

    @classmethod
    def of(cls, *intervals: Interval) -> Limits:
        """All values that lie in any of the intervals."""
        return cls(intervals)

    def __or__(self, other: Limits) -> Limits:
        return Limits(self.intervals + other.intervals)

    def __and__(self, other: Limits) -> Limits:
        shared = []
        for one in self.intervals:
            for two in other.intervals:
                (start, end), (start_two, end_two) = _cuts(one), _cuts(two)
                start, end = max(start, start_two), min(end, end_two)
                if start < end:
                    shared.append(_between(start, end))
        return Limits(tuple(shared))

    def __sub__(self, other: Limits) -> Limits:
        return self & other.complement()

    def complement(self) -> Limits:
        """Every value that is not in it."""
        left, start = [], _BELOW_ALL
        for interval in self.intervals:
            end, after = _cuts(interval)
            if start < end:
                left.append(_between(start, end))
            start = after
        if start < _ABOVE_ALL:
            left.append(_between(start, _ABOVE_ALL))
        return Limits(tuple(left))

    def contains(self, value: Fraction) -> bool:
        before = (0, value, False)
        return any(start <= before < end for start, end in map(_cuts, self.intervals))

    @property
    def is_empty(self) -> bool:
        return not self.intervals

    def __bool__(self) -> bool:
        return bool(self.intervals)

    def breakpoints(self) -> tuple[Fraction, ...]:
        """The finite ends, rising, each once."""
        ends = {end for i in self.intervals for end in (i.low, i.high) if end is not None}
        return tuple(sorted(ends))

    def example(self) -> Fraction:
        """A round value inside, as a person would read it off a gauge.

        It lies in the first interval: the value itself where there is only one, otherwise a
        short decimal strictly inside, near an end.

        Raises:
            ValueError: there is no value inside.
        """
        if not self.intervals:
            raise ValueError("no value lies inside")
        first = self.intervals[0]
        if first.low is None or first.high is None:
            return _beyond(first)
        if first.is_point:
            return first.low
        step = power_of_ten(first.high - first.low)
        while True:
            value = (first.low // step + 1) * step
            if value < first.high:
                return value
            step /= 10


def _beyond(interval: Interval) -> Fraction:
    """A value of two significant digits just past the one finite end; 0 where there is none."""
    end = interval.low if interval.low is not None else interval.high
    if end is None:
        return Fraction(0)
    step = power_of_ten(abs(end) / 10) if end else Fraction(1)
    if interval.high is None:
        return (end // step + 1) * step
    return -(-end // step + 1) * step


def power_of_ten(bound: Fraction) -> Fraction:
    """The largest power of ten that is not above `bound`, which must be above 0."""
    digits = len(str(bound.numerator)) - len(str(bound.denominator))
    power = Fraction(10) ** digits
    return power if power <= bound else power / 10


Limits.ALL = Limits((Interval(None, False, None, False),))
Limits.NONE = Limits(())


def at_least(value: Fraction | int) -> Limits:
    return Limits.of(Interval(Fraction(value), True, None, False))


def at_most(value: Fraction | int) -> Limits:
    return Limits.of(Interval(None, False, Fraction(value), True))


def below(value: Fraction | int) -> Limits:
    return Limits.of(Interval(None, False, Fraction(value), False))


def above(value: Fraction | int) -> Limits:
    return Limits.of(Interval(Fraction(value), False, None, False))


def between(low: Fraction | int, high: Fraction | int) -> Limits:
    """From `low` to `high`, both included; no value at all where `low` is the greater."""
    return Limits.of(Interval(Fraction(low), True, Fraction(high), True))


def exactly(value: Fraction | int) -> Limits:
    return between(value, value)
