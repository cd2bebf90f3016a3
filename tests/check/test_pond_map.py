"""Areas that drains serve, maps over heel and trim, and water to draw: against lines on planes, and by themselves."""

import math

import numpy as np
import pytest

from moldplan.attitude import ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import welded
from moldplan.check.pond import drain_map, each_blocked, ponds, service, standing


@pytest.mark.parametrize("bearing", [0, 20, 40, 75])
def test_areas_served_on_a_plane_are_those_of_parallel_lines(net, bearing):
    """A square that falls along a bearing b from aft to port: past its aft side goes 1 - tan(b) / 2 of it (b to 45),
    past its port side the rest; beyond 45 the same the other way round."""
    x = np.linspace(-500, 500, 25)
    b = math.radians(bearing)
    points, triangles, number = net(x, x, lambda X, Y: 0.02 * (math.cos(b) * X - math.sin(b) * Y))
    surface = welded(points, triangles, overboard={"aft": number[0], "port": number[1:, -1]})
    aft = 1 - math.tan(b) / 2 if bearing <= 45 else 1 / math.tan(b) / 2
    found = standing(flood(surface, ups(0, 0))).served[0]
    assert found.sum() == pytest.approx(1e6, rel=1e-9) and found[-1] == 0
    assert found[0] / 1e6 == pytest.approx(aft, abs=0.03)
    share = service(surface, ups(0, 0))
    assert share.sum(1) == pytest.approx(1) and share[number[2, 1], 0] > 0.95


def test_what_a_blocked_drain_served_goes_to_the_next(rough):
    surface = rough(5, drains=3)
    flooded = flood(surface, ups(4, 2))
    before, after = standing(flooded).served[0], standing(flooded, ["drain 1"]).served[0]
    assert after[1] == 0 and after.sum() == pytest.approx(before.sum())
    assert (after[[0, 2]] >= before[[0, 2]] - 1e-6).all()
    assert service(surface, ups(4, 2), ["drain 1"])[:, 1].max() == 0


def test_a_drain_map_tells_every_attitude_as_by_itself(rough):
    surface, heels, trims = rough(11, drains=2), [-10, 0, 4, 12], [-3, 0, 5]
    found = drain_map(surface, heels, trims, each_blocked(surface))
    assert found.litres.shape == found.depth.shape == (3, 4, 3) and found.served.shape == (3, 4, 3, 3)
    assert found.blocked == ((), ("drain 0",), ("drain 1",)) and found.hanging.shape == (4, 3)
    for b, shut in enumerate(found.blocked):
        for i, heel in enumerate(heels):
            for j, trim in enumerate(trims):
                alone = sum(p.litres for p in ponds(surface, ups(heel, trim), shut))
                assert found.litres[b, i, j] == pytest.approx(alone)
    worst = found.worst(1)
    assert found.litres[1, heels.index(worst.heel), trims.index(worst.trim)] == found.litres[1].max()
    limit = float(np.median(found.litres[0]))
    assert found.safe(litres=limit, depth=math.inf)[0].sum() == 6
    assert not found.safe(litres=math.inf, depth=0.0)[0].any()


def test_water_to_draw_has_the_ponds_area_and_volume(rough):
    """Over each drawn triangle stands its area along up times its mean depth."""
    surface, up = rough(2), ups(6, -3)
    found = standing(flood(surface, up))
    corners, depth = found.water(0)
    seen = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) @ up[0] / 2
    assert (seen * depth.mean(1)).sum() / 1e6 == pytest.approx(found.litres[0], rel=1e-9)
    assert seen.sum() == pytest.approx(sum(p.area for p in found.ponds(0)), rel=1e-6)
