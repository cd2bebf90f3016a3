"""A block with seats: the cured part, its core, its lifts, and all that belongs to each seat.

In       a resolved Cradle with seats, its cylinders, skin, stock and locker.
Out      Made: bodies, stands and chains, in boat axes.
Not here the recess's surfaces (seat.py), chocks (chock.py), what is left open in the spec (choose.py).

The block is the core as it is built up of sheets; skins and paint lie outside it. Its underside stays bare, for the
paste. The core's recess is cut square where floor meets wall: the corner behind the skin's fillet is filled with paste.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from moldplan.errors import Path
from moldplan.material.stock import Stock
from moldplan.quantity import plain
from moldplan.shape import cylinder as bottle
from moldplan.shape import insert, seat
from moldplan.shape.assembly import Room, Stand
from moldplan.shape.body import DIRECTIONS, Body, Frame, Shaped, Vector, block, rod
from moldplan.shape.chain import Chain
from moldplan.shape.dowels import DOWEL
from moldplan.shape.drain import DrainPlace, limber
from moldplan.shape.framed import framed
from moldplan.shape.locker import above_sole, sole_height
from moldplan.shape.seat import Build, Recess
from moldplan.shape.stack import lifted
from moldplan.shape.strap import Strap, strap
from moldplan.spec.model import Cradle, Cylinder, Limber, Seat, Straps, Towards

START_IN = 5.0  # mm inside the floor's flat, where a limber's invert leaves the floor; ours


@dataclass(frozen=True)
class Made:
    """What one cradle came to."""

    bodies: tuple[Body, ...]
    stands: tuple[Stand, ...]
    chains: tuple[Chain, ...]
    drains: tuple[DrainPlace, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Brief:
    """All that the shaping of one cradle depends on: the key of its result."""

    name: str
    cradle: Cradle
    cylinders: Mapping[str, Cylinder]
    stocks: Mapping[str, Stock]
    build: Build
    rib_builds: Mapping[str, Build]  # chock name -> skin and coats of its ribs
    layers: Mapping[str, tuple[insert.Layer, ...]]  # seat name -> layers of its insert
    room: Room | None
    wall_core: float  # mm, core of the wall that straps are made fast to

    @property
    def path(self) -> Path:
        return ("cradles", self.name)

    @property
    def leans(self) -> bool:
        return self.cradle.sits == "with the sole"

    def cylinder_of(self, name: str, given: str | None) -> tuple[str, Cylinder]:
        key = given or name
        return key, self.cylinders[key]


def frame_of(cradle: Cradle, room: Room | None) -> Frame:
    """The block's own axes: origin at its aft starboard lower corner, x along its length, z up."""
    length, width, _ = cradle.block
    turn = math.radians(cradle.turn)
    ahead, left = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    if cradle.at is not None:
        x, y = cradle.at
    elif room:
        x = (room.low[0] + room.high[0]) / 2 - length / 2 * ahead[0] - width / 2 * left[0]
        y = (room.low[1] + room.high[1]) / 2 - length / 2 * ahead[1] - width / 2 * left[1]
    else:
        x, y = 0.0, 0.0
    if not room:
        return Frame((x, y, cradle.base or 0.0), (*ahead, 0.0))
    if cradle.sits == "with the sole":
        return _on_the_sole(room.sole, x, y, ahead)
    spots = [(x + i * length * ahead[0] + j * width * left[0], y + i * length * ahead[1] + j * width * left[1])
             for i in (0, 1) for j in (0, 1)]
    base = min(sole_height(room.sole, *spot) for spot in spots) if cradle.base is None else cradle.base
    return Frame((x, y, base), (*ahead, 0.0))


def _on_the_sole(sole: Frame, x: float, y: float, ahead: tuple[float, float]) -> Frame:
    """A frame lying on a sloping sole, its x over the direction `ahead` in plan."""
    nx, ny, nz = sole.z
    rise = -(nx * ahead[0] + ny * ahead[1]) / nz
    long = math.sqrt(1 + rise**2)
    return Frame((x, y, sole_height(sole, x, y)), (ahead[0] / long, ahead[1] / long, rise / long), sole.z)


