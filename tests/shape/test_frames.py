"""A body as crossing frames: outlines against chords in closed form, half laps against volumes and distances."""

import math

import cadquery as cq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.errors import GeometryError
from moldplan.shape import frames as framing
from moldplan.shape.body import Shaped
from moldplan.shape.frames import frames, within

SHEET, PLAY = 6.2, 0.3


def cone(low, high, tall):
    solid = cq.Solid.makeCylinder(low, tall) if high - low < 1e-6 else cq.Solid.makeCone(low, high, tall)
    top, = (f for f in solid.Faces() if f.geomType() == "PLANE" and f.Center().z > tall / 2)
    return Shaped(solid, {"lid": (top,)})


def ball(radius, tall):
    """A cap of a sphere, standing on its flat."""
    solid = cq.Solid.makeSphere(radius, cq.Vector(0, 0, tall - radius), cq.Vector(0, 0, 1), -90, 90, 360)
    box = cq.Solid.makeBox(3 * radius, 3 * radius, 2 * radius, cq.Vector(-1.5 * radius, -1.5 * radius, 0))
    return Shaped(solid.intersect(box).Solids()[0])


def hull():
    """A lofted half body, wide in its middle, with a flat top."""
    wires = []
    for x, half, deep in ((-300, 60, 50), (0, 140, 110), (300, 40, 40)):
        edge = cq.Edge.makeSpline([cq.Vector(x, -half, 0), cq.Vector(x, 0, -deep), cq.Vector(x, half, 0)])
        wires.append(cq.Wire.assembleEdges([edge, cq.Edge.makeLine(edge.endPoint(), edge.startPoint())]))
    return Shaped(cq.Solid.makeLoft(wires))


def test_a_cylinders_frames_are_as_long_as_its_chords():
    made = frames(cone(100, 100, 80), along=(-40, 40), across=(-30, 30), sheet_along=SHEET, sheet_across=SHEET,
                  clearance=PLAY)
    for piece in made:
        box = piece.shaped.solid.BoundingBox()
        long = box.xlen if piece.set == "along" else box.ylen
        # chord of a circle at a distance: the face further out is the shorter one
        chord = 2 * math.sqrt(100**2 - (abs(piece.at) + SHEET / 2) ** 2)
        assert long == pytest.approx(chord, abs=1e-4)
        slits = 2 * (SHEET + PLAY) * (40 + PLAY / 2)
        assert piece.shaped.solid.Volume() == pytest.approx(SHEET * (80 * chord - slits), rel=1e-6)


def gaps(made):
    """Every pair of crossing frames."""
    return [(a, b) for a in made for b in made if a.set == "along" and b.set == "across"]


@settings(max_examples=8, deadline=None)
@given(y=st.floats(25, 50), x=st.floats(25, 50), play=st.floats(0.05, 1.0), lean=st.floats(0, 25))
def test_frames_slide_together_with_the_stated_play_and_none_stands_proud(y, x, play, lean):
    body = cone(100, 100 + lean, 60)
    made = frames(body, along=(-y, y), across=(-x, x), sheet_along=9.1, sheet_across=SHEET, clearance=play)
    for one, other in gaps(made):
        a, b = one.shaped.solid, other.shaped.solid
        for lifted in (0.0, 7.0, 31.0, 61.0):  # the way down, from clear above
            assert a.intersect(b.moved(cq.Location(cq.Vector(0, 0, lifted)))).Volume() == pytest.approx(0, abs=1e-6)
        # moved sideways by half of the play they touch, by a hair less they do not
        assert a.distance(b) == pytest.approx(play / 2, abs=1e-5)
    for piece in made:
        assert piece.shaped.solid.cut(body.solid).Volume() == pytest.approx(0, abs=1e-3)


