"""What hangs over a pond: closed forms for battens, shelves and ducts, and the grid of cells as another way."""

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from moldplan.attitude import ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import welded
from moldplan.check.pond import ponds, standing
from moldplan.check.trap import inside_of, pockets, where
from moldplan.errors import GeometryError

QUADS = [(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]


def brick(low, high, *, room=False):
    """Vertices and triangles of a brick, facing out; as a room, facing in."""
    (a, b, c), (d, e, f) = low, high
    points = [(a, b, c), (d, b, c), (d, e, c), (a, e, c), (a, b, f), (d, b, f), (d, e, f), (a, e, f)]
    triangles = [t for q in QUADS for t in ((q[0], q[1], q[2]), (q[0], q[2], q[3]))]
    return np.array(points, float), np.array([t[::-1] for t in triangles] if room else triangles)


def together(*pieces):
    points, triangles, count = [], [], 0
    for p, t in pieces:
        points.append(p)
        triangles.append(t + count)
        count += len(p)
    return np.vstack(points), np.vstack(triangles)


def extruded(profile, width, caps):
    """A room along y: a closed profile in x, z, counter-clockwise seen from starboard; triangles of its two ends."""
    n = len(profile)
    points = np.array([(x, s * width / 2, z) for s in (-1, 1) for x, z in profile], float)
    sides = [t for k in range(n) for m in [(k + 1) % n] for t in ((k, m, n + k), (m, n + m, n + k))]
    ends = [t for a, b, c in caps for t in ((a, c, b), (n + a, n + b, n + c))]
    return points, np.array(sides + ends)


ROOM = (0, 0, 0), (400, 300, 200)


def locker(*inside):
    """A closed room 400 x 300 x 200 with a drain in one corner of its floor, and bricks in it."""
    points, triangles = together(brick(*ROOM, room=True), *(brick(*b) for b in inside))
    surface = welded(points, triangles)
    corner = np.flatnonzero((surface.vertices == 0).all(1))
    return surface.with_drain("drain", corner)


BATTENS = {"from wall to wall": ((150, 0, 120), (180, 300, 150)), "free": ((150, 40, 120), (180, 260, 150)),
           "near the floor": ((90, 100, 12), (200, 200, 40))}


@pytest.mark.parametrize("batten", BATTENS.values(), ids=BATTENS)
@pytest.mark.parametrize(("heel", "trim"), [(0, 0), (0.5, 1), (-4, 6), (-25, -20)])
def test_a_hanging_batten_adds_no_pond(batten, heel, trim):
    """Dry floors stay dry; what stands anyway is lessened by what of the batten is under water, never more."""
    bare, found = (standing(flood(s, ups(heel, trim))) for s in (locker(), locker(batten)))
    size = np.prod(np.subtract(batten[1], batten[0])) / 1e6
    assert found.hanging[0] >= 1
    assert found.depth[0] == pytest.approx(bare.depth[0], abs=1e-9)
    assert bare.litres[0] - size - 1e-12 <= found.litres[0] <= bare.litres[0] + 1e-12
    assert len(found.ponds(0)) == len(bare.ponds(0))


def test_a_batten_with_its_foot_in_the_water_takes_its_share():
    """Floor 400 x 300 under a sill 80 high: 120000 x 80 less 110 x 100 x (80 - 12 up to 28 of its height)."""
    points, triangles = together(brick(*ROOM, room=True), brick((90, 100, 12), (200, 200, 40)))
    surface = welded(points, triangles)
    sill = np.flatnonzero((surface.vertices == (400, 300, 200)).all(1))
    up = np.array([[0.0, 0.0, 1.0]])
    full = standing(flood(surface.with_edge("sill", sill), up))
    assert full.litres[0] == pytest.approx((400 * 300 * 200 - 110 * 100 * 28) / 1e6, rel=1e-12)
    assert len(full.ponds(0)) == 1 and full.depth[0] == 200


def test_without_the_joint_a_batten_would_make_a_false_pond():
    """The case is a real one: over the surface alone, the batten's underside fills up to where it meets the walls."""
    surface = locker(BATTENS["from wall to wall"])
    flooded = flood(surface, ups(0.5, 1))
    kept = flooded.hangs.vertex
    assert len(kept) >= 1 and (surface.vertices[kept, 2] == 120).all()
    assert (surface.vertices[flooded.hangs.below, 2] == 0).all()


@pytest.mark.parametrize(("heel", "trim"), [(0, 0), (3, 2), (-6, 4)])
def test_a_shelf_behind_a_lip_holds_what_the_cells_say(heel, trim):
    """A shelf on the far wall with a lip along its free edge, over a drained floor: at rest 96 x 300 x 20 by hand."""
    profile = [(0, 0), (400, 0), (400, 100), (300, 100), (300, 130), (304, 130), (304, 110), (400, 110), (400, 200),
               (0, 200)]
    caps = [(0, 1, 2), (0, 2, 3), (0, 3, 9), (3, 4, 9), (4, 5, 9), (5, 8, 9), (5, 6, 8), (6, 7, 8)]
    points, triangles = extruded(profile, 300, caps)
    surface = welded(points, triangles)
    assert len(surface.border) == 0
    low = surface.with_drain("drain", np.flatnonzero((surface.vertices[:, 2] == 0) & (surface.vertices[:, 0] == 0)))
    up = ups(heel, trim)
    found = standing(flood(low, up))
    cells = inside_of(surface.vertices, surface.triangles, up, size=2.5)
    by_cells = pockets(cells, {"drain": ((0, -150, 0), 5.0), "other end": ((0, 150, 0), 5.0)})
    assert sum(p.litres for p in by_cells) == pytest.approx(found.litres[0], rel=0.12)
    if heel == trim == 0:
        assert found.litres[0] == pytest.approx(96 * 300 * 20 / 1e6, rel=1e-12)
    assert found.depth[0] == pytest.approx(max((p.depth for p in by_cells), default=0.0), abs=2 * 2.5)


@given(st.integers(0, 10_000), st.floats(-20, 20), st.floats(-15, 15))
@example(0, 0.0, -2.2e-313)  # as good as level: depths whose squares are nought
@settings(max_examples=8, deadline=None)
def test_rooms_with_bricks_in_mid_air_agree_with_the_cells(seed, heel, trim):
    """Three bricks at random, some of which overlap the water of a heeled room: level within a cell, litres within a
    cell over the room's floor."""
    random, size = np.random.default_rng(seed), 8.0
    bricks = []
    for k in range(3):
        low = np.array([20 + 130 * k, random.uniform(10, 150), random.uniform(5, 120)])
        bricks.append((low, low + random.uniform((30, 30, 10), (100, 130, 70))))
    surface, up = locker(*bricks), ups(heel, trim)
    found = standing(flood(surface, up))
    cells = inside_of(surface.vertices, surface.triangles, up, size=size)
    by_cells = pockets(cells, {"drain": ((0, 0, 0), 1.5 * size)})
    assert found.litres[0] == pytest.approx(sum(p.litres for p in by_cells), abs=1.5 * size * 400 * 300 / 1e6)
    assert found.depth[0] == pytest.approx(max((p.depth for p in by_cells), default=0.0), abs=2.5 * size)


DUCT_PROFILE = [(0, 100), (100, 100), (200, 40), (300, 100), (400, 100), (400, 130), (300, 130), (200, 70), (100, 130),
                (0, 130)]
DUCT = extruded(DUCT_PROFILE, 50, [t for k in range(4) for t in ((k, k + 1, 9 - k), (k + 1, 8 - k, 9 - k))])


def test_a_dip_in_the_way_out_is_a_pocket_of_gas_and_seals_itself():
    """A square duct that dips by 60, open at one end: below its lips lie (200 x 60 / 2) x 50 less what is over the
    duct's roof, a wedge of the same slopes 60 - 30 high: by hand 200 x 60 / 2 - 100 x 30 / 2 mm2 of profile."""
    surface = welded(*DUCT)
    assert (surface.areas * surface.vertices[surface.triangles].mean(1)).sum() / 3 == pytest.approx(-400 * 30 * 50)
    end = surface.with_edge("overboard", np.flatnonzero(surface.vertices[:, 0] == 400))
    pocket, = ponds(end, ups(0, 0))
    assert pocket.litres == pytest.approx((200 * 60 / 2 - 100 * 30 / 2) * 50 / 1e6, rel=1e-12)
    assert pocket.depth == pytest.approx(60) and pocket.at[0] == 200 and pocket.outlet == "overboard"
    cells = inside_of(*DUCT, (0, 0, 1), size=2.0)
    other, = pockets(cells, {"overboard": ((400, 0, 115), 40.0)})
    assert other.litres == pytest.approx(pocket.litres, rel=0.06)
    assert ponds(end, ups(0, 40)) == () or ponds(end, ups(0, 40))[0].at[0] == 0  # bow up: it all lies aft
    assert ponds(end, ups(0, -40)) == ()  # bow down past its slope of 31 deg, it falls all along


def test_cells_of_a_function_hold_a_cap():
    """A ball of radius 100, its opening in the side: pi h^2 (3 R - h) / 3 under the opening's low edge."""
    def ball(p):
        return (p**2).sum(1) <= 100**2

    found = {}
    for size in (8.0, 4.0):
        cells = where(ball, [(-100, -100, -100), (100, 100, 100)], (0, 0, 1), size=size)
        pocket, = pockets(cells, {"port": ((0, 100, 0), 30.0)})
        found[size] = pocket.litres
        assert pocket.opening == "port" and pocket.at[2] == pytest.approx(-100, abs=size)
    h = 100 - 30 * math.sqrt(1 - 0.15**2)  # how far down a ball of 30 about (0, 100, 0) meets the large one
    cap = math.pi * h**2 * (300 - h) / 3 / 1e6
    assert abs(found[4.0] - cap) < 4.0 * math.pi * 100**2 / 1e6
    assert found[8.0] == pytest.approx(cap, abs=8.0 * math.pi * 100**2 / 1e6)


def test_a_room_that_never_opens_holds_all_for_ever():
    cells = inside_of(*brick(*ROOM, room=True), (0, 0, 1), size=20.0)
    assert cells.free.sum() == 20 * 15 * 10
    pocket, = pockets(cells, {})
    assert pocket.litres == math.inf and pocket.opening is None


@pytest.mark.parametrize(("wrong", "says"), [
    (lambda: inside_of(*brick(*ROOM, room=True), (0, 0, 1), size=0), "cells of 0 mm"),
    (lambda: inside_of(*brick(*ROOM, room=True), (0, 0, 1), size=0.1), "allowed"),
    (lambda: pockets(inside_of(*brick(*ROOM, room=True), (0, 0, 1), size=20), {"vent": ((-90, 0, 0), 5)}), "vent: no"),
])
def test_wrong_cells_are_refused(wrong, says):
    with pytest.raises(GeometryError, match=says):
        wrong()