def shape(brief: Brief) -> Made:
    """The whole block with its seats. Pure: depends on the brief alone."""
    frame = frame_of(brief.cradle, brief.room)
    recesses = {n: _recess(brief, n, s) for n, s in brief.cradle.seats.items()}
    bodies = _block_bodies(brief, frame, recesses)
    stands: list[Stand] = []
    chains: list[Chain] = []
    for name, one in brief.cradle.seats.items():
        stand, own = _seat_bodies(brief, frame, name, one, recesses[name])
        stands.append(stand)
        bodies += own
        chains += seat.chains(stand.name, stand.path, one, stand.cylinder, recesses[name], bed=brief.cradle.bed)
    drains = [d for n, s in brief.cradle.seats.items() for d in _limbers(brief, frame, n, s, recesses[n])]
    return Made(tuple(bodies), tuple(stands), tuple(chains), tuple(drains))


def _limbers(brief: Brief, frame: Frame, name: str, one: Seat, made: Recess) -> list[DrainPlace]:
    """A seat's limbers as ways out, in boat axes."""
    full, path = f"{brief.name}.{name}", (*brief.path, "seats", name)
    return [limber(full, path, (frame.place(run.at(run.mouth)), frame.place(run.at(run.end))),
                   bore=one.limber.bore if one.limber else 0.0, number=k, up=frame.z)
            for k, run in enumerate(limber_runs(brief.cradle, one, made), 1)]


def _recess(brief: Brief, name: str, one: Seat) -> Recess:
    _, cylinder = brief.cylinder_of(name, one.cylinder)
    return seat.recess(one, cylinder, brief.build, block_height=brief.cradle.block[2], bed=brief.cradle.bed)


def centre(cradle: Cradle, at: tuple[float, float] | None) -> tuple[float, float]:
    """A seat's or chock's middle in the block's own axes [mm]."""
    return at if at is not None else (cradle.block[0] / 2, cradle.block[1] / 2)


@dataclass(frozen=True)
class LimberRun:
    """A limber's axis in the block's own axes, from inside the recess to beyond the block's side."""

    start: Vector
    along: Vector
    mouth: float  # share of the way at which its lowest line leaves the floor
    end: float  # share of the way at which it leaves the block, skin and all

    def at(self, share: float) -> Vector:
        """The middle of the bore at a share of the way."""
        (x, y, z), (dx, dy, dz) = self.start, self.along
        return x + share * dx, y + share * dy, z + share * dz

    def bar(self, radius: float, role: str) -> Shaped:
        return rod(radius, self.start, self.along, role)


def limber_runs(cradle: Cradle, one: Seat, made: Recess) -> tuple[LimberRun, ...]:
    """Where a seat's limbers run, the first side first; none when the seat has none."""
    if one.limber is None:
        return ()
    sides = dict.fromkeys((one.limber.towards, *one.limber.also))
    return tuple(_limber_run(cradle, one, one.limber, made, side) for side in sides)


def _limber_run(cradle: Cradle, one: Seat, way: Limber, made: Recess, towards: Towards) -> LimberRun:
    (cx, cy), (dx, dy, _) = centre(cradle, one.at), DIRECTIONS[towards]
    turn = math.radians(one.turn)
    dx, dy = dx * math.cos(turn) - dy * math.sin(turn), dx * math.sin(turn) + dy * math.cos(turn)
    begin = max(made.molded.flat - START_IN, 0.0)
    inside = max(begin - way.bore, 0.0)  # the bore starts well inside the recess, above its floor
    invert = made.molded.floor + way.fall * (begin - inside)
    steep = math.hypot(1.0, way.fall)
    level = invert + way.bore / 2 * steep
    length, width, _ = cradle.block
    reach = _to_side(cx, cy, dx, dy, length, width) + 4 * made.build.skin + 10
    run = reach - inside
    return LimberRun((cx + inside * dx, cy + inside * dy, level), (run * dx, run * dy, -run * way.fall),
                     (begin - inside) / run, (reach - 3 * made.build.skin - 10 - inside) / run)


def _to_side(x: float, y: float, dx: float, dy: float, length: float, width: float) -> float:
    """How far it is from a point inside a rectangle to its side along a direction."""
    spans = [((length if dx > 0 else 0.0) - x) / dx if abs(dx) > 1e-9 else math.inf,
             ((width if dy > 0 else 0.0) - y) / dy if abs(dy) > 1e-9 else math.inf]
    return min(spans)


