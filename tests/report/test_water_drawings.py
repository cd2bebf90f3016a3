"""Drawings of water: hoses drawn out and emptying curves of two small plans, their words clear of everything.

What is printed is held against sums by hand: a leg that drops 60 in 300 falls atan(60 / 300) = 11.31 deg.
"""

import math
import re

import numpy as np
import pytest

from moldplan.check.seen_water import seen_water
from moldplan.plan import Plan
from moldplan.report import water_map
from moldplan.report.drawing import clashes
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

LOCKER = {"moldplan": 1, "title": "locker", "boat": {"waterline": {"height": -300, "at_x": 0},
          "box": {"heel": [-8, 8], "trim": [-1, 1]}},
          "lockers": {"l": {"box": {"from": [0, 0, 0], "to": [400, 400, 400]},
                            "drain": {"at": [200, 200], "bore": 20, "tail": 40, "outlet": [200, 500, -100]}}}}
SOLE = {"moldplan": 1, "title": "rain", "boat": {"box": {"heel": [-8, 8], "trim": [-1, 1]}},
        "soles": {"s": {"outline": [[0, -500], [1000, -500], [1000, 500], [0, 500]], "sill": 200,
                        "scuppers": {"one": {"at": [100, 0], "bore": 40}, "two": {"at": [900, 0], "bore": 40}}}}}


def planned(data):
    resolved = resolve(Spec.model_validate(data))
    made = assemble(resolved)
    return Plan(name="w", file="w.yaml", sha256="0" * 64, spec=resolved.spec, assembly=made, findings=(), pieces=(),
                layout=None, choices=(), cautions=(), water=seen_water(made, resolved.spec))  # fmt: skip


@pytest.fixture(scope="module")
def locker():
    return planned(LOCKER)


@pytest.fixture(scope="module")
def sole():
    return planned(SOLE)


def said(plan, drawn, part):
    return " ".join(text.words for sheet in drawn(plan)[part] for text in sheet.texts())


@pytest.mark.parametrize("which", ["locker", "sole"])
def test_no_words_lie_on_anything(which, request, drawn):
    sheets = [sheet for ones in drawn(request.getfixturevalue(which)).values() for sheet in ones]
    assert sheets
    assert [clash for sheet in sheets for clash in clashes(sheet)] == []


def test_a_hose_tells_its_falls_and_its_outlets_height(locker, drawn):
    words = said(locker, drawn, "l")
    rest = math.degrees(math.atan2(60, 300))
    assert f"{rest:.1f} deg at rest" in words
    assert f"At its least a leg still falls: {rest - 8:.1f} deg" in words  # heeled 8 deg to starboard it loses 8 deg
    assert "200 mm over the waterline at rest" in words  # from -300 to -100


def test_an_emptying_curve_tells_litres_and_both_times(sole, drawn):
    words = said(sole, drawn, "s")
    # 1 m2 less two holes of 40, 200 deep: 200 - 0.5 L
    assert "199 L from the sill down" in words or "200 L from the sill down" in words
    (curve,) = sole.water.curves
    assert f"all drains open: {curve.all_open.seconds:.0f} s" in words
    assert "blocked" in words


def test_a_contour_of_a_cone_is_a_circle_and_the_region_outside_it_the_rest():
    """Depth = distance from the middle: the line at 1 is a circle of 1, the region over it 16 - pi."""
    side = np.linspace(-2, 2, 81)
    far = np.hypot(side[:, None], side[None, :])
    (run,) = water_map.contours(side, side, far, 1.0)
    assert max(abs(math.hypot(*p) - 1) for p in run) < 2e-3
    assert water_map.above(side, side, far, 1.0).area == pytest.approx(16 - math.pi, abs=5e-3)


@pytest.mark.parametrize(("which", "part"), [("locker", "l"), ("sole", "s")])
def test_a_map_marks_its_worst_attitude_and_tells_what_stands_then(which, part, request, drawn):
    plan = request.getfixturevalue(which)
    (seen,) = plan.water.maps
    words = said(plan, drawn, part)
    told = re.search(r"left at heel (\S+), trim (\S+) deg: (\S+) L, (\S+) mm deep", words)
    assert told is not None
    heel, trim, litres, deep = map(float, told.groups())
    assert (heel, trim) == pytest.approx((seen.worst.heel, seen.worst.trim), abs=0.051)
    assert litres == pytest.approx(seen.open.litres.max(), abs=0.0051)
    assert deep == pytest.approx(seen.deep.max(), abs=0.051)
    assert seen.depth == 3
    assert "3 mm, the limit" in words


def test_the_pond_is_drawn_whole(sole):
    """Heeled 8 deg to port, level in trim: all from the scuppers' edge, 20 off the middle, to the side: 480 x 1000."""
    (seen,) = sole.water.maps
    pond = water_map._shadow(seen.water)
    assert pond.geom_type == "Polygon"
    assert pond.area == pytest.approx(480_000, rel=1e-3)
