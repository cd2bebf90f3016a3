"""What water and heavy gas can lie on: the upper faces of each space as one net of triangles, with its ways out.

In       Assembly, Spec.
Out      Space: welded vertices and triangles in boat axes [mm], the part each triangle belongs to, rims of drains, open
         edges.
Not here flooding (pond.py), falls of hoses (fall_leg.py).

A sole and the gutters of its hatches are one space: what runs over a gutter's rim runs over the sole. Lids, gaskets
and drip lips are left out: they look down. The faces are those of the cured part; paint lies on them as an even film,
which moves a floor as a whole and no pond. Curves are chords within `net.CHORD` of them. A bond flange is faired into
the sole over the millimetre between them. A drain's rim is its bore's edge, on a wall as high as its flange stands
proud.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from moldplan.check.net import Net, area_in_plan, border, joined, length_round, loops, net_of, zipped
from moldplan.errors import Path
from moldplan.shape.assembly import Assembly, HatchPlace, Room, SolePlace, Stand
from moldplan.shape.body import DIRECTIONS, Body
from moldplan.shape.drain import DrainPlace

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

NEAR = 0.3  # mm off a bore's wall that its rim is looked for
DEEP = 40.0  # mm along a bore from the rim's middle: a bore's mouth in a rounded or falling floor is no flat circle
STEP = 1.0  # mm under a sole that what stands on it is looked for: it may stand a hair above it
ON_FRAME = ("landing", "landing edge", "upstand", "upstand root", "inner wall", "inner root", "floor", "outer root",
            "outer wall", "rim", "flange")
ON_SEAT = ("floor", "fillet", "wall", "rim")


@dataclass(frozen=True, kw_only=True)
class Space:
    """One space that drains.

    `parts`: names, by the number that `part` gives for each triangle; `rims`: vertices of each drain's rim;
    `open_edge`: vertices over which what rises runs away for good (overboard, or off a block).
    """

    name: str
    path: Path
    kind: Literal["sole", "locker", "seat"]
    vertices: np.ndarray  # (n, 3)
    triangles: np.ndarray  # (m, 3), winding so that their normals look out of the material
    part: np.ndarray  # (m,)
    parts: tuple[str, ...]
    rims: Mapping[str, np.ndarray]
    open_edge: np.ndarray
    drains: tuple[DrainPlace, ...]


def spaces(assembly: Assembly) -> tuple[Space, ...]:
    """Every space of a plan: soles with their gutters, lockers' soles, seats."""
    return (*(sole_space(assembly, sole) for sole in assembly.soles),
            *(locker_space(assembly, room) for room in assembly.rooms.values()),
            *(seat_space(assembly, stand) for stand in assembly.stands if stand.kind == "seat"))


def sole_space(assembly: Assembly, sole: SolePlace) -> Space:
    """The top of a sole and the gutters let into it."""
    own = [h for h in assembly.hatches if h.sole == sole.name]
    part = assembly.body(sole.part)
    faces = list(part.shaped.faces("top"))
    for hatch in own:
        if hatch.hatch.bond_flange.lies == "under":
            faces += part.shaped.roles.get(f"{hatch.path[-1]} edge", ())
    nets = [net_of(faces)]
    labels = [0]
    for number, hatch in enumerate(own, 1):
        frame = net_of(_frame_faces(assembly.body(hatch.molding), hatch))
        nets += [frame, _between(nets[0], frame, hatch)]
        labels += [number, 0]
    vertices, triangles, which = joined(nets)
    drains = tuple(d for d in assembly.drains if d.space in {sole.name, *(h.name for h in own)})
    open_edge = _sides(vertices, triangles, sole.sole.overboard)
    return _space(sole.name, sole.path, "sole", vertices, triangles, _labelled(labels, which),
                  (sole.name, *(h.name for h in own)), drains, open_edge)


def locker_space(assembly: Assembly, room: Room) -> Space:
    """A locker's sole round what stands on it."""
    walls = assembly.body(room.walls[0])
    down = tuple(-STEP * c for c in room.sole.z)
    standing = [b.solid.moved(_shift(down)) for b in assembly.of_kind("part") if _stands_in(assembly, b, room)]
    faces: list[cq.Face] = []
    for face in walls.shaped.faces("sole"):
        left = face.cut(*standing) if standing else face
        faces += left.Faces()
    vertices, triangles, which = joined([net_of(faces)])
    drains = tuple(d for d in assembly.drains if d.space == room.name)
    return _space(room.name, room.path, "locker", vertices, triangles, which * 0, (room.name,), drains,
                  _nothing())


def seat_space(assembly: Assembly, stand: Stand) -> Space:
    """A seat's recess; what rises to its rim runs off over the block."""
    import numpy as np

    part = assembly.body(stand.hosts[0])
    faces = [f for role in ON_SEAT for f in part.shaped.roles.get(f"{stand.roles} {role}", ())]
    vertices, triangles, which = joined([net_of(faces)])
    drains = tuple(d for d in assembly.drains if d.space == stand.name)
    edge = np.unique(border(triangles))
    rims = [_rim(vertices, edge, d) for d in drains]
    open_edge = np.setdiff1d(edge, np.concatenate(rims)) if rims else edge
    return _space(stand.name, stand.path, "seat", vertices, triangles, which * 0, (stand.name,), drains, open_edge)