def _block_bodies(brief: Brief, frame: Frame, recesses: Mapping[str, Recess]) -> list[Body]:
    """Part, core, skin, tubes and lifts of the block."""
    cradle, skin = brief.cradle, brief.build.skin
    length, width, height = cradle.block
    top = max(made.finished_top for made in recesses.values()) + 5
    outer = block(length + 2 * skin, width + 2 * skin, height + skin).moved(Frame((-skin, -skin, 0.0)))
    molded, square, rounded, bores, tubes = [], [], [], [], []
    sleeves: list[tuple[str, str, Shaped]] = []
    for name, one in cradle.seats.items():
        made, at = recesses[name], Frame((*centre(cradle, one.at), 0.0))
        keep = {"floor": f"{name} floor", "fillet": f"{name} fillet", "wall": f"{name} wall"}
        molded.append(made.molded.void(top).renamed(keep).moved(at))
        square.append(made.cut.void(top).renamed(keep).moved(at))
        rounded.append(made.core.void(top).renamed(keep).moved(at))
        for number, run in enumerate(limber_runs(cradle, one, made), 1):
            assert one.limber is not None
            bores.append(run.bar(one.limber.bore / 2, f"{name} limber"))
            tubes.append(run.bar(one.limber.bore / 2 + one.limber.wall, f"{name} limber"))
            # refuse.py sees to it that a limber runs through no other seat
            title = f"{brief.name}.{name} tube" + (f" {number}" if number > 1 else "")
            sleeves.append((name, title, tubes[-1].common(outer).cut(molded[-1], bores[-1])))
    part = outer.cut(*molded, *bores)
    for name, one in cradle.seats.items():
        part = _rimmed(part, name, one.rim_radius - brief.build.paint, recesses[name].bare_top)
    raw = block(length, width, height)
    core = raw.cut(*square, *tubes)
    behind = raw.cut(*rounded, *tubes)
    shell = part.cut(behind.prefixed("core side"), *tubes)
    paste = (behind.solid.Volume() - core.solid.Volume()) / 1000
    notes = (f"paste behind the seats' fillets and beds: {paste:.0f} mL",)
    named = [("part", "part", part, ()), ("core", "core", core, notes), ("skin", "skin", shell, ())]
    bodies = [_body(brief, frame, f"{brief.name} {n}", k, s, notes=t) for n, k, s, t in named]
    bodies += [_body(brief, frame, title, "tube", s, part=n) for n, title, s in sleeves]
    return bodies + _core_lifts(brief, bodies[1], recesses)


def _rimmed(part: Shaped, name: str, radius: float, level: float) -> Shaped:
    """The rim rounded to its bare radius; none when paint alone makes it."""
    if radius < 0.05:
        return part
    edges = [edge for face in part.faces(f"{name} wall") for edge in face.Edges()
             if edge.geomType() == "CIRCLE" and abs(edge.Center().z - level) < 1e-6]
    return part.rounded(edges, radius, f"{name} rim")


def _core_lifts(brief: Brief, core: Body, recesses: Mapping[str, Recess]) -> list[Body]:
    """The core as sheets of its stock, lowest first."""
    sheet, (_, _, high) = brief.stocks[brief.cradle.stock].true_thickness, brief.cradle.block
    ways = [(name, one.limber.bore / 2 + one.limber.wall, [run.at(share)[2] for share in (run.mouth, run.end)])
            for name, one in brief.cradle.seats.items() if one.limber
            for run in limber_runs(brief.cradle, one, recesses[name])]  # fmt: skip

    def said(number: int, count: int) -> str:
        thick = high - (count - 1) * sheet
        words = [f"plane to {thick:.1f} mm"] if number == count and thick < sheet - 0.05 else []
        words += [f"the limber of {name}, {plain(2 * wide, 1)} mm across for its tube, is drilled along its marks when "
                  "the stack is glued up" for name, wide, heights in ways
                  if min(heights) - wide < number * sheet - 0.05 and max(heights) + wide > (number - 1) * sheet + 0.05]
        return "; ".join(dict.fromkeys(words))

    return lifted(replace(core, scribe=brief.cradle.scribe), stock=brief.cradle.stock, sheet=sheet,
                  name=f"{brief.name} lift", low=0.0, high=high, says=said)


