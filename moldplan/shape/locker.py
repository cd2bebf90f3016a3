"""A locker's clear inside: its walls and sloping sole, and the opening in its lid.

In       spec.model.Locker, boat axes [mm].
Out      Room (the measures checks ask for) and one body of kind "surroundings" for the pictures.
Not here the locker's own panels and tapes (a later room), what stands in it (cradle.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.errors import Fault, Path
from moldplan.shape.assembly import Opening, Room
from moldplan.shape.body import DIRECTIONS, Body, Frame, Shaped, Vector, block, extruded, rod
from moldplan.shape.drain import BESIDE, DrainPlace, VentPlace, flange_of, of_floor
from moldplan.spec.model import Locker
from moldplan.spec.water import LockerDrain

WALL = 12.0  # mm, drawn thickness of a locker's wall; for the picture only
TUBE = 2.0  # mm, wall of a drain's tail; for the drawing


def corners(locker: Locker) -> tuple[Vector, Vector]:
    """The box's lowest and highest corner [mm]."""
    pairs = list(zip(locker.box.from_, locker.box.to, strict=True))
    low, high = tuple(min(p) for p in pairs), tuple(max(p) for p in pairs)
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def faults(locker: Locker, path: Path) -> list[Fault]:
    """What cannot be: a box without room, a lid opening off its locker."""
    low, high = corners(locker)
    if any(b - a < 1 for a, b in zip(low, high, strict=True)):
        return [Fault((*path, "box"), [list(locker.box.from_), list(locker.box.to)], "two opposite corners",
                      "the box has no room in it")]
    if not locker.lid:
        return []
    found = []
    length, width = locker.lid.clear_opening
    if locker.lid.corner_radius > min(length, width) / 2:
        found.append(Fault((*path, "lid", "corner_radius"), locker.lid.corner_radius,
                           f"0 to {min(length, width) / 2:g}", "at most half the shorter side"))
    middle = opening_centre(locker)
    for axis, size, name in ((0, length, "x"), (1, width, "y")):
        if middle[axis] - size / 2 < low[axis] - 1e-9 or middle[axis] + size / 2 > high[axis] + 1e-9:
            found.append(Fault((*path, "lid", "clear_opening"), list(locker.lid.clear_opening),
                               f"within the box, {low[axis]:g} to {high[axis]:g} along {name}",
                               "the opening is cut in this locker's own top"))
    return found


def opening_centre(locker: Locker) -> tuple[float, float]:
    """Middle of the lid's opening in plan [mm]."""
    low, high = corners(locker)
    if locker.lid and locker.lid.centre:
        return locker.lid.centre
    return (low[0] + high[0]) / 2, (low[1] + high[1]) / 2


def sole_frame(locker: Locker) -> Frame:
    """The sole's plane: origin at the middle of the box, z its upward normal, x forward along it."""
    low, high = corners(locker)
    towards, slope = DIRECTIONS[locker.sole.towards], locker.sole.fall
    run = abs(towards[0]) * (high[0] - low[0]) + abs(towards[1]) * (high[1] - low[1])
    steep = math.hypot(1.0, slope)
    normal = (towards[0] * slope / steep, towards[1] * slope / steep, 1 / steep)
    forward = (1.0, 0.0, -towards[0] * slope)
    length = math.hypot(1.0, forward[2])
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2] + slope * run / 2)
    return Frame(middle, (1.0 / length, 0.0, forward[2] / length), normal)


def sole_height(frame: Frame, x: float, y: float) -> float:
    """Height of the sole's plane under a point in plan [mm]."""
    (ox, oy, oz), (nx, ny, nz) = frame.origin, frame.z
    return oz - (nx * (x - ox) + ny * (y - oy)) / nz


def above_sole(frame: Frame, size: float, height: float) -> Shaped:
    """All that lies above a sole, as a solid to keep what stands on it; its lower face has the role underside."""
    return block(size, size, height).renamed({"underside": "underside"}).moved(
        frame.inside(Frame((-size / 2, -size / 2, 0.0))))


@dataclass(frozen=True)
class MadeRoom:
    """What one locker came to."""

    room: Room
    bodies: tuple[Body, ...]
    drains: tuple[DrainPlace, ...]
    vents: tuple[VentPlace, ...]


