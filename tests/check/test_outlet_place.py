"""Where an outlet works, against brute force over attitudes and heights written out here, and hand sums."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.attitude import AttitudeBox, AttitudeError, Waterline
from moldplan.check.fall_leg import worst_leg
from moldplan.check.outlet_place import Demand, bands_at, least_floor, least_outlet, outlets_that_work, shifts

WATER = Waterline(height=-380, at_x=2600)
AFLOAT = AttitudeBox(heel=(-12, 12), trim=(-2, 4))
H, T = (np.radians(a).ravel() for a in np.meshgrid(np.linspace(-12, 12, 49), np.linspace(-2, 4, 49)))
UPS = np.stack([np.sin(T), np.cos(T) * np.sin(H), np.cos(T) * np.cos(H)], -1)
DEMAND = Demand(at_rest=75, in_box=0, fall=0.5, under_floor=20, apart=500)


def works(p, floor, demand, boxes=()):
    """Brute force: every demand looked at on a dense grid of attitudes."""
    run = np.array(p) - floor
    dry = (UPS @ (np.array(p) - [2600, 0, -380])).min() >= demand.in_box and p[2] + 380 >= demand.at_rest
    falls = (-(UPS @ run) / np.linalg.norm(run)).min() >= math.sin(math.radians(demand.fall))
    clear = all(math.dist(np.clip(p, np.minimum(*b), np.maximum(*b)), p) >= demand.apart for b in boxes)
    return dry and falls and clear and floor[2] - p[2] >= demand.under_floor


@given(st.floats(-300, 5000), st.floats(-900, 900), st.floats(0, 100))
@settings(max_examples=20, deadline=None)
def test_the_least_outlet_just_stays_dry_at_the_worst_attitude(x, y, clear):
    z = least_outlet((x, y), WATER, AFLOAT, in_box=clear)
    over = (UPS @ np.array([x - 2600, y, z + 380])).min()
    assert clear - 1e-7 <= over <= clear + 0.1  # the grid: a quarter and an eighth of a degree, squared, over 3 m


def test_at_rest_asks_more_where_the_boat_hardly_moves():
    still = AttitudeBox(heel=(-1, 1), trim=(0, 0))
    assert least_outlet((2600, 100), WATER, still, at_rest=75, in_box=0) == -305
    assert least_outlet((2600, 560), WATER, AttitudeBox(heel=(-12, 12), trim=(0, 0)), at_rest=75) == pytest.approx(
        -380 + 560 * math.tan(math.radians(12)))


@given(st.floats(-600, 600), st.floats(200, 700), st.floats(-250, 400))
@settings(max_examples=15, deadline=None)
def test_a_band_holds_the_heights_that_brute_force_finds(x, y, z):
    floor, window = (300.0, 150.0, z), ((500, 600, 100), (900, 620, 300))
    bands = bands_at((x, y), floor, WATER, AFLOAT, DEMAND, openings=[window])
    for height in np.linspace(-450, z, 60):
        inside = any(b.low <= height <= b.high for b in bands)
        near = any(abs(height - end) < 0.6 for b in bands for end in (b.low, b.high))
        assert near or inside == works((x, y, height), floor, DEMAND, [window])


def test_an_opening_cuts_a_band_in_two():
    """A spark 300 beside the place at height 0, 500 to keep: 400 above and 400 below are shut, by 3, 4, 5."""
    still = AttitudeBox(heel=(0, 0), trim=(0, 0))
    bands = bands_at((2600, 500), (2600, 400, 1000), Waterline(height=-700, at_x=2600), still, Demand(apart=500),
                     openings=[((2600, 800, 0), (2600, 800, 0))])
    assert [(b.low, b.high) for b in bands] == [(-700, -400), (400, 1000)]


def test_the_least_floor_is_worked_uphill_leg_by_leg():
    """Heel of 10 deg alone: 300 to port needs 300 tan 10, aft needs nothing; the floor stands their sum higher."""
    box = AttitudeBox(heel=(-10, 10), trim=(0, 0))
    z = least_floor((0, 450, -300), [(400, 150), (0, 150)], box)
    assert z == pytest.approx(-300 + 300 * math.tan(math.radians(10)))
    assert least_floor((0, 450, -300), [(400, 150), (0, 150)], box, under_floor=80) == -220


@given(st.floats(-400, 400), st.floats(-300, 300), st.floats(0, 2))
@settings(max_examples=15, deadline=None)
def test_a_floor_at_its_least_falls_and_a_hair_lower_does_not(x, y, fall):
    outlet = (0.0, 560.0, -300.0)
    z = least_floor(outlet, [(x, y)], AFLOAT, fall=fall)
    assert worst_leg([(x, y, z), outlet], AFLOAT).least.value == pytest.approx(fall, abs=1e-9)
    assert worst_leg([(x, y, z - 0.1), outlet], AFLOAT).least.value < fall


@given(st.floats(100, 600), st.floats(-100, 300))
@settings(max_examples=15, deadline=None)
def test_floor_from_outlet_and_outlets_from_floor_are_the_same_sum(x, y):
    outlet = (0.0, 560.0, least_outlet((0.0, 560.0), WATER, AFLOAT, at_rest=75))
    floor = (x, y, least_floor(outlet, [(x, y)], AFLOAT, fall=0.5))
    over = bands_at(outlet[:2], (*floor[:2], floor[2] + 1e-6), WATER, AFLOAT, Demand(at_rest=75, fall=0.5))
    assert len(over) == 1 and over[0].room == pytest.approx(1e-6, abs=1e-7)
    assert not bands_at(outlet[:2], (*floor[:2], floor[2] - 1e-6), WATER, AFLOAT, Demand(at_rest=75, fall=0.5))


def test_along_a_hull_what_works_is_what_brute_force_finds():
    """A stern 1.2 m wide: only places near enough that the hose still falls and high enough that they stay dry."""
    hull, floor = [(0, -600), (0, 600), (2000, 600), (2000, -600)], (300.0, 150.0, -100.0)
    bands = outlets_that_work(hull, floor, WATER, AFLOAT, Demand(at_rest=75, fall=0.5), step=150)
    assert bands and all(any(math.isclose(b.at[0], e) for e in (0, 2000)) or abs(b.at[1]) == 600 for b in bands)
    for band in bands:
        assert works((*band.at, band.low + 0.6), floor, Demand(at_rest=75, fall=0.5)) or band.room < 1.2
        assert not works((*band.at, band.low - 0.6), floor, Demand(at_rest=75, fall=0.5))
    there = {b.at for b in bands}
    places = [(2000 * k / 14, 600.0) for k in range(14)]
    for at in (p for p in places if not any(math.dist(p, q) < 1 for q in there)):
        assert not any(works((*at, z), floor, Demand(at_rest=75, fall=0.5)) for z in np.linspace(-400, -100, 61))


@given(st.floats(-500, 500), st.floats(300, 700), st.floats(-450, 0), st.floats(-300, 300))
@settings(max_examples=12, deadline=None)
def test_every_shift_works_by_brute_force_and_a_lesser_one_does_not(x, y, z, level):
    demand, window = Demand(at_rest=75, fall=0.5, apart=300), ((500, 700, -200), (900, 720, 100))
    floor = (300.0, 150.0, level)
    ways = {s.way: s for s in shifts((x, y, z), floor, WATER, AFLOAT, demand, openings=[window])}
    boxes = [window]
    if not ways:
        assert works((x, y, z), floor, replaced(demand, -0.02), boxes)
        return
    up = ways["outlet and floor up"]
    assert works(up.outlet, up.floor, replaced(demand, -0.02), boxes)
    assert up.outlet[:2] == (x, y) and up.floor_moved >= 0 and up.outlet_moved >= 0
    if up.floor_moved > 1:
        assert not works(up.outlet, (*up.floor[:2], up.floor[2] - 1), demand, boxes)
    if up.outlet_moved > 1:
        assert not works((x, y, up.outlet[2] - 1), up.floor, demand, boxes)
    inboard = ways.get("outlet inboard")
    if inboard:
        assert works(inboard.outlet, floor, replaced(demand, -0.02), boxes)


def replaced(demand, ease):
    """Demands eased by a hair of rounding and of the grid: fall [deg], clearances [mm]."""
    return Demand(at_rest=demand.at_rest + ease, in_box=demand.in_box + ease, fall=demand.fall + ease / 10,
                  under_floor=demand.under_floor + ease, apart=demand.apart + ease)


def test_an_outlet_comes_inboard_no_further_than_it_must():
    """Abreast of the pivot, 12 deg of heel, floor 240 over the water on the centreline: hose and water both take
    y tan 12 from the height, so that the two meet where 2 y tan 12 = 240, at 564.6 mm."""
    box = AttitudeBox(heel=(-12, 12), trim=(0, 0))
    water, floor = Waterline(height=0, at_x=0), (0, 0, 240)
    up, inboard = shifts((0, 700, 100), floor, water, box, Demand())
    tan = math.tan(math.radians(12))
    assert inboard.outlet == pytest.approx((0, 120 / tan, 120), abs=0.02)
    assert (up.outlet[2], up.floor[2]) == pytest.approx((700 * tan, 1400 * tan))
    assert shifts((0, 500, 120), floor, water, box, Demand()) == ()


@pytest.mark.parametrize("wrong", [
    lambda: least_outlet((0, 0), WATER, AttitudeBox(heel=(0, 90), trim=(0, 0))),
    lambda: least_floor((0, 0, 0), [], AFLOAT),
    lambda: outlets_that_work([(0, 0)], (0, 0, 0), WATER, AFLOAT, DEMAND),
    lambda: outlets_that_work([(0, 0), (1, 1)], (0, 0, 0), WATER, AFLOAT, DEMAND, step=0)])
def test_what_cannot_be_worked_out_is_refused(wrong):
    with pytest.raises(AttitudeError):
        wrong()
