"""How many arcs a curve takes at least: fewer leave a band about it, whether they are tangent or not.

In       gates along the curve (channel.py).
Out      a number no chain of lines and arcs can beat that keeps to the band, joined or not.
Not here fitting (arcs.py). Slow, for tests and the bench: a linear program for each try.

A chain in the band crosses every gate, each of its arcs a row of them one after the other. The longest row that one
circle can cross is taken from the start, then the next, and so on: no chain does with fewer rows. Between the gates
nothing is asked, so the bound errs low, never high.
"""

from __future__ import annotations

from moldplan.cut.channel import Channel, Numbers

FAINT = 1e-9  # a circle that misses a gate by less crosses it [mm]


def least_arcs(channel: Channel) -> int:
    """A lower bound on the lines and arcs from end to end of an open channel, or once round a closed one."""
    last = channel.laps or channel.last
    rows, first, length = 0, 0, 8
    while first <= last:
        length = _longest(channel, first, min(length, last - first + 1), last)
        first += length
        rows += 1
    return max(1, rows - 1) if channel.laps else rows  # round a closed curve the best start may spare one


def _longest(channel: Channel, first: int, guess: int, last: int) -> int:
    """How many gates from `first` on one circle can cross; `guess` is near it."""
    most = last - first + 1
    low, high = 0, guess
    while high < most and _crossed(channel, first, high):
        low, high = high, min(most, 2 * high)
    if high == most and _crossed(channel, first, most):
        return most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _crossed(channel, first, middle) else (low, middle)
    return low


def _crossed(channel: Channel, first: int, count: int) -> bool:
    """Whether one circle or line crosses the gates `first` to `first + count` (excluded).

    In the frame of the middle gate, with q = x2 + y2 and k about the curvature, circles are e = k q / 2 - y =
    b x + g q + c: linear in b, g and c. A gate is crossed where that holds from one of its ends to the other.
    """
    if count < 4:
        return True  # three gates always are
    import numpy as np
    from scipy.optimize import linprog

    gates = slice(first, first + count)
    points, normals, halves = channel.points[gates], channel.normals[gates], channel.halves[gates, None]
    middle = first + count // 2
    frame = np.stack([channel.directions[middle], channel.normals[middle]], axis=-1)
    left, right = ((points + side * normals * halves - channel.points[middle]) @ frame for side in (1, -1))
    ends = (left[[0, -1]] + right[[0, -1]]) / 2
    k = float((2 * ends[:, 1] / (ends**2).sum(axis=1)).mean())

    def row(spots: Numbers) -> tuple[Numbers, Numbers]:
        q = (spots**2).sum(axis=1)
        return np.stack([spots[:, 0], q, np.ones(count)], axis=-1), k * q / 2 - spots[:, 1]

    (a, e), (b, f) = row(left), row(right)
    scale = np.abs(a).max(axis=0)
    miss = -np.ones((count, 1))
    sides = np.vstack([np.hstack([-a / scale, miss]), np.hstack([b / scale, miss])])
    found = linprog([0, 0, 0, 1], A_ub=sides, b_ub=np.concatenate([-e, f]),
                    bounds=[(None, None)] * 3 + [(-float(halves.max()), None)], method="highs")
    return bool(found.status == 0 and found.x[3] <= FAINT)