def room(name: str, locker: Locker, *, core: float) -> MadeRoom:
    """The room, its drawn walls, its drain with tail and plug, its vent; `core`: thickness of its core [mm]. Pure."""
    space_of = space(name, locker)
    walls, bodies, drains = _walls(locker), list[Body](), list[DrainPlace]()
    for title, (where, one) in drains_of(locker).items():
        at, path, own = drain_frame(locker, one), (*space_of.path, *where), f"{name}.{title}"
        bore = rod(one.bore / 2, (0, 0, -one.tail - 1), (0, 0, one.tail + 2), "drain bore")
        walls = walls.cut(rod(one.bore / 2, (0, 0, -WALL - 1), (0, 0, WALL + 2), f"{title} bore").moved(at))
        across = flange_of(one) + 2 * core  # a plug spreads its load at 45 deg through the core; ours
        plug = rod(across / 2, (0, 0, -core), (0, 0, core), "side").cut(bore)
        tail = rod(one.bore / 2 + TUBE, (0, 0, -one.tail), (0, 0, one.tail), "side").cut(bore)
        for word, kind, shaped, note in (
                ("plug", "core plug", plug, f"dense plug {across:.0f} mm across in the core round the drain"),
                ("tail", "tube", tail, "")):
            if word == "plug" or one.tail:
                bodies.append(Body(name=f"{own} {word}", kind=kind, shaped=shaped.moved(at), part=own, path=path,
                                   frame=at, notes=(note,) if note else ()))
        drains.append(of_floor(own, path, one, space=name, at=at))
    drawn = Body(name=space_of.walls[0], kind="surroundings", shaped=walls, part=name, path=space_of.path)
    vents = (VentPlace(name=f"{name}.vent", path=(*space_of.path, "vent"), space=name, at=locker.vent.at,
                       bore=locker.vent.bore, outlet=locker.vent.outlet),) if locker.vent else ()
    return MadeRoom(space_of, (drawn, *bodies), tuple(drains), vents)


def drains_of(locker: Locker) -> dict[str, tuple[Path, LockerDrain]]:
    """All drains of a locker by name, each with its path inside the locker."""
    one: dict[str, tuple[Path, LockerDrain]] = {"drain": (("drain",), locker.drain)} if locker.drain else {}
    return one | {name: (("drains", name), drain) for name, drain in locker.drains.items()}


def lowest_spot(locker: Locker, drain: LockerDrain) -> tuple[float, float]:
    """Where a drain lies when left to the program: in the middle of the side the sole falls to (aft when level), its
    flange clear of that wall."""
    low, high = corners(locker)
    way = DIRECTIONS[locker.sole.towards if locker.sole.fall else "aft"]
    inset = flange_of(drain) / 2 + BESIDE
    spot = [(a + b) / 2 + w * ((b - a) / 2 - inset) for a, b, w in zip(low[:2], high[:2], way[:2], strict=True)]
    return round(spot[0], 1), round(spot[1], 1)


def drain_frame(locker: Locker, drain: LockerDrain) -> Frame:
    """The sole at the middle of a drain."""
    at = lowest_spot(locker, drain) if drain.at == "lowest" else drain.at
    sole = sole_frame(locker)
    return Frame((at[0], at[1], sole_height(sole, at[0], at[1])), sole.x, sole.z)


def space(name: str, locker: Locker) -> Room:
    """The room's measures alone."""
    low, high = corners(locker)
    opening = None
    if locker.lid:
        opening = Opening(centre=opening_centre(locker), size=locker.lid.clear_opening,
                          corner_radius=locker.lid.corner_radius,
                          underside=high[2] if locker.lid.underside is None else locker.lid.underside)
    return Room(name=name, path=("lockers", name), low=low, high=high, sole=sole_frame(locker), opening=opening,
                walls=(f"{name} walls",))


def _walls(locker: Locker) -> Shaped:
    """Four walls and the sole, open on top; roles: sole, and the four sides as seen from inside."""
    low, high = corners(locker)
    length, width, height = (b - a for a, b in zip(low, high, strict=True))
    outer = block(length + 2 * WALL, width + 2 * WALL, height + WALL).renamed({}).moved(
        Frame((low[0] - WALL, low[1] - WALL, low[2] - WALL)))
    inner = _inside(locker)
    return outer.cut(inner)


def _inside(locker: Locker) -> Shaped:
    """The clear inside over the sloping sole, a little taller than the walls, so that it cuts them open."""
    import cadquery as cq

    low, high = corners(locker)
    frame, top = sole_frame(locker), high[2] + 10
    across = locker.sole.towards in ("port", "starboard")
    if across:
        ends = [(low[0], low[1]), (low[0], high[1])]
        direction: Vector = (high[0] - low[0], 0.0, 0.0)
        sides = ("starboard", "port")
        start, end = "aft", "forward"
    else:
        ends = [(low[0], low[1]), (high[0], low[1])]
        direction = (0.0, high[1] - low[1], 0.0)
        sides = ("aft", "forward")
        start, end = "starboard", "port"
    a, b = (cq.Vector(x, y, sole_height(frame, x, y)) for x, y in ends)
    c, d = cq.Vector(b.x, b.y, top), cq.Vector(a.x, a.y, top)
    edges = [("sole", cq.Edge.makeLine(a, b)), (sides[1], cq.Edge.makeLine(b, c)), ("", cq.Edge.makeLine(c, d)),
             (sides[0], cq.Edge.makeLine(d, a))]
    made = extruded(edges, direction)
    return made.renamed({n: n for n in ("sole", *sides)} | {"start": start, "end": end})
