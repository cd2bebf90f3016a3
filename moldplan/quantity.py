"""Quantities as a builder writes them: "1/2 in", "305 ± 2 mm", "1:40", "450 g/m2" -> plain numbers.

In       a number, or a text with its unit.
Out      mm, deg, kg, kg/m2, kg/m3, s, deg C, or a slope (drop over plan run); QuantityError says what is allowed.
Not here the range of a field (spec/fields.py), its line in the file (spec/load.py).

Numbers and fractions are read by an own small grammar; the units that occur stand in a table that a test holds
against pint, and any other unit is asked of pint, which is slow to start and so started only then. pint reads no
whole texts here: it takes "305 ± 2 mm" for 610 mm and "1:60" for 60.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

INCH = 25.4
POUND = 0.45359237
LONGEST_TEXT = 80


class QuantityError(ValueError):
    """A text or number that is not the quantity asked for; one line: what is allowed, and why this is not it."""

    def __init__(self, allowed: str, why: str):
        self.allowed, self.why = allowed, why
        super().__init__(f"allowed {allowed}, because {why}")


@dataclass(frozen=True)
class Toleranced:
    """A value with what it may be off, plus or minus."""

    value: float
    tolerance: float = 0.0


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: its name, the unit it is kept in, an example, and whether a bare number is understood."""

    name: str
    unit: str
    example: str
    bare: bool = True

    @property
    def allowed(self) -> str:
        return f"{self.name} in {self.unit}, or text such as {self.example}" if self.bare else (
            f"{self.name} with its unit, such as {self.example}")


LENGTH = Kind("a length", "mm", '300, "12 in", "1 ft 3 1/2 in" or "30 cm"')
ANGLE = Kind("an angle", "deg", '4, "4 deg" or "0.07 rad"')
SLOPE = Kind("a slope", "", '1:40, "2 %" or "1.1 deg"', bare=False)
MASS = Kind("a mass", "kg", '11, "24 lb" or "500 g"')
AREAL_WEIGHT = Kind("an areal weight", "kg/m2", '"450 g/m2" or "12 oz/yd2"', bare=False)
DENSITY = Kind("a density", "kg/m3", '80, "80 kg/m3" or "5 lb/ft3"')
DURATION = Kind("a duration", "s", '"25 min" or "4 h"', bare=False)
TEMPERATURE = Kind("a temperature", "deg C", '20, "20 degC" or "68 degF"')

# unit -> (kind, factor); tests/test_quantity.py holds each row against pint
UNITS: dict[str, tuple[Kind, float]] = {
    "mm": (LENGTH, 1.0), "cm": (LENGTH, 10.0), "dm": (LENGTH, 100.0), "m": (LENGTH, 1000.0),
    "in": (LENGTH, INCH), "inch": (LENGTH, INCH), "inches": (LENGTH, INCH),
    "ft": (LENGTH, 12 * INCH), "foot": (LENGTH, 12 * INCH), "feet": (LENGTH, 12 * INCH),
    "yd": (LENGTH, 36 * INCH),
    "deg": (ANGLE, 1.0), "degree": (ANGLE, 1.0), "degrees": (ANGLE, 1.0), "°": (ANGLE, 1.0),
    "rad": (ANGLE, 180 / math.pi),
    "kg": (MASS, 1.0), "g": (MASS, 0.001), "t": (MASS, 1000.0),
    "lb": (MASS, POUND), "lbs": (MASS, POUND), "oz": (MASS, POUND / 16),
    "g/m2": (AREAL_WEIGHT, 0.001), "kg/m2": (AREAL_WEIGHT, 1.0),
    "oz/yd2": (AREAL_WEIGHT, POUND / 16 / (36 * INCH / 1000) ** 2),
    "oz/ft2": (AREAL_WEIGHT, POUND / 16 / (12 * INCH / 1000) ** 2),
    "kg/m3": (DENSITY, 1.0), "g/cm3": (DENSITY, 1000.0),
    "lb/ft3": (DENSITY, POUND / (12 * INCH / 1000) ** 3),
    "s": (DURATION, 1.0), "min": (DURATION, 60.0), "h": (DURATION, 3600.0), "hour": (DURATION, 3600.0),
    "hours": (DURATION, 3600.0), "day": (DURATION, 86400.0), "days": (DURATION, 86400.0), "d": (DURATION, 86400.0),
    "%": (SLOPE, 0.01), "in/ft": (SLOPE, 1 / 12), "mm/m": (SLOPE, 0.001), "cm/m": (SLOPE, 0.01),
}
_MARKS = {'"': "in", "''": "in", "'": "ft"}
_COMPOUND = {("ft", "in"), ("lb", "oz"), ("h", "min"), ("min", "s"), ("days", "h"), ("d", "h")}
_SAME = {"inch": "in", "inches": "in", "foot": "ft", "feet": "ft", "lbs": "lb", "hour": "h", "hours": "h"}
_DEGREES = {"degC": (1.0, 0.0), "C": (1.0, 0.0), "°C": (1.0, 0.0), "celsius": (1.0, 0.0),
            "degF": (5 / 9, -160 / 9), "F": (5 / 9, -160 / 9), "°F": (5 / 9, -160 / 9), "K": (1.0, -273.15)}
