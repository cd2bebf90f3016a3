"""Water that comes in: rain on a sole, a sea that fills it to the sill.

In       areas [mm2], rain [mm/h], volumes [L].
Out      flows [L/s], masses [kg].
Not here how it leaves (emptying.py), how much a body holds (pond_level.py).
"""

from __future__ import annotations

import math

from moldplan.check.flow import FlowError

HEAVIEST = 400.0  # mm/h; more has been measured for minutes only
SEA_WATER = 1.025  # kg/L


def rain_flow(area: float, *, intensity: float) -> float:
    """Rain [L/s] on an area seen from above [mm2] at an intensity [mm/h]. FlowError above 400 mm/h."""
    if not 0 <= area < math.inf:
        raise FlowError(f"rain on an area of {area:g} mm2")
    if not 0 <= intensity <= HEAVIEST:
        raise FlowError(f"rain of {intensity:g} mm/h, outside 0 to {HEAVIEST:g} mm/h")
    return area * intensity / 1e6 / 3600


def boarded_mass(litres: float) -> float:
    """Mass [kg] of a sea that fills a space: what the boat carries until it has run off."""
    if not 0 <= litres < math.inf:
        raise FlowError(f"a sea of {litres:g} L")
    return SEA_WATER * litres
