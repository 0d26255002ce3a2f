"""Numbers, quantities, limits and durations: reading them and writing them for people.

Everything is exact until it is written; where a written number must be rounded, a limit is
rounded inward. Knows nothing of blocks, nodes or outputs.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction

from treewright.record import record
from treewright.text.interval import Interval, Limits, power_of_ten
from treewright.text.units import Unit, convert, find_unit


@record
class Quantity:
    """A value with its unit. `written` is the author's own text: "3/8 in"."""

    value: Fraction
    unit: Unit | None
    written: str


_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_DECIMAL = re.compile(r"[0-9]{1,15}(\.[0-9]{1,15})?|\.[0-9]{1,15}")
_FRACTION = re.compile(r"(?:([0-9]{1,9})[ \-])?([0-9]{1,9})/([0-9]{1,9})")


def read_number(text: str) -> Fraction:
    """A number as a trainer writes it: "8", "8.0", ".060", "3/8", "1 1/2", "1-1/2", "1½", "-0.4".

    Raises:
        ValueError: it is none; the message says what to write.
    """
    plain = " ".join(text.replace("−", "-").split())
    for mark, fraction in _VULGAR.items():
        plain = plain.replace(mark, f" {fraction}")
    plain = plain.replace("⁄", "/").strip()
    sign = -1 if plain.startswith("-") else 1
    body = plain[1:].strip() if plain.startswith(("-", "+")) else plain
    if _DECIMAL.fullmatch(body):
        return sign * Fraction(body)
    if parts := _FRACTION.fullmatch(" ".join(body.split())):
        whole, above, below = (int(part or 0) for part in parts.groups())
        if below == 0:
            raise ValueError(f"`{text}` divides by 0")
        if parts[1] is not None and above >= below:
            raise ValueError(f"`{text}` is no number: the fraction after the whole is 1 or more")
        return sign * (whole + Fraction(above, below))
    if re.fullmatch(r"[0-9]+,[0-9]+", body):
        raise ValueError(f"`{text}` has a comma: write decimals with a point")
    raise ValueError(f"`{text}` is no number: write it like 8.6, 3/8 or 1 1/2")


def number_text(value: Fraction, decimals: int | None = None) -> str:
    """A number in decimals, never with an exponent.

    Args:
        decimals: how many to show, rounded half away from zero. Left out: the exact number
            where it has at most six decimals or six digits, otherwise four significant ones.
    """
    if decimals is not None:
        return _fixed(value, decimals)
    exact = _exact_decimals(value)
    if exact is not None and (exact <= 6 or abs(value) * 10**exact < 10**6):
        return _fixed(value, exact)
    step = power_of_ten(abs(value)) / 1000
    rounded = _round_half_up(value / step) * step
    return _fixed(rounded, _exact_decimals(rounded) or 0)


def _round_half_up(value: Fraction) -> int:
    whole = (2 * abs(value) + 1) // 2
    return int(whole if value >= 0 else -whole)


def _fixed(value: Fraction, decimals: int) -> str:
    scaled = _round_half_up(value * 10**decimals)
    digits = str(abs(scaled)).rjust(decimals + 1, "0")
    text = f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    return f"-{text}" if scaled < 0 else text


def _exact_decimals(value: Fraction) -> int | None:
    """How many decimals write it exactly; None where none do."""
    rest, twos, fives = value.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None


def _joined(number: str, unit: Unit | None) -> str:
    if unit is None:
        return number
    return f"{number}{unit.symbol}" if _is_tight(unit) else f"{number} {unit.symbol}"


def _is_tight(unit: Unit) -> bool:
    """The degree of angle stands close to its number: 90°, but 90 °C."""
    return unit.dimension in ("angle", "angle/time")


def quantity_text(value: Fraction, unit: Unit | None) -> str:
    """A value with its unit: "8.6 bar", "90°", "10 %"."""
    return _joined(number_text(value), unit)


