"""Quantities against pint, the legal inch and pound, the printed imperial tables, and plain arithmetic.

Sources  inch = 25.4 mm and pound = 0.45359237 kg exactly: international yard and pound agreement, 1959.
         12 oz/yd2 = 407 g/m2: as cloth catalogues print it (from memory), three figures.
         Every unit of the table: pint, another library's definitions.
"""

import math
import re

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan import quantity
from moldplan.quantity import QuantityError, Toleranced

BASE = {"mm": "millimeter", "deg": "degree", "kg": "kilogram", "kg/m2": "kilogram/meter**2",
        "kg/m3": "kilogram/meter**3", "s": "second", "": "dimensionless"}


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", sorted(quantity.UNITS))
def test_the_table_of_units_agrees_with_pint(unit, registry):
    kind, factor = quantity.UNITS[unit]
    spelled = {"%": "percent", "°": "degree", "t": "metric_ton"}.get(unit, re.sub(r"([a-z])([23])\b", r"\1**\2", unit))
    assert registry.Quantity(1.0, spelled).to(BASE[kind.unit]).magnitude == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(("text", "mm"), [
    ("1/2 in", 12.7), ("11 13/16 in", 189 / 16 * 25.4), ("11-13/16 in", 189 / 16 * 25.4),
    ("1 ft 3 1/2 in", 15.5 * 25.4),
    ('12"', 304.8), ("1' 3 1/2\"", 15.5 * 25.4), ("5'", 1524), ("12 in.", 304.8), ("30 cm", 300), ("0.3 m", 300),
    ("300", 300), (300, 300), ("1e3", 1000), (".5 in", 12.7), ("11½ in", 11.5 * 25.4), ("½ in", 12.7),
    ("3⁄4 in", 19.05), ("−5", -5), ("-1 ft 3 in", -381), ("+4", 4), ("12 MM", 12), ("300\u00a0mm", 300),
    ("12″", 304.8), ("2\tmm", 2), ("1 yd", 914.4), ("2 hand", 203.2), (-7.25, -7.25),
])
def test_lengths_as_written(text, mm):
    assert quantity.length(text) == pytest.approx(mm, rel=1e-9)


@pytest.mark.parametrize(("text", "slope"), [
    ("1:40", 1 / 40), ("1 : 60", 1 / 60), ("1 in 40", 1 / 40), ("2 %", 0.02), ("2%", 0.02), ("45 deg", 1.0),
    ("1/4 in/ft", 1 / 48), ("1/4 inch per foot", 1 / 48), ("20 mm/m", 0.02), (0, 0.0), ("0", 0.0), ("1:2.5", 0.4),
])
def test_slopes_as_written(text, slope):
    assert quantity.slope(text) == pytest.approx(slope, rel=1e-9)


@pytest.mark.parametrize(("read", "text", "value"), [
    (quantity.areal_weight, "450 g/m2", 0.45), (quantity.areal_weight, "450 g/m²", 0.45),
    (quantity.areal_weight, "450 g / m^2", 0.45), (quantity.areal_weight, "12 oz/yd2", 0.407),
    (quantity.areal_weight, "12 oz/sq yd", 0.407), (quantity.areal_weight, "12 oz per square yard", 0.407),
    (quantity.mass, "24 lb", 24 * 0.45359237), (quantity.mass, "3 lb 8 oz", 3.5 * 0.45359237), (quantity.mass, 16, 16),
    (quantity.duration, "25 min", 1500), (quantity.duration, "4 h", 14400), (quantity.duration, "1 h 30 min", 5400),
    (quantity.density, "80 kg/m³", 80), (quantity.density, 80, 80), (quantity.density, "5 lb/cu ft", 80.09),
    (quantity.temperature, "68 degF", 20), (quantity.temperature, "20 °C", 20), (quantity.temperature, 20, 20),
    (quantity.temperature, "20 deg C", 20), (quantity.temperature, "-40 F", -40),
    (quantity.temperature, "293.15 K", 20),
    (quantity.angle, "4°", 4), (quantity.angle, "4 deg", 4), (quantity.angle, "1 rad", 180 / math.pi),
])
def test_other_kinds_as_written(read, text, value):
    assert read(text) == pytest.approx(value, rel=5e-4)


@pytest.mark.parametrize(("text", "value", "tolerance"), [
    ("305 ± 2 mm", 305, 2), ("305 ± 2", 305, 2), ("305 +- 2", 305, 2), ("305 +/- 2", 305, 2), ("305±2", 305, 2),
    ("12 in ± 1/16 in", 304.8, 1.5875), ("12 in ± 1/16", 304.8, 1.5875), ("12 ± 1/16 in", 304.8, 1.5875),
    ("12 in ± 2 mm", 304.8, 2), (267, 267, 0), ("10 1/2 in", 266.7, 0),
])
def test_toleranced_lengths_as_written(text, value, tolerance):
    read = quantity.toleranced(text)
    assert (read.value, read.tolerance) == pytest.approx((value, tolerance))


