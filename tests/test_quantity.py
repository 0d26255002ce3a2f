"""Units, numbers, limits and durations, against pint, NIST SP 811 and facts of the trade."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

import pint
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
)
from treewright.text.quantity import (
    inward_text,
    limits_text,
    minutes,
    minutes_text,
    number_text,
    quantity_text,
    read_number,
)
from treewright.text.units import (
    Unit,
    convert,
    convert_difference,
    find_unit,
    lowest,
    near_units,
    partner,
    typable,
)

F = Fraction

# No test here is timed: pint alone takes longer to load than an example may by default.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")

# Every unit of the language reference, with pint's name for it; "" where pint has none.
PINT_NAMES = {
    "Pa": "pascal", "hPa": "hectopascal", "kPa": "kilopascal", "MPa": "megapascal", "bar": "bar",
    "mbar": "millibar", "psi": "psi", "inHg": "inch_Hg", "inH2O": "", "mmHg": "mmHg",
    "m": "meter", "cm": "centimeter", "mm": "millimeter", "um": "micrometer", "km": "kilometer",
    "in": "inch", "ft": "foot", "yd": "yard", "mi": "mile", "thou": "thou",
    "°C": "degC", "degC": "degC", "°F": "degF", "degF": "degF",
    "K": "kelvin", "°F-diff": "delta_degF", "°": "degree", "deg": "degree",
    "s": "second", "min": "minute", "h": "hour", "ms": "millisecond", "d": "day",
    "L": "liter", "mL": "milliliter", "m3": "meter**3", "cm3": "centimeter**3", "gal": "gallon",
    "qt": "quart", "floz": "fluid_ounce",
    "kg": "kilogram", "g": "gram", "mg": "milligram", "t": "metric_ton", "lb": "pound",
    "oz": "ounce", "N": "newton", "kN": "kilonewton", "lbf": "force_pound",
    "Nm": "newton*meter", "lbf-ft": "force_pound*foot", "lbf-in": "force_pound*inch",
    "km/h": "kilometer/hour", "mph": "mile/hour", "m/s": "meter/second",
    "mm/s": "millimeter/second", "ft/min": "foot/minute", "rpm": "revolution/minute",
    "Hz": "hertz", "kHz": "kilohertz", "V": "volt", "mV": "millivolt", "kV": "kilovolt",
    "A": "ampere", "mA": "milliampere", "uA": "microampere",
    "ohm": "ohm", "kohm": "kiloohm", "Mohm": "megaohm", "mohm": "milliohm",
    "W": "watt", "kW": "kilowatt", "hp": "horsepower", "uF": "microfarad", "nF": "nanofarad",
    "L/min": "liter/minute", "L/s": "liter/second", "L/h": "liter/hour", "m3/h": "meter**3/hour",
    "gal/min": "gallon/minute", "cfm": "foot**3/minute", "%": "percent", "dB": "",
    "pH": "", "drops": "", "turns": "revolution", "strokes": "", "cycles": "", "starts": "",
    "times": "",
    # over a time
    "bar/min": "bar/minute", "psi/min": "psi/minute", "°C/min": "delta_degC/minute",
    "°F/h": "delta_degF/hour", "gal/h": "gallon/hour", "floz/min": "fluid_ounce/minute",
    "in/s": "inch/second", "mL/min": "milliliter/minute", "turns/min": "revolution/minute",
    "drops/min": "", "starts/h": "",
}  # fmt: skip


def unit(written: str) -> Unit:
    found = find_unit(written)
    assert found is not None, written
    return found


@cache
def registry() -> pint.UnitRegistry[float]:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@cache
def pairs() -> list[tuple[str, str]]:
    known = [name for name, theirs in PINT_NAMES.items() if theirs]
    return [
        (one, two) for one in known for two in known if unit(one).dimension == unit(two).dimension
    ]


def test_every_unit_of_the_reference_is_found() -> None:
    missing = [name for name in PINT_NAMES if find_unit(name) is None]
    assert missing == []


@given(st.data(), st.fractions(-(10**6), 10**6, max_denominator=1000))
def test_conversion_agrees_with_pint(data: st.DataObject, value: Fraction) -> None:
    one, two = data.draw(st.sampled_from(pairs()))
    theirs = registry().Quantity(float(value), PINT_NAMES[one]).to(PINT_NAMES[two]).magnitude
    ours = convert(value, unit(one), unit(two))
    # An offset taken off a float loses digits of the larger number: judge against that.
    scale = max(abs(float(ours)), 500.0 if unit(one).offset else 0.0)
    # pint's inHg and mmHg carry the density of mercury as it prints it: same convention.
    assert abs(theirs - float(ours)) <= 1e-12 * scale


@given(st.data(), st.fractions())
def test_conversion_there_and_back_is_exact(data: st.DataObject, value: Fraction) -> None:
    one, two = data.draw(st.sampled_from(pairs()))
    assert convert(convert(value, unit(one), unit(two)), unit(two), unit(one)) == value
    moved = convert(value + 1, unit(one), unit(two)) - convert(value, unit(one), unit(two))
    assert moved == convert_difference(F(1), unit(one), unit(two)) > 0


def test_units_of_other_dimensions_do_not_convert() -> None:
    pairs_apart = [("bar", "mm"), ("rpm", "Hz"), ("°C", "K"), ("bar", "bar/min"), ("N", "Nm")]
    for one, two in pairs_apart:
        for work in (convert, convert_difference):
            with pytest.raises(ValueError, match="measures"):
                work(F(1), unit(one), unit(two))


# NIST SP 811 (2008), appendix B.8; the first five are printed there as exact (value from
# memory, and listed in the project's design notes).
@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        ("1", "in", "mm", "25.4"),
        ("1", "lb", "kg", "0.45359237"),
        ("1", "gal", "L", "3.785411784"),
        ("1", "mi", "m", "1609.344"),
        ("1", "ft", "m", "0.3048"),
        ("100", "°C", "°F", "212"),  # F = 9/5 C + 32, NIST SP 811 B.8
        ("32", "°F", "°C", "0"),
        ("-40", "°C", "°F", "-40"),  # the two scales meet there; computed from the same formula
        ("60", "rpm", "turns/s", "1"),  # by definition of a minute
        ("1", "m3/h", "L/h", "1000"),  # by definition of the litre
    ],
)
def test_exact_factors(value: str, source: str, target: str, expected: str) -> None:
    assert convert(F(value), unit(source), unit(target)) == F(expected)


# NIST SP 811 (2008), appendix B.8, as printed there to seven digits (value from memory).
@pytest.mark.parametrize(
    ("source", "target", "printed"),
    [
        ("psi", "kPa", 6.894757),
        ("inHg", "Pa", 3386.389),
        ("inH2O", "Pa", 249.0889),
        ("mmHg", "Pa", 133.3224),
        ("lbf", "N", 4.448222),
        ("lbf-ft", "Nm", 1.355818),
        ("lbf-in", "Nm", 0.1129848),
        ("hp", "W", 745.6999),
        ("floz", "mL", 29.57353),
        ("qt", "L", 0.9463529),
        ("oz", "g", 28.34952),
        ("mph", "km/h", 1.609344),
        ("gal/min", "L/s", 0.06309020),
        ("cfm", "L/s", 0.4719474),
    ],
)
def test_printed_factors(source: str, target: str, printed: float) -> None:
    ours = float(convert(F(1), unit(source), unit(target)))
    assert ours == pytest.approx(printed, rel=5e-7)


def test_facts_of_the_trade() -> None:
    # All common practice, no source: the figures a workshop writes side by side.
    assert convert(F("0.030"), unit("in"), unit("mm")) == F("0.762")
    assert convert(F("0.090"), unit("in"), unit("mm")) == F("2.286")
    assert convert(read_number("3/8"), unit("in"), unit("mm")) == F("9.525")
    assert number_text(convert(F(125), unit("°F"), unit("°C")), 2) == "51.67"
    assert number_text(convert(F(10), unit("mph"), unit("km/h")), 2) == "16.09"
    assert number_text(convert(F(12), unit("mph"), unit("km/h")), 2) == "19.31"
    assert number_text(convert(F(5), unit("gal"), unit("L")), 2) == "18.93"
    assert convert_difference(F(5), unit("°C"), unit("°F")) == 9


def test_spellings_of_one_unit_are_one_unit() -> None:
    alike = [
        ("°C", "degC", "℃"), ("°", "deg", "º"), ("um", "µm", "μm"), ("Nm", "N·m", "N⋅m"),
        ("lbf-ft", "lbf·ft", "ft-lb"), ("ohm", "Ω", "\u2126"), ("kohm", "kΩ"), ("L", "l"),
        ("gal/min", "gpm"), ("m3", "m³"), ("m3/h", "m³/h"), ("L/min", "l/min"),
        ("drops/min", "drop/min"), ("bar/min", "bar / min"),
    ]  # fmt: skip
    for spellings in alike:
        assert len({unit(spelling) for spelling in spellings}) == 1, spellings


def test_a_symbol_reads_back() -> None:
    for name in PINT_NAMES:
        assert find_unit(unit(name).symbol) == unit(name)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Bar", ("bar",)), ("PSI", ("psi",)), ("Kpa", ("kPa",)), ("RPM", ("rpm",)),
        ("mm2", ("mm",)), ("sec", ("s",)), ("hrs", ("h",)), ("inches", ("in",)), ("C", ("°C",)),
        ("MOHM", ("Mohm", "mohm")), ("ft-lbs", ("lbf-ft",)), ("bar/sec", ("bar/s",)),
        ("Bar/MIN", ("bar/min",)), ("bar per min", ("bar/min",)), ("widgets", ()), ("", ()),
        ("/min", ()),
    ],
)  # fmt: skip
def test_spelling_help(written: str, meant: tuple[str, ...]) -> None:
    assert find_unit(written) is None
    assert near_units(written) == meant


@given(st.text(max_size=12))
def test_any_text_is_a_unit_or_not(written: str) -> None:
    find_unit(written)
    near = near_units(written)
    assert len(near) <= 3
    assert all(find_unit(name) is not None for name in near)


def test_partner_is_of_the_other_system() -> None:
    # The pairs a workshop uses: common practice, no source.
    expected = {
        "bar": "psi", "kPa": "psi", "mm": "in", "cm": "in", "m": "ft", "°C": "°F", "L": "gal",
        "mL": "floz", "L/min": "gal/min", "kg": "lb", "Nm": "lbf·ft", "km/h": "mph",
        "K": "°F-diff", "bar/min": "psi/min", "kW": "hp", "N": "lbf", "°C/min": "°F/min",
    }  # fmt: skip
    for metric, us in expected.items():
        found = partner(unit(metric), "us")
        assert found is not None and found.symbol == us
        assert partner(unit(metric), "metric") is None
    back = {
        "psi": "bar", "in": "mm", "°F": "°C", "psi/min": "bar/min", "thou": "mm", "gpm": "L/min",
    }  # fmt: skip
    for us, metric in back.items():
        found = partner(unit(us), "metric")
        assert found is not None and found.symbol == metric
    for shared in ("V", "s", "ohm", "rpm", "%", "drops/min", "Hz", "°"):
        assert partner(unit(shared), "us") is None and partner(unit(shared), "metric") is None


@pytest.mark.parametrize("name", PINT_NAMES)
@pytest.mark.parametrize("systems", [("metric",), ("us",), ("metric", "us")])
def test_partners_and_typable_units_measure_the_same(name: str, systems: tuple[str, ...]) -> None:
    own = unit(name)
    choice = typable(own, systems)
    assert choice[0] == own and 1 <= len(choice) <= 4 and len(set(choice)) == len(choice)
    for other in choice[1:]:
        assert other.dimension == own.dimension
        assert other.system == "both" or other.system in systems
    for system in ("metric", "us"):
        other_system = partner(own, system)
        if own.system in ("both", system):
            assert other_system is None
        else:
            assert other_system is not None
            assert (other_system.dimension, other_system.system) == (own.dimension, system)
            if system in systems:
                assert other_system in choice


def test_lowest() -> None:
    assert lowest(unit("°C")) == F("-273.15")  # 0 K by definition of the scale
    assert lowest(unit("°F")) == F("-459.67")  # the same through F = 9/5 C + 32
    for name in ("s", "mm", "L", "kg", "rpm", "Hz", "ohm", "%", "drops", "starts/h", "m/s", "gpm"):
        assert lowest(unit(name)) == 0
    for name in ("bar", "V", "A", "K", "bar/min", "°C/min", "kW", "dB", "°"):
        assert lowest(unit(name)) is None


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("8", F(8)), ("8.0", F(8)), ("3/8", F(3, 8)), ("1 1/2", F(3, 2)), ("-0.4", F(-2, 5)),
        ("−0.4", F(-2, 5)), (".060", F(6, 100)), ("1-1/2", F(3, 2)), ("1½", F(3, 2)),
        ("¾", F(3, 4)), ("+5", F(5)), (" 12 ", F(12)), ("-1 1/2", F(-3, 2)), ("5/4", F(5, 4)),
    ],
)  # fmt: skip
def test_read_number(written: str, value: Fraction) -> None:
    assert read_number(written) == value


@pytest.mark.parametrize(
    "written",
    ["", "8,6", "8.", "1e3", "1 000", "1/0", "1 3/2", "--4", "٣", "8 bar", "0x8", "1/2/3", "nan",
     "½½", "1_0", "9" * 5000],
)  # fmt: skip
def test_read_number_refuses(written: str) -> None:
    with pytest.raises(ValueError, match=r"number|comma|divides"):
        read_number(written)


@given(st.text(alphabet="0123456789.,/ -+½¾⅜⁄−", max_size=14))
def test_read_number_reads_or_says_why(written: str) -> None:
    try:
        read_number(written)
    except ValueError as wrong:
        assert str(wrong).startswith("`")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (F(8), "8"), (F("8.60"), "8.6"), (F(3, 8), "0.375"), (F(1, 64), "0.015625"),
        (F(1, 3), "0.3333"), (F(-2, 3), "-0.6667"), (F(10**6), "1000000"), (F(0), "0"),
        (F(1, 10**9), "0.000000001"), (F(200000, 3), "66670"), (F(1, 128), "0.0078125"),
        (F(10**6 + 1, 10**7), "0.1"),
        (F("0.99999999"), "1"),
    ],
)  # fmt: skip
def test_number_text(value: Fraction, text: str) -> None:
    assert number_text(value) == text


@given(st.decimals(-(10**6), 10**6, places=6))
def test_number_text_is_read_back(value: object) -> None:
    assert read_number(number_text(F(str(value)))) == F(str(value))


@given(st.fractions(min_value=F(1, 10**9), max_value=10**9))
def test_number_text_is_near_and_without_exponent(value: Fraction) -> None:
    text = number_text(value)
    assert re.fullmatch(r"[0-9]+(\.[0-9]+)?", text)
    assert abs(F(text) - value) * 2000 <= value


@given(st.fractions(-1000, 1000), st.integers(0, 5))
def test_number_text_with_decimals(value: Fraction, decimals: int) -> None:
    text = number_text(value, decimals)
    assert len(text.partition(".")[2]) == decimals
    assert abs(F(text) - value) * 2 * 10**decimals <= 1


def test_quantity_text() -> None:
    assert quantity_text(F("8.6"), unit("bar")) == "8.6 bar"
    assert quantity_text(F(90), unit("deg")) == "90°"
    assert quantity_text(F(90), unit("degC")) == "90 °C"
    assert quantity_text(F(10), unit("%")) == "10 %"
    assert quantity_text(F(3), None) == "3"


half_open = Limits.of(Interval(F(3), True, F(5), False))


@pytest.mark.parametrize(
    ("limits", "name", "text"),
    [
        (between(8, F("8.6")), "bar", "8 to 8.6 bar"),
        (below(8), "bar", "below 8 bar"),
        (above(8), "bar", "above 8 bar"),
        (at_least(8), "bar", "at least 8 bar"),
        (at_most(8), "bar", "at most 8 bar"),
        (below(3) | above(5), "bar", "below 3 or above 5 bar"),
        (half_open, "bar", "at least 3 and below 5 bar"),
        (exactly(F(3, 8)), "in", "0.375 in"),
        (exactly(F(1, 128)), "in", "0.0078125 in"),  # never rounded
        (between(88, 92), "deg", "88° to 92°"),
        (between(F(1, 3), 2), "bar", "0.34 to 2 bar"),  # 1/3 has no decimal: inward
        (Limits.ALL, "bar", "any value"),
        (Limits.NONE, "bar", "no value"),
    ],
)
def test_limits_text(limits: Limits, name: str, text: str) -> None:
    assert limits_text(limits, unit(name)) == text


def test_limits_text_without_unit_and_with_decimals() -> None:
    assert limits_text(below(3) | above(5), None) == "below 3 or above 5"
    assert limits_text(between(8, F("8.6")), unit("bar"), 1) == "8.0 to 8.6 bar"
    assert limits_text(at_least(F("8.25")), unit("bar"), 1) == "at least 8.25 bar"


# Each end converted by the exact factor and rounded by hand, into the limit.
@pytest.mark.parametrize(
    ("limits", "source", "target", "text"),
    [
        (between(8, F("8.6")), "bar", "psi", "116.1 to 124.7 psi"),  # 116.030, 124.732
        (between(10, 12), "mph", "km/h", "16.1 to 19.3 km/h"),  # 16.093, 19.312
        (between(F("0.03"), F("0.09")), "in", "mm", "0.77 to 2.28 mm"),  # 0.762, 2.286
        (at_least(125), "°F", "°C", "at least 51.7 °C"),  # 51.667
        (at_least(0), "°C", "°F", "at least 32 °F"),
        (at_most(8), "bar", "psi", "at most 116 psi"),  # 116.030
        (below(3) | above(5), "bar", "psi", "below 43.5 or above 72.6 psi"),  # 43.511, 72.519
        (exactly(F(3, 8)), "in", "mm", "9.525 mm"),
        (exactly(8), "bar", "psi", ""),  # no decimal writes it, so nothing may pass
        (at_least(F("-0.4")), "bar", "psi", "at least -5.8 psi"),  # -5.8015
        (Limits.ALL, "bar", "psi", ""),
    ],
)
def test_inward_text(limits: Limits, source: str, target: str, text: str) -> None:
    assert inward_text(limits, unit(source), unit(target)) == text


WORDS = re.compile(
    r"(?P<low>-?[0-9.]+) to (?P<high>-?[0-9.]+)"
    r"|(?:(?P<from>at least|above) (?P<from_value>-?[0-9.]+))?"
    r"(?: and )?(?:(?P<upto>at most|below) (?P<upto_value>-?[0-9.]+))?"
    r"|(?P<point>-?[0-9.]+)"
)


def read_back(text: str, unit_shown: Unit) -> Limits:
    """What a shown limit accepts, read by its words alone."""
    if text == "any value":
        return Limits.ALL
    found = Limits.NONE
    if unit_shown.symbol == "°":  # the only one that stands at every number
        assert re.sub(r"[0-9]°", "", text).count("°") == 0
        numbers = text.replace("°", "")
    else:
        assert text.endswith(f" {unit_shown.symbol}")
        numbers = text.removesuffix(f" {unit_shown.symbol}")
    for part in numbers.split(" or "):
        match = WORDS.fullmatch(part)
        assert match, part
        if match["low"]:
            found |= between(F(match["low"]), F(match["high"]))
        elif match["point"]:
            found |= exactly(F(match["point"]))
        else:
            accepted = Limits.ALL
            if match["from"]:
                from_value = F(match["from_value"])
                accepted &= (at_least if match["from"] == "at least" else above)(from_value)
            if match["upto"]:
                upto_value = F(match["upto_value"])
                accepted &= (at_most if match["upto"] == "at most" else below)(upto_value)
            found |= accepted
    return found


values = st.fractions(-2000, 2000, max_denominator=640)
intervals = st.builds(
    Interval, st.none() | values, st.booleans(), st.none() | values, st.booleans()
)
author_limits = st.lists(intervals, min_size=1, max_size=2).map(lambda each: Limits.of(*each))


@given(author_limits, st.data())
def test_shown_limits_pass_nothing_that_the_author_fails(
    limits: Limits, data: st.DataObject
) -> None:
    one, two = (unit(name) for name in data.draw(st.sampled_from(pairs())))
    text = inward_text(limits, one, two)
    if not text or text == "no value":
        points = any(each.is_point for each in limits.intervals)
        assert limits.is_empty or limits == Limits.ALL or points
        return
    exact = Limits.of(*(moved(each, one, two) for each in limits.intervals))
    shown = read_back(text, two)
    assert shown - exact == Limits.NONE
    assert len(shown.intervals) == len(limits.intervals)
    for mine, theirs in zip(exact.intervals, shown.intervals, strict=True):
        if mine.low is not None and mine.high is not None:
            assert theirs.low is not None and theirs.high is not None
            assert (theirs.high - theirs.low) * 10 >= (mine.high - mine.low) * 9


def moved(one: Interval, source: Unit, target: Unit) -> Interval:
    low = None if one.low is None else convert(one.low, source, target)
    high = None if one.high is None else convert(one.high, source, target)
    return Interval(low, one.low_included, high, one.high_included)


@given(author_limits)
def test_limits_text_passes_nothing_that_the_author_fails(limits: Limits) -> None:
    if any(each.is_point for each in limits.intervals) or limits.is_empty:
        return
    shown = read_back(limits_text(limits, unit("bar")), unit("bar"))
    assert shown - limits == Limits.NONE
    # Where ten places write every end (denominators go up to 640 = 2^7 * 5), nothing is rounded.
    if all((end * 10**10).denominator == 1 for end in limits.breakpoints()):
        assert shown == limits


@given(st.lists(st.decimals(-900, 900, places=3), min_size=2, max_size=2, unique=True))
def test_limits_text_never_rounds_a_decimal(ends: list[object]) -> None:
    low, high = sorted(F(str(end)) for end in ends)
    for limits in (between(low, high), at_least(low), below(high), below(low) | above(high)):
        assert read_back(limits_text(limits, unit("psi")), unit("psi")) == limits


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2 min", F(2)), ("4 h", F(240)), ("1 h 30 min", F(90)), ("90 s", F(3, 2)),
        ("1.5 h", F(90)), ("1h30min", F(90)), ("1 1/2 h", F(90)), ("2 d", F(2880)),
        ("0 min", F(0)), ("½ h", F(30)),
    ],
)  # fmt: skip
def test_minutes(text: str, expected: Fraction) -> None:
    assert minutes(text) == expected


@pytest.mark.parametrize(
    "text",
    ["", "5", "2 m", "1 h 30", "30 min 1 h", "1 h 2 h", "-2 min", "1,5 h", "four h", "2 bar",
     "1/0 h", "2 minutes", "min", "2 min."],
)  # fmt: skip
def test_minutes_refuses(text: str) -> None:
    with pytest.raises(ValueError, match=r"time|comma|divides"):
        minutes(text)


@given(st.integers(0, 10**6))
def test_minutes_text_reads_back(seconds: int) -> None:
    assert minutes(minutes_text(F(seconds, 60))) * 60 == seconds


def test_minutes_text() -> None:
    assert minutes_text(F(90)) == "1 h 30 min"
    assert minutes_text(F(240)) == "4 h"
    assert minutes_text(F(2)) == "2 min"
    assert minutes_text(F(1, 2)) == "30 s"
    assert minutes_text(F(0)) == "0 min"
    assert minutes_text(F(7, 3)) == "2 min 20 s"
    assert minutes_text(F("59.999")) == "1 h"  # carried, not "59 min 60 s"