def fraction_text(value: Fraction) -> str:
    """A value as a rule shows it, "1 1/2"; as a decimal where its denominator is no power of
    two up to 64."""
    if value.denominator not in (2, 4, 8, 16, 32, 64):
        return number_text(value)
    whole, rest = divmod(abs(value), 1)
    text = f"{whole} {rest}" if whole else f"{rest}"
    return f"-{text}" if value < 0 else text


def limits_text(
    limits: Limits, unit: Unit | None, decimals: int = 0, fractions: bool = False
) -> str:
    """Limits in the words of the language: "8 to 8.6 bar", "below 3 or above 5 bar".

    Never rounds, but for an end that no decimal writes (1/3): that is rounded inward.

    Args:
        decimals: how many each number has at least.
        fractions: write 3/8 and not 0.375, as fractions of an inch are read.
    """
    return _worded(_inward(limits, only_endless=True) or limits, unit, decimals, fractions)


def _worded(limits: Limits, unit: Unit | None, decimals: int, fractions: bool = False) -> str:
    if limits.is_empty:
        return "no value"
    tight = unit is not None and _is_tight(unit)

    def number(value: Fraction) -> str:
        exact = _exact_decimals(value)
        if fractions:
            return fraction_text(value)
        text = number_text(value) if exact is None else _fixed(value, max(exact, decimals))
        return _joined(text, unit) if tight else text

    parts = []
    for one in limits.intervals:
        low = one.low if one.low is None else number(one.low)
        high = one.high if one.high is None else number(one.high)
        if low is None and high is None:
            return "any value"
        if one.is_point:
            parts.append(low or "")
        elif low and high and one.low_included and one.high_included:
            parts.append(f"{low} to {high}")
        else:
            ends = []
            if low is not None:
                ends.append(f"{'at least' if one.low_included else 'above'} {low}")
            if high is not None:
                ends.append(f"{'at most' if one.high_included else 'below'} {high}")
            parts.append(" and ".join(ends))
    text = " or ".join(parts)
    return text if tight else _joined(text, unit)


def inward_text(limits: Limits, source: Unit, target: Unit) -> str:
    """Limits in `source` as they are shown in `target`, rounded inward.

    No value passes as shown that the author's limits would fail: a low end is rounded up, a
    high end down. Between two ends the step is the largest power of ten that is not above
    1/20 of the width, so that nine tenths of the width at least are left. At a single end
    it is not above 1/200 of the value (about three digits). An end that the step meets
    exactly stays as it is.

    Returns:
        The text; "" where there is nothing to show: no limit at all, or a single value that
        no decimal writes in `target`.

    Raises:
        ValueError: the two units do not measure the same thing.
    """

    shown = _inward(converted(limits, source, target))
    return "" if shown is None or shown == Limits.ALL else _worded(shown, target, 0)


def shown_ends(
    good: Limits, answers: Iterable[Limits], source: Unit, target: Unit
) -> dict[Fraction, Fraction]:
    """For each end of a reading's limits in `source`: the value shown for it in `target`.

    All answers that share an end show the same value for it, so that no value falls between
    them in `target` either. The ends of the good answer are rounded inward (see
    `inward_text`), which is the careful side; the others to the nearest step.

    Args:
        good: the limits of the good answer.
        answers: the limits of all answers.

    Returns:
        The ends; one that no decimal can show (of a single good value) is left out.
    """
    ends: dict[Fraction, Fraction] = {}
    for one in good.intervals:
        moved = converted(Limits((one,)), source, target)
        shown = _inward(moved)
        if shown is not None:
            [new_one] = shown.intervals
            for own, new in ((one.low, new_one.low), (one.high, new_one.high)):
                if own is not None and new is not None:
                    ends[own] = new
    single = {one.low for one in good.intervals if one.is_point}
    rest = sorted({end for one in answers for end in one.breakpoints()} - set(ends) - single)
    known = sorted({*rest, *ends})
    for end in rest:
        value = convert(end, source, target)
        at = known.index(end)
        widths = [
            abs(convert(other, source, target) - value) / 20
            for other in (*known[max(at - 1, 0) : at], *known[at + 1 : at + 2])
        ]
        bound = min([abs(value) / 200, *widths]) if value else min(widths, default=Fraction(1))
        step = power_of_ten(bound)
        ends[end] = _round_half_up(value / step) * step
    return ends