def test_a_half_lap_leaves_half_of_the_height_to_each():
    made = frames(cone(100, 110, 60), along=(-30, 30), across=(-30, 30), sheet_along=SHEET, sheet_across=SHEET,
                  clearance=PLAY)
    for piece in made:
        column = cq.Solid.makeBox(SHEET, SHEET, 200, cq.Vector(30 - SHEET / 2, 30 - SHEET / 2, -50))
        if piece.at == 30:
            left = piece.shaped.solid.intersect(column).BoundingBox()
            assert left.zlen == pytest.approx(30 - PLAY / 2, abs=1e-6)
            assert (left.zmin if piece.set == "along" else 60 - left.zmax) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("cover", [3.0, 12.0])
def test_a_covering_is_taken_off_normal_to_a_cones_wall(cover):
    low, high, tall = 130.0, 150.0, 180.0
    left = within(cone(low, high, tall), cover, bare=["lid"]).solid
    slant = math.hypot(tall, high - low)
    # parallel lines cover apart: cover * slant / tall further in at every level
    inner = [low + (high - low) * z / tall - cover * slant / tall for z in (cover, tall)]
    volume = math.pi * (tall - cover) / 3 * (inner[0] ** 2 + inner[0] * inner[1] + inner[1] ** 2)
    assert left.Volume() == pytest.approx(volume, rel=1e-6)


def test_a_covering_all_round_a_cap_leaves_a_smaller_cap():
    left = within(ball(200, 120), 5).solid
    tall = 120 - 5 - 5  # from the flat, moved up, to the crown, moved down
    assert left.Volume() == pytest.approx(math.pi * tall**2 / 3 * (3 * 195 - tall), rel=1e-6)


def test_a_caps_frames_are_circles_of_the_sphere():
    made = frames(ball(200, 120), along=(-60, 60), across=(-60, 60), sheet_along=SHEET, sheet_across=SHEET,
                  clearance=PLAY)
    for piece in made:
        ring = math.sqrt(200**2 - (60 + SHEET / 2) ** 2)
        radii = [e.radius() for e in piece.shaped.solid.Edges() if e.geomType() == "CIRCLE"]
        assert radii and radii == pytest.approx([ring] * len(radii), abs=1e-5)
        assert piece.shaped.solid.BoundingBox().zmax == pytest.approx(120 - 200 + ring, abs=1e-4)


def test_a_lofted_body_is_framed_within_itself_and_its_covering():
    body = hull()
    left = within(body, 4)
    made = frames(left, along=(-25, 25), across=(-150, 0, 150), sheet_along=SHEET, sheet_across=SHEET, clearance=PLAY)
    assert [len(piece.crossings) for piece in made] == [3, 3, 2, 2, 2]
    skin = [f for f in body.solid.Faces() if f.geomType() != "PLANE"]
    for piece in made:
        near = min(cq.Vertex.makeVertex(*v.toTuple()).distance(face) for v in piece.shaped.solid.Vertices()
                   for face in skin)
        assert near >= 4 - 0.01


@pytest.mark.parametrize("wrong, words", [
    ({"clearance": -0.1}, "clearance"), ({"along": (0, 6)}, "apart"), ({"along": (150,)}, "misses"),
    ({"across": ()}, "at least one"), ({"sheet_along": math.nan}, "thickness")])
def test_what_makes_no_frames_is_refused_in_one_line(wrong, words):
    plain = {"along": (-20, 20), "across": (-20, 20), "sheet_along": SHEET, "sheet_across": SHEET, "clearance": PLAY}
    with pytest.raises(GeometryError, match=words) as told:
        frames(cone(100, 100, 50), **(plain | wrong))
    assert "\n" not in str(told.value)


def test_a_frame_that_a_hole_parts_and_a_covering_without_room_are_refused():
    body = cone(100, 100, 50)
    holed = Shaped(body.solid.cut(cq.Solid.makeCylinder(30, 60, cq.Vector(0, 0, -5))))
    with pytest.raises(GeometryError, match="lumps"):
        frames(holed, along=(0,), across=(-60, 60), sheet_along=SHEET, sheet_across=SHEET, clearance=PLAY)
    for thick in (-1.0, 60.0, 101.0):
        with pytest.raises(GeometryError, match="covering"):
            within(body, thick, bare=["lid"])


