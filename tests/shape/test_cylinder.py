"""Cylinders' solids against closed forms of the bodies they are made of."""

import math

import pytest

from moldplan.shape import cylinder
from moldplan.spec.model import Cylinder


def made(**measures) -> Cylinder:
    return Cylinder.model_validate(measures)


def test_a_plain_cylinder_has_the_volume_of_a_cylinder():
    solid = cylinder.solid(made(diameter=267, height=430)).solid
    assert solid.Volume() == pytest.approx(math.pi * 133.5**2 * 430, rel=1e-9)


def test_a_round_bottom_is_half_a_sphere():
    solid = cylinder.solid(made(diameter=171, height=560, bottom="round")).solid
    radius = 85.5
    assert solid.Volume() == pytest.approx(2 / 3 * math.pi * radius**3 + math.pi * radius**2 * (560 - radius), rel=1e-9)


def test_knuckle_and_shoulder_take_away_their_rings():
    # Pappus: the corner left outside a quarter circle r, (1 - pi/4) r2, with its centroid r (10 - 3 pi)/(12 - 3 pi)
    # from both tangents, swept round the axis
    radius, knuckle, shoulder = 120.0, 30.0, 50.0
    solid = cylinder.solid(made(diameter=240, height=500, knuckle_radius=knuckle, shoulder_radius=shoulder)).solid
    lost = sum((1 - math.pi / 4) * r * r * 2 * math.pi * (radius - r * (10 - 3 * math.pi) / (12 - 3 * math.pi))
               for r in (knuckle, shoulder))
    assert solid.Volume() == pytest.approx(math.pi * radius**2 * 500 - lost, rel=1e-9)


def test_a_foot_stands_under_the_body():
    one = made(diameter=240, height=500, foot={"diameter": 180, "height": 20})
    solid = cylinder.solid(one)
    assert solid.solid.Volume() == pytest.approx(math.pi * (120**2 * 480 + 90**2 * 20), rel=1e-9)
    assert solid.faces("standing")[0].Area() == pytest.approx(math.pi * 90**2, rel=1e-9)


@pytest.mark.parametrize(("level", "radius"), [
    (0, 90.0), (20, 90.0),  # the foot
    (20 + 40 - 24, 80 + math.sqrt(40**2 - 24**2)),  # on the knuckle: 24 under its centre, 32 out of it
    (60, 120.0), (400, 120.0)])
def test_the_widest_radius_below_a_level(level, radius):
    one = made(diameter=240, height=500, knuckle_radius=40, foot={"diameter": 180, "height": 20})
    assert cylinder.widest_below(one, level, locate="body") == pytest.approx(radius)
    assert cylinder.widest_below(one, level, locate="foot") == 90.0


def test_the_valve_stands_on_the_body():
    room = cylinder.envelope(made(diameter=240, height=500, valve={"diameter": 100, "height": 80}))
    box = room.solid.BoundingBox()
    assert (box.zmin, box.zmax) == (pytest.approx(500), pytest.approx(580))


@pytest.mark.parametrize(("measures", "field"), [
    ({"knuckle_radius": 200}, "knuckle_radius"), ({"shoulder_radius": 200}, "shoulder_radius"),
    ({"foot": {"diameter": 300, "height": 20}}, "diameter"),
    ({"foot": {"diameter": 100, "height": 5, "edge_radius": 9}}, "edge_radius"),
    ({"height": 60, "knuckle_radius": 40, "shoulder_radius": 40}, "height"), ({"tolerance": 121}, "tolerance")])
def test_measures_that_cannot_be_are_named(measures, field):
    # a tolerance is capped at 50 by its own field; the rule here is for small cylinders
    if "tolerance" in measures:
        one = made(diameter=40, height=500, tolerance=20)
    else:
        one = made(**{"diameter": 240, "height": 500} | measures)
    fault, = cylinder.faults(one, ("cylinders", "a"))
    assert fault.path[-1] == field
