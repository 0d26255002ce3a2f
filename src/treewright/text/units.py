"""The closed table of units of measure, exact, and what a workshop writes beside each.

Factors are fractions, never binary floats, so that a limit is the same number wherever it
is shown. They come from NIST SP 811 (2008), appendix B; where it prints a rounded value
(psi, inHg, hp) the exact product of its definition is taken. Knows nothing of limits or of
the language's blocks.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Literal

from treewright.record import record

System = Literal["metric", "us", "both"]


@record
class Unit:
    """A unit of measure: value in the dimension's base = value * factor + offset.

    Attributes:
        symbol: as shown, "bar", "N·m", "°C"; `find_unit` reads it back.
        dimension: what it measures; units of one dimension convert to each other.
        system: the workshop it belongs to; "both" where the two share it.
    """

    symbol: str
    dimension: str
    factor: Fraction
    offset: Fraction
    system: System


_INCH = Fraction(254, 10_000)  # m
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_POUND = Fraction(45_359_237, 100_000_000)  # kg
_GALLON = Fraction(3_785_411_784, 10**12)  # m3, US
_GRAVITY = Fraction(980_665, 100_000)  # m/s2, standard
_POUND_FORCE = _POUND * _GRAVITY  # N
_MERCURY = Fraction(135_951, 10)  # kg/m3, conventional
_WATER = Fraction(1000)  # kg/m3, conventional
_MILLI, _MICRO = Fraction(1, 1000), Fraction(1, 10**6)

# Dimension; then spelling in the language (further spellings after a blank), factor, system.
# The first spelling is also what is shown, but for those in _SHOWN.
_Row = tuple[str, Fraction | int, System]
_TABLE: tuple[tuple[str, tuple[_Row, ...]], ...] = (
    ("pressure", (
        ("Pa", 1, "metric"), ("hPa", 100, "metric"), ("kPa", 1000, "metric"),
        ("MPa", 10**6, "metric"), ("bar", 10**5, "metric"), ("mbar", 100, "metric"),
        ("psi", _POUND_FORCE / _INCH**2, "us"),
        ("inHg", _MERCURY * _GRAVITY * _INCH, "us"),
        ("inH2O", _WATER * _GRAVITY * _INCH, "us"),
        ("mmHg", _MERCURY * _GRAVITY * _MILLI, "metric"),
    )),
    ("length", (
        ("m", 1, "metric"), ("cm", Fraction(1, 100), "metric"), ("mm", _MILLI, "metric"),
        ("um", _MICRO, "metric"), ("km", 1000, "metric"), ("in", _INCH, "us"),
        ("ft", _FOOT, "us"), ("yd", 3 * _FOOT, "us"), ("mi", _MILE, "us"),
        ("thou", _INCH / 1000, "us"),
    )),
    ("temperature", (("°C degC", 1, "metric"), ("°F degF", Fraction(5, 9), "us"))),
    ("temperature difference", (
        ("K", 1, "metric"), ("°F-diff F-diff degF-diff", Fraction(5, 9), "us"),
    )),
    ("angle", (("° deg", 1, "both"),)),
    ("time", (
        ("s", 1, "both"), ("min", 60, "both"), ("h", 3600, "both"), ("ms", _MILLI, "both"),
        ("d", 86_400, "both"),
    )),
    ("volume", (
        ("L l", _MILLI, "metric"), ("mL ml", _MICRO, "metric"), ("m3", 1, "metric"),
        ("cm3", _MICRO, "metric"), ("gal", _GALLON, "us"), ("qt", _GALLON / 4, "us"),
        ("floz", _GALLON / 128, "us"),
    )),
    ("mass", (
        ("kg", 1, "metric"), ("g", _MILLI, "metric"), ("mg", _MICRO, "metric"),
        ("t", 1000, "metric"), ("lb", _POUND, "us"), ("oz", _POUND / 16, "us"),
    )),
    ("force", (("N", 1, "metric"), ("kN", 1000, "metric"), ("lbf", _POUND_FORCE, "us"))),
    ("torque", (
        ("Nm N·m N-m", 1, "metric"),
        ("lbf-ft lbf·ft ft-lb ft-lbf lb-ft ft·lb ft·lbf lb·ft", _POUND_FORCE * _FOOT, "us"),
        ("lbf-in lbf·in in-lb in-lbf lb-in in·lb in·lbf lb·in", _POUND_FORCE * _INCH, "us"),
    )),
    ("speed", (
        ("km/h", Fraction(1000, 3600), "metric"), ("mph", _MILE / 3600, "us"),
        ("m/s", 1, "metric"), ("mm/s", _MILLI, "metric"), ("ft/min", _FOOT / 60, "us"),
    )),
    ("turning", (("rpm rev/min r/min", Fraction(1, 60), "both"),)),
    ("frequency", (("Hz", 1, "both"), ("kHz", 1000, "both"))),
    ("voltage", (("V", 1, "both"), ("mV", _MILLI, "both"), ("kV", 1000, "both"))),
    ("current", (("A", 1, "both"), ("mA", _MILLI, "both"), ("uA", _MICRO, "both"))),
    ("resistance", (
        ("ohm", 1, "both"), ("kohm", 1000, "both"), ("Mohm", 10**6, "both"),
        ("mohm", _MILLI, "both"),
    )),
    ("power", (
        ("W", 1, "both"), ("kW", 1000, "metric"), ("hp", 550 * _FOOT * _POUND_FORCE, "us"),
    )),
    ("capacitance", (("uF", _MICRO, "both"), ("nF", Fraction(1, 10**9), "both"))),
    ("flow", (
        ("L/min l/min", _MILLI / 60, "metric"), ("L/s l/s", _MILLI, "metric"),
        ("L/h l/h", _MILLI / 3600, "metric"), ("m3/h", Fraction(1, 3600), "metric"),
        ("gal/min gpm", _GALLON / 60, "us"), ("cfm", _FOOT**3 / 60, "us"),
    )),
    ("share", (("%", Fraction(1, 100), "both"),)),
    ("sound", (("dB", 1, "both"),)),
    ("acidity", (("pH", 1, "both"),)),
    ("drops", (("drops drop", 1, "both"),)),
    ("turns", (("turns turn", 1, "both"),)),
    ("strokes", (("strokes stroke", 1, "both"),)),
    ("cycles", (("cycles cycle", 1, "both"),)),
    ("starts", (("starts start", 1, "both"),)),
    ("times", (("times time", 1, "both"),)),
)  # fmt: skip

_OFFSETS = {"°C": Fraction(27_315, 100), "°F": Fraction(45_967, 100) * Fraction(5, 9)}  # to kelvin

_SHOWN = {
    "um": "µm", "uA": "µA", "uF": "µF", "Nm": "N·m", "lbf-ft": "lbf·ft", "lbf-in": "lbf·in",
    "ohm": "Ω", "kohm": "kΩ", "Mohm": "MΩ", "mohm": "mΩ", "m3": "m³", "cm3": "cm³",
    "m3/h": "m³/h",
}  # fmt: skip

# A dimension over time that has a name of its own.
_RATES = {"length/time": "speed", "volume/time": "flow", "turns/time": "turning"}

# Look-alikes that keyboards and word processors put in place of one another.
_ALIKE = str.maketrans({
    "µ": "u", "μ": "u", "Ω": "ohm", "\u2126": "ohm", "³": "3", "º": "°", "˚": "°", "⋅": "·",
    "•": "·", "∙": "·", "℃": "°C", "℉": "°F", "∕": "/", "⁄": "/", "‑": "-", "\u2010": "-",
})  # fmt: skip

# The usual unit of the other system, in both directions; spellings as in the table.
_PARTNERS = {
    "Pa": "inH2O", "hPa": "inHg", "kPa": "psi", "MPa": "psi", "bar": "psi", "mbar": "inH2O",
    "mmHg": "inHg", "psi": "bar", "inHg": "kPa", "inH2O": "mbar",
    "m": "ft", "cm": "in", "mm": "in", "um": "thou", "km": "mi",
    "in": "mm", "ft": "m", "yd": "m", "mi": "km", "thou": "mm",
    "°C": "°F", "°F": "°C", "K": "°F-diff", "°F-diff": "K",
    "L": "gal", "mL": "floz", "m3": "gal", "cm3": "floz", "gal": "L", "qt": "L", "floz": "mL",
    "kg": "lb", "g": "oz", "mg": "oz", "t": "lb", "lb": "kg", "oz": "g",
    "N": "lbf", "kN": "lbf", "lbf": "N", "Nm": "lbf-ft", "lbf-ft": "Nm", "lbf-in": "Nm",
    "km/h": "mph", "mph": "km/h", "m/s": "ft/min", "ft/min": "m/s", "mm/s": "in/s",
    "kW": "hp", "hp": "kW",
    "L/min": "gal/min", "L/s": "gal/min", "L/h": "gal/h", "gal/min": "L/min",
    "m3/h": "cfm", "cfm": "m3/h",
}  # fmt: skip

# What a technician may have a gauge for, the most usual first.
_USUAL = {
    "pressure": "bar psi kPa inHg mbar inH2O MPa",
    "length": "mm in cm m ft thou",
    "temperature": "°C °F",
    "temperature difference": "K °F-diff",
    "time": "s min h",
    "volume": "L gal mL qt floz",
    "mass": "kg lb g oz",
    "force": "N lbf kN",
    "torque": "Nm lbf-ft lbf-in",
    "speed": "km/h mph m/s ft/min",
    "frequency": "Hz kHz",
    "voltage": "V mV kV",
    "current": "A mA uA",
    "resistance": "ohm kohm Mohm mohm",
    "power": "kW hp W",
    "capacitance": "uF nF",
    "flow": "L/min gal/min m3/h cfm L/s",
}

# How the words of everyday writing are spelt in the language.
_WORDS = {
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "mins": "min", "minute": "min",
    "minutes": "min", "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "day": "d", "days": "d",
    "inch": "in", "inches": "in", '"': "in", "foot": "ft", "feet": "ft", "'": "ft", "mil": "thou",
    "mils": "thou", "yard": "yd", "yards": "yd", "mile": "mi", "miles": "mi", "micron": "um",
    "microns": "um", "meter": "m", "metre": "m", "meters": "m", "metres": "m",
    "c": "°C", "f": "°F", "celsius": "°C", "fahrenheit": "°F", "deg c": "°C", "deg f": "°F",
    "degrees c": "°C", "degrees f": "°F", "° c": "°C", "° f": "°F", "degree": "°", "degrees": "°",
    "liter": "L", "litre": "L", "liters": "L", "litres": "L", "lt": "L", "ltr": "L",
    "cc": "cm3", "gallon": "gal", "gallons": "gal", "quart": "qt", "quarts": "qt",
    "kilo": "kg", "kilos": "kg", "tonne": "t", "tonnes": "t", "lbs": "lb",
    "pound": "lb", "pounds": "lb", "ounce": "oz", "ounces": "oz", "psig": "psi", "bars": "bar",
    "kph": "km/h", "kmh": "km/h", "lpm": "L/min", "volt": "V", "volts": "V",
    "amp": "A", "amps": "A", "ohms": "ohm", "watt": "W", "watts": "W", "horsepower": "hp",
    "percent": "%", "pct": "%", "vac": "V", "vdc": "V",
}  # fmt: skip


def _plain(written: str) -> str:
    return written.strip().translate(_ALIKE)


def _table() -> tuple[dict[str, Unit], dict[str, str]]:
    """Units by every spelling, and the language's own spelling by symbol."""
    units: dict[str, Unit] = {}
    spellings: dict[str, str] = {}
    for dimension, rows in _TABLE:
        for written, factor, system in rows:
            first, *others = written.split(" ")
            offset = _OFFSETS.get(first, Fraction(0))
            symbol = _SHOWN.get(first, first)
            unit = Unit(symbol, dimension, Fraction(factor), offset, system)
            spellings[symbol] = first
            for spelling in (first, *others):
                units[spelling] = unit
    return units, spellings


