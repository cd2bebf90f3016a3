"""Lines that are seen of plain solids, by plane geometry, found on exact faces and on a mesh alike."""

import math

import cadquery as cq
import pytest

from moldplan.report import picture
from moldplan.shape.body import Body, Shaped


def body(solid):
    return Body(name="a body", kind="part", shaped=Shaped(solid), part="a part", path=("soles", "a"))


def length(runs):
    return sum(math.dist(a, b) for run in runs for a, b in zip(run, run[1:], strict=False))


@pytest.fixture(params=["exact", "mesh"])
def way(request, monkeypatch):
    monkeypatch.setattr(picture, "FACES", 1000 if request.param == "exact" else 0)


@pytest.mark.usefixtures("way")
def test_nine_edges_of_a_cube_are_seen_from_its_corner():
    """Seen along its diagonal every edge of a cube is shortened by sqrt(2/3), and three of its twelve are hidden."""
    sharp, _ = picture.visible([body(cq.Solid.makeBox(100, 100, 100))], (1.0, 1.0, 1.0))
    assert length(sharp) == pytest.approx(9 * 100 * math.sqrt(2 / 3), rel=1e-4)


@pytest.mark.usefixtures("way")
def test_a_plate_before_a_rod_hides_it():
    """Looking along x: a plate of 200 x 200 hides a rod of 60 behind it and leaves the four edges of its face."""
    plate = cq.Solid.makeBox(10, 200, 200)
    rod = cq.Solid.makeCylinder(30, 100, cq.Vector(-200, 100, 50), cq.Vector(0, 0, 1))
    sharp, smooth = picture.visible([body(plate), body(rod)], (1.0, 0.0, 0.0))
    assert {round(c) for run in (*sharp, *smooth) for spot in run for c in spot} <= {0, 200, -200}
    around = [p for run in sharp for p in run]
    assert max(p[0] for p in around) - min(p[0] for p in around) == pytest.approx(200)


@pytest.mark.usefixtures("way")
def test_a_disc_is_seen_as_its_circle():
    sharp, _ = picture.visible([body(cq.Solid.makeCylinder(80, 20))], (1e-9, 0.0, 1.0))
    assert length(sharp) == pytest.approx(2 * math.pi * 80, rel=6e-3)
