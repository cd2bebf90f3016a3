"""The margin strip: the dot lies on the safe side when and only when the finding holds, and the numbers show it."""

import math
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.finding import Finding, Source
from moldplan.report.strip import number, strip

VALUES = st.floats(-500, 500).map(lambda v: round(v, 4))


def finding(measured, limit, sense, **more):
    return Finding(check="gap", part="seat", what="gap", measured=measured, limit=limit, sense=sense, unit="mm",
                   source=Source(document="a book", how_read="seen"), **more)  # fmt: skip


def parsed(one):
    return ElementTree.fromstring(strip(one))


def thick(root):
    (bar,) = (line for line in root.iter("line") if line.get("stroke-width") == "6")
    return sorted((float(bar.get("x1")), float(bar.get("x2"))))


@given(measured=VALUES, limit=VALUES, sense=st.sampled_from(["at_least", "at_most"]))
@settings(max_examples=25, deadline=None)
def test_the_dot_lies_on_the_thick_side_when_it_holds(measured, limit, sense):
    one = finding(measured, limit, sense)
    root = parsed(one)
    left, right = thick(root)
    dot = float(root.find("circle").get("cx"))
    assert (left - 0.06 <= dot <= right + 0.06) == (one.verdict != "fails") or abs(measured - limit) < 0.5
    assert all(0 <= float(text.get("x")) <= 340 for text in root.iter("text"))


def test_between_two_limits_the_middle_is_thick():
    root = parsed(finding(70.0, (45.0, 120.0), "between"))
    left, right = thick(root)
    assert left < float(root.find("circle").get("cx")) < right
    assert "between 45 and 120 mm" in "".join(root.itertext())


@given(value=VALUES, other=VALUES)
@settings(max_examples=25, deadline=None)
def test_a_number_is_written_on_its_own_side_of_the_limit(value, other):
    said = float(number(value, other))
    assert (said > other) == (value > other) or value == other
    assert said == pytest.approx(value, rel=0.0021, abs=1e-9)


def test_a_hair_missed_is_shown_as_missed():
    assert number(24.9996, 25.0) == "24.9996"
    assert number(25.0, 25.0) == "25"
    assert number(math.nan) == "not a number"
    assert number(-1e-14) == number(-0.0) == "0"


@pytest.mark.parametrize(("measured", "style"), [(12.0, "#fff"), (26.0, "#0072b2"), (60.0, "#0072b2")])
def test_what_fails_is_hollow(measured, style):
    assert parsed(finding(measured, 25.0, "at_least")).find("circle").get("fill") == style


def test_nothing_judged_nothing_drawn():
    assert strip(finding(None, None, "at_least", skipped="no lid")) == ""
    assert strip(finding(math.nan, 2.0, "at_least")) == ""


def test_the_strip_says_it_in_words_too():
    label = re.search(r'aria-label="([^"]+)"', strip(finding(12.0, 25.0, "at_least"))).group(1)
    assert label == "12 mm against 25 mm: fails"