def test_what_is_converted_already_stays_as_it_is():
    assert quantity.toleranced(Toleranced(3.0, 1.0)) == Toleranced(3.0, 1.0)
    assert quantity.length(12.5) == 12.5


@pytest.mark.parametrize(("read", "text", "says"), [
    (quantity.length, "9,5", "a point"), (quantity.length, "1,000 mm", "a point"), (quantity.length, "300 × 400", "×"),
    (quantity.length, "300 x 400", "×"), (quantity.length, "24 lb", "lb is a unit of mass"),
    (quantity.length, "1:40", "1:40 is a slope"), (quantity.length, "305 ± 2", "no tolerance"),
    (quantity.length, "1/2", "seldom mm"), (quantity.length, "3 blorks", "'blorks' is no unit"),
    (quantity.length, "1/0 in", "over 0"), (quantity.length, "1 ft 3", "has no unit"),
    (quantity.length, "", "cannot be"),
    (quantity.length, "1 m 20 cm", "not one quantity"), (quantity.length, "–5", "typographic dash"),
    (quantity.length, "nan", "finite"), (quantity.length, float("inf"), "finite"), (quantity.length, ".inf", "finite"),
    (quantity.length, 1e999, "finite"), (quantity.length, "1e999", "finite"), (quantity.length, True, "true or false"),
    (quantity.length, None, "nothing"), (quantity.length, [1], "a list"), (quantity.length, "9" * 90, "no longer than"),
    (quantity.slope, 0.02, "bare number"), (quantity.slope, "0.02", "bare number"), (quantity.slope, "1:0", "no run"),
    (quantity.slope, "90 deg", "less than 90"), (quantity.slope, "5 mm", "mm is a unit of length"),
    (quantity.areal_weight, 450, "bare number"), (quantity.areal_weight, "450 g", "g is a unit of mass"),
    (quantity.duration, 25, "bare number"), (quantity.temperature, "20 mm", "no temperature"),
    (quantity.toleranced, "267 ± -2", "never negative"), (quantity.toleranced, "267 ±", "one tolerance"),
    (quantity.mass, "1 furlong", "furlong is a unit of length"),
    (quantity.length, "__import__('os')", "cannot be read"),
])
def test_what_is_refused_says_why(read, text, says):
    with pytest.raises(QuantityError) as refused:
        read(text)
    assert says in refused.value.why
    assert refused.value.allowed
    assert "\n" not in str(refused.value)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 40), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_are_exact_arithmetic(feet, inches, sixteenths):
    text = f"{feet} ft {inches} {sixteenths}/16 in"
    assert quantity.length(text) == pytest.approx((feet * 12 + inches + sixteenths / 16) * 25.4, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(st.floats(-5000, 5000))
def test_inches_printed_are_the_nearest_thirty_second(mm):
    text = quantity.in_inches(mm)
    assert re.fullmatch(r"-?(\d+|\d+ \d+/\d+|\d+/\d+) in", text)
    back = quantity.length(text)
    assert abs(back - mm) <= 25.4 / 64 + 1e-6
    assert all(int(bottom) in (2, 4, 8, 16, 32) for bottom in re.findall(r"/(\d+)", text))


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=20))
def test_any_text_is_read_or_refused_and_nothing_else(text):
    for read in (quantity.length, quantity.slope, quantity.toleranced, quantity.temperature):
        try:
            value = read(text)
        except QuantityError:
            continue
        number = value.value if isinstance(value, Toleranced) else value
        assert math.isfinite(number)


@pytest.mark.parametrize(("mm", "text"), [
    (300, "11 13/16 in"), (304.8, "12 in"), (12.7, "1/2 in"), (0, "0 in"), (-300, "-11 13/16 in"), (0.1, "0 in"),
    (23 / 32 * 25.4, "23/32 in"),
])
def test_inches_as_printed(mm, text):
    """300 mm = 11.811 in; 13/16 = 0.8125: any inch rule shows it. Plywood sold as 3/4 in measures 23/32 in."""
    assert quantity.in_inches(mm) == text


def test_sizes_are_printed_with_inches_only_where_asked():
    assert quantity.shown(300, "mm") == "300 mm"
    assert quantity.shown(300, "inch") == "300 mm (11 13/16 in)"
    assert quantity.shown(36.25, "mm") == "36.25 mm"


@pytest.mark.parametrize(("value", "suspect"), [
    (12, True), ("12", True), ("12 ± 1/16", True), (10.5, True), ("12 in", False), ("12 mm", False), (267, False),
    (1, False), (-12, False), (True, False), ("x", False), (None, False),
])
def test_a_bare_number_small_for_mm_and_usual_in_inches_is_suspect(value, suspect):
    assert quantity.looks_like_inches(value, 60) is suspect


@pytest.mark.parametrize(("number", "kind", "read"), [
    (0.02, quantity.SLOPE, quantity.slope), (0.45, quantity.AREAL_WEIGHT, quantity.areal_weight),
    (90.0, quantity.DURATION, quantity.duration), (36.0, quantity.LENGTH, quantity.length),
])
def test_what_is_written_into_a_spec_reads_back(number, kind, read):
    assert read(quantity.written(number, kind)) == pytest.approx(number)
