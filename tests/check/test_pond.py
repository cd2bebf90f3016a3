"""Ponds against closed forms (tray, cone, cap, ring gutter), brute-force least highest ways, and laws that hold."""

import heapq
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad

from moldplan.attitude import AttitudeError, ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import Surface, welded
from moldplan.check.pond import drain_map, ponds, standing
from moldplan.errors import GeometryError


def box(length, width, high):
    """The inside of an open box: floor and four upright walls, each face loose; rim on top."""
    x, y = length / 2, width / 2
    ring = [(-x, -y), (x, -y), (x, y), (-x, y)]
    points, triangles = [(*p, 0.0) for p in ring], [(0, 1, 2), (0, 2, 3)]
    for k in range(4):
        p, q, n = ring[k], ring[(k + 1) % 4], len(points)
        points += [(*q, 0.0), (*p, 0.0), (*p, high), (*q, high)]
        triangles += [(n, n + 1, n + 2), (n, n + 2, n + 3)]
    points = np.array(points)
    return points, np.array(triangles), np.flatnonzero(points[:, 2] == high)


def tray(length=400.0, width=300.0, high=60.0):
    points, triangles, rim = box(length, width, high)
    return welded(points, triangles, overboard={"rim": rim})


def cone(points_round, radius, depth, rings=1):
    """A cone, point down, its rim overboard: a pyramid over a regular polygon, rim of that radius."""
    turn = 2 * np.pi * np.arange(points_round) / points_round
    points = np.vstack([[0, 0, 0], np.stack([radius * np.cos(turn), radius * np.sin(turn), 0 * turn + depth], 1)])
    k = np.arange(points_round)
    triangles = np.stack([0 * k, k + 1, (k + 1) % points_round + 1], 1)
    return welded(points, triangles, overboard={"rim": k + 1})


def dish(sphere, angle, rings, around):
    """A cap of a sphere, its rim `angle` [deg] from the bottom, overboard there."""
    points, triangles = [(0.0, 0.0, 0.0)], []
    for r in range(1, rings + 1):
        polar = math.radians(angle) * r / rings
        for k in range(around):
            turn = 2 * math.pi * k / around
            points.append((sphere * math.sin(polar) * math.cos(turn), sphere * math.sin(polar) * math.sin(turn),
                           sphere * (1 - math.cos(polar))))
            here, there = 1 + (r - 1) * around, 1 + (r - 1) * around + (k + 1) % around - k
            if r == 1:
                triangles.append((0, here + k, there + k))
            else:
                triangles += [(here - around + k, here + k, there + k),
                              (here - around + k, there + k, there - around + k)]
    return welded(points, triangles, overboard={"rim": range(len(points) - around, len(points))})


def litres(surface, heel=0.0, trim=0.0, blocked=()):
    return float(standing(flood(surface, ups(heel, trim)), blocked).litres[0])


@pytest.mark.parametrize("heel", [0.0, 3.0, -7.0, 11.0, 30.0])
def test_a_tray_heeled_over_holds_a_prism_less_a_wedge_or_a_wedge(heel):
    """By hand: a b h - a b^2 tan / 2 while the floor is covered, else a h^2 / (2 tan). One wall overhangs."""
    a, b, h, t = 400.0, 300.0, 60.0, math.tan(math.radians(abs(heel)))
    expected = a * b * (h - b * t / 2) if b * t <= h else a * h**2 / (2 * t)
    found = standing(flood(tray(a, b, h), ups(heel, 0)))
    assert found.litres[0] == pytest.approx(expected / 1e6, rel=1e-12)
    assert found.depth[0] == pytest.approx(h * math.cos(math.radians(heel)), rel=1e-12)
    assert found.deepest[0][2] == 0 and (heel == 0 or found.deepest[0][1] * heel < 0)
    assert found.hanging[0] == 0


