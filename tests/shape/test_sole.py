"""Soles: outlines, surfaces and their bodies against closed forms."""

import math

import pytest

from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.shape.sole import edges_of, outline_faults, plate, surface_of
from moldplan.spec.model import Spec
from moldplan.spec.sole import SolePlan

SQUARE = [[0, -500], [2000, -500], [2000, 500], [0, 500]]
BOUNDS = (0.0, -500.0, 2000.0, 500.0)


def sole(**more):
    return SolePlan.model_validate({"outline": SQUARE} | more)


def test_a_flat_sole_has_the_volume_of_its_outline():
    one = sole(outline=[[0, -500, 100], [2000, -500, 100], [2000, 500], [0, 500]])
    made = plate(edges_of(one.outline), surface_of(one, BOUNDS), BOUNDS, above=0, below=-20)
    assert made.solid.Volume() == pytest.approx((2000 * 1000 - 2 * (1 - math.pi / 4) * 100**2) * 20, rel=1e-9)


def test_an_arc_edge_counts_its_segment():
    rise = 100.0
    one = sole(outline=[[0, -500], [2000, -500], {"at": [2000, 500], "through": [2000 + rise, 0]}, [0, 500]])
    radius = (500**2 + rise**2) / (2 * rise)
    angle = 2 * math.asin(500 / radius)
    segment = radius**2 / 2 * (angle - math.sin(angle))
    made = plate(edges_of(one.outline), surface_of(one, BOUNDS), (0, -500, 2100, 500), above=0, below=-20)
    assert made.solid.Volume() == pytest.approx((2000 * 1000 + segment) * 20, rel=1e-9)


@pytest.mark.parametrize(("towards", "drop"), [("aft", (0, 0)), ("forward", (2000, 0)), ("port", (1000, 500)),
                                               ("starboard", (1000, -500))])
def test_a_falling_sole_is_lowest_where_it_falls_to(towards, drop):
    face = surface_of(sole(fall="1:50", towards=towards, surface=10), BOUNDS)
    half = 1000 if towards in ("aft", "forward") else 500
    assert face.z(1000, 0) == pytest.approx(10)
    assert face.z(*drop) == pytest.approx(10 - half / 50)


@pytest.mark.parametrize("crown", [4, 12, 40])
def test_a_crown_is_a_circle_through_middle_and_edges(crown):
    face = surface_of(sole(crown=crown), BOUNDS)
    assert face.z(300, 0) - face.z(300, 500) == pytest.approx(crown, rel=1e-9)
    # R = c2 / (8 s) + s / 2 with chord 1000 and sagitta the crown
    assert face.radius == pytest.approx(1000**2 / (8 * crown) + crown / 2)
    frame = face.frame(300, 250, 0)
    assert math.degrees(math.acos(frame.z[2])) == pytest.approx(math.degrees(math.asin(250 / face.radius)), rel=1e-9)


def test_the_crowned_plate_lies_where_the_surface_says():
    import cadquery as cq

    one = sole(crown=20, fall="1:60")
    face = surface_of(one, BOUNDS)
    top = plate(edges_of(one.outline), face, BOUNDS, above=0, below=-20).faces("top")
    for x, y in ((200, 100), (1500, -450), (1000, 0)):
        line = cq.Vertex.makeVertex(x, y, face.z(x, y))
        # a round cylinder on a tilted axis, against a circle in each vertical section: 20 mm of crown, 1 in 3600
        assert min(f.distance(line) for f in top) < 20 / 3600 * 2


@pytest.mark.parametrize(("outline", "why"), [
    ([[0, 0], [100, 100], [100, 0], [0, 100]], "inside is not known"),
    ([[0, 0, 80], [100, 0, 80], [100, 100], [0, 100]], "takes more than the edge"),
    ([[0, 0], [0, 0], [100, 100]], "no length"),
    ([[0, 0, 10], {"at": [100, 0], "through": [50, -10]}, [100, 100]], ""),
])
def test_outlines_that_cannot_be(outline, why):
    fault, *_ = outline_faults(sole(outline=outline), ("soles", "s"))
    assert why in fault.why


@pytest.fixture(scope="module")
def small():
    data = {"moldplan": 1, "title": "t", "soles": {"s": {
        "outline": [[0, -420], [900, -380], [900, 380], [0, 420]], "fall": "1:80",
        "fittings": {"post": {"at": [60, 300], "flange": 40, "bolts": 4}},
        "below": {"tank": {"from": [100, -200, -400], "to": [500, 200, -150]}},
        "hatches": {"h": {"centre": [450, 0], "clear_opening": [400, 380],
                          "gutter": {"width": 40, "depth": 22, "fall": "1:50"}, "lid": {"thickness": 22}}}}}}
    resolved = resolve(Spec.model_validate(data))
    return resolved, assemble(resolved)


def test_all_bodies_are_valid_and_every_choice_is_told(small):
    resolved, made = small
    assert all(body.solid.isValid() and body.solid.Volume() > 0 for body in made.bodies.values())
    told = {c.field for c in resolved.choices}
    assert {"soles.s.skin", "soles.s.hatches.h.skin", "soles.s.hatches.h.drains",
            "soles.s.fittings.post.bolt_circle"} <= told


def test_the_frame_lies_in_the_soles_recess_and_touches_nothing_else(small):
    _, made = small
    place = made.hatches[0]
    frame, part = made.body(place.molding).solid, made.body("s part").solid
    assert frame.intersect(part).Volume() < 1.0
    assert frame.distance(part) < 2.0


def test_the_sheets_of_a_strip_are_its_whole(small):
    _, made = small
    place = made.hatches[0]
    for name in place.mold:
        whole = made.body(name).solid.Volume()
        parts = sum(made.body(sheet).solid.Volume() for sheet in place.mold_sheets[name])
        # a last sheet under 1 mm is no sheet: at most that much is left to be dressed on
        assert parts <= whole * (1 + 1e-6)
        assert parts == pytest.approx(whole, rel=0.02), name


def test_a_plug_is_bored_for_its_bolts_and_cut_out_of_the_core(small):
    _, made = small
    plug = made.body("s.post plug").solid
    # flange and twice the core across (ours); four bolts of 8
    assert plug.Volume() == pytest.approx((math.pi * 40**2 - 4 * math.pi * 4**2) * 20, rel=1e-6)
    assert plug.intersect(made.body("s core").solid).Volume() == pytest.approx(0, abs=1e-3)
    # all bolts inside it: on a circle of 0.7 x 40, the holes' far sides 14 + 4 from its middle
    faces = made.body("s.post plug").faces("bolt")
    middle = made.body("s.post plug").frame.origin
    far = [math.dist(f.Center().toTuple()[:2], middle[:2]) + 4 for f in faces]
    assert far == [pytest.approx(18, abs=0.2)] * 4  # the sole leans by 1:80 under them
