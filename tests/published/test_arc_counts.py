"""How many arcs a curve takes, against the laws of approximation.

Along a curve whose curvature changes by k' a mm, the offset of an arc from it is a cubic, k' s^3 / 6, less a quadratic.
One arc by itself: the least deviation of a cubic from quadratics is Chebyshev's, 1/4 of the cube of the half length
(any textbook of approximation): error k' h^3 / 192. No chain takes fewer than the integral of cbrt(k' / 192 e).
Each arc tangent to the next: the periodic monospline of least deviation is Bernoulli's polynomial B3, at most
sqrt(3)/36 (Abramowitz and Stegun 23.1, as remembered): error k' h^3 / (72 sqrt 3), the best of long tangent chains.
Pairs of arcs that return to the curve and its direction: k' (2h)^3 / 324 (Meek and Walton 1995, as remembered; by
hand the greatest of s (s - h)^2 / 6): error k' h^3 / 40.5 for each arc. Curves: SciPy's quad and fresnel.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import fresnel

from moldplan.cut.arc_bound import least_arcs
from moldplan.cut.channel import channel, look
from moldplan.cut.curve import fitted

ALONE, TANGENT, PAIRS = 192.0, 72 * math.sqrt(3), 40.5
TOLERANCE = 0.02


def ellipse(a, b):
    return lambda t: ((a * math.cos(t), b * math.sin(t)), (-a * math.sin(t), b * math.cos(t)))


def round_ellipse(a, b, law):
    """Arcs by a law once round: k = a b / g^3 with g^2 = a2 sin2 + b2 cos2, and k' ds = dk."""
    def rate(t):
        g2 = (a * math.sin(t)) ** 2 + (b * math.cos(t)) ** 2
        change = 3 * a * b * (a * a - b * b) * math.sin(t) * math.cos(t) / g2**2.5  # dk/dt
        return math.cbrt(abs(change) / math.sqrt(g2) / (law * TOLERANCE)) * math.sqrt(g2)

    return 4 * quad(rate, 0, math.pi / 2)[0]


def clothoid(scale):
    return lambda t: ((scale * float(fresnel(t)[1]), scale * float(fresnel(t)[0])),
                      (math.cos(math.pi * t * t / 2), math.sin(math.pi * t * t / 2)))


def gates(sight, first, last, tolerance=TOLERANCE, closed=False):
    return channel(sight, look(sight, np.linspace(first, last, 257)), tolerance, closed=closed)[0]


@pytest.mark.parametrize("a, b", [(300, 200), (900, 250)])
def test_round_an_ellipse_as_few_as_the_law_of_tangent_arcs_allows(a, b):
    arcs = len(fitted(ellipse(a, b), 0, 2 * math.pi, TOLERANCE, closed=True).parts)
    assert round_ellipse(a, b, ALONE) <= arcs <= math.ceil(round_ellipse(a, b, TANGENT)) + 1
    assert arcs < 0.75 * round_ellipse(a, b, PAIRS)


def test_along_a_clothoid_too_and_the_bound_from_below_follows_its_own_law():
    """k' = pi / scale^2 all along, so the laws are plain quotients. Both ends held: that costs less than two arcs."""
    scale, last = 2000, 1.2
    along = scale * last * math.cbrt(math.pi / scale**2 / TOLERANCE)
    arcs = len(fitted(clothoid(scale), 0, last, TOLERANCE).parts)
    assert along / math.cbrt(TANGENT) - 1 <= arcs <= along / math.cbrt(TANGENT) + 2
    least = least_arcs(gates(clothoid(scale), 0, last))
    assert along / math.cbrt(ALONE) - 1 <= least <= along / math.cbrt(ALONE) + 1
    assert least <= arcs


@pytest.mark.parametrize("share, least", [(0.97, 1), (1.03, 2)])
def test_one_arc_goes_as_far_as_chebyshev_says(share, least):
    scale = 2000
    length = share * math.cbrt(ALONE * TOLERANCE / (math.pi / scale**2))
    assert least_arcs(gates(clothoid(scale), 0.4, 0.4 + length / scale)) == least


@pytest.mark.parametrize("tolerance", [0.01, 0.08])
def test_an_eighth_of_the_tolerance_takes_twice_the_arcs(tolerance):
    """The cube root of every law above: counts times the cube root of the tolerance are level."""
    counts = len(fitted(ellipse(900, 250), 0, 2 * math.pi, tolerance, closed=True).parts)
    assert counts * math.cbrt(tolerance / TOLERANCE) == pytest.approx(round_ellipse(900, 250, TANGENT), rel=0.12)


def test_the_bound_from_below_is_never_beaten_by_the_fit():
    for sight, last, closed in ((ellipse(300, 200), 2 * math.pi, True), (ellipse(52, 4.3), math.pi, False)):
        arcs = fitted(sight, 0, last, TOLERANCE, free=(True, True), closed=closed).parts
        assert least_arcs(gates(sight, 0, last, closed=closed)) <= len(arcs)