@pytest.mark.parametrize("heel", [2.0, -9.0])
def test_what_lies_beyond_a_drain_in_the_middle_of_a_tray_is_a_wedge(net, heel):
    """Level floor a x b, a slot 2 r wide right across it: beyond it, a (b / 2 - r)^2 tan / 2 in the low corner."""
    a, b, r = 400.0, 300.0, 20.0
    x, y = [-a / 2, a / 2], [-b / 2, -r, r, b / 2]
    points, triangles, number = net(x, y, lambda X, Y: 0.0)
    gone = (triangles[:, :, None] == number[:, 1:3].ravel()).any(2).all(1)
    surface = welded(points, triangles[~gone], drains={"slot port": number[:, 2], "slot starboard": number[:, 1]})
    walls = np.vstack([points, points[number.ravel()] + (0, 0, 100.0)])  # upright walls, without which sides would lean
    ring = [*number[0], *number[1][::-1]]
    sides = [t for p, q in zip(ring, ring[1:] + ring[:1], strict=True)
             for t in ((p, q, p + 8), (q, q + 8, p + 8))]
    whole = welded(walls, np.vstack([triangles[~gone], sides]),
                   drains={"slot port": number[:, 2], "slot starboard": number[:, 1]})
    up = math.radians(abs(heel))
    wedge = a * (b / 2 - r) ** 2 * math.tan(up) / 2 / 1e6
    assert litres(whole, heel) == pytest.approx(wedge, rel=1e-12)
    assert litres(surface, heel) == pytest.approx(wedge * math.cos(up) ** 2, rel=1e-12)  # held by plumb walls instead


@pytest.mark.parametrize(("heel", "trim"), [(0, 0), (12, 0), (-15, 8)])
def test_a_cone_full_to_its_low_rim_is_an_elliptic_cone(heel, trim):
    """Plane square to up at distance d from the point, up turned by w from the axis, half angle a of the cone:
    semi-axes d sin a cos a / (cos^2 w - sin^2 a) and d sin a / sqrt(cos^2 w - sin^2 a), volume pi / 3 d times both."""
    radius, depth = 100.0, 80.0
    u = ups(heel, trim)[0]
    w, a = math.acos(u[2]), math.atan2(radius, depth)
    d = depth * math.cos(w) - radius * math.sin(w)
    q = math.cos(w) ** 2 - math.sin(a) ** 2
    expected = math.pi / 3 * d * (d * math.sin(a) * math.cos(a) / q) * (d * math.sin(a) / math.sqrt(q)) / 1e6
    assert litres(cone(720, radius, depth), heel, trim) == pytest.approx(expected, rel=2e-4)


def test_a_pyramid_is_exact():
    """A regular hexagon's area is 3 sqrt(3) / 2 R^2; a third of it times the depth."""
    assert litres(cone(6, 100, 80)) == pytest.approx(3 * math.sqrt(3) / 2 * 100**2 * 80 / 3 / 1e6, rel=1e-12)


@pytest.mark.parametrize("heel", [0.0, 10.0])
def test_a_dish_holds_a_cap_and_the_error_falls_as_the_square_of_its_facets(heel):
    """pi h^2 (3 R - h) / 3 with the height h of the low rim: R (1 - cos(angle - heel))."""
    h = 200 * (1 - math.cos(math.radians(35 - heel)))
    expected = math.pi * h**2 * (3 * 200 - h) / 3 / 1e6
    coarse, fine = (abs(litres(dish(200, 35, n, 4 * n), heel) / expected - 1) for n in (14, 28))
    assert fine < 2e-3
    assert fine == pytest.approx(coarse / 4, rel=0.15)