_UNITS, _SPELLINGS = _table()
_FOLDED = frozenset(spelling.casefold() for spelling in _UNITS)


@lru_cache(maxsize=1024)
def find_unit(written: str) -> Unit | None:
    """The unit of that spelling, upper and lower case as written; None: there is none.

    A unit over a time ("bar/min", "starts/h") is made from its two parts. A temperature
    over a time is a rate of change and so has no offset.
    """
    plain = _plain(written)
    if plain in _UNITS:
        return _UNITS[plain]
    head, _, tail = (part.strip() for part in plain.rpartition("/"))
    over, time = _UNITS.get(head), _UNITS.get(tail)
    if over is None or time is None or time.dimension != "time":
        return None
    changes = "temperature difference" if over.dimension == "temperature" else over.dimension
    dimension = _RATES.get(f"{changes}/time", f"{changes}/time")
    symbol = f"{over.symbol}/{time.symbol}"
    if symbol in _SPELLINGS:  # "l/min", "turn/min" and the like are the table's own
        return _UNITS[_SPELLINGS[symbol]]
    return Unit(symbol, dimension, over.factor / time.factor, Fraction(0), over.system)


def near_units(written: str) -> tuple[str, ...]:
    """Spellings that may have been meant, the likeliest first, at most three; () if none.

    Each is a spelling that `find_unit` reads.
    """
    plain = _plain(written).replace(" per ", "/")
    head, slash, tail = plain.rpartition("/")
    if slash and plain.casefold() not in _FOLDED:
        heads = (head,) if find_unit(head) else near_units(head)
        tails = (tail,) if find_unit(tail) else near_units(tail)
        made = [f"{one.strip()}/{other.strip()}" for one in heads for other in tails]
        return tuple(name for name in made if find_unit(name))[:3]
    return tuple(_close(plain))


