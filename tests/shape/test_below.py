"""What stands below a sole as solids: swept sectors in closed form, STEP files that the kernel wrote."""

import math
import re

import cadquery as cq
import pytest
from OCP.Interface import Interface_Static
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer

from moldplan.shape.below import below_solid, faults, plan_of
from moldplan.shape.envelope import Unread, envelope
from moldplan.spec.below import Below

UPRIGHT = {"pivot": [100, -50], "radius": 400, "low": -350, "high": -300}


def swept(**fields):
    return Below.model_validate({"sweep": UPRIGHT | fields})


@pytest.mark.parametrize(("start", "stop", "inner"), [(145, 215, 0), (-30, 20, 60), (10, 350, 60), (0, 360, 0),
                                                      (-90, 270, 120)])
def test_a_sector_takes_its_share_of_a_ring(start, stop, inner):
    made = below_solid(swept(**{"from": start, "to": stop, "inner_radius": inner}))
    area = math.pi * (400**2 - inner**2) * (stop - start) / 360
    assert made.solid.isValid()
    assert made.solid.Volume() == pytest.approx(area * 50, rel=1e-9)


@pytest.mark.parametrize(("point", "far"), [
    # by hand; the sector lies 60 to 400 mm forward of the axis, from 0 to 90 deg, 300 to 350 below the datum
    ((100 + 300, -50 + 300, -325), math.hypot(300, 300) - 400),  # beyond its rim, at 45 deg
    ((100 + 200, -50 - 70, -325), 70),  # beside its starting side
    ((100, -50, -325), 60),  # on its axis, off the hub
    ((100 - 30, -50 - 40, -325), math.hypot(90, 40)),  # behind the axis: to the hub's corner at 60, 0
    ((100 + 200, -50 + 100, -260), 40),  # above it
    ((100 + 500, -50, -275), math.hypot(100, 25)),  # off the rim's starting corner and above
])
def test_a_point_is_as_far_from_a_sector_as_by_hand(point, far):
    made = below_solid(swept(**{"from": 0, "to": 90, "inner_radius": 60}))
    assert made.solid.distance(cq.Vertex.makeVertex(*point)) == pytest.approx(far, abs=1e-6)


def test_the_plan_of_a_sector_has_its_area():
    # arcs in chords of 5 deg: each a segment r2 / 2 (a - sin a) short
    item = swept(**{"from": 145, "to": 215, "inner_radius": 60})
    step = math.radians(5)
    exact = math.radians(70) / 2 * (400**2 - 60**2) - 14 * (400**2 - 60**2) / 2 * (step - math.sin(step))
    points = plan_of(item, below_solid(item).solid)
    shoelace = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(points, [*points[1:], points[0]], strict=True)) / 2
    assert abs(shoelace) == pytest.approx(exact, rel=1e-9)


def written(shape, path, unit="MM"):
    """The bytes of a STEP file by the kernel's own writer, in a unit."""
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", unit)
    writer.Transfer(shape.wrapped, STEPControl_AsIs)
    writer.Write(str(path))
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    return path.read_bytes()


@pytest.mark.parametrize("unit", ["MM", "INCH"])
def test_a_box_from_a_file_stands_where_it_is_put_in_mm_whatever_the_files_unit(unit, tmp_path):
    box = cq.Solid.makeBox(200, 100, 300)
    content = written(box, tmp_path / "box.step", unit)
    assert (b"SI_UNIT(.MILLI.,.METRE.)" in content) == (unit == "MM") or b"INCH" in content
    item = Below.model_validate({"step": "box.step", "at": [1000, 50, -600], "turn": 90}).holding(content)
    assert faults(item, ("below", "box")) == []
    solid = below_solid(item).solid
    # turned by 90 deg its length runs to port, its width aft: x 900 to 1000, y 50 to 250, top at -300
    assert solid.Volume() == pytest.approx(200 * 100 * 300, rel=1e-9)
    assert solid.distance(cq.Vertex.makeVertex(950, 100, -250)) == pytest.approx(50, abs=1e-6)
    assert solid.distance(cq.Vertex.makeVertex(1030, 290, -500)) == pytest.approx(50, abs=1e-6)
    assert sorted(plan_of(item, solid)) == [pytest.approx(p) for p in [(900, 50), (900, 250), (1000, 50), (1000, 250)]]


@pytest.fixture(scope="module")
def plain_box(tmp_path_factory):
    return written(cq.Solid.makeBox(100, 200, 300), tmp_path_factory.mktemp("step") / "box.step")


def test_faces_without_a_solid_are_no_body(tmp_path):
    content = written(cq.Solid.makeBox(1, 2, 3).Faces()[0], tmp_path / "face.step")
    with pytest.raises(Unread, match="1 faces and no solid"):
        envelope(content)


def test_a_file_over_which_the_kernel_dies_is_only_bad_news(plain_box):
    # a vector whose direction is no direction: the reader reads on at no address
    broken = re.sub(rb"VECTOR\('',#\d+", b"VECTOR('',#2", plain_box)
    assert broken != plain_box
    item = Below.model_validate({"step": "box.step"}).holding(broken)
    (fault,) = faults(item, ("below", "box"))
    assert fault.path == ("below", "box", "step")
    assert fault.why == "it is broken: the kernel gave up over it"


def test_a_body_off_the_map_is_told_with_its_unit_in_mind(plain_box):
    item = Below.model_validate({"step": "box.step", "at": [19_950, 0, 0]}).holding(plain_box)
    (fault,) = faults(item, ("below", "box"))
    assert "20050 mm away; mind the file's unit" in fault.why