@pytest.mark.parametrize(("heel", "trim", "at"), [(4.0, 0.0, 90), (-6.0, 3.0, 45), (9.0, -2.0, 200)])
def test_a_ring_gutter_against_quadrature(heel, trim, at):
    """A level ring between upright walls, drain at bearing `at`: over the floor stand (L - u . p) / u_z, integrated."""
    inner, outer, high, n = 150.0, 190.0, 120.0, 720
    turn = 2 * np.pi * np.arange(n) / n
    circle = np.stack([np.cos(turn), np.sin(turn)], 1)
    rows = [(inner, high), (inner, 0.0), (outer, 0.0), (outer, high)]
    points = np.vstack([np.column_stack([r * circle, np.full(n, z)]) for r, z in rows])
    k = np.arange(n)
    after = (k + 1) % n
    triangles = np.vstack([np.vstack([np.stack([row * n + k, row * n + n + k, row * n + n + after], 1),
                                      np.stack([row * n + k, row * n + n + after, row * n + after], 1)])
                           for row in range(3)])
    cell = round(at * n / 360)
    rim = np.array([n + cell, n + cell + 1, 2 * n + cell, 2 * n + cell + 1])
    kept = ~(np.isin(triangles, rim).all(1))
    surface = welded(points, triangles[kept], drains={"drain": rim})
    u = ups(heel, trim)[0]
    level = float((points[rim] @ u).min())

    def over(t, r):
        return max(level - r * (u[0] * math.cos(t) + u[1] * math.sin(t)), 0.0) / u[2] * r

    expected = dblquad(over, inner, outer, 0, 2 * math.pi, epsabs=10.0, epsrel=1e-5)[0] / 1e6
    assert litres(surface, heel, trim) == pytest.approx(expected, rel=3e-4)


def brute_levels(surface, up):
    """Least highest way to an outlet by closing over every vertex in turn (as shortest paths are closed), no heap."""
    h = surface.vertices @ up
    n = len(h)
    way = np.full((n, n), np.inf)
    way[np.arange(n), np.arange(n)] = h
    for t in surface.triangles:
        for a in t:
            for b in t:
                way[a, b] = max(h[a], h[b])
    for k in range(n):
        way = np.minimum(way, np.maximum(way[:, k][:, None], way[k][None]))
    return way[:, surface.group >= 0].min(1)


@given(st.integers(0, 10_000), st.floats(-15, 15), st.floats(-8, 8))
@settings(max_examples=12, deadline=None)
def test_spill_levels_are_the_least_highest_ways(rough, seed, heel, trim):
    surface, up = rough(seed, n=9, drains=1), ups(heel, trim)
    assert flood(surface, up).level().at(0) == pytest.approx(brute_levels(surface, up[0]), abs=1e-9)


def test_spill_levels_of_a_larger_surface_against_a_heap(rough):
    surface, up = rough(7, n=40, size=900.0), ups([3, -8, 0], [1, 4, 0])
    flooded = flood(surface, up)
    beside = [[] for _ in surface.vertices]
    for a, b in surface.edges.tolist():
        beside[a].append(b)
        beside[b].append(a)
    for k, u in enumerate(up):
        h = surface.vertices @ u
        level, ready = np.full(len(h), np.inf), [(h[v], v) for v in np.flatnonzero(surface.group >= 0)]
        for z, v in ready:
            level[v] = z
        heapq.heapify(ready)
        while ready:
            z, v = heapq.heappop(ready)
            for w in beside[v] if z <= level[v] else ():
                if max(z, h[w]) < level[w]:
                    level[w] = max(z, h[w])
                    heapq.heappush(ready, (level[w], w))
        assert flooded.level().at(k) == pytest.approx(level, abs=1e-9)


@given(st.floats(0.5, 5), st.floats(0.5, 5), st.floats(-0.4, 0.4), st.floats(-10, 10), st.floats(-10, 10))
@settings(max_examples=15, deadline=None)
def test_a_convex_bowl_with_a_drain_at_its_low_point_holds_nothing(net, p, q, lean, heel, trim):
    x = np.linspace(-100, 100, 21)
    points, triangles, _ = net(x, x, lambda X, Y: 1e-3 * (p * X**2 + q * Y**2) + lean * X)
    low = int((points @ ups(heel, trim)[0]).argmin())
    surface = welded(points, triangles)
    # every edge of this grid lies along the axes or a diagonal, and the bowl along each is convex: one low place
    assert litres(surface.with_drain("drain", [low]), heel, trim) < 1e-9
    assert litres(surface.with_drain("drain", [(low + 150) % len(points)]), heel, trim) > 1e-6