def _space(name: str, path: Path, kind: Literal["sole", "locker", "seat"], vertices: np.ndarray,
           triangles: np.ndarray, part: np.ndarray, parts: tuple[str, ...], drains: tuple[DrainPlace, ...],
           open_edge: np.ndarray) -> Space:
    """The space with its rims found and lifted."""
    import numpy as np

    edge = np.unique(border(triangles))
    rims = {d.name: _rim(vertices, edge, d) for d in drains}
    for drain in drains:
        if drain.proud and len(rims[drain.name]):
            vertices, triangles, part, rims[drain.name] = _standing(vertices, triangles, part, rims[drain.name], drain)
    return Space(name=name, path=path, kind=kind, vertices=vertices, triangles=triangles, part=part, parts=parts,
                 rims=rims, open_edge=open_edge, drains=drains)


def _standing(vertices: np.ndarray, triangles: np.ndarray, part: np.ndarray, rim: np.ndarray, drain: DrainPlace
              ) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A net with a wall round a rim, as high as its flange stands proud; the rim is then the wall's upper edge."""
    import numpy as np

    edges = border(triangles)
    own = edges[np.isin(edges, rim).all(axis=1)]
    top = np.full(len(vertices), -1)
    top[rim] = len(vertices) + np.arange(len(rim))
    a, b = own.T
    wall = np.concatenate([np.stack([b, a, top[a]], axis=1), np.stack([b, top[a], top[b]], axis=1)])
    label = part[(triangles[:, :, None] == rim[0]).any(axis=(1, 2))][0]
    return (np.concatenate([vertices, vertices[rim] + drain.proud * np.array(drain.normal)]),
            np.concatenate([triangles, wall]), np.concatenate([part, np.full(len(wall), label)]), top[rim])


def _frame_faces(molding: Body, hatch: HatchPlace) -> list[cq.Face]:
    """The faces of a frame that water reaches with its lid shut."""
    skip = {"flange"} if hatch.hatch.bond_flange.lies == "under" else set()
    roles = [r for r in ON_FRAME if r not in skip]
    roles += [r for r in molding.shaped.roles if r.endswith((" sump", " sump side")) and not r.startswith("under ")]
    return [face for role in roles for face in molding.shaped.roles.get(role, ())]


def _stands_in(assembly: Assembly, body: Body, room: Room) -> bool:
    """Whether a part belongs to something that stands in a room."""
    return any(stand.room == room.name and body.name in stand.hosts for stand in assembly.stands)


def _shift(by: Sequence[float]) -> cq.Location:
    import cadquery as cq

    return cq.Location(cq.Vector(*by))


def _labelled(labels: Sequence[int], which: np.ndarray) -> np.ndarray:
    import numpy as np

    return np.array(labels)[which]


def _rim(vertices: np.ndarray, edge: np.ndarray, drain: DrainPlace) -> np.ndarray:
    """Vertices at the mouth of a drain's bore, of those on an edge of the net."""
    import numpy as np

    start = np.array(drain.line[0] if drain.kind == "limber" else drain.rim)
    way = np.array(drain.normal)
    if drain.kind == "limber":
        way = np.array(drain.line[1]) - start
        way = way / np.linalg.norm(way)
    away = vertices[edge] - start
    along = away @ way
    off = np.linalg.norm(away - along[:, None] * way, axis=1)
    return edge[(np.abs(off - drain.bore / 2) < NEAR) & (np.abs(along) < DEEP)]


def _sides(vertices: np.ndarray, triangles: np.ndarray, sides: Iterable[str]) -> np.ndarray:
    """Vertices of the outer border's edges that look to one of the sides."""
    import numpy as np

    edges = border(triangles)
    longest = max(loops(edges), key=lambda loop: length_round(vertices, loop), default=())
    outer = edges[np.isin(edges[:, 0], longest) & np.isin(edges[:, 1], longest)]
    along = vertices[outer[:, 1], :2] - vertices[outer[:, 0], :2]
    out = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    found = [outer[out @ np.array(DIRECTIONS[side][:2]) > np.sqrt(0.5)] for side in sides]
    return np.unique(np.concatenate(found)) if found else _nothing()


def _nothing() -> np.ndarray:
    import numpy as np

    return np.zeros(0, int)


def _between(sole: Net, frame: Net, hatch: HatchPlace) -> Net:
    """The strip of fairing between a frame's outer border and the sole's hole round it."""
    import numpy as np

    middle = np.array(hatch.frame.origin[:2])
    inner = max(loops(border(frame[1])), key=lambda loop: length_round(frame[0], loop))
    holes = [h for h in loops(border(sole[1])) if _holds(sole[0][list(h)][:, :2], middle)]
    if not holes:
        return np.zeros((0, 3)), np.zeros((0, 3), int)
    outer = min(holes, key=lambda loop: length_round(sole[0], loop))
    a, b = frame[0][list(inner)], sole[0][list(outer)]
    if area_in_plan(a) * area_in_plan(b) < 0:
        b = b[::-1]
    b = np.roll(b, -int(np.argmin(np.linalg.norm(b - a[0], axis=1))), axis=0)
    # the frame's border runs as its own triangles are wound: those beyond it meet it the other way round, whether they
    # lie level or, over a flange under the sole, hang over
    return np.concatenate([a, b]), np.array(list(zipped(a, b)))[:, ::-1]


def _holds(loop: np.ndarray, point: np.ndarray) -> bool:
    from shapely.geometry import Point, Polygon

    return bool(Polygon(loop).contains(Point(*point)))
