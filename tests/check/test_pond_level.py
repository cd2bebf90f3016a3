"""Volume up to a level and what stays as a space empties: boxes, a cone, a tray with a hollow, by hand."""

import math

import numpy as np
import pytest

from moldplan.attitude import ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import welded
from moldplan.check.pond import standing
from moldplan.check.pond_level import filled_to, level_volume
from moldplan.errors import GeometryError

LEVEL = (0.0, 0.0, 1.0)


def pyramid(n, radius, depth):
    turn = 2 * np.pi * np.arange(n) / n
    points = np.vstack([[0, 0, 0], np.stack([radius * np.cos(turn), radius * np.sin(turn), 0 * turn + depth], 1)])
    k = np.arange(n)
    return welded(points, np.stack([0 * k, k + 1, (k + 1) % n + 1], 1))


@pytest.fixture(scope="module")
def step_tray(net):
    """1000 x 400: a floor at 0 with a hollow 20 deep beside it (x under 300), plumb steps, drain at the other end.

    Its sides are the plumb walls that every edge has; the step is 0.001 wide in plan.
    """
    points, triangles, number = net([0, 300, 300.001, 1000], [0, 400], lambda X, Y: np.where(X <= 300, -20.0, 0.0))
    return welded(points, triangles, drains={"drain": number[3]})


def test_a_box_fills_by_its_area_and_a_heeled_one_from_its_edge(net):
    """Level: area x level. Heeled by t: a triangle of base h / sin t along its floor, h / cos t up its wall."""
    points, triangles, _ = net([0, 500], [0, 300], lambda X, Y: 0.0)
    flat = welded(points, triangles)
    litres, area = level_volume(flat, LEVEL, [-5, 0, 10, 25.5])
    assert litres == pytest.approx([0, 0, 1.5, 500 * 300 * 25.5 / 1e6]) and area[2:] == pytest.approx(150000)
    ring = [(0, 0), (500, 0), (500, 300), (0, 300)]
    corner = [(x, y, z) for z in (0.0, 900.0) for x, y in ring]
    sides = [t for k in range(4) for m in [(k + 1) % 4] for t in ((k, k + 4, m), (m, k + 4, m + 4))]
    box = welded(corner, [(0, 1, 2), (0, 2, 3), *sides])
    up, t = ups(15, 0), math.radians(15)
    litres, area = level_volume(box, up, [20.0, 70.0])  # starboard (y = 0) is the low side
    assert litres == pytest.approx([500 * h**2 / 2 / (math.sin(t) * math.cos(t)) / 1e6 for h in (20.0, 70.0)])
    assert area == pytest.approx([500 * h / (math.sin(t) * math.cos(t)) for h in (20.0, 70.0)])


def test_a_pyramid_fills_as_the_cube_of_its_level():
    levels = np.array([5.0, 10, 40, 80])
    litres, area = level_volume(pyramid(6, 100, 80), LEVEL, levels)
    foot = 3 * math.sqrt(3) / 2 * (100 * levels / 80) ** 2
    assert litres == pytest.approx(foot * levels / 3 / 1e6) and area == pytest.approx(foot)


def test_a_closed_rooms_ceiling_takes_off_what_it_takes_up():
    ring = [(0, 0), (500, 0), (500, 300), (0, 300)]
    corner = [(x, y, z) for z in (0.0, 200.0) for x, y in ring]
    sides = [t for k in range(4) for m in [(k + 1) % 4] for t in ((k, k + 4, m), (m, k + 4, m + 4))]
    room = welded(corner, [(0, 1, 2), (0, 2, 3), *sides, (4, 6, 5), (4, 7, 6)])
    for up in (LEVEL, ups(20, -11)[0]):
        litres, area = level_volume(room, up, [1000.0])
        assert litres == pytest.approx([500 * 300 * 200 / 1e6]) and area == pytest.approx([0], abs=1e-6)


def test_a_sea_in_a_tray_with_a_hollow_leaves_the_hollow_full(step_tray):
    """By hand: 1000 x 400 x 150 over the floor, 300 x 400 x 20 in the hollow, which alone stays."""
    filled = filled_to(step_tray, LEVEL, [(0, 0, 170), (0, 400, 150)])
    assert filled.sill == 150 and filled.rims == {"drain": 0.0}
    assert filled.full == pytest.approx(62.4, rel=1e-5) and filled.stays == pytest.approx(2.4, rel=1e-5)
    assert filled.litres([75]) == pytest.approx([32.4], rel=1e-5)
    assert filled.litres([-8, 999]) == pytest.approx([2.4, 62.4], rel=1e-5)
    assert filled.area([75, 150]) == pytest.approx(400000, rel=1e-5)
    assert filled.area([-8, 151]) == pytest.approx(0, abs=1)
    assert list(filled.knots) == [0, 150]


def test_a_blocked_drain_keeps_all_below_the_sill(step_tray):
    filled = filled_to(step_tray, LEVEL, [(0, 0, 150)], ["drain"])
    assert filled.rims == {} and filled.stays == filled.full == pytest.approx(62.4, rel=1e-5)


@pytest.mark.parametrize(("heel", "trim"), [(0, 0), (6, -2), (-9, 3)])
def test_the_curve_is_a_cubic_between_knots_with_its_area_for_slope(net, heel, trim):
    """A cubic through four levels tells a fifth; the area is the slope; the last that stays is the ponds' volume."""
    random = np.random.default_rng(4)
    x = np.linspace(0, 400, 7)
    points, triangles, number = net(x, x, lambda X, Y: random.normal(0, 10, X.shape))
    surface = welded(points, triangles, drains={"drain": number[3:5, 3]})
    up = ups(heel, trim)
    filled = filled_to(surface, up, [points[number[0, 0]] + (0, 0, 60)])
    for low, high in zip(filled.knots[:-1:5], filled.knots[1::5], strict=False):
        level = low + (high - low) * np.array([0.02, 0.3, 0.7, 0.98, 0.55])
        litres = filled.litres(level)
        scaled = (level - low) / (high - low)
        cubic = np.polyfit(scaled[:4], litres[:4], 3)
        assert np.polyval(cubic, scaled[4]) == pytest.approx(litres[4], rel=1e-10)
        slope = np.polyval(np.polyder(cubic), scaled[4]) / (high - low) * 1e6
        assert filled.area(level[4:]) == pytest.approx([slope], rel=1e-4)
    assert (np.diff(filled.litres(filled.knots)) >= -1e-12).all()
    assert filled.stays == pytest.approx(standing(flood(surface, up)).litres[0], rel=1e-9)


@pytest.mark.parametrize("wrong", [
    lambda tray: filled_to(tray, LEVEL, np.zeros((0, 3))), lambda tray: filled_to(tray, LEVEL, [(0, 0, math.nan)]),
    lambda tray: level_volume(tray, LEVEL, [math.nan]), lambda tray: filled_to(tray, LEVEL, [(0, 0, 9)], ["sink"]),
])
def test_wrong_levels_are_refused(step_tray, wrong):
    with pytest.raises(GeometryError):
        wrong(step_tray)