@given(st.integers(0, 10_000), st.floats(-15, 15), st.floats(-8, 8))
@settings(max_examples=12, deadline=None)
def test_blocking_drains_never_lessens_what_stands(rough, seed, heel, trim):
    surface = rough(seed, drains=3)
    flooded = flood(surface, ups(heel, trim))
    none = standing(flooded)
    for name in surface.blockable:
        one = standing(flooded, [name])
        others = [other for other in surface.blockable if other != name]
        assert one.litres[0] >= none.litres[0] - 1e-12 and one.depth[0] >= none.depth[0] - 1e-9
        assert standing(flooded, others).litres[0] >= standing(flooded, others[:1]).litres[0] - 1e-12
        assert (one.level.at(0) >= none.level.at(0) - 1e-9).all()
    assert standing(flooded, surface.blockable).litres[0] == math.inf


@given(st.integers(0, 10_000), st.tuples(*[st.floats(-1, 1)] * 4), st.floats(-15, 15), st.floats(-8, 8))
@settings(max_examples=12, deadline=None)
def test_turning_boat_and_up_together_changes_nothing(rough, seed, quaternion, heel, trim):
    w, x, y, z = np.array(quaternion) / max(np.linalg.norm(quaternion), 1e-3) if any(quaternion) else (1, 0, 0, 0)
    size = math.hypot(w, x, y, z)
    w, x, y, z = w / size, x / size, y / size, z / size
    turn = np.array([[1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
                     [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
                     [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)]])
    surface, up = rough(seed), ups(heel, trim)
    here, there = (standing(flood(s, u), ["drain 0"]) for s, u in (
        (surface, up), (surface.moved(turn, (900, -50, 70)), up @ turn.T)))
    assert there.litres[0] == pytest.approx(here.litres[0], abs=1e-9)
    assert there.depth[0] == pytest.approx(here.depth[0], abs=1e-8)
    assert there.level.at(0) - there.level.flood.fall.height[:, 0] == pytest.approx(
        here.level.at(0) - here.level.flood.fall.height[:, 0], abs=1e-8)


@pytest.mark.parametrize(("heel", "trim"), [(0, 0), (5, 0), (-11, 4)])
def test_refining_flat_faces_changes_nothing(rough, heel, trim):
    surface = rough(3, n=8, drains=1)
    finer = surface.refined(15.0)
    assert len(finer.triangles) > 4 * len(surface.triangles)
    assert np.linalg.norm(finer.vertices[finer.edges[:, 0]] - finer.vertices[finer.edges[:, 1]], axis=1).max() <= 15
    for coarse, fine in ((surface, finer), (tray(), tray().refined(40))):
        here, there = (standing(flood(s, ups(heel, trim))) for s in (coarse, fine))
        assert there.litres[0] == pytest.approx(here.litres[0], rel=1e-9)
        assert there.depth[0] == pytest.approx(here.depth[0], rel=1e-9)
        assert there.served.sum() == pytest.approx(here.served.sum(), rel=1e-9)


def test_a_blocked_drain_counts_the_water_over_its_hole():
    """A floor with a hole, blocked, under an overboard rim: the whole box is full, hole and all."""
    points, triangles, _ = box(300, 300, 50)
    ring = np.array([(-20, -20, 0), (20, -20, 0), (20, 20, 0), (-20, 20, 0)], float)
    floor = [(k, (k + 1) % 4, n + (k + 1) % 4) for n in [len(points)] for k in range(4)]
    floor += [(k, len(points) + (k + 1) % 4, len(points) + k) for k in range(4)]
    soup = np.vstack([points, ring])
    loose = welded(soup, np.vstack([triangles[2:], floor]), overboard={"rim": np.flatnonzero(soup[:, 2] == 50)})
    surface = loose.with_rim("drain", centre=(0, 0, 0.2), normal=(0, 0, 2), bore=40 * math.sqrt(2))
    assert litres(surface) == 0
    assert litres(surface, blocked=["drain"]) == pytest.approx(300 * 300 * 50 / 1e6, rel=1e-12)


def two_cups(net):
    """Two square cups, 10 and 20 deep, either side of a low ridge, with an edge overboard at either end: -x and +x."""
    x = [-300, -200, -198, -102, -100, 0, 100, 102, 198, 200, 300]
    y = [-52, -50, 50, 52]

    def height(X, Y):
        inside = (abs(Y) <= 50)
        deep = np.where(inside & (X >= -198) & (X <= -102), 10.0, np.where(inside & (X >= 102) & (X <= 198), 20.0, 0.0))
        return np.where(abs(X) == 300, -5.0, np.where(X == 0, 1.0, -deep))

    points, triangles, number = net(x, y, height)
    return welded(points, triangles, overboard={"aft": number[0], "forward": number[-1]})


def test_single_ponds_have_their_place_and_where_they_go(net):
    """By hand, over a foot of 96 x 100 and walls 2 wide in plan: depth x (9600 + 200 / 2 x 2 + 192), and at the corners
    of 2 x 2, two halved through the foot's corner (4 / 3 of the depth each) and two across (2 / 3, half of it wet)."""
    aft, forward = sorted(ponds(two_cups(net), ups(0, 0)), key=lambda pond: pond.at[0])
    for pond, deep, x, out in ((aft, 10, -150, "aft"), (forward, 20, 150, "forward")):
        assert pond.litres == pytest.approx(deep * (9600 + 200 + 192 + 4) / 1e6, rel=1e-12)
        assert pond.depth == pytest.approx(deep) and pond.area == pytest.approx(100 * 104 - 2 * 2)
        assert abs(pond.at[0] - x) <= 48 and pond.at[2] == -deep
        assert pond.spill[2] == 0 and pond.outlet == out
    assert [p.outlet for p in ponds(two_cups(net), ups(0, 5))] == ["aft", "aft"]  # bow up, both run over aft


def test_a_space_with_no_way_out_says_so():
    points, triangles, _ = box(400, 300, 60)
    found = standing(flood(welded(points, triangles), ups([0, 5], 0)))
    assert (found.litres == np.inf).all() and (found.depth == np.inf).all()
    assert [(p.litres, p.outlet, p.spill) for p in found.ponds(1)] == [(math.inf, None, None)]
    assert found.served[:, -1] == pytest.approx([400 * 300, 400 * 300 * math.cos(math.radians(5)) + 300 * 0
                                                 + 400 * 60 * math.sin(math.radians(5))])


SQUARE = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0)]