_DIMENSIONS = {"[length]": LENGTH, "[mass]": MASS, "[time]": DURATION, "[mass] / [length] ** 2": AREAL_WEIGHT,
               "[mass] / [length] ** 3": DENSITY}

_TERM = re.compile(
    r"""\s*(?:
        (?P<whole>\d+)(?:\s+|-)(?P<top>\d+)\s*/\s*(?P<bottom>\d+)
      | (?P<over>\d+)\s*/\s*(?P<under>\d+)
      | (?P<decimal>(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)
    )\s*(?P<unit>''|['"%]|°(?:[CF]\b)?|[^\W\d_]+\.?\^?[23]?(?:\s*/\s*[^\W\d_]+\.?\^?[23]?)?)?\s*""",
    re.VERBOSE,
)
_PLUS_MINUS = re.compile(r"±|\+\s*/?\s*-")
_RATIO = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(?::|\bin\b)\s*(\d+(?:\.\d+)?)\s*")
_TYPED = str.maketrans({
    "\u2212": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\t": " ", "\u2044": "/", "\u2215": "/",
    "\u2032": "'", "\u2033": '"', "\u2019": "'", "\u201d": '"', "\u00b2": "2", "\u00b3": "3", "\u00ba": "°",
    "\u2236": ":", "\ufe62": "+",
})


def length(value: object) -> float:
    """Length [mm]. Raises QuantityError."""
    return _quantity(value, LENGTH)


def angle(value: object) -> float:
    """Angle [deg]. Raises QuantityError."""
    return _quantity(value, ANGLE)


def mass(value: object) -> float:
    """Mass [kg]. Raises QuantityError."""
    return _quantity(value, MASS)


def areal_weight(value: object) -> float:
    """Mass for its area [kg/m2]; a bare number is refused. Raises QuantityError."""
    return _quantity(value, AREAL_WEIGHT)


def density(value: object) -> float:
    """Density [kg/m3]. Raises QuantityError."""
    return _quantity(value, DENSITY)


def duration(value: object) -> float:
    """Duration [s]; a bare number is refused. Raises QuantityError."""
    return _quantity(value, DURATION)


def slope(value: object) -> float:
    """Slope [drop over plan run] from 1:40, "1 in 40", "2 %", "1/4 in/ft" or "1.1 deg"; a bare number is refused.

    Raises QuantityError.
    """
    if isinstance(value, str) and (ratio := _RATIO.fullmatch(_typed(value, SLOPE))):
        drop, run = float(ratio[1]), float(ratio[2])
        if run == 0:
            raise QuantityError(SLOPE.allowed, "a slope with no run is no slope")
        return drop / run
    return _quantity(value, SLOPE)


def temperature(value: object) -> float:
    """Temperature [deg C]. Raises QuantityError."""
    if not isinstance(value, str):
        return _bare(value, TEMPERATURE)
    text = re.sub(r"(?:\bdeg\s+|°\s*)([CFK])\b", r"deg\1", _typed(value, TEMPERATURE))
    sign, terms = _terms(text, TEMPERATURE)
    number, unit, _ = terms[0]
    if len(terms) > 1 or (unit and unit not in _DEGREES):
        raise QuantityError(TEMPERATURE.allowed, f"{value.strip()!r} is no temperature")
    factor, offset = _DEGREES[unit or "degC"]
    return _finite(sign * number * factor + offset, TEMPERATURE)


def toleranced(value: object) -> Toleranced:
    """Length with its tolerance [mm] from "305 ± 2 mm", "12 in ± 1/16 in" or "305 +- 2"; one unit serves for both.

    Raises QuantityError.
    """
    if isinstance(value, Toleranced):
        return value
    if not isinstance(value, str):
        return Toleranced(length(value))
    halves = _PLUS_MINUS.split(_typed(value, LENGTH))
    if len(halves) == 1:
        return Toleranced(length(value))
    allowed = 'a length in mm with its tolerance, such as 267 ± 2 or "12 in ± 1/16 in"'
    if len(halves) > 2 or not all(half.strip() for half in halves):
        raise QuantityError(allowed, "one value and one tolerance are due")
    units = [terms[-1][1] for terms in (_terms(half, LENGTH)[1] for half in halves)]
    shared = units[0] or units[1] or "mm"
    # a bare half takes the other's unit: "305 ± 2 mm" is 305 mm, and "12 in ± 1/16" a sixteenth of an inch
    nominal, off = (length(half if unit else f"{half} {shared}") for half, unit in zip(halves, units, strict=True))
    if off < 0:
        raise QuantityError(allowed, "a tolerance is plus or minus, never negative")
    return Toleranced(nominal, off)