def other_case(written: str) -> str:
    """The one spelling that differs from it in capital letters alone; "" where none or several.

    Nor where a capital tells a million from a thousandth: `mPa` is no `MPa` for certain.
    """
    head, slash, tail = written.rpartition("/")
    if slash and written.casefold() not in _FOLDED:
        parts = [part if part in _UNITS else other_case(part) for part in (head, tail)]
        made = "/".join(parts)
        return made if all(parts) and find_unit(made) else ""
    same = {_UNITS[name].symbol for name in _UNITS if name.casefold() == written.casefold()}
    if len(same) != 1 or written in _UNITS:
        return ""
    meant = _SPELLINGS[same.pop()]
    whole = _UNITS.get(meant[1:])
    prefixed = whole is not None and whole.dimension == _UNITS[meant].dimension
    return "" if prefixed and meant[0] in "mM" and meant[0] != written[0] else meant


def _close(plain: str) -> list[str]:
    folded = plain.casefold().rstrip(".")
    same = [name for name in _UNITS if name.casefold() == folded]
    if folded in _WORDS:
        same.append(_WORDS[folded])
    if not same:
        import difflib  # only needed to word a mistake

        bare = folded.rstrip("0123456789")
        same = [name for name in _UNITS if name.casefold() == bare]
        if not same and len(bare) > 1:
            same = difflib.get_close_matches(plain, _UNITS, n=3, cutoff=0.6)
    own = dict.fromkeys(_SPELLINGS[_UNITS[name].symbol] for name in same)
    return list(own)[:3]