@pytest.mark.parametrize(("wrong", "says"), [
    (lambda: welded([(0, 0, 0), (1, 0, math.nan), (0, 1, 0)], [(0, 1, 2)]), "no number"),
    (lambda: welded(SQUARE, [(0, 1, 4)]), "do not exist"),
    (lambda: welded(SQUARE, np.zeros((0, 3), int)), "without triangles"),
    (lambda: welded(SQUARE, [(0, 1, 1)]), "no area"),
    (lambda: welded(SQUARE, [(0, 1, 2), (0, 3, 2)]), "wound against"),
    (lambda: welded(SQUARE, [(0, 1)]), "expected"),
    (lambda: tray().with_rim("d", centre=(0, 0, 300), normal=(0, 0, 1), bore=30), "d: no hole of bore 30 mm"),
    (lambda: tray().with_rim("d", centre=(0, 0, 0), normal=(0, 0, 0), bore=30), "no circle"),
    (lambda: tray().with_drain("d", [0, 99]), "no vertices"),
    (lambda: tray().with_edge("more", np.flatnonzero(tray().vertices[:, 2] > 0)), "shares vertices with rim"),
    (lambda: tray().refined(0), "at most 0"),
    (lambda: ponds(tray(), ups(0, 0), ["rim"]), "no drain"),
    (lambda: drain_map(tray(), [], [0]), "no attitudes"),
])
def test_wrong_surfaces_are_refused(wrong, says):
    with pytest.raises(GeometryError, match=says):
        wrong()


@pytest.mark.parametrize("up", [(0, 0, 2), (0, math.nan, 1), (0, 1), np.zeros((0, 3))])
def test_wrong_directions_are_refused(up):
    with pytest.raises(AttitudeError):
        flood(tray(), up)


def test_loose_triangles_are_welded():
    points, triangles, _ = box(10, 10, 10)
    surface = welded(points + np.random.default_rng(0).uniform(-1e-3, 1e-3, points.shape), triangles)
    assert isinstance(surface, Surface) and len(surface.vertices) == 8 and len(surface.border) == 4
