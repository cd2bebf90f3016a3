"""Where hatches could lie: every place found is measured anew, and where none is found a fine grid finds none either.

Gaps by shapely's own distances between drawn outlines, not by the sums of radii that the search goes by.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from moldplan.shape.arrange import Ground, Plot, Put, Search, Standing, Tail

LAND, FLANGES = 30.0, 5.0
SOLE = Polygon([(0, -350), (1000, -330), (1100, 0), (1000, 330), (0, 350)])


def plot(length, width, centre, turn=0.0, **more):
    """A hatch by the size of its opening: corners of 40, a rebate 65 and a flange 115 outside it."""
    return Plot((length / 2 - 40, width / 2 - 40), 40.0, 105.0, 155.0, centre, turn, **more)


def drawn(one, put, radius):
    a, b = one.half
    core = affinity.rotate(box(-a, -b, a, b), one.turn + 90 * put.turned, origin=(0, 0))
    return affinity.translate(core, *put.centre).buffer(radius, 64)


def lies_well(ground, plots, arrangement):
    """Land to the edge and between rebates, flanges, measured on the outlines."""
    places = {name: arrangement.get(name, Put(p.centre)) for name, p in plots.items()}
    rebates = [drawn(plots[n], put, 105.0) for n, put in places.items()]
    flanges = [drawn(plots[n], put, 155.0) for n, put in places.items()]
    pairs = [(i, j) for i in range(len(rebates)) for j in range(i)]
    return (all(r.within(ground.outline) and r.distance(ground.outline.exterior) >= ground.land for r in rebates)
            and all(f.within(ground.outline) and f.distance(ground.outline.exterior) >= ground.flanges for f in flanges)
            and all(rebates[i].distance(rebates[j]) >= ground.land for i, j in pairs)
            and all(flanges[i].distance(flanges[j]) >= ground.flanges for i, j in pairs))


def test_two_hatches_too_long_to_lie_as_drawn_go_in_line_one_turned():
    ground = Ground(SOLE, (), LAND, FLANGES)
    plots = {"a": plot(230, 300, (450, 0)), "b": plot(330, 200, (600, 0))}
    found = Search(ground, plots, ("a", "b")).found()
    assert found
    assert all(lies_well(ground, plots, one) for one in found)
    # lengths with flanges: 460 and 560 or 430 forward; 1000 on the whole, 5 mm at each end and between
    assert any(one["b"].turned for one in found)
    assert not any(abs(one["a"].centre[1] - one["b"].centre[1]) > 200 for one in found)  # no room side by side


def test_where_the_lengths_add_up_to_more_than_the_sole_there_is_no_arrangement():
    ground = Ground(box(0, -250, 760, 250), (), LAND, FLANGES)
    plots = {"a": plot(150, 150, (200, 0)), "b": plot(160, 150, (500, 0))}
    # flanges of 380 and of 390 by 380, 5 mm from the edges and each other: 785 forward, or at least 775 across
    assert Search(ground, plots, ("a", "b")).found() == []
    assert Search(ground, {"a": plots["a"]}, ("a",)).found()
    # 790 forward is enough, with 1 mm in hand at each of three gaps for whole millimetres
    wider = Ground(box(0, -250, 790, 250), (), LAND, FLANGES)
    assert all(lies_well(wider, plots, one) for one in Search(wider, plots, ("a", "b")).found())
    assert Search(wider, plots, ("a", "b")).found()


@given(st.floats(100, 900), st.floats(-250, 250), st.floats(0, 90), st.integers(160, 320), st.integers(160, 320))
@settings(max_examples=25, deadline=None)
def test_the_nearest_place_for_one_is_as_near_as_a_grids(x, y, turn, length, width):
    ground = Ground(SOLE, (), LAND, FLANGES)
    plots = {"a": plot(length, width, (round(x), round(y)), turn), "b": plot(180, 180, (820, 0))}
    found = Search(ground, plots, ("a",)).found()
    assert all(lies_well(ground, plots, one) for one in found)
    near = min((math.dist(one["a"].centre, plots["a"].centre) for one in found if not one["a"].turned),
               default=math.inf)
    # 1 mm in hand all round, which counts for more where two edges meet at a sharp angle
    nearer = [(gx, gy) for gx in range(200, 900, 25) for gy in range(-200, 201, 25)
              if math.dist((gx, gy), plots["a"].centre) < near - 6.0]
    assert not any(lies_well(ground, plots, {"a": Put(spot)}) for spot in nearer)


def test_a_hatch_may_stand_over_a_thing_but_its_frame_and_tails_may_not():
    tank = ((380.0, -60.0), (620.0, -60.0), (620.0, 60.0), (380.0, 60.0))
    large = {"a": plot(420, 300, (505, 0))}
    small = {"a": plot(200, 200, (505, 0))}
    outline = box(0, -450, 1500, 450)
    for spans, plots, stays in ((True, large, True), (True, small, False), (False, large, False)):
        ground = Ground(outline, (Standing(tank, 10.0, spans=spans),), LAND, FLANGES)
        one = Search(ground, plots, ("a",)).found()[0]["a"]
        assert (one.centre == (505, 0)) == stays
        frame = drawn(plots["a"], one, 155.0).difference(drawn(plots["a"], one, 40.0))
        assert frame.distance(Polygon(tank)) >= (10.0 if spans else 0.0)
    tails = (Tail((0.0, 100.0), 20.0),)
    under = Ground(outline, (Standing(tank, 10.0, frames=False, tails=True),), LAND, FLANGES)
    one = Search(under, {"a": plot(200, 200, (505, -80), tails=tails)}, ("a",)).found()[0]["a"]
    x, y = one.centre
    assert Polygon(tank).distance(Point(x, y + 100)) >= 30.0
    assert one.centre != (505, -80)


@pytest.mark.parametrize("turned", [False, True])
def test_a_corners_tail_stays_in_its_corner_when_the_sides_change_about(turned):
    one = plot(400, 300, (0, 0))
    at = one.tail(Tail((-190.0, 140.0), 10.0), turned)
    assert at == pytest.approx((-140.0, 190.0) if turned else (-190.0, 140.0))
