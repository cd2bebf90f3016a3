"""Curves as arcs: near both ways, tangent, exact at the ends, few.

Distances are measured here by numpy on dense samples of the curve, apart from the fit's own measuring. The kernel's
Geom2dConvert_ApproxArcsSegments is the other fitter; curves come from closed forms and from SciPy.
"""

import math

import cadquery as cq
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline
from scipy.special import fresnel

from moldplan.cut.curve import fitted
from moldplan.cut.loop import segments
from moldplan.cut.profile import loop_of
from moldplan.cut.wire import runs_of
from moldplan.errors import GeometryError

TOLERANCE = 0.02


def ellipse(a, b, off=0.0):
    """An ellipse, or the curve `off` outside it, over its angle."""

    def sight(t):
        c, s = math.cos(t), math.sin(t)
        size = math.hypot(b * c, a * s)
        speed = 1 + off * a * b / size**3  # the offset curve runs as fast as its radius is longer
        return (a * c + off * b * c / size, b * s + off * a * s / size), (-a * s * speed, b * c * speed)

    return sight


def spline(poles, degree=3):
    """SciPy's clamped uniform B-spline over 0 to 1."""
    poles = np.array(poles, dtype=float)
    inner = np.linspace(0, 1, len(poles) - degree + 1)
    curve = BSpline(np.r_[[0] * degree, inner, [1] * degree], poles, degree)
    along = curve.derivative()
    return lambda t: (tuple(curve(t).tolist()), tuple(along(t).tolist()))


def clothoid(scale):
    """Curvature grows evenly from 0: C and S of Fresnel times `scale`, its length."""
    return lambda t: ((scale * float(fresnel(t)[1]), scale * float(fresnel(t)[0])),
                      (scale * math.cos(math.pi * t * t / 2), scale * math.sin(math.pi * t * t / 2)))


