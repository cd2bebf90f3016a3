"""How few arcs curves take, and how long that takes. Run by hand:

    python tests/bench/arcs.py [--tolerance 0.02]

ours: tangent arcs within the tolerance; kernel: Geom2dConvert_ApproxArcsSegments asked for as much; least: no chain of
arcs, tangent or not, does with fewer (a bound from below, not a count that can be reached); law: what the theory of
monosplines gives a long tangent chain. Milliseconds are the processor's, with the looks at the curve (in Python).
"""

import argparse
import math
import time

import numpy as np
from scipy.interpolate import BSpline

from moldplan.cut.arc_bound import least_arcs
from moldplan.cut.channel import channel, look
from moldplan.cut.curve import fitted


def ellipse(a, b):
    return lambda t: ((a * math.cos(t), b * math.sin(t)), (-a * math.sin(t), b * math.cos(t)))


def spline(seed, count=8):
    """A clamped cubic B-spline of random poles, some 500 mm long; its poles and knots."""
    draw = np.random.default_rng(seed)
    poles = np.stack([np.arange(count) * 60 + draw.normal(0, 10, count), draw.normal(0, 50, count)], axis=-1)
    inner = np.linspace(0, 1, count - 2)
    curve = BSpline(np.r_[[0] * 3, inner, [1] * 3], poles, 3)
    along = curve.derivative()
    return (lambda t: (tuple(curve(t).tolist()), tuple(along(t).tolist()))), poles, inner


def by_kernel(curve, first, last, tolerance):
    from OCP.Geom2dAdaptor import Geom2dAdaptor_Curve
    from OCP.Geom2dConvert import Geom2dConvert_ApproxArcsSegments

    return len(list(Geom2dConvert_ApproxArcsSegments(
        Geom2dAdaptor_Curve(curve, first, last), tolerance, math.radians(1.0)).GetResult()))


def kernel_ellipse(a, b):
    from OCP.Geom2d import Geom2d_Ellipse
    from OCP.gp import gp_Ax2d

    return Geom2d_Ellipse(gp_Ax2d(), a, b)


def kernel_spline(poles, inner):
    from OCP.Geom2d import Geom2d_BSplineCurve
    from OCP.gp import gp_Pnt2d
    from OCP.TColgp import TColgp_Array1OfPnt2d
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    at, knots = TColgp_Array1OfPnt2d(1, len(poles)), TColStd_Array1OfReal(1, len(inner))
    times = TColStd_Array1OfInteger(1, len(inner))
    for k, (x, y) in enumerate(poles.tolist(), 1):
        at.SetValue(k, gp_Pnt2d(x, y))
    for k, t in enumerate(inner.tolist(), 1):
        knots.SetValue(k, t)
        times.SetValue(k, 4 if k in (1, len(inner)) else 1)
    return Geom2d_BSplineCurve(at, knots, times, 3)


def law(sight, first, last, tolerance):
    """The integral of cbrt(k' / (72 sqrt 3 e)) along the curve, by sums over 20 000 looks."""
    looks = look(sight, np.linspace(first, last, 20001))
    steps = np.hypot(*np.diff(looks.points, axis=0).T)
    angle = np.unwrap(np.arctan2(looks.along[:, 1], looks.along[:, 0]))
    k = np.diff(angle) / steps
    change = np.abs(np.diff(k)) / ((steps[1:] + steps[:-1]) / 2)
    return float((np.cbrt(change / (72 * math.sqrt(3) * tolerance)) * steps[1:]).sum())


def main():
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--tolerance", type=float, default=0.02, help="mm")
    tolerance = asked.parse_args().tolerance
    cases = [(f"ellipse {2 * a:g} x {2 * b:g}", ellipse(a, b), kernel_ellipse(a, b), 2 * math.pi, True)
             for a, b in ((300, 200), (90, 20), (900, 250))]
    cases += [(f"half ellipse {2 * a:g} x {2 * b:g}", ellipse(a, b), kernel_ellipse(a, b), math.pi, False)
              for a, b in ((300, 200), (52, 4.3))]
    for seed in range(6):
        sight, poles, inner = spline(seed)
        cases.append((f"B-spline {seed}", sight, kernel_spline(poles, inner), 1.0, False))
    print(f"{'curve':<24}{'ours':>6}{'kernel':>8}{'least':>7}{'law':>7}{'off, um':>9}{'ms':>6}")
    for name, sight, curve, last, closed in cases:
        start = time.process_time()
        fit = fitted(sight, 0, last, tolerance, closed=closed)
        spent = 1000 * (time.process_time() - start)
        gates, _ = channel(sight, look(sight, np.linspace(0, last, 257)), tolerance, closed=closed)
        print(f"{name:<24}{len(fit.parts):>6}{by_kernel(curve, 0, last, tolerance):>8}{least_arcs(gates):>7}"
              f"{law(sight, 0, last, tolerance):>7.1f}{1000 * fit.off:>9.1f}{spent:>6.0f}")


if __name__ == "__main__":
    main()
