"""SVG and PDF of the same marks: true size, same places, same bytes twice.

PDF's unit is 1/72 inch, from the lower left corner (ISO 32000). An SVG with width in mm and a viewBox in the same
numbers is drawn at true size (W3C SVG 1.1).
"""

import re
import zlib
from xml.etree import ElementTree

import pytest

from moldplan.report.annotate import dimension
from moldplan.report.drawing import Curve, Drawing, Region, Text, circle, circle_loop, line
from moldplan.report.hatch import hatched
from moldplan.report.ink import pdf, svg

POINT = 72 / 25.4
SQUARE = ((10.0, 10.0, 0.0), (50.0, 10.0, 0.0), (50.0, 40.0, 0.0), (10.0, 40.0, 0.0))
SVG = "{http://www.w3.org/2000/svg}"


def sample(*marks):
    return Drawing(200.0, 100.0, marks, "A <b>title</b> & more", "what it shows")


def content(path):
    """The page's drawing operators."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", path.read_bytes(), re.S)
    texts = []
    for stream in streams:
        try:
            texts.append(zlib.decompress(stream).decode("latin-1"))
        except zlib.error:
            continue
    return "\n".join(texts)


def test_svg_is_well_formed_true_size_and_says_what_it_shows():
    root = ElementTree.fromstring(svg(sample(line((10, 20), (110, 20), "wide"), Text((5, 5), "a < b"))).encode())
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("200mm", "100mm", "0 0 200 100")
    assert root.find(f"{SVG}title").text == "A <b>title</b> & more"
    assert root.find(f"{SVG}text").text == "a < b"
    path = root.find(f"{SVG}path")
    assert path.get("d") == "M10 80L110 80"  # y down from the upper edge
    assert path.get("stroke-width") == "0.5"


def test_pdf_puts_the_same_line_in_points(tmp_path):
    pdf([sample(line((10, 20), (110, 20), "wide"))], tmp_path / "a.pdf")
    text = content(tmp_path / "a.pdf")
    parts = (tmp_path / "a.pdf").read_bytes().split(b"endobj")
    (page,) = (part for part in parts if b"/Type /Page\n" in part)
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", page)
    assert [float(n) for n in box.groups()] == pytest.approx([200 * POINT, 100 * POINT], abs=0.01)
    matrix = re.search(r"([-\d. ]+) cm", text)
    found = re.search(r"([\d.]+) ([\d.]+) m\s+([\d.]+) ([\d.]+) l", text)
    ends = [float(n) for n in found.groups()]
    if matrix:  # drawn in mm from the top under a matrix
        a, _, _, d, e, f = (float(n) for n in matrix.group(1).split()[-6:])
        ends = [a * ends[0] + e, d * ends[1] + f, a * ends[2] + e, d * ends[3] + f]
    assert ends == pytest.approx([10 * POINT, 20 * POINT, 110 * POINT, 20 * POINT], abs=0.02)


def test_the_same_drawing_gives_the_same_bytes(tmp_path):
    below = dimension((10, 10), (50, 10), "40", shift=-5)
    marks = (Region((SQUARE,), "foam"), circle((30, 30), 8), Text((60, 60), "Ø 16"), *below)
    pdf([sample(*marks)], tmp_path / "a.pdf", title="t")
    pdf([sample(*marks)], tmp_path / "b.pdf", title="t")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    assert svg(sample(*marks)) == svg(sample(*marks))


def test_an_arc_keeps_its_sense_when_the_page_turns_over():
    # counter-clockwise on paper from (20, 10) over the top to (10, 20) about (10, 10): in SVG, y down, sweep flag 0
    quarter = Curve(((20.0, 10.0, 2**0.5 - 1), (10.0, 20.0, 0.0)))
    assert "M20 90A10 10 0 0 0 10 80" in svg(sample(quarter))


def coordinates(curve):
    runs, run = [], []
    for x, y, bulge in curve.vertices:
        if x != x:
            runs.append(run)
            run = []
        else:
            run.append((x, y, bulge))
    return runs


def test_board_lines_slant_half_a_right_angle_and_stay_inside():
    (lines,) = hatched(Region((SQUARE,), "board"))
    runs = coordinates(lines)
    assert len(runs) > 15
    for (ax, ay, _), (bx, by, _) in runs:
        assert by - ay == pytest.approx(bx - ax, abs=1e-6)
        assert min(ax, bx) >= 10 - 1e-6 and max(ax, bx) <= 50 + 1e-6
        assert min(ay, by) >= 10 - 1e-6 and max(ay, by) <= 40 + 1e-6


def test_foam_dots_are_sparse_and_off_the_hole():
    (dots,) = hatched(Region((SQUARE, circle_loop(30, 25, 10)), "foam"))
    centres = [((a[0] + b[0]) / 2, a[1]) for a, b in coordinates(dots)]
    assert 60 < len(centres) < 300
    assert all((x - 30) ** 2 + (y - 25) ** 2 > 10**2 for x, y in centres)


def test_a_skin_is_never_thinner_than_the_wide_line():
    thin = ((10.0, 10.0, 0.0), (50.0, 10.0, 0.0), (50.0, 10.01, 0.0), (10.0, 10.01, 0.0))
    assert any(mark.pen == "wide" for mark in hatched(Region((thin,), "skin")))


def test_every_material_looks_different():
    kinds = ("foam", "board", "skin", "paste", "rubber", "plug", "plain")
    looks = {svg(sample(Region((SQUARE,), kind))) for kind in kinds}
    assert len(looks) == 7
