"""Marks on paper: text metrics, arcs, clashes.

Widths of letters: Adobe Font Metrics for Helvetica and Helvetica-Bold (published with the core fonts), in thousandths.
Arcs: bulge = tan(sweep / 4) by definition; sagitta and radius of a circle's segment by Pythagoras.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.report.drawing import (
    Drawing,
    Text,
    View,
    arc,
    arc_of,
    circle,
    clashes,
    fitted,
    flattened,
    line,
    polygon,
    printable,
    rectangle,
    text_width,
    wrapped,
)


@pytest.mark.parametrize(
    ("words", "bold", "thousandths"),
    [("A", False, 667), ("i", False, 222), (" ", False, 278), ("0", False, 556), ("M", False, 833), ("A", True, 722),
     ("i", True, 278), ("Ai0", False, 667 + 222 + 556)],
)  # fmt: skip
def test_letters_are_as_wide_as_the_published_metrics(words, bold, thousandths):
    assert text_width(words, bold) == pytest.approx(thousandths / 1000, abs=1e-9)


def test_the_box_of_words_turns_with_them():
    level, upright = Text((10, 20), "AAAA", size=10).box(), Text((10, 20), "AAAA", size=10, turn=90).box()
    assert level[1][0] - level[0][0] == pytest.approx(4 * 6.67)
    assert upright[1][1] - upright[0][1] == pytest.approx(4 * 6.67)
    assert max(x for x, _ in upright) == pytest.approx(10 + 2.1)  # descenders to the right of a text that runs up


@given(radius=st.floats(1, 500), start=st.floats(-360, 360), sweep=st.floats(1, 350))
@settings(max_examples=25, deadline=None)
def test_an_arc_stays_on_its_circle_and_keeps_its_length(radius, start, sweep):
    curve = arc((7.0, -3.0), radius, start, sweep)
    points = flattened(curve.vertices, closed=False, sagitta=1e-4 * radius)
    assert all(math.hypot(x - 7, y + 3) == pytest.approx(radius, rel=1e-9) for x, y in points)
    length = sum(math.dist(a, b) for a, b in zip(points, points[1:], strict=False))
    assert length == pytest.approx(radius * math.radians(sweep), rel=2e-4)
    begin = (7 + radius * math.cos(math.radians(start)), -3 + radius * math.sin(math.radians(start)))
    assert math.dist(points[0], begin) < 1e-6


def test_a_quarter_turn_has_the_bulge_of_its_definition():
    cx, cy, radius, _, sweep = arc_of((1.0, 0.0), (0.0, 1.0), math.tan(math.pi / 8))
    assert (cx, cy, radius, sweep) == pytest.approx((0, 0, 1, math.pi / 2), abs=1e-12)


def test_a_ring_has_the_area_of_a_ring():
    ring = polygon([circle((0, 0), 50).vertices, circle((0, 0), 30).vertices])
    assert ring.area == pytest.approx(math.pi * (50**2 - 30**2), rel=2e-3)


def test_words_on_words_on_a_line_or_off_the_sheet_are_found():
    words = Text((20, 20), "depth 36")
    assert clashes(Drawing(100, 100, (words,), "")) == []
    assert len(clashes(Drawing(100, 100, (words, Text((25, 21), "block")), ""))) == 1
    assert len(clashes(Drawing(100, 100, (words, line((25, 0), (25, 90))), ""))) == 1
    assert len(clashes(Drawing(100, 100, (words, circle((20, 20), 3)), ""))) == 1
    assert len(clashes(Drawing(100, 100, (Text((95, 20), "depth 36"),), ""))) == 1
    assert clashes(Drawing(100, 100, (words, rectangle((10, 10), (60, 40))), "")) == []  # around it is not on it


def test_a_view_scales_about_its_origin():
    assert View(0.5, (10, 20), (100, 0))(140, 30) == pytest.approx((30, 35))


def test_words_the_paper_has_no_letters_for_are_told_as_well_as_can_be():
    assert printable("Ø 275 ± 2 mm") == "Ø 275 ± 2 mm"
    assert printable("Łódź – no 5") == "?ódz - no 5"
    assert printable("a≤b") == "a<=b"


@given(words=st.text(st.characters(codec="latin-1", categories=["L", "N", "Zs"]), max_size=60), width=st.floats(8, 80))
@settings(max_examples=25, deadline=None)
def test_wrapped_lines_fit_and_lose_nothing(words, width):
    lines = wrapped(words, width)
    assert "".join("".join(lines).split()) == "".join(words.split())
    assert all(Text((0, 0), row).width <= width + 1e-9 for row in lines)
    assert Text((0, 0), fitted(words, width)).width <= width + 1e-9
