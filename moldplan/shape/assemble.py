"""Shape every part of a resolved spec and gather the bodies.

In       Resolved (choose.py).
Out      Assembly.
Not here any size. Each cradle is shaped by itself, from its Brief alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from weakref import WeakValueDictionary

from moldplan.errors import Fault, GeometryError, SpecFault, dotted
from moldplan.finding import slug
from moldplan.shape import chock, cockpit, cradle, locker
from moldplan.shape.assembly import Assembly, Room, Stand
from moldplan.shape.body import Body, Frame
from moldplan.shape.chain import Chain
from moldplan.shape.choose import Resolved, brief, sole_brief
from moldplan.shape.cradle import Made, frame_of
from moldplan.shape.drain import DrainPlace, VentPlace

PROVED: WeakValueDictionary[int, Body] = WeakValueDictionary()  # bodies by their own numbers, as long as they last
OTHER = {"port": "starboard", "starboard": "port"}


@dataclass
class Gathered:
    """What the shapers have made so far, in the order of making."""

    rooms: dict[str, Room] = field(default_factory=dict)
    bodies: list[Body] = field(default_factory=list)
    stands: list[Stand] = field(default_factory=list)
    drains: list[DrainPlace] = field(default_factory=list)
    vents: list[VentPlace] = field(default_factory=list)
    chains: list[Chain] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)

    def take_room(self, name: str, made: locker.MadeRoom) -> None:
        """A locker."""
        self.rooms[name] = made.room
        self.bodies += made.bodies
        self.drains += made.drains
        self.vents += made.vents

    def twin_room(self, name: str, hand: str) -> None:
        """A locker's mirror image, once."""
        if f"{name} ({hand})" in self.rooms:
            return
        self.rooms.update([_twin_room(self.rooms[name], hand)])
        self.bodies += [b.mirrored(name=f"{b.name} ({hand})", hand=hand) for b in self.bodies
                        if b.path[:2] == ("lockers", name)]
        self.drains += [d.mirrored(hand) for d in self.drains if d.space == name]
        self.vents += [v.mirrored(hand) for v in self.vents if v.space == name]


def assemble(resolved: Resolved) -> Assembly:
    """All bodies of a plan.

    Raises GeometryError naming the body that did not come out valid, SpecFault for two bodies of one name.
    """
    found = Gathered()
    for name, place in resolved.spec.lockers.items():
        found.take_room(name, locker.room(name, place, core=resolved.stocks[place.core].true_thickness))
    for name, one in resolved.spec.cradles.items():
        task = brief(resolved, name, found.rooms)
        made = chock.shape(task) if one.chocks else cradle.shape(task)
        if one.hand:
            made = _handed(made, one.hand, _side(task))
        if one.hand == "both" and one.locker:
            found.twin_room(one.locker, OTHER[_side(task)])
        found.bodies += made.bodies
        found.stands += made.stands
        found.drains += made.drains
        found.chains += made.chains
        found.cautions += _leaning(task, made)
    soles = [cockpit.shape(sole_brief(resolved, name)) for name in resolved.spec.soles]
    for made_sole in soles:
        found.bodies += made_sole.bodies
        found.drains += made_sole.drains
        found.chains += made_sole.chains
    _names_apart(found.bodies)
    for body in found.bodies:
        _prove(body)
    return Assembly(bodies={body.name: body for body in found.bodies}, stands=tuple(found.stands), rooms=found.rooms,
                    chains=tuple(found.chains), cautions=tuple(found.cautions), soles=tuple(s.place for s in soles),
                    hatches=tuple(h for s in soles for h in s.hatches), drains=tuple(found.drains),
                    vents=tuple(found.vents))


def _prove(body: Body) -> None:
    """Refuse a body that is no valid solid. One that was made before and kept (kept.py) was proved then."""
    if PROVED.get(id(body)) is body:
        return
    if not body.solid.isValid() or body.solid.Volume() <= 0:
        raise GeometryError(f"{body.name} came out of the kernel as no valid solid; please report the spec")
    PROVED[id(body)] = body