def spheroid(a, b):
    """An ellipse of the semi-axes a (across) and b turned about its own axis b, which lies along y."""
    edge = cq.Edge.makeEllipse(a, b, angle1=-90, angle2=90)
    wire = cq.Wire.assembleEdges([edge, cq.Edge.makeLine(edge.endPoint(), edge.startPoint())])
    return Shaped(cq.Solid.revolve(wire, [], 360, cq.Vector(0, 0, 0), cq.Vector(0, 1, 0)))


def test_a_frame_of_a_body_that_bulges_within_its_thickness_is_the_largest_prism_in_it():
    """Every section of a convex body between two others holds what both share: the frame is as large as can be."""
    a = c = 160.0
    b = 120.0
    for at in (0.0, 50.0):
        made = frames(spheroid(a, b), along=(at, at - 70), across=(40.0,), sheet_along=18, sheet_across=SHEET,
                      clearance=PLAY)
        piece = made[0]
        share = math.sqrt(1 - ((at + 9) / b) ** 2)  # of the semi-axes, on the face further out
        box = piece.shaped.solid.BoundingBox()
        assert (box.xlen, box.zlen) == pytest.approx((2 * a * share, 2 * c * share), abs=2e-3)
        # the slit is from the middle, half of the play deeper, up to the circle: integral of sqrt(r^2 - x^2)
        r = a * share
        ends = [x * math.sqrt(r**2 - x**2) + r**2 * math.asin(x / r) for x in (40 - (SHEET + PLAY) / 2,
                                                                              40 + (SHEET + PLAY) / 2)]
        slit = (ends[1] - ends[0]) / 2 + (SHEET + PLAY) * PLAY / 2
        area = math.pi * r**2 - slit
        # the kernel's sections follow the surface within some thousandths of a mm
        assert piece.shaped.solid.Volume() == pytest.approx(18 * area, abs=18 * 2 * math.pi * r * 0.003)


@pytest.mark.parametrize("at", [0.9, 1.7, -2.2])
def test_a_frame_stands_proud_of_no_groove_that_runs_within_its_thickness(at):
    """A round groove 2 mm wide, 1 mm deep along a block, between the sections at the sheet's faces and its middle."""
    block = cq.Solid.makeBox(200, 100, 60, cq.Vector(-100, -50, 0))
    body = Shaped(block.cut(cq.Solid.makeCylinder(1, 220, cq.Vector(-110, at, 60), cq.Vector(1, 0, 0))))
    made = frames(body, along=(0.0,), across=(-60, 60), sheet_along=18, sheet_across=SHEET, clearance=PLAY)
    slits = 2 * (SHEET + PLAY) * (29.5 + PLAY / 2)
    assert made[0].shaped.solid.Volume() == pytest.approx(18 * (200 * 59 - slits), rel=2e-6)
    assert made[0].shaped.solid.cut(body.solid).Volume() < 0.5


@pytest.mark.parametrize(("left", "says"), [
    ((5, 9), "9.00 mm at 50"), ((5, 3), "3.00 mm over the face about 50")])
def test_each_covered_face_is_asked_what_lies_over_it(monkeypatch, left, says):
    """A kernel that moves one wall of a box too far, or too little, while the others are right."""
    body = Shaped(cq.Solid.makeBox(100, 80, 60, cq.Vector(-50, -40, 0)))
    other, wrong = left
    made = cq.Solid.makeBox(100 - other - wrong, 80 - 2 * other, 60 - 2 * other, cq.Vector(-50 + other, -35, other))
    for way in ("_shrunk", "_hollowed", "_peeled"):
        monkeypatch.setattr(framing, way, lambda *_: made)
    with pytest.raises(GeometryError, match="covering of 5 mm") as told:
        within(body, 5)
    assert says in str(told.value)
