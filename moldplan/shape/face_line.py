"""A face's line across, and what is made of it: moved into its part, its corners rounded.

In       corners (u, z) in order, a radius at each [mm].
Out      the line moved sideways with its radii, its edges with rounded corners, where one rounding begins and ends.
Not here which line a frame has (hatch.py), solids swept along a way (ring.py).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from moldplan.shape.ring import Arc, Line, Plane2


def moved(line: Sequence[Plane2], radii: Sequence[float], by: float) -> tuple[list[Plane2], list[float]]:
    """The face moved by `by` into the part, which lies to the right of the way along it; radii follow.

    A corner that turns right is convex on the finished face, and its radius shrinks (to a sharp corner at least); one
    that turns left is hollow, and its radius grows.
    """
    count, found, bent = len(line), [], []
    normals = [_right(a, b) for a, b in zip(line, line[1:], strict=False)]
    for k, (u, z) in enumerate(line):
        if k in (0, count - 1):
            n = normals[0 if k == 0 else -1]
            found.append((u + by * n[0], z + by * n[1]))
            bent.append(0.0)
            continue
        (ax, az), (bx, bz) = normals[k - 1], normals[k]
        share = by / (1 + ax * bx + az * bz)
        found.append((u + share * (ax + bx), z + share * (az + bz)))
        turns_right = ax * bz - az * bx < 0
        bent.append(max(radii[k] - by, 0.0) if turns_right else radii[k] + by if radii[k] else 0.0)
    return found, bent


def _right(a: Plane2, b: Plane2) -> Plane2:
    long = math.dist(a, b)
    return (b[1] - a[1]) / long, (a[0] - b[0]) / long


def rounded(
    line: Sequence[Plane2], radii: Sequence[float], roles: Sequence[str], bends: Sequence[str]
) -> list[Line | Arc]:
    """The line with its corners rounded; `roles` name its straights, `bends` its corners (first and last unused)."""
    edges: list[Line | Arc] = []
    here = line[0]
    for k in range(1, len(line)):
        if k == len(line) - 1 or radii[k] <= 1e-9:
            edges.append(Line(roles[k - 1], here, line[k]))
            here = line[k]
            continue
        before, middle, after = bend(line[k - 1], line[k], line[k + 1], radii[k])
        edges += [Line(roles[k - 1], here, before), Arc(bends[k], before, middle, after)]
        here = after
    return edges


def bend(a: Plane2, b: Plane2, c: Plane2, radius: float) -> tuple[Plane2, Plane2, Plane2]:
    """Where a corner's rounding begins, its middle, and where it ends."""
    one, two = ((p[0] - b[0], p[1] - b[1]) for p in (a, c))
    one, two = ((v[0] / math.hypot(*v), v[1] / math.hypot(*v)) for v in (one, two))
    half = math.acos(max(-1.0, min(1.0, one[0] * two[0] + one[1] * two[1]))) / 2
    reach, depth = radius / math.tan(half), radius / math.sin(half) - radius
    mid = (one[0] + two[0], one[1] + two[1])
    long = math.hypot(*mid)
    return (
        (b[0] + reach * one[0], b[1] + reach * one[1]),
        (b[0] + depth * mid[0] / long, b[1] + depth * mid[1] / long),
        (b[0] + reach * two[0], b[1] + reach * two[1]),
    )
