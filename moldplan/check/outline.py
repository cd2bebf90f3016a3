"""A lid's opening in plan: how much room it leaves round a disc or round points; exact for a rounded rectangle.

In       Opening (shape/assembly.py), a disc or points in plan, boat axes [mm].
Out      least gap to the outline, negative where it is crossed.
Not here what passes through it (lift.py, tilt.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from moldplan.shape.assembly import Opening

if TYPE_CHECKING:
    import numpy as np


def inside(opening: Opening, points: np.ndarray) -> np.ndarray:
    """Distance from points (n, 2) to the outline, positive within; exact for a rounded rectangle."""
    import numpy as np

    radius = opening.corner_radius
    half = np.array(opening.size) / 2 - radius
    away = np.abs(np.asarray(points, float) - np.array(opening.centre)) - half
    outside = np.linalg.norm(np.maximum(away, 0.0), axis=-1)
    within = np.minimum(away.max(axis=-1), 0.0)
    return radius - outside - within


def disc_gap(opening: Opening, centre: tuple[float, float], radius: float) -> float:
    """From a disc to the outline; exact, as the nearest point of the outline is along the centre's own distance."""
    import numpy as np

    return float(inside(opening, np.array([centre]))[0]) - radius


def widest_ball(opening: Opening) -> float:
    """Radius of the largest ball that passes the opening by any motion: half the shorter side [mm]."""
    return min(opening.size) / 2
