"""Any body as lifts: volumes of free shapes against closed forms, levels, names, and where they lie in the boat."""

import math

import cadquery as cq
import pytest

from moldplan.shape.body import Body, Frame, Shaped, block
from moldplan.shape.stack import lifted, slabs

LEANING = Frame((310.0, -45.0, 120.0), (0.6, 0.8, 0.0), (-0.64, 0.48, 0.6))
DOWEL = math.pi * 4.0**2  # of a hole of 8 mm, common practice


def body(solid, at=LEANING):
    return Body(name="hub", kind="core", shaped=Shaped(solid).moved(at), part="p", path=("p",), frame=at, density=80.0)


def bored(one):
    """Volume that its dowel holes take, by the height of each."""
    return sum(DOWEL * face.Area() / (2 * math.pi * 4.0) for face in one.shaped.roles.get("dowel hole", ()))


@pytest.mark.parametrize("at", [Frame(), LEANING])
def test_lifts_of_a_frustum_have_its_slices_volumes(at):
    """pi h (R2 + R r + r2) / 3 of each slice of 20 and of the last one of 10; r(z) = 200 - z."""
    made = lifted(body(cq.Solid.makeCone(200, 150, 50), at), stock="foam", sheet=20.0)
    assert [(one.name, one.thickness, one.stock) for one in made] == [
        ("hub lift 1", pytest.approx(20), "foam"), ("hub lift 2", pytest.approx(20), "foam"),
        ("hub lift 3", pytest.approx(10), "foam")]
    for low, high, one in zip((0, 20, 40), (20, 40, 50), made, strict=True):
        a, b = 200 - low, 200 - high
        wanted = math.pi * (high - low) * (a * a + a * b + b * b) / 3
        assert one.solid.Volume() + bored(one) == pytest.approx(wanted, rel=1e-9)
        assert bored(one) == pytest.approx(2 * DOWEL * (high - low), rel=1e-9)
        assert one.solid.isValid() and one.density == 80.0 and one.kind == "lift"
        own = one.solid.moved(one.frame.location.inverse).BoundingBox(1e-3)
        assert (own.zmin, own.zmax) == pytest.approx((0, high - low), abs=1e-4)
        assert own.xmax == pytest.approx(a, abs=0.01)  # it stands where it stood in the body
    assert [one.dowels for one in made] == [(50.0, 50.0), (), ()]


def test_lifts_of_a_spheres_cap_have_its_slices_volumes():
    """Integral of pi (R2 - z2) from z1 to z2."""
    cap = cq.Workplane().sphere(180).val().intersect(
        cq.Workplane().box(500, 500, 60, centered=(True, True, False)).translate((0, 0, 80)).val())
    made = lifted(body(cap), stock="foam", sheet=15.0, name="cap", says=lambda k, n: f"{k}/{n}")
    assert [(one.name, one.notes[0]) for one in made] == [(f"cap {k}", f"{k}/4") for k in (1, 2, 3, 4)]
    for k, one in enumerate(made):
        low, high = 80 + 15 * k, 95 + 15 * k
        wanted = math.pi * (180**2 * (high - low) - (high**3 - low**3) / 3)
        assert one.solid.Volume() + bored(one) == pytest.approx(wanted, rel=1e-6)


def test_where_nothing_of_a_body_lies_there_is_no_lift_and_a_sliver_goes_with_the_last():
    assert [(one.low, one.high) for one in slabs(block(100, 80, 25), [0, 10, 25, 40])] == [(0, 10), (10, 25)]
    made = lifted(body(block(300, 200, 40.04).solid), stock="foam", sheet=20.0)
    assert [one.thickness for one in made] == pytest.approx([20, 20.04])


def test_slabs_of_unlike_sheets_keep_the_roles():
    made = slabs(block(100, 80, 25), [0, 18, 20, 25])
    assert [one.shaped.solid.Volume() for one in made] == pytest.approx([144000, 16000, 40000])
    assert all({"port", "upper face", "lower face"} <= set(one.shaped.roles) for one in made)
    assert "underside" in made[0].shaped.roles and "underside" not in made[1].shaped.roles
