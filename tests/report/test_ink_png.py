"""The PNG of a drawing, measured in its dots: sizes from the drawing in mm at the file's own dots per inch."""

import numpy as np
import pytest
from PIL import Image

from moldplan.report.drawing import GREYS, Curve, Drawing, Text, circle_loop, rectangle
from moldplan.report.ink_png import DPI, MOST, png

PX = DPI / 25.4


def ink(tmp_path, *marks, size=(100.0, 60.0)):
    png(Drawing(*size, marks, "a test"), tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        assert image.info["dpi"] == pytest.approx((DPI, DPI), abs=0.1)
        return np.asarray(image.convert("L"))


def extent(dark):
    """Left, right, top, bottom of what is dark [mm from the upper left corner]."""
    rows, columns = np.nonzero(dark)
    return columns.min() / PX, (columns.max() + 1) / PX, rows.min() / PX, (rows.max() + 1) / PX


def test_a_rectangle_lies_where_it_is_drawn_with_its_line_about_its_edge(tmp_path):
    dots = ink(tmp_path, rectangle((10, 20), (70, 50), "wide"))  # 0.5 mm wide
    assert dots.shape == (round(60 * PX), round(100 * PX))
    assert extent(dots < 128) == pytest.approx((9.75, 70.25, 9.75, 40.25), abs=0.15)
    assert dots[round(25 * PX), round(40 * PX)] == 255


def test_what_is_filled_has_its_grey_and_the_area_of_its_circle(tmp_path):
    dots = ink(tmp_path, Curve(circle_loop(50, 30, 20), closed=True, pen="none", fill="mid"))
    assert dots[round(30 * PX), round(50 * PX)] == GREYS["mid"]
    assert (dots < 200).sum() / PX**2 == pytest.approx(np.pi * 20**2, rel=0.01)


def test_a_dashed_line_is_as_dark_as_its_dashes_are_long(tmp_path):
    """2.4 on, 1.2 off: two thirds, along 90 mm; each of 25 dashes to half a dot at either end."""
    dots = ink(tmp_path, Curve(((5, 30, 0), (95, 30, 0)), pen="hidden"))
    row = dots[round(30 * PX) - 2 : round(30 * PX) + 2].min(axis=0)
    assert (row < 100).sum() / PX == pytest.approx(60, abs=25 / PX)
    assert (np.diff((row < 100).astype(int)) == 1).sum() == 25  # 90 mm in steps of 3.6


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_words_stand_in_the_box_the_drawing_keeps_free_for_them(tmp_path, anchor, turn):
    words = Text((50, 50), "Hp25.1 of board", 5.0, anchor, turn, bold=True)
    xs, ys = zip(*words.box(0.6), strict=True)
    left, right, top, bottom = extent(ink(tmp_path, words, size=(100.0, 100.0)) < 128)
    assert min(xs) <= left and right <= max(xs) and min(ys) <= 100 - bottom and 100 - top <= max(ys)
    along = (right - left) if not turn else (bottom - top)
    assert along == pytest.approx(words.width, abs=1.2)


def test_a_tall_drawing_is_drawn_smaller_and_the_same_twice(tmp_path):
    tall = Drawing(100.0, 2000.0, (rectangle((10, 20), (70, 1950), "wide"),), "tall")
    for name in ("a", "b"):
        png(tall, tmp_path / f"{name}.png")
    with Image.open(tmp_path / "a.png") as image:
        assert max(image.size) == MOST
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
