"""How far a core's tapered edge runs: its thickness over the tangent of its angle.

Figures   1:2 is 26.565 deg, 1:3 is 18.435 deg; a core of 20 mm runs out over 40 mm at 1:2, 34.64 mm at 30 deg and
          20 mm at 45 deg (mathematics; half a unit of the last printed digit is claimed).
Measured  on the core of a lid of 20 + 2 x 1.2 of skin + 2 x 0.3 of paint, between its underside and its top.
"""

import pytest

from moldplan.check.lid_weight import close_out

ROWS = [(26.565, 40, "27 deg"), (18.435, 60, "18 deg"), (30, 34.64, "30 deg"), (45, 20, "45 deg")]


@pytest.mark.parametrize(("angle", "run", "words"), ROWS)
def test_a_core_of_20_mm_runs_out_as_printed(hatch_bits, angle, run, words):
    spot = hatch_bits({"lid/thickness": 23, "lid/taper": angle}, "lid")
    core = spot.assembly.body(spot.place.lid_core)
    (under,), (top,) = (core.faces(role) for role in ("underside", "top"))
    assert top.Center().z - under.Center().z == pytest.approx(20, abs=1e-6)
    wide, narrow = under.BoundingBox(), top.BoundingBox()
    for low, high in ((narrow.xmax, wide.xmax), (narrow.ymax, wide.ymax), (wide.ymin, narrow.ymin)):
        assert high - low == pytest.approx(run, abs=5e-3)
    assert f"tapers over {run:.1f} mm at {words}" in close_out(spot).note
