"""Is there core round the plug of everything that is bolted to a sole?

In       the plugs of a sole as made, its hatches, its outline.
Out      findings "plug to" the edge, each hatch and each other plug.
Not here what cannot be built at all: a flange over a hatch, bolts outside a flange (shape/choose_sole.py).

A plug is cut into the core like a recess: thin core beside it breaks. Gaps are taken in plan, a plug as a round, a
hatch out to the edge of its bond flange.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from moldplan.check.hatch_spot import HatchSpot
from moldplan.check.limits import Bound, bound
from moldplan.check.rearrange import Layout, rectangle
from moldplan.errors import Path
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.arrange import parted
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.spec.model import Spec

Plan2 = tuple[float, float]


@dataclass(frozen=True)
class Plug:
    """A core plug from above: its fitting's name, its middle and radius, measured [mm]."""

    name: str
    path: Path
    middle: Plan2
    radius: float
    height: float

    @property
    def point(self) -> Any:
        from shapely.geometry import Point

        return Point(*self.middle)

    @property
    def at(self) -> dict[str, float]:
        return {"x": round(self.middle[0], 1), "y": round(self.middle[1], 1), "z": round(self.height, 1)}

    def moved(self, by: float, way: Plan2, what: str) -> Move:
        """It moved by whole millimetres."""
        step = math.ceil(by + 1e-9)
        to = (round(self.middle[0] + step * way[0], 1), round(self.middle[1] + step * way[1], 1))
        return Move(f"move {self.name} {step} mm {what}, to {{to}}", (Edit((*self.path, "at"), to),))


def fittings(assembly: Assembly, spec: Spec, sole: SolePlace, own: Sequence[HatchSpot], ground: Any,
             whole: Layout) -> list[Finding]:
    """Everything about the plugs of one sole."""
    limit = bound("land", spec)
    plugs = [_plug(assembly, sole, name, body) for name, body in
             zip(sole.sole.fittings, sole.plugs, strict=True)]
    found = []
    for plug in plugs:
        found.append(_to_edge(limit, sole, plug, ground))
        found += [_to_hatch(limit, sole, plug, spot, whole) for spot in own]
    return found + [_to_each_other(limit, sole, one, other) for one, other in combinations(plugs, 2)]


def _plug(assembly: Assembly, sole: SolePlace, name: str, body: str) -> Plug:
    box = assembly.body(body).solid.BoundingBox()
    middle = (round((box.xmin + box.xmax) / 2, 6), round((box.ymin + box.ymax) / 2, 6))
    return Plug(name, (*sole.path, "fittings", name), middle, max(box.xlen, box.ylen) / 2, box.zmax)


def _finding(limit: Bound, sole: SolePlace, plug: Plug, what: str, measured: float,
             moves: tuple[Move, ...]) -> Finding:
    note = f"{measured:.1f} mm of core is left" if measured >= 0 else f"it cuts {-measured:.1f} mm into that"
    return limit.finding(check="fitting", part=f"{sole.name}.{plug.name}", what=f"plug to {what}", measured=measured,
                         path=(*plug.path, "at"), at=plug.at, note=note, moves=moves)


def _to_edge(limit: Bound, sole: SolePlace, plug: Plug, ground: Any) -> Finding:
    """The plug inside the sole, with core all round."""
    from shapely.ops import nearest_points

    edge, _ = nearest_points(ground.exterior, plug.point)
    far = math.hypot(plug.middle[0] - edge.x, plug.middle[1] - edge.y) or 1.0
    measured = (far if ground.contains(plug.point) else -far) - plug.radius
    way = ((plug.middle[0] - edge.x) / far, (plug.middle[1] - edge.y) / far)
    return _finding(limit, sole, plug, "the edge", measured, (plug.moved(limit.short(measured), way, "further in"),))


def _to_hatch(limit: Bound, sole: SolePlace, plug: Plug, spot: HatchSpot, whole: Layout) -> Finding:
    """The plug clear of a hatch's bond flange."""
    name, flange = str(spot.path[-1]), spot.flange
    far, (x, y) = parted(plug.point, rectangle(spot, flange))
    measured = far - flange.radius - plug.radius
    short = limit.short(measured)
    moves = (plug.moved(short, (-x, -y), f"away from {name}"), *whole.alone(spot)) if short else ()
    return _finding(limit, sole, plug, name, measured, moves)


def _to_each_other(limit: Bound, sole: SolePlace, one: Plug, other: Plug) -> Finding:
    """Two plugs clear of each other."""
    far, (x, y) = parted(one.point, other.point)
    measured = far - one.radius - other.radius
    short = limit.short(measured)
    return _finding(limit, sole, other, one.name, measured,
                    (other.moved(short, (x, y), f"away from {one.name}"),
                     one.moved(short, (-x, -y), f"away from {other.name}")))
