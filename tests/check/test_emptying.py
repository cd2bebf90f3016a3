"""Emptying by its laws and by another way of reckoning: the time integral of dV / Q, and small steps in time."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.check.emptying import (
    Outlet,
    Reservoir,
    each_blocked,
    empty,
    opening,
    prism,
    standing,
    tabulated,
    time_to_fill,
)
from moldplan.check.flow import FlowError
from moldplan.check.flow_drain import Drain
from moldplan.check.flow_pipe import Bend, Pipe

few = settings(max_examples=25, deadline=None)
WEDGE = Reservoir(low=0, sill=100, litres=lambda h: h * h / 100, area=lambda h: h / 50 * 1e6)  # a V-shaped sole
CONE = Reservoir(low=0, sill=100, litres=lambda h: (h / 20) ** 3, area=lambda h: 3 * h * h / 8000 * 1e6)


def hole(level=0.0, bore=25.0, name="drain"):
    return opening(name, level=level, bore=bore, discharge=0.61)


def pipe_drain(bore=38.0):
    return Drain(bore=bore, pipe=Pipe(bore=bore, length=900, drop=250, bends=(Bend(90, 2 * bore),)))


def rate(bore):
    """Cd a sqrt(2 g) in L/s for h in mm, by hand."""
    return 0.61 * math.pi / 4 * bore**2 * math.sqrt(2 * 9806.65) / 1e6


@pytest.mark.parametrize(("basin", "power", "scale"), [(WEDGE, 2, 1 / 100), (CONE, 3, 1 / 8000)])
def test_a_floor_that_comes_to_a_point_empties_in_the_closed_forms_time(basin, power, scale):
    """V = s h^p, Q = k sqrt(h): t = s p / (k (p - 1/2)) h^(p - 1/2)."""
    closed = scale * power / (rate(25) * (power - 0.5)) * 100 ** (power - 0.5)
    assert empty(basin, [hole()]).seconds == pytest.approx(closed, rel=1e-6)


@settings(max_examples=10, deadline=None)
@given(st.floats(15, 60), st.floats(15, 60), st.floats(5, 60), st.floats(1, 20))
def test_the_integral_of_dv_over_q_gives_the_same_time(one, two, level, left):
    """scipy.integrate.quad over the level, split where the second drain runs dry; weirs, orifices and pipes."""
    from scipy.integrate import quad

    ways = [Outlet(name="a", level=0, flow=Drain(bore=one).flow),
            Outlet(name="b", level=level, flow=Drain(bore=two).flow)]

    def pace(h):
        return 1e6 * h / 50 / 1e6 / sum(w.flow(h - w.level) for w in ways if h > w.level)

    cuts = sorted({left, 100.0, *([level] if level > left else [])})
    by_hand = sum(quad(pace, a, b, limit=40)[0] for a, b in zip(cuts, cuts[1:], strict=False))
    assert empty(WEDGE, ways, until=left).seconds == pytest.approx(by_hand, rel=1e-4)


def test_small_steps_in_time_through_a_real_pipe_give_the_same_curve():
    """dV/dt = inflow - Q by explicit steps of 0.1 s in the volume, on 600 L; within two steps."""
    drain, area, inflow = pipe_drain(), 2e6, 0.05
    ran = empty(prism(area, sill=300), [Outlet(name="a", level=0, flow=drain.flow)], until=20, inflow=inflow)
    litres, seconds = 600.0, 0.0
    while litres > 40:
        litres += 0.1 * (inflow - drain.flow(litres / 2))
        seconds += 0.1
    assert ran.seconds == pytest.approx(seconds, abs=0.3)
    assert ran.litres[0] == pytest.approx(600) and ran.litres[-1] == pytest.approx(40, abs=1e-6)
    assert all(a > b for a, b in zip(ran.litres, ran.litres[1:], strict=False))
    assert all(a < b for a, b in zip(ran.times, ran.times[1:], strict=False))


@few
@given(st.floats(12, 60), st.floats(1.01, 2), st.floats(1, 50))
def test_a_larger_bore_is_never_slower(bore, more, left):
    basin = prism(1e6, sill=100)
    small, large = (empty(basin, [Outlet(name="a", level=0, flow=Drain(bore=b).flow)], until=left).seconds
                    for b in (bore, bore * more))
    assert large < small


@few
@given(st.lists(st.tuples(st.floats(0, 60), st.floats(12, 50)), min_size=2, max_size=3), st.floats(1, 80))
def test_a_blocked_drain_is_never_faster(drains, left):
    ways = [Outlet(name=f"drain {k}", level=level, flow=Drain(bore=bore).flow)
            for k, (level, bore) in enumerate(drains)]
    basin = prism(1e6, sill=100)
    free = empty(basin, ways, until=left).seconds
    for name, ran in each_blocked(basin, ways, until=left).items():
        assert ran.blocked == (name,)
        assert ran.seconds >= free * (1 - 1e-6)


def test_below_the_lowest_open_outlet_nothing_runs_and_it_says_so():
    ways = [hole(0, name="low"), hole(30, name="high")]
    ran = empty(prism(1e6, sill=100), ways, until=5, blocked=["low"])
    assert ran.seconds == math.inf and "25.0 mm above" in ran.why
    assert ran.levels[-1] == pytest.approx(30) and ran.left == pytest.approx(30)
    every = empty(prism(1e6, sill=100), ways, until=5, blocked=["low", "high"])
    assert every.seconds == math.inf and every.why == "every outlet is blocked" and every.left == 100


def test_a_weir_never_quite_runs_dry_and_a_space_with_no_drain_keeps_all():
    weir = Outlet(name="a", level=0, flow=Drain(bore=38).flow)
    dry = empty(prism(1e6, sill=100), [weir], until=0)
    assert dry.seconds == math.inf and "60 min" in dry.why and dry.times[-1] == 3600
    assert empty(prism(1e6, sill=100), [], until=0).seconds == math.inf
    assert empty(prism(1e6, sill=100), [Outlet(name="shut", level=0, flow=Drain(bore=38, vented=False).flow)],
                 until=5).seconds == math.inf


def test_steady_rain_stands_where_the_drain_takes_it():
    """k sqrt(h) = q: h = (q / k)^2; above the sill None. Nothing empties below it."""
    basin = prism(1e6, sill=100)
    stand = standing(basin, [hole()], inflow=0.2)
    assert stand == pytest.approx((0.2 / rate(25)) ** 2, rel=1e-6)
    assert standing(basin, [hole()], inflow=rate(25) * 10.01) is None
    assert empty(basin, [hole()], until=stand * 0.9, inflow=0.2).seconds == math.inf
    assert empty(basin, [hole()], until=stand * 1.1, inflow=0.2).seconds < math.inf


def test_it_fills_in_the_time_of_what_stays_behind():
    basin = prism(1e6, sill=100)
    assert time_to_fill(basin, inflow=0.5) == pytest.approx(200)
    assert time_to_fill(basin, [hole(50)], inflow=0.5, until=50) == pytest.approx(100)
    assert time_to_fill(basin, [hole(50, bore=38)], inflow=0.5) == math.inf
    assert time_to_fill(basin, [hole(50)], inflow=0.5, blocked=["drain"]) == pytest.approx(200)
    # over 50 to 100 mm a weak hole: integral of dh / (q - k sqrt(h - 50)), by its antiderivative
    k, q, top = rate(12), 0.9, math.sqrt(50)
    closed = 2 * (-top / k - q / k**2 * math.log(1 - k * top / q))
    assert time_to_fill(basin, [hole(50, bore=12)], inflow=q, start=50) == pytest.approx(closed, rel=1e-6)


@pytest.mark.parametrize("rows", [11, 41])
def test_a_table_of_a_v_shaped_sole_empties_like_the_sole(rows):
    levels = [100 * k / (rows - 1) for k in range(rows)]
    read = tabulated(levels, [h * h / 100 for h in levels])
    exact = empty(WEDGE, [hole()], until=5).seconds
    assert empty(read, [hole()], until=5).seconds == pytest.approx(exact, rel=2e-2 if rows == 11 else 1e-3)


def test_a_table_of_straight_walls_is_exact_whatever_its_zero():
    read = tabulated([-450, -350], [0, 240])
    assert empty(read, [hole(-450)]).seconds == pytest.approx(2 * 240 / (rate(25) * 10), rel=1e-6)
    assert read.level_of(120) == pytest.approx(-400)


def test_reading_a_time_off_the_curve():
    ran = empty(prism(1e6, sill=100), [hole()])
    assert ran.time_to(100) == 0 and ran.time_to(0) == pytest.approx(ran.seconds)
    assert ran.time_to(25) == pytest.approx(ran.seconds / 2, rel=1e-3)
    assert empty(prism(1e6, sill=100), [hole()], until=40).time_to(39) == math.inf


@pytest.mark.parametrize("wrong", [
    lambda: prism(0, sill=100), lambda: prism(1e6, sill=0), lambda: prism(1e6, low=math.nan, sill=5),
    lambda: tabulated([0, 1], [0, 0]), lambda: tabulated([0], [0]), lambda: tabulated([0, 1, 1], [0, 1, 2]),
    lambda: empty(WEDGE, [hole()], until=101), lambda: empty(WEDGE, [hole()], until=-1),
    lambda: empty(WEDGE, [hole()], start=120), lambda: empty(WEDGE, [hole()], inflow=-1),
    lambda: empty(WEDGE, [hole()], blocked=["drian"]), lambda: empty(WEDGE, [hole(), hole()]),
    lambda: WEDGE.level_of(101), lambda: standing(WEDGE, [hole()], inflow=math.nan),
    lambda: time_to_fill(WEDGE, inflow=1, start=50, until=40),
    lambda: opening("a", level=0, bore=25, discharge=2).flow(1),
    lambda: opening("a", level=0, bore=25, discharge=0.6, drop=-1),
    lambda: empty(WEDGE, [hole()]).time_to(101)])
def test_outside_its_range_it_refuses(wrong):
    with pytest.raises(FlowError):
        wrong()