def _body(brief: Brief, frame: Frame, name: str, kind: str, own: Shaped, *, part: str | None = None,
          notes: tuple[str, ...] = (), stock: str | None = None, thickness: float | None = None) -> Body:
    """A body of the block in boat axes; what lies under a sloping sole is cut away."""
    shaped = own.moved(frame)
    if brief.room and not brief.leans and kind in ("part", "core", "skin", "lift") and brief.room.sole.z[2] < 1 - 1e-12:
        reach = 4 * max(brief.cradle.block)
        lifted = shaped.common(above_sole(brief.room.sole, reach + _away(brief, frame), 2 * reach))
        if lifted.solid.Volume() > 1.0:
            shaped = lifted
    density = {"core": brief.stocks[brief.cradle.stock].density, "lift": brief.stocks[brief.cradle.stock].density,
               "skin": brief.build.density}.get(kind)
    return Body(name=name, kind=kind, shaped=shaped, part=f"{brief.name}.{part}" if part else brief.name,
                path=(*brief.path, "seats", part) if part else brief.path, frame=frame, stock=stock,
                thickness=thickness, density=density, notes=notes)


def _away(brief: Brief, frame: Frame) -> float:
    """How far a block lies from the middle of its locker, so that the sole reaches under all of it [mm]."""
    assert brief.room is not None
    return 2 * math.hypot(*(a - b for a, b in zip(frame.origin, brief.room.sole.origin, strict=True)))


def _seat_bodies(brief: Brief, frame: Frame, name: str, one: Seat, made: Recess) -> tuple[Stand, list[Body]]:
    """The cylinder, its valve's room, the insert's discs and the straps of one seat."""
    key, cylinder = brief.cylinder_of(name, one.cylinder)
    full, path = f"{brief.name}.{name}", (*brief.path, "seats", name)
    own = frame.inside(Frame((*centre(brief.cradle, one.at), 0.0)))
    stands_at = frame.inside(Frame((*centre(brief.cradle, one.at), made.finished.floor)))
    bodies = standing_bodies(full, path, cylinder, stands_at)
    envelope = bodies[1].name if len(bodies) > 1 else None
    stock = brief.stocks[one.insert.stock]
    built = framed(full, path, own, one, made, stock) if one.insert.built == "frames" else ()
    tools, face = list(built[:1]), insert.surface(one, made)
    pile = () if built else insert.discs(one, made, brief.layers[name])
    sticks = insert.dowels(pile)
    for number, disc in enumerate(pile, 1):
        flat = own.inside(Frame((0.0, 0.0, disc.low)))
        kind = "insert" if disc.layer.stock else "packer"
        notes = []
        if number == 1 and face.fillet > 0:
            notes.append(f"the insert's lower edge rounded to R {plain(face.fillet, 1)} mm all round")
        if sticks:
            notes.append(f"{len(sticks.lengths)} dowels of {DOWEL:g} mm, {sticks.lengths[0]:g} mm long, line up "
                         f"{sticks.first} to {sticks.last}" +
                         ("; 1 is too thin for them, line it up by its edge" if sticks.first > 1 else ""))
        elif len(pile) > 1:
            notes.append("no room for dowels: line the discs up by their edges")
        notes += insert.hole_words(disc)
        tools.append(Body(name=f"{full} {kind} {number}", kind=kind, shaped=disc.shaped.moved(own), part=full,
                          path=path, frame=flat, stock=disc.layer.stock, thickness=disc.layer.thickness,
                          density=brief.stocks[one.insert.stock].density if disc.layer.stock else None,
                          notes=tuple(notes), order=f"{number} of {len(pile)} from below" if len(pile) > 1 else "",
                          dowels=sticks.lengths if sticks and number == sticks.first else ()))
    ties = straps(brief, full, path, one.straps, cylinder, stands_at, wall=_wall(brief, frame, one, stands_at))
    stand = Stand(
        name=full, path=path, kind="seat", cylinder=cylinder, cylinder_name=key,
        alternatives={n: brief.cylinders[n] for n in cylinder.alternatives}, frame=stands_at,
        hosts=(f"{brief.name} part",), roles=name, paint=brief.build.paint, liner=one.liner, body=bodies[0].name,
        envelope=envelope, tools=tuple(t.name for t in tools),
        frames=tuple(f.name for f in built[1:]), straps=tuple(t.name for t in ties),
        room=brief.cradle.locker)
    return stand, [*bodies, *tools, *built[1:], *ties]