def _names_apart(bodies: Sequence[Body]) -> None:
    """Refuse names that make two bodies one: a thing below called "a frame" beside a hatch "a", whose frame is that."""
    first: dict[str, Body] = {}
    for body in bodies:
        other = first.setdefault(slug(body.name), body)
        if other is not body:
            raise SpecFault([Fault(body.path, str(body.path[-1]), "another name",
                                   f"{dotted(other.path)} has a body {other.name!r}, which comes to the same file")])


def _side(task: cradle.Brief) -> str:
    """Which side of the centreline a block's middle lies on."""
    length, width, _ = task.cradle.block
    return "port" if frame_of(task.cradle, task.room).place((length / 2, width / 2, 0))[1] >= 0 else "starboard"


def _handed(made: Made, hand: str, side: str) -> Made:
    """Bodies marked with their hand; for both, the mirrored twin beside each."""
    if hand != "both":
        return Made(tuple(replace(b, hand=hand) for b in made.bodies),
                    tuple(replace(s, hand=hand) for s in made.stands), made.chains, made.drains)
    twin = OTHER[side]
    own = tuple(replace(b, name=f"{b.name} ({side})", hand=side) for b in made.bodies)
    mirrored = tuple(b.mirrored(name=f"{b.name} ({twin})", hand=twin) for b in made.bodies)
    stands = tuple(_renamed(s, side) for s in made.stands) + tuple(_mirrored(s, twin) for s in made.stands)
    chains = tuple(replace(c, part=f"{c.part} ({hand})") for hand in (side, twin) for c in made.chains)
    drains = tuple(d.handed(side) for d in made.drains) + tuple(d.mirrored(twin) for d in made.drains)
    return Made(own + mirrored, stands, chains, drains)


def _twin_room(room: Room, hand: str) -> tuple[str, Room]:
    """A locker's mirror image, by its name: a twin cradle stands in a twin locker."""
    name = f"{room.name} ({hand})"
    opening = room.opening and replace(room.opening, centre=(room.opening.centre[0], -room.opening.centre[1]))
    (ox, oy, oz), (xx, xy, xz), (zx, zy, zz) = room.sole.origin, room.sole.x, room.sole.z
    return name, replace(room, name=name, low=(room.low[0], -room.high[1], room.low[2]),
                         high=(room.high[0], -room.low[1], room.high[2]), opening=opening,
                         sole=Frame((ox, -oy, oz), (xx, -xy, xz), (zx, -zy, zz)),
                         walls=tuple(f"{w} ({hand})" for w in room.walls))


def _renamed(stand: Stand, hand: str) -> Stand:
    """The stand with its bodies' names led to one hand."""
    def of(name: str) -> str:
        return f"{name} ({hand})"

    return replace(stand, name=of(stand.name), hosts=tuple(map(of, stand.hosts)), body=of(stand.body),
                   envelope=of(stand.envelope) if stand.envelope else None, tools=tuple(map(of, stand.tools)),
                   frames=tuple(map(of, stand.frames)), straps=tuple(map(of, stand.straps)), hand=hand)


def _mirrored(stand: Stand, hand: str) -> Stand:
    (ox, oy, oz), (xx, xy, xz), (zx, zy, zz) = stand.frame.origin, stand.frame.x, stand.frame.z
    room = f"{stand.room} ({hand})" if stand.room else None
    return replace(_renamed(stand, hand), room=room, frame=Frame((ox, -oy, oz), (xx, -xy, xz), (zx, -zy, zz)))


def _leaning(task: cradle.Brief, made: Made) -> list[str]:
    """By how much a cylinder leans at its top when its block lies with a sloping sole."""
    said = []
    for stand in made.stands:
        lean = math.hypot(stand.frame.z[0], stand.frame.z[1])
        if stand.kind == "seat" and lean > 1e-9:
            said.append(f"{stand.name} leans with the sole by {math.degrees(math.asin(lean)):.1f} deg: "
                        f"{lean * stand.cylinder.height:.0f} mm at its top")
    return said
