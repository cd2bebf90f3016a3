"""Ways to be rid of a pond: a steeper fall, a drain where the low point is, a limber on another side.

In       Assembly, Spec, a Basin, the part of it where water stands.
Out      Moves for cure/search.py, the least work first.
Not here trying them.
"""

from __future__ import annotations

import math
from typing import Any, get_args

from moldplan.check.basin import Basin
from moldplan.check.limits import value_at
from moldplan.errors import Path
from moldplan.finding import Edit, Move
from moldplan.shape.assembly import Assembly, SolePlace
from moldplan.spec.model import Spec, Towards
from moldplan.spec.sole import Hatch

STEEPER = 0.005  # of fall, a step
STEEPEST = 0.05  # of fall, 1:20: beyond, one slides on it
CORNERS = ("aft port", "aft starboard", "forward port", "forward starboard")
BESIDE = 10.0  # mm from a flange to the edge it is moved to; ours
BORE = 38.0  # mm, a scupper's when the sole has none to take it from; common practice, no source


def moves(assembly: Assembly, spec: Spec, basin: Basin, part: str) -> tuple[Move, ...]:
    """What may be rid of the water in one part."""
    hatch = next((h for h in assembly.hatches if h.name == part), None)
    if hatch is not None:
        return (*_steeper("a gutter", (*hatch.path, "gutter", "fall"), spec), *_corner_drains(hatch.hatch, hatch.path))
    if basin.space.kind == "sole":
        place = next(s for s in assembly.soles if s.name == part)
        return (*_scuppers(place), *_steeper("a sole", (*place.path, "fall"), spec))
    if basin.space.kind == "locker" and not basin.open:
        return (Move("a drain in its sole", (Edit((*basin.space.path, "drain"), {"at": "lowest"}),)),)
    if basin.space.kind == "locker":
        return (*_steeper("a sole", (*basin.space.path, "sole", "fall"), spec), *_low_corners(assembly, spec, basin))
    return _more_limbers(spec, basin.space.path)


def _steeper(what: str, path: Path, spec: Spec) -> tuple[Move, ...]:
    """A fall a little steeper than it is, and further."""
    now = float(value_at(spec, path) or 0.0)
    if now + STEEPER > STEEPEST:
        return ()
    return (Move(f"{what} that falls {{to}} (drop over run)", (Edit(path, round(now + STEEPER, 4), STEEPER),)),)


def _corner_drains(hatch: Hatch, path: Path) -> tuple[Move, ...]:
    """Drains at the corners of a gutter that have none."""
    taken = {d.at for d in hatch.drains.values()}
    if not hatch.drains or all(c in taken for c in CORNERS):
        return ()
    like = next(iter(hatch.drains.values())).model_dump(warnings=False, exclude={"hose", "outlet"})
    mine: dict[str, Any] = {n: d.model_dump(warnings=False) for n, d in hatch.drains.items()}
    more = {c: {**like, "at": c} for c in CORNERS if c not in taken and c not in mine}
    return (Move("drains at all four corners of the gutter", (Edit((*path, "drains"), {**mine, **more}),)),)


def _scuppers(place: SolePlace) -> tuple[Move, ...]:
    """Scuppers at the corners of the low side, then at all four."""
    sole = place.sole
    bore = max((s.bore for s in sole.scuppers.values()), default=BORE)
    spots = _sole_corners(place, (bore + 20) / 2 + BESIDE)
    mine: dict[str, Any] = {n: s.model_dump(warnings=False) for n, s in sole.scuppers.items()}
    low = [c for c in CORNERS if sole.towards in c.split()]
    found = []
    for corners in (low, CORNERS):
        free = [c for c in corners if c not in mine and all(
            math.dist(spots[c], s.at) > 2 * (bore + 20) for s in sole.scuppers.values())]
        more = {c: {"at": list(spots[c]), "bore": bore} for c in free}
        if more:
            said = "scuppers at all four corners" if len(more) == 4 else f"scuppers at {' and '.join(more)}"
            found.append(Move(said, (Edit((*place.path, "scuppers"), {**mine, **more}),)))
    return tuple(found)


def _sole_corners(place: SolePlace, inset: float) -> dict[str, tuple[float, float]]:
    """The outermost points of a sole toward its four corners, so far inside its edge [mm]."""
    from shapely import get_coordinates

    from moldplan.shape.choose_sole import outline_polygon

    inside = outline_polygon(place.sole).buffer(-inset, join_style="mitre")  # type: ignore[attr-defined]
    points = get_coordinates(inside)
    ways = {"aft port": (-1, 1), "aft starboard": (-1, -1), "forward port": (1, 1), "forward starboard": (1, -1)}
    found = {}
    for name, way in ways.items():
        x, y = points[(points @ way).argmax()]
        found[name] = (round(float(x), 1), round(float(y), 1))
    return found


def _low_corners(assembly: Assembly, spec: Spec, basin: Basin) -> tuple[Move, ...]:
    """Drains in both corners of the side that a locker's sole falls to, like the one it has."""
    room = assembly.rooms[basin.space.name]
    locker = spec.lockers.get(room.name)
    if locker is None:
        return ()
    bore = locker.drain.bore if locker.drain else 20.0
    inset = bore / 2 + 20.0
    side = locker.sole.towards if locker.sole.fall else "aft"
    x0, x1, y0, y1 = room.low[0] + inset, room.high[0] - inset, room.low[1] + inset, room.high[1] - inset
    ends = {"aft": ((x0, y1), (x0, y0)), "forward": ((x1, y1), (x1, y0)), "port": ((x1, y1), (x0, y1)),
            "starboard": ((x1, y0), (x0, y0))}[side]
    names = ("port", "starboard") if side in ("aft", "forward") else ("forward", "aft")
    mine: dict[str, Any] = {n: d.model_dump(warnings=False) for n, d in locker.drains.items()}
    more = {f"{side} {n}": {"at": [round(c, 1) for c in p], "bore": bore} for n, p in zip(names, ends, strict=True)}
    more = {n: d for n, d in more.items() if n not in mine}
    if not more:
        return ()
    return (Move(f"drains in both {side} corners", (Edit((*basin.space.path, "drains"), {**mine, **more}),)),)


def _more_limbers(spec: Spec, path: Path) -> tuple[Move, ...]:
    """The limber's fellow on the far side, then on all four."""
    limber = value_at(spec, (*path, "limber"))
    if limber is None:
        return ()
    order = ("forward", "port", "aft", "starboard")
    have = {limber.towards, *limber.also}
    across = order[(order.index(limber.towards) + 2) % 4]
    found = []
    for sides in ((across,), tuple(s for s in get_args(Towards))):
        also = [s for s in dict.fromkeys((*limber.also, *sides)) if s != limber.towards]
        if not set(sides) <= have:
            said = f"a limber {across} too" if len(sides) == 1 else "limbers on all four sides"
            found.append(Move(said, (Edit((*path, "limber", "also"), also),)))
    return tuple(found)