def is_bare(value: object) -> bool:
    """True for a number, or a text that is a number only: written without a unit."""
    if isinstance(value, bool):
        return False
    if isinstance(value, (int, float)):
        return True
    return isinstance(value, str) and not re.search(r"[^\W\d_]|['\"%°]", re.sub(r"(?<=\d)[eE](?=[-+\d])", "", value))


def looks_like_inches(value: object, usual_least: float) -> bool:
    """True when a bare number is too small for a usual size in mm, and a usual size if it were inches."""
    if not is_bare(value):
        return False
    try:
        bare = toleranced(value).value
    except QuantityError:
        return False
    return 0 < bare < usual_least <= bare * INCH


def in_inches(mm: float) -> str:
    """A size [mm] in inches to the nearest thirty-second: 300 -> "11 13/16 in".

    A sixteenth would print sheet of 23/32 in as 3/4 in.
    """
    parts = math.floor(abs(mm) / INCH * 32 + 0.5)
    whole, rest = divmod(parts, 32)
    share = math.gcd(rest, 32)
    part = f"{rest // share}/{32 // share}" if rest else ""
    sign = "-" if mm < 0 and parts else ""
    return sign + " ".join(filter(None, (str(whole) if whole or not part else "", part, "in")))


def plain(number: float, digits: int = 2) -> str:
    """A number with at most so many decimals and no trailing zeros: 300.0 -> "300"."""
    text = f"{number:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def at_least(number: float, digits: int = 1) -> str:
    """A least value as it is told: rounded up, so that what is told will do."""
    return f"{math.ceil(number * 10**digits - 1e-6) / 10**digits:.{digits}f}"


def at_most(number: float, digits: int = 1) -> str:
    """A greatest value as it is told: rounded down, so that what is told will do."""
    return f"{math.floor(number * 10**digits + 1e-6) / 10**digits:.{digits}f}"


def shown(mm: float, units: Literal["mm", "inch"], digits: int = 2) -> str:
    """A size [mm] as printed: "300 mm", or "300 mm (11 13/16 in)" where inches are asked for."""
    return f"{plain(mm, digits)} mm" + (f" ({in_inches(mm)})" if units == "inch" else "")


def written(number: float, kind: Kind) -> float | str:
    """A number in the kind's own unit as it would stand in a spec: bare where that is understood, else with a unit."""
    if kind.bare:
        return number
    if kind is SLOPE:
        return f"{number * 100:.10g} %"
    return f"{number * 1000:.10g} g/m2" if kind is AREAL_WEIGHT else f"{number:.10g} s"


def _quantity(value: object, kind: Kind) -> float:
    if not isinstance(value, str):
        return _bare(value, kind)
    sign, terms = _terms(_typed(value, kind), kind)
    if len(terms) == 1 and terms[0][1] is None:
        number, _, is_fraction = terms[0]
        if is_fraction and kind is LENGTH:
            raise QuantityError(kind.allowed, f'a fraction is seldom mm; "{value.strip()} in" reads as inches')
        return _bare(sign * number, kind)
    names = [_SAME.get(unit or "", unit) for _, unit, _ in terms]
    if None in names:
        raise QuantityError(kind.allowed, f"a number in {value.strip()!r} has no unit")
    if len(terms) > 2 or (len(terms) == 2 and tuple(names) not in _COMPOUND):
        raise QuantityError(kind.allowed, f"{value.strip()!r} is not one quantity")
    total = sum(number * _factor(unit or "", kind) for number, unit, _ in terms)
    if kind is SLOPE and _is_angle(terms[0][1]):
        return sign * _slope_of(total, kind)
    return _finite(sign * total, kind)


def _bare(value: object, kind: Kind) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        found = "nothing" if value is None else {"bool": "true or false", "dict": "a map", "list": "a list"}.get(
            type(value).__name__, type(value).__name__)
        raise QuantityError(kind.allowed, f"{found} stands there")
    number = _finite(float(value), kind)
    if not kind.bare and number != 0:
        raise QuantityError(kind.allowed, f"a bare number does not say how {kind.name} is meant")
    return number


def _finite(number: float, kind: Kind) -> float:
    if not math.isfinite(number):
        raise QuantityError(kind.allowed, "it must be a finite number")
    return float(f"{number:.15g}")  # 12 x 25.4 is 304.79999999999995 in floats; the builder wrote 304.8