def standing_bodies(full: str, path: Path, cylinder: Cylinder, at: Frame) -> list[Body]:
    """The cylinder where it stands or lies, and the room of its valve when it has one."""
    shaped = bottle.solid(cylinder).moved(at)
    density = cylinder.full_mass and cylinder.full_mass / (shaped.solid.Volume() * 1e-9)
    made = [Body(name=f"{full} cylinder", kind="cylinder", shaped=shaped, part=full, path=path, frame=at,
                 density=density)]
    room = bottle.envelope(cylinder)
    if room:
        made.append(Body(name=f"{full} valve room", kind="envelope", shaped=room.moved(at), part=full, path=path,
                         frame=at))
    return made


def _wall(brief: Brief, frame: Frame, one: Seat, at: Frame) -> tuple[float, Vector]:
    """Distance from a seat's axis to the wall its straps go to, and the way there in boat axes."""
    way = DIRECTIONS[one.straps.to]
    if brief.room:
        axis = 0 if abs(way[0]) > 0.5 else 1
        face = (brief.room.high if way[axis] > 0 else brief.room.low)[axis]
        return abs(face - at.origin[axis]), way
    (cx, cy), (length, width, _) = centre(brief.cradle, one.at), brief.cradle.block
    turn = math.radians(one.turn)
    local = (way[0] * math.cos(turn) - way[1] * math.sin(turn), way[0] * math.sin(turn) + way[1] * math.cos(turn), 0.0)
    return _to_side(cx, cy, local[0], local[1], length, width) + brief.build.skin, frame.turn(local)


def strap_heights(cylinder: Cylinder, count: int) -> Sequence[float]:
    """Heights of the straps on the straight of an upright cylinder: one at two thirds, more spread evenly [mm]."""
    low, high = bottle.straight(cylinder)
    if count == 1:
        return [low + 2 / 3 * (high - low)]
    return [low + (0.25 + 0.55 * i / (count - 1)) * (high - low) for i in range(count)]


def straps(brief: Brief, full: str, path: Path, spec: Straps, cylinder: Cylinder, at: Frame,
           wall: tuple[float, Vector]) -> list[Body]:
    """Bands, buckles, eyes and plugs of an upright cylinder's straps, in boat axes."""
    distance, way = wall
    found: list[Body] = []
    if spec.count and distance < cylinder.radius:
        distance = cylinder.radius  # a wall inside the cylinder is a finding of its own; the strap is still drawn
    for number, height in enumerate(strap_heights(cylinder, spec.count) if spec.count else (), 1):
        across = tuple(-w + at.z[i] * sum(a * b for a, b in zip(way, at.z, strict=True)) for i, w in enumerate(way))
        long = math.hypot(*across)
        own = Frame(at.place((0.0, 0.0, height)), (across[0] / long, across[1] / long, across[2] / long), at.z)
        found += strap_bodies(full, path, number, strap(spec, radius=cylinder.radius, distance=distance,
                                                        core=brief.wall_core), own)
    return found


def strap_bodies(full: str, path: Path, number: int, made: Strap, own: Frame) -> list[Body]:
    """One strap's bodies in boat axes."""
    name = f"{full} strap {number}"
    length = f"cut {made.cut_length:.0f} mm of webbing; {made.path:.0f} mm from eye to eye"
    plug = f"dense plug {made.plug_diameter:.0f} mm across in the core under the eye"
    parts = [(name, "strap", made.band, (length,)), (f"{name} buckle", "strap", made.buckle, ())]
    parts += [(f"{name} eye {i}", "eye", eye, ()) for i, eye in enumerate(made.eyes, 1)]
    parts += [(f"{name} plug {i}", "core plug", one, (plug,)) for i, one in enumerate(made.plugs, 1)]
    return [Body(name=n, kind=k, shaped=s.moved(own), part=full, path=(*path, "straps"), frame=own, notes=t)
            for n, k, s, t in parts]