def _spelling(unit: Unit) -> str:
    return _SPELLINGS.get(unit.symbol, unit.symbol)


def partner(unit: Unit, system: str) -> Unit | None:
    """The usual workshop unit in `system` for what is measured in `unit`.

    Returns None where both systems share the unit or it is of that system already.
    """
    if unit.system in ("both", system):
        return None
    name = _PARTNERS.get(_spelling(unit))
    if name is not None:
        return find_unit(name)
    head, _, tail = unit.symbol.rpartition("/")
    over = find_unit(head)
    other = partner(over, system) if over is not None else None
    return find_unit(f"{other.symbol}/{tail}") if other is not None else None


def typable(unit: Unit, systems: tuple[str, ...]) -> tuple[Unit, ...]:
    """Units in which a reading in `unit` may be typed: itself, its partners, other usual ones.

    Others are left out where they are more than a hundred times larger or smaller, unless
    they are a prefix away (V and mV).

    Args:
        systems: those the tree is written for, "metric", "us" or both.

    Returns:
        One to four units of one dimension, `unit` first.
    """
    found = [unit, *(other for system in systems if (other := partner(unit, system)))]
    usual = [find_unit(name) for name in _USUAL.get(unit.dimension, "").split()]
    head, _, tail = unit.symbol.rpartition("/")
    if not usual and (over := find_unit(head)) is not None:
        usual = [find_unit(f"{other.symbol}/{tail}") for other in typable(over, systems)]
    for other in usual:
        if other is None or (other.system != "both" and other.system not in systems):
            continue
        size = max(other.factor / unit.factor, unit.factor / other.factor)
        if size <= 100 or size == 1000:
            found.append(other)
    return tuple(dict.fromkeys(found))[:4]


def convert(value: Fraction, source: Unit, target: Unit) -> Fraction:
    """A value in `source` as a value in `target`, exact.

    Raises:
        ValueError: the two do not measure the same thing.
    """
    _same_dimension(source, target)
    return (value * source.factor + source.offset - target.offset) / target.factor


def convert_difference(value: Fraction, source: Unit, target: Unit) -> Fraction:
    """A difference or tolerance in `source` as one in `target`: 5 °C apart is 9 °F apart.

    Raises:
        ValueError: the two do not measure the same thing.
    """
    _same_dimension(source, target)
    return value * source.factor / target.factor


def _same_dimension(source: Unit, target: Unit) -> None:
    if source.dimension != target.dimension:
        raise ValueError(
            f"{source.symbol} measures {source.dimension}, "
            f"{target.symbol} measures {target.dimension}"
        )


_COUNTED = ("drops", "turns", "strokes", "cycles", "starts", "times")
_NOT_NEGATIVE = frozenset((
    "length", "time", "volume", "mass", "speed", "turning", "frequency", "resistance",
    "capacitance", "flow", "share", *_COUNTED, "mass/time", "time/time",
    *(f"{counted}/time" for counted in _COUNTED),
))  # fmt: skip


def lowest(unit: Unit) -> Fraction | None:
    """The smallest value that can be read, in `unit`; None where it can be negative.

    Absolute zero for temperatures. An author whose own limits go below it measures an
    offset ("toe -2 to 2 mm"): callers then leave it out.
    """
    if unit.dimension == "temperature":
        return -unit.offset / unit.factor
    return Fraction(0) if unit.dimension in _NOT_NEGATIVE else None