def limits_between(limits: Limits, ends: Mapping[Fraction, Fraction], target: Unit) -> str:
    """Limits in the words of the language with the ends of `shown_ends`; "" where one is
    missing or there is no limit at all."""
    if limits in (Limits.ALL, Limits.NONE) or not all(e in ends for e in limits.breakpoints()):
        return ""
    moved = Limits.of(
        *(
            Interval(
                None if one.low is None else ends[one.low], one.low_included,
                None if one.high is None else ends[one.high], one.high_included,
            )
            for one in limits.intervals
        )
    )  # fmt: skip
    return "" if moved.is_empty else _worded(moved, target, 0)


def converted(limits: Limits, source: Unit, target: Unit) -> Limits:
    """The same limits in another unit, exactly (all scales rise together).

    Raises:
        ValueError: the two units do not measure the same thing.
    """
    if source == target:
        return limits

    def moved(end: Fraction | None) -> Fraction | None:
        return None if end is None else convert(end, source, target)

    return Limits(
        tuple(
            Interval(moved(one.low), one.low_included, moved(one.high), one.high_included)
            for one in limits.intervals
        )
    )


def _inward(limits: Limits, only_endless: bool = False) -> Limits | None:
    """Limits with every end a short decimal, none wider; None where a single value has none.

    Args:
        only_endless: leave every end that some decimal writes exactly as it is.
    """

    def up(end: Fraction, step: Fraction) -> Fraction:
        keep = only_endless and _exact_decimals(end) is not None
        return end if keep else -(-end // step) * step

    def down(end: Fraction, step: Fraction) -> Fraction:
        return -up(-end, step)

    rounded = []
    for one in limits.intervals:
        low, high = one.low, one.high
        if one.is_point:
            if low is None or _exact_decimals(low) is None:
                return None
        elif low is not None and high is not None:
            step = power_of_ten((high - low) / 20)
            low, high = up(low, step), down(high, step)
        elif low:
            low = up(low, power_of_ten(abs(low) / 200))
        elif high:
            high = down(high, power_of_ten(abs(high) / 200))
        rounded.append(Interval(low, one.low_included, high, one.high_included))
    return Limits(tuple(rounded))


_DURATION = re.compile(r"([0-9.,/ ½¼¾-]*[0-9½¼¾])\s*([a-zA-Z]+)")


def minutes(text: str) -> Fraction:
    """A duration in minutes: "2 min", "4 h", "1 h 30 min", "90 s", "1.5 h", "2 d".

    Raises:
        ValueError: it is none; the message says what to write.
    """
    total, at, size = Fraction(0), 0, None
    plain = text.strip()
    while at < len(plain):
        part = _DURATION.match(plain, at)
        unit = find_unit(part[2]) if part else None
        if part is None or unit is None or unit.dimension != "time":
            raise ValueError(f"`{text}` is no time: write it like 2 min, 90 s, 1 h 30 min or 2 d")
        if size is not None and unit.factor >= size:
            raise ValueError(f"`{text}` is no time: write the larger unit first, each once")
        value = read_number(part[1])
        if value < 0:
            raise ValueError(f"`{text}` is less than no time")
        total, size, at = total + value * unit.factor / 60, unit.factor, part.end()
        while at < len(plain) and plain[at].isspace():
            at += 1
    if size is None:
        raise ValueError("no time is written: write it like 2 min, 90 s or 1 h 30 min")
    return total


def minutes_text(value: Fraction) -> str:
    """A duration in minutes for people: "1 h 30 min", "4 h", "2 min", "45 s".

    From one minute up it is rounded to whole seconds.
    """
    seconds = value * 60
    if abs(seconds) < 60:
        return f"{number_text(seconds)} s" if seconds else "0 min"
    whole = _round_half_up(abs(seconds))
    parts = [(whole // 3600, "h"), (whole // 60 % 60, "min"), (whole % 60, "s")]
    text = " ".join(f"{count} {unit}" for count, unit in parts if count)
    return f"-{text}" if value < 0 else text
