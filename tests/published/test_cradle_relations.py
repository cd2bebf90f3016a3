"""A cylinder in an arc or in a V: chord, sagitta, arc, radius and gaps, measured on finished solids.

Source     plane geometry of the circle (mathematics); figures worked by two independent routes that agreed, printed to
           four or five decimals, so half a unit of the last is claimed.
Arc        chord 2R sin(w/2), sagitta R(1 - cos(w/2)), arc R w, and back: R = c^2/(8s) + s/2.
V          included angle 2d: gap under the cylinder R/sin d - R; contact lines 2R cos d apart.
Wide arc   cylinder R lying in an arc R + c, touching at the bottom: gap along the cylinder's own radius at an angle
           from the bottom sqrt((R + c)^2 - c^2 sin^2) - c cos - R, checked by brute force where it was worked.
"""

import math

import pytest

from moldplan.check.gap import least


def ends(arc):
    """Across and up, of the four corners of a rib's arc face: sorted pairs [mm]."""
    spots = sorted({(round(v.Y, 9), round(v.Z, 9)) for v in arc.Vertices()})
    assert len(spots) == 2, spots
    return spots


@pytest.mark.parametrize(
    ("radius", "wrap", "chord", "sagitta", "arc"),
    [
        (85.5, 120, 148.0903, 42.75, 179.0708),
        (85.5, 90, 120.9153, 25.0424, 134.3031),
        (101.5, 120, 175.8032, 50.75, None),
        (155.0, 120, 268.4679, 77.5, None),
    ],
)
def test_a_finished_rib_has_the_printed_chord_sagitta_and_arc(rib_of, radius, wrap, chord, sagitta, arc):
    made = rib_of(radius=radius, wrap=wrap)
    (left, level), (right, other) = ends(made.arc)
    assert level == pytest.approx(other, abs=1e-6)
    assert right - left == pytest.approx(chord, abs=5e-5)
    lowest = made.arc.BoundingBox(1e-9).zmin
    assert level - lowest == pytest.approx(sagitta, abs=5e-5)
    back = chord**2 / (8 * sagitta) + sagitta / 2
    assert made.arc._geomAdaptor().Cylinder().Radius() == pytest.approx(back, abs=5e-4)
    if arc is not None:
        thickness = made.arc.BoundingBox(1e-9).xlen
        assert made.arc.Area() / thickness == pytest.approx(arc, abs=5e-5)


def test_a_chord_of_140_on_a_radius_of_101_and_a_half_is_28_deep(rib_of):
    made = rib_of(radius=101.5, wrap=math.degrees(2 * math.asin(70 / 101.5)))
    (left, level), (right, _) = ends(made.arc)
    assert right - left == pytest.approx(140, abs=1e-6)
    assert level - made.arc.BoundingBox(1e-9).zmin == pytest.approx(28.000, abs=5e-4)


def reach_along(shape, start, angle, far=400.0):
    """Distances along a ray in the section plane, from `start`, at which it enters and leaves a solid [mm]."""
    import cadquery as cq

    way = cq.Vector(0, math.sin(math.radians(angle)), -math.cos(math.radians(angle)))
    inside = cq.Edge.makeLine(start, start + way * far).intersect(shape)
    along = [(v.Center() - start).dot(way) for v in inside.Vertices()]
    assert along, "the ray meets nothing"
    return min(along), max(along)


@pytest.mark.parametrize(("angle", "gap"), [(0, 0.0), (30, 0.38921), (60, 1.46186), (90, 2.94914), (-60, 1.46186)])
def test_a_cylinder_in_a_wider_arc_leaves_the_printed_gap(rib_of, angle, gap):
    """The cylinder is let down by its clearance; along each of its radii, the rib's near face less its own."""
    import cadquery as cq

    made = rib_of(radius=85.5, wrap=180, clearance=3)
    lowered = made.cylinder.solid.moved(cq.Location(cq.Vector(0, 0, -3)))
    middle = made.rib.solid.Center().x
    axis = made.stand.frame.origin
    start = cq.Vector(middle, axis[1], axis[2] - 3)
    _, surface = reach_along(lowered, start, angle)
    near, _ = reach_along(made.rib.solid, start, angle)
    assert near - surface == pytest.approx(gap, abs=5e-6)


def test_before_it_is_let_down_the_gap_is_the_clearance_and_after_it_touches(rib_of):
    import cadquery as cq

    made = rib_of(radius=85.5, wrap=120, clearance=3)
    assert least(made.rib.solid, made.cylinder.solid).size == pytest.approx(3, abs=1e-7)
    lowered = made.cylinder.solid.moved(cq.Location(cq.Vector(0, 0, -3)))
    assert least(made.rib.solid, lowered).size == pytest.approx(0, abs=1e-6)


def straight_sided_rest(included, reach=500.0, length=200.0):
    """A V with its lowest line on the x axis, open upward."""
    import cadquery as cq

    from moldplan.shape.body import extruded

    half = math.radians(included / 2)
    corners = [(0, 0), (reach * math.sin(half), reach * math.cos(half)), (reach, -100), (-reach, -100),
               (-reach * math.sin(half), reach * math.cos(half))]
    spots = [cq.Vector(-length / 2, y, z) for y, z in corners]
    names = ("port face", "", "", "", "starboard face")
    pairs = zip(names, spots, spots[1:] + spots[:1], strict=True)
    return extruded([(n, cq.Edge.makeLine(a, b)) for n, a, b in pairs], (length, 0, 0))


def lying_cylinder(radius, height, length=150.0):
    import cadquery as cq

    return cq.Solid.makeCylinder(radius, length, cq.Vector(-length / 2, 0, height), cq.Vector(1, 0, 0))


@pytest.mark.parametrize(
    ("radius", "included", "gap", "apart"),
    [
        (85.5, 90, 35.4153, 120.9153),
        (85.5, 120, 13.2269, 85.5),
        (101.5, 120, 15.7021, 101.5),
        (155.0, 120, 23.9786, 155.0),
    ],
)
def test_a_cylinder_that_comes_to_rest_in_a_v_leaves_the_printed_gap(radius, included, gap, apart):
    """It is let down until it touches, the height found from two measured distances; no formula places it."""
    import cadquery as cq

    rest = straight_sided_rest(included)
    high, low = 4 * radius, 3 * radius
    d_high, d_low = (least(rest.solid, lying_cylinder(radius, z)).size for z in (high, low))
    height = low - d_low * (high - low) / (d_high - d_low)
    lying = lying_cylinder(radius, height)
    assert least(rest.solid, lying).size == pytest.approx(0, abs=1e-6)
    bottom_line = cq.Edge.makeLine(cq.Vector(-60, 0, 0), cq.Vector(60, 0, 0))
    assert least(bottom_line, lying).size == pytest.approx(gap, abs=5e-5)
    hair = lying_cylinder(radius, height + 1e-3)  # a hair up, so that the nearest points stand alone
    port, starboard = (least(rest.faces(f"{side} face"), hair).start for side in ("port", "starboard"))
    assert abs(port[1] - starboard[1]) == pytest.approx(apart, abs=2e-3)
