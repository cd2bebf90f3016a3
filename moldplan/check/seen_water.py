"""What drawings of water show: drain maps, ponds at their worst, hoses with their margin, emptying curves.

In       Assembly, Spec.
Out      WaterSeen, for report/ alone: looked at once for a finished plan, never while cures are sought.
Not here judging (ponds.py, hose.py, capacity.py).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.attitude import REST, Attitude, least_fall, up
from moldplan.check.afloat import box_of, waterline_of
from moldplan.check.basin import Basin, basins
from moldplan.check.capacity import Curve, emptying
from moldplan.check.fall_leg import Station, profile
from moldplan.check.flood import flood
from moldplan.check.limits import bound
from moldplan.check.pond import DrainMap, drain_map, each_blocked, standing
from moldplan.shape.assembly import Assembly
from moldplan.shape.drain import DrainPlace
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import numpy as np

HEELS, TRIMS = 41, 25  # attitudes of a map
BLOCKED = 13, 9  # and with each drain blocked in turn


@dataclass(frozen=True, eq=False)
class SpaceMap:
    """One space over heel and trim: `open` with all drains, `blocked` with each in turn on a coarser grid.

    `depth`: the limit [mm]; `worst`: the attitude that leaves most; `water` (w, 3, 3): its wet triangles then [mm, boat
    axes], `deep` (w, 3): depth at their corners [mm].
    """

    basin: Basin
    open: DrainMap
    blocked: DrainMap
    depth: float
    worst: Attitude
    water: np.ndarray
    deep: np.ndarray


@dataclass(frozen=True)
class HoseProfile:
    """One way out, height against length, at rest and where its worst leg falls least; `least` [deg] there."""

    drain: DrainPlace
    rest: tuple[Station, ...]
    worst: tuple[Station, ...]
    attitude: Attitude
    least: float
    over_water: bool  # whether heights are over the waterline, else over the outlet


@dataclass(frozen=True)
class WaterSeen:
    """All there is to draw of water."""

    maps: tuple[SpaceMap, ...]
    hoses: tuple[HoseProfile, ...]
    curves: tuple[Curve, ...]


def seen_water(assembly: Assembly, spec: Spec) -> WaterSeen:
    """Look at a finished plan's water once. Maps need `boat.box`; hoses an outlet; curves a sill."""
    ground = basins(assembly)
    return WaterSeen(_maps(spec, ground), _hoses(assembly, spec), tuple(emptying(assembly, spec, ground)[1]))


def _maps(spec: Spec, ground: tuple[Basin, ...]) -> tuple[SpaceMap, ...]:
    import numpy as np

    box, found = box_of(spec), []
    for basin in ground if box else ():
        if not basin.open:
            continue
        assert box is not None
        (heels, trims), (few_heels, few_trims) = (
            tuple(np.unique(np.linspace(*span, n)) for span, n in zip((box.heel, box.trim), counts, strict=True))
            for counts in ((HEELS, TRIMS), BLOCKED))
        whole = drain_map(basin.surface, heels, trims)
        shut = drain_map(basin.surface, few_heels, few_trims, each_blocked(basin.surface)[1:] or ((),))
        worst = whole.worst()
        water, deep = standing(flood(basin.surface, [up(worst)])).water(0)
        found.append(SpaceMap(basin, whole, shut, bound("pond", spec).value, worst, water, deep))
    return tuple(found)


def _hoses(assembly: Assembly, spec: Spec) -> tuple[HoseProfile, ...]:
    box, water, found = box_of(spec), waterline_of(spec), []
    for drain in assembly.drains:
        if drain.kind == "limber" or drain.outlet is None or len(drain.line) < 2:
            continue
        legs = [tuple(q - p for p, q in zip(a, b, strict=True))
                for a, b in zip(drain.line, drain.line[1:], strict=False)]
        least = min((least_fall((x, y, z), box or REST) for x, y, z in legs), key=lambda extreme: extreme.value)
        found.append(HoseProfile(drain, profile(drain.line, REST, water), profile(drain.line, least.at, water),
                                 least.at, least.value, water is not None))
    return tuple(found)