def _typed(text: str, kind: Kind) -> str:
    """The text with typographic characters made plain: minus, fractions, primes, spaces, squares."""
    if len(text) > LONGEST_TEXT:
        raise QuantityError(kind.allowed, f"a quantity is no longer than {LONGEST_TEXT} characters")
    # the vulgar fractions decompose to digit, fraction slash, digit; a space keeps 11½ from reading as 111/2
    spaced = "".join(f" {unicodedata.normalize('NFKC', c)}" if "FRACTION" in unicodedata.name(c, "")
                     and c != "\u2044" else c for c in text)
    plain_text = spaced.translate(_TYPED).strip()
    plain_text = re.sub(r"\bper\b", "/", plain_text)
    plain_text = re.sub(r"\b(?:sq|square)\.?\s+([a-z]+)", r"\g<1>2", plain_text)
    plain_text = re.sub(r"\b(?:cu|cubic)\.?\s+([a-z]+)", r"\g<1>3", plain_text)
    if re.search(r"\d\s*[×]|[×]\s*\d|\d\s*x\s*\d", plain_text):
        raise QuantityError(kind.allowed, "× joins sizes and one is due; several are written as a list, [400, 300]")
    if re.search(r"[\u2010-\u2015]", plain_text):
        raise QuantityError(kind.allowed, "a typographic dash stands there; a minus is written -")
    if re.search(r"\d\s*,\s*\d", plain_text):
        raise QuantityError(kind.allowed, "a comma stands there; decimals take a point, as in 9.5")
    if re.fullmatch(r"[-+]?\s*\.?(?:nan|inf|infinity)", plain_text, re.IGNORECASE):
        raise QuantityError(kind.allowed, "it must be a finite number")
    return plain_text


def _terms(text: str, kind: Kind) -> tuple[float, list[tuple[float, str | None, bool]]]:
    """The sign, and each (number, unit or None, written as a fraction) of a text."""
    sign = -1.0 if text.lstrip().startswith("-") else 1.0
    rest = text.strip().removeprefix("-").removeprefix("+").strip()
    terms: list[tuple[float, str | None, bool]] = []
    place = 0
    while place < len(rest):
        found = _TERM.match(rest, place)
        if found is None or found.end() == place:
            break
        terms.append(_term(found, kind))
        place = found.end()
    if place < len(rest) or not terms:
        raise QuantityError(kind.allowed, _not_read(rest, kind))
    return sign, terms


def _term(found: re.Match[str], kind: Kind) -> tuple[float, str | None, bool]:
    unit = re.sub(r"[\s.^]", "", found["unit"]) if found["unit"] else None
    unit = _MARKS.get(unit, unit) if unit else None
    if found["decimal"] is not None:
        return float(found["decimal"]), unit, False
    under = int(found["bottom"] or found["under"])
    if under == 0:
        raise QuantityError(kind.allowed, "a fraction over 0 is no number")
    return int(found["whole"] or 0) + int(found["top"] or found["over"]) / under, unit, True


def _not_read(text: str, kind: Kind) -> str:
    if _RATIO.fullmatch(text):
        return f"{text} is a slope"
    if _PLUS_MINUS.search(text):
        return "this field takes no tolerance"
    return f"{text!r} cannot be read as {kind.name}"


def _is_angle(unit: str | None) -> bool:
    return unit is not None and UNITS.get(unit, (None, 0))[0] is ANGLE


def _slope_of(degrees: float, kind: Kind) -> float:
    if not 0 <= degrees < 90:
        raise QuantityError(kind.allowed, "a slope is less than 90 deg")
    return math.tan(math.radians(degrees))


def _factor(unit: str, kind: Kind) -> float:
    """What one of this unit is, in the kind's own unit (an angle is let through for a slope)."""
    unit = "/".join(_SAME.get(part, part) for part in unit.split("/"))
    known = UNITS.get(unit) or (UNITS.get(unit.lower()) if len(unit) > 1 else None) or _by_pint(unit)
    if known is None:
        raise QuantityError(kind.allowed, f"{unit!r} is no unit known here")
    found, factor = known
    if found is not kind and not (kind is SLOPE and found is ANGLE):
        raise QuantityError(kind.allowed, f"{unit} is a unit of {found.name.split(' ', 1)[1]}")
    return factor


def _by_pint(unit: str) -> tuple[Kind, float] | None:
    """Kind and factor of a unit that is not in the table, or None. pint costs 0.2 s and more: last resort."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    try:
        one = registry.Quantity(1.0, registry.parse_units(re.sub(r"([^\W\d_])([23])", r"\1**\2", unit)))
        kind = _DIMENSIONS.get(str(one.dimensionality))
        if kind is None:
            return None
        base = {"s": "second", "kg/m2": "kg/m**2", "kg/m3": "kg/m**3"}.get(kind.unit, kind.unit)
        return kind, float(one.to(base).magnitude)
    except (pint.PintError, ValueError, TypeError, AttributeError, SyntaxError):
        return None