def away(sight, first, last, parts, looks=6000):
    """Greatest distance of curve points from the arcs, and of arc points from the curve [mm]."""
    curve = np.array([sight(first + (last - first) * k / looks)[0] for k in range(looks + 1)])
    to_arcs, spots = [], []
    for s in parts:
        a, b = np.array(s.start), np.array(s.end)
        if s.bulge == 0:
            share = np.clip((curve - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
            to_arcs.append(np.hypot(*(curve - a - share[:, None] * (b - a)).T))
            spots.append(a + np.linspace(0, 1, 60)[:, None] * (b - a))
            continue
        sweep = 4 * math.atan(s.bulge)
        left = np.array([a[1] - b[1], b[0] - a[0]])
        centre = (a + b) / 2 + left / 2 / math.tan(sweep / 2)
        radius, begin = np.hypot(*(a - centre)), math.atan2(*(a - centre)[::-1])
        v = curve - centre
        turned = (np.arctan2(v[:, 1], v[:, 0]) - begin) * np.sign(sweep) % (2 * math.pi)
        ends = np.minimum(np.hypot(*(curve - a).T), np.hypot(*(curve - b).T))
        to_arcs.append(np.where(turned <= abs(sweep), np.abs(np.hypot(*v.T) - radius), ends))
        angles = begin + np.linspace(0, sweep, 60)
        spots.append(centre + radius * np.stack([np.cos(angles), np.sin(angles)], axis=-1))
    spots = np.vstack(spots)
    best = np.full(len(spots), np.inf)
    for k in range(0, looks, 500):  # to the chords between the looks, part by part
        a, b = curve[k : k + 500], curve[k + 1 : k + 501]
        a = a[: len(b)]
        span = b - a
        share = ((spots[:, None] - a) * span).sum(axis=2) / (span**2).sum(axis=1)
        foot = a + np.clip(share, 0, 1)[..., None] * span
        best = np.minimum(best, np.hypot(*np.moveaxis(spots[:, None] - foot, -1, 0)).min(axis=1))
    return float(np.min(to_arcs, axis=0).max()), float(best.max())


def kinks(parts, closed=False):
    """Turns at the joints [deg], from the arcs' own tangents."""
    def heading(s, share):
        (ax, ay), (bx, by) = s.start, s.end
        return math.atan2(by - ay, bx - ax) + 4 * math.atan(s.bulge) * (share - 0.5)

    pairs = zip(parts, [*parts[1:], *(parts[:1] if closed else [])], strict=False)
    return [abs(math.degrees(math.remainder(heading(b, 0) - heading(a, 1), 2 * math.pi))) for a, b in pairs]


def sound(sight, first, last, fit, *, closed=False):
    """What every fit must hold."""
    parts = fit.parts
    assert all(a.end == b.start for a, b in zip(parts, parts[1:], strict=False))
    assert max(away(sight, first, last, parts)) <= TOLERANCE + 2e-4  # the chords' own sag
    assert fit.off <= TOLERANCE
    assert max(kinks(parts, closed), default=0) < 0.003
    assert len(parts) == 1 or min(s.length for s in parts) >= 0.05
    if closed:
        assert parts[-1].end == parts[0].start
    else:
        assert (parts[0].start, parts[-1].end) == (sight(first)[0], sight(last)[0])


def by_kernel(poles, degree=3):
    """How many arcs the kernel's own fitter takes for the same B-spline, measured to be within tolerance."""
    from OCP.Geom2d import Geom2d_BSplineCurve
    from OCP.Geom2dAdaptor import Geom2dAdaptor_Curve
    from OCP.Geom2dConvert import Geom2dConvert_ApproxArcsSegments
    from OCP.gp import gp_Pnt2d
    from OCP.TColgp import TColgp_Array1OfPnt2d
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    inner = np.linspace(0, 1, len(poles) - degree + 1)
    at, knots = TColgp_Array1OfPnt2d(1, len(poles)), TColStd_Array1OfReal(1, len(inner))
    times = TColStd_Array1OfInteger(1, len(inner))
    for k, (x, y) in enumerate(poles, 1):
        at.SetValue(k, gp_Pnt2d(x, y))
    for k, t in enumerate(inner.tolist(), 1):
        knots.SetValue(k, t)
        times.SetValue(k, degree + 1 if k in (1, len(inner)) else 1)
    curve = Geom2dAdaptor_Curve(Geom2d_BSplineCurve(at, knots, times, degree))
    return len(list(Geom2dConvert_ApproxArcsSegments(curve, TOLERANCE, math.radians(1.0)).GetResult()))


@pytest.mark.parametrize("a, b", [(300, 200), (60, 59), (90, 20)])
def test_a_whole_ellipse_is_closed_smoothly(a, b):
    sight = ellipse(a, b)
    fit = fitted(sight, 0, 2 * math.pi, TOLERANCE, closed=True)
    sound(sight, 0, 2 * math.pi, fit, closed=True)


def test_an_ellipse_of_600_by_400_takes_fewer_arcs_than_the_kernel_uses():
    from OCP.Geom2d import Geom2d_Ellipse
    from OCP.Geom2dAdaptor import Geom2dAdaptor_Curve
    from OCP.Geom2dConvert import Geom2dConvert_ApproxArcsSegments
    from OCP.gp import gp_Ax2d

    curve = Geom2dAdaptor_Curve(Geom2d_Ellipse(gp_Ax2d(), 300, 200), 0, 2 * math.pi)
    theirs = len(list(Geom2dConvert_ApproxArcsSegments(curve, TOLERANCE, math.radians(1.0)).GetResult()))
    ours = len(fitted(ellipse(300, 200), 0, 2 * math.pi, TOLERANCE, closed=True).parts)
    assert ours <= 0.6 * theirs and ours <= 27


@pytest.mark.parametrize(
    "sight, last",
    [(ellipse(300, 200), math.pi), (ellipse(52, 4.3), math.pi), (ellipse(46, 4), math.pi / 2),
     (ellipse(300, 200, off=25), 3.0), (ellipse(300, 200, off=-40), 3.0), (clothoid(400), 1.4),
     (spline([(0, 0), (60, 90), (120, -90), (180, 0)]), 1.0),  # it turns both ways
     (spline([(0, 0), (50, 0), (100, 0), (150, 0), (200, 60), (210, 130)]), 1.0),  # and this is straight at first
     (spline([(0, 0), (1, 2), (3, 2.2), (4, 0.5)]), 1.0)],
)  # fmt: skip
@pytest.mark.parametrize("free", [(False, False), (True, False), (True, True)])
def test_curves_are_followed_within_tolerance_tangent_and_from_end_to_end(sight, last, free):
    fit = fitted(sight, 0, last, TOLERANCE, free=free)
    sound(sight, 0, last, fit)
    for end, loose in ((0, free[0]), (1, free[1])):
        own = sight(last * end)[1]
        x, y = fit.parts[-end].heading(end)
        turn = math.degrees(abs(math.atan2(own[0] * y - own[1] * x, own[0] * x + own[1] * y)))
        assert turn < (30.0 if loose else 0.003)  # free: at a tip of 0.36 mm radius arcs of 1 mm may turn so far


def test_free_ends_take_no_more_arcs():
    for sight, last in ((ellipse(300, 200), math.pi), (ellipse(46, 4), math.pi / 2), (clothoid(400), 1.4)):
        held, loose = (len(fitted(sight, 0, last, TOLERANCE, free=(f, f)).parts) for f in (False, True))
        assert loose < held


def test_a_line_and_an_arc_come_back_as_themselves():
    line = fitted(spline([(5, 5), (40, 12), (75, 19), (110, 26)]), 0, 1, TOLERANCE)
    assert [(s.start, s.end, s.bulge) for s in line.parts] == [((5, 5), (110, 26), 0)]
    (arc,) = fitted(ellipse(80, 80), 0.3, 2.1, TOLERANCE).parts
    assert arc.bulge == pytest.approx(math.tan(1.8 / 4), rel=1e-6)
    assert arc.radius == pytest.approx(80, rel=1e-6) and arc.centre == pytest.approx((0, 0), abs=1e-4)


def test_a_straight_stretch_is_a_line():
    """Four poles in line: the first span of a cubic B-spline of six is straight, a third of its parameter."""
    sight = spline([(0, 0), (50, 0), (100, 0), (150, 0), (200, 60), (210, 130)])
    first = fitted(sight, 0, 1, TOLERANCE).parts[0]
    assert first.bulge == 0 and first.end[0] >= sight(1 / 3)[0][0] and first.end[1] == 0
    assert all(s.radius < 1e5 for s in fitted(sight, 0, 1, TOLERANCE).parts[1:])


def test_a_corner_within_a_curve_stays_where_it_is():
    """A cubic with a double knot thrice: the pole there is on the curve, and the curve turns at it."""
    poles = np.array([(0, 0), (30, 40), (60, 50), (100, 0), (140, 55), (170, 40), (200, 0)], dtype=float)
    curve = BSpline([0, 0, 0, 0, 0.5, 0.5, 0.5, 1, 1, 1, 1], poles, 3)
    along = curve.derivative()

    def sight(t):
        return tuple(curve(t).tolist()), tuple(along(t).tolist())

    fit = fitted(sight, 0, 1, TOLERANCE)
    assert max(away(sight, 0, 1, fit.parts)) <= TOLERANCE + 2e-4
    at = min((s.start for s in fit.parts), key=lambda p: math.dist(p, (100, 0)))
    assert at == pytest.approx((100, 0), abs=1e-8)
    assert sorted(kinks(fit.parts))[-1] == pytest.approx(
        math.degrees(math.atan2(50, 40) + math.atan2(55, 40)), abs=1.0)
    assert sorted(kinks(fit.parts))[-2] < 0.003


def test_what_is_too_small_to_cut_is_one_line():
    fit = fitted(ellipse(0.02, 0.01), 0, 2, TOLERANCE)
    assert [s.bulge for s in fit.parts] == [0]


def test_what_no_arcs_follow_is_refused():
    def sight(t):
        return (40 * math.sin(1e5 * t), 40 * math.cos(1.7e5 * t)), (1.0, 0.0)

    with pytest.raises(GeometryError, match=r"could not be fitted with arcs within 0\.02 mm"):
        fitted(sight, 0, 1, TOLERANCE)


def edges(*made):
    return cq.Wire.assembleEdges(list(made))


def test_edges_that_run_on_smoothly_are_fitted_as_one():
    """Half an ellipse in one edge, in two that meet at its end, and in two that are trimmed elsewhere."""
    line = cq.Edge.makeLine(cq.Vector(-300, 0, 0), cq.Vector(300, 0, 0))

    def half(*angles):
        return [cq.Edge.makeEllipse(300, 200, angle1=a, angle2=b) for a, b in zip(angles, angles[1:], strict=False)]

    counts = [sum(len(run.parts) for run in runs_of(edges(*half(*angles), line), TOLERANCE) if run.fitted)
              for angles in ((0, 180), (0, 90, 180), (0, 37, 120, 180))]
    assert counts[1] <= counts[0] + 1 and counts[2] <= counts[0] + 1


def test_lines_and_arcs_beside_a_curve_stay_exact_and_it_leaves_them_smoothly():
    """A line, a spline from its direction into an arc's, the arc, a line back: only the last joints are corners."""
    spline_edge = cq.Edge.makeSpline([cq.Vector(100, 0, 0), cq.Vector(160, 12, 0), cq.Vector(200, 60, 0)],
                                     tangents=[cq.Vector(1, 0, 0), cq.Vector(0, 1, 0)])
    arc = cq.Edge.makeThreePointArc(cq.Vector(200, 60, 0), cq.Vector(170, 90, 0), cq.Vector(140, 60, 0))
    wire = edges(cq.Edge.makeLine(cq.Vector(0, 0, 0), cq.Vector(100, 0, 0)), spline_edge, arc,
                 cq.Edge.makeLine(cq.Vector(140, 60, 0), cq.Vector(0, 0, 0)))
    walk = segments(loop_of(wire))
    turns = kinks(walk, closed=True)
    assert sum(turn > 0.01 for turn in turns) == 2
    round_end = [s for s in walk if not s.straight and math.dist(s.centre, (170, 60)) < 1e-6]
    assert sum(abs(s.sweep) for s in round_end) == pytest.approx(math.pi)
    assert any(s.start == (0, 0) and s.end == (100, 0) for s in walk)


@settings(max_examples=12, deadline=None)
@given(st.lists(st.tuples(st.floats(-25, 25), st.floats(-70, 70)), min_size=5, max_size=7))
def test_any_smooth_spline_is_followed_with_no_more_arcs_than_the_kernel_takes(offsets):
    poles = [(70.0 * k + x, y) for k, (x, y) in enumerate(offsets)]
    sight = spline(poles)
    fit = fitted(sight, 0, 1, TOLERANCE)
    sound(sight, 0, 1, fit)
    assert len(fit.parts) <= by_kernel(poles)
