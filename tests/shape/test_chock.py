"""Chocks: finished ribs against closed forms of a circle's segment, straps against their path."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve

ROUND = {"diameter": 171, "height": 560, "knuckle_radius": 20, "shoulder_radius": 60}


def ribs(made):
    return [body for name, body in made.bodies.items() if body.kind == "part" and " rib " in name]


def segment(radius, wrap):
    """Area between an arc and its chord."""
    angle = math.radians(wrap)
    return radius**2 / 2 * (angle - math.sin(angle))


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wrap=st.floats(40, 178), liner=st.floats(0, 8), clearance=st.floats(0, 4), rise=st.floats(16, 60),
       shoulder=st.floats(8, 50), limber=st.sampled_from([0, 10]), paint=st.floats(0, 0.5))
def test_a_bare_rib_is_its_rectangle_less_segment_and_notch(spec, wrap, liner, clearance, rise, shoulder, limber,
                                                            paint):
    chock = {"wrap": wrap, "liner": liner, "clearance": clearance, "rise": rise, "shoulder": shoulder,
             "limber": limber, "edge_radius": 0, "straps": 0}
    made = assemble(resolve(spec(chocks={"gas": chock}, block=(600, 400, 20), cylinder=ROUND,
                                 coats={"paint": paint})))
    radius = 85.5 + liner + clearance
    top = rise + radius * (1 - math.cos(math.radians(wrap / 2))) - paint
    half = radius * math.sin(math.radians(wrap / 2)) + shoulder - paint
    bare = radius + paint
    lowest = rise + radius - bare
    across = 2 * math.degrees(math.acos((bare - (top - lowest)) / bare))
    notch = math.pi / 2 * (limber + paint) ** 2 if limber else 0.0
    area = 2 * half * top - segment(bare, across) - notch
    for rib in ribs(made):
        assert rib.solid.isValid()
        assert rib.solid.Volume() == pytest.approx(area * 18, rel=1e-6)


def test_the_ribs_lie_under_the_straight_of_the_cylinder(shaped):
    _, made = shaped(chocks={"gas": {"count": 3, "straps": 0}}, block=(600, 400, 20), cylinder=ROUND)
    body = made.body("block.gas cylinder").faces("body")[0].BoundingBox()
    for rib in ribs(made):
        box = rib.solid.BoundingBox()
        assert body.xmin <= box.xmin and box.xmax <= body.xmax


def test_the_cylinder_lies_clear_of_the_finished_arc_by_liner_and_clearance(shaped):
    _, made = shaped(chocks={"gas": {"liner": 3, "clearance": 1, "straps": 0}}, block=(600, 400, 20), cylinder=ROUND)
    bottle = made.body("block.gas cylinder")
    for rib in ribs(made):
        assert bottle.solid.distance(rib.faces("gas arc")[0]) == pytest.approx(3 + 1 + 0.3, abs=1e-6)
    for body in made.of_kind("liner"):
        assert bottle.solid.distance(body.solid) == pytest.approx(1, abs=1e-6)


def test_a_turned_chock_turns_the_valve(shaped):
    valve = {"valve": {"diameter": 80, "height": 80}}
    _, made = shaped(chocks={"gas": {"turn": 180, "straps": 0}}, block=(600, 400, 20), cylinder=ROUND | valve)
    assert made.body("block.gas valve room").solid.Center().x < made.body("block.gas cylinder").solid.Center().x


def test_a_strap_runs_down_square_to_its_eyes_and_half_round(shaped):
    _, made = shaped(chocks={"gas": {"straps": {"count": 1, "width": 25, "thickness": 2}, "rise": 25}},
                     block=(600, 400, 20), cylinder=ROUND)
    # both legs from the axis down to the base, and half a turn at the middle of the webbing
    axis = 25 + 85.5 + 3 + 1
    path = 2 * axis + math.pi * (85.5 + 1)
    band = made.body("block.gas strap 1")
    assert band.solid.Volume() == pytest.approx(path * 2 * 25, rel=1e-9)
    assert f"{path:.0f} mm from eye to eye" in band.notes[0]
    assert band.solid.distance(made.body("block.gas cylinder").solid) == pytest.approx(0, abs=1e-6)


def test_plugs_lie_in_the_core_under_the_eyes_and_the_core_is_cut_for_them(shaped):
    _, made = shaped(chocks={"gas": {"straps": {"count": 2, "eye_flange": 40}}}, block=(600, 400, 20), cylinder=ROUND)
    plugs = made.of_kind("core plug")
    assert len(plugs) == 4
    # common practice, no source: flange + twice the core's thickness across
    assert plugs[0].solid.Volume() == pytest.approx(math.pi * 40**2 * 20, rel=1e-9)
    core = made.body("block core").solid.Volume()
    assert core == pytest.approx(600 * 400 * 20 - 4 * math.pi * 40**2 * 20, rel=1e-9)
    for plug in plugs:
        assert plug.solid.intersect(made.body("block core").solid).Volume() == pytest.approx(0, abs=1e-3)


def test_a_skinned_rib_has_its_sheet_inside_by_skin_and_paint(shaped):
    resolved, made = shaped(chocks={"gas": {"skin": "two plies biax 450", "straps": 0, "edge_radius": 0}},
                            block=(600, 400, 20), cylinder=ROUND)
    skin = resolved.skins["block"].thickness
    rib, = {b.name: b for b in ribs(made)}.values() if len(ribs(made)) == 1 else (ribs(made)[0],)
    sheet = made.body(f"{rib.name} sheet 1")
    gap = rib.faces("gas arc")[0].distance(sheet.faces("arc")[0])
    assert gap == pytest.approx(skin, abs=1e-6)
    box = rib.solid.BoundingBox()
    assert box.xmax - box.xmin == pytest.approx(18 + 2 * skin, abs=1e-6)
