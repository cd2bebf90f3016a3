"""Chocks: shaped ribs that a lying cylinder rests in, with liner, straps and the plugs under the straps' eyes.

In       a resolved Cradle with chocks, its cylinders, skins, stock and locker.
Out      Made: bodies, stands and chains, in boat axes.
Not here how far a rigid rib may wrap (choose.py refuses it, check/ measures it), the rib's strength.

Section of a rib, own axes of the chock: u across, v up from the base's bare top. F is the arc about the cylinder's
axis, radius + liner + clearance; the rib's core has it with skin and paint outside. Every other face is the bag side:
the core's face is moved in from F by skin and paint, so that the finished rib has the sizes the spec asks for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from moldplan.shape import cylinder as bottle
from moldplan.shape.assembly import Stand
from moldplan.shape.body import Body, Frame, Shaped, block, extruded, rod
from moldplan.shape.chain import Chain, Step
from moldplan.shape.cradle import Brief, Made, centre, frame_of, standing_bodies, strap_bodies
from moldplan.shape.locker import above_sole
from moldplan.shape.seat import Build
from moldplan.shape.stack import lifted
from moldplan.shape.strap import strap
from moldplan.spec.model import Chock, Cylinder

THIN = 0.05  # mm; what is thinner is no body and no rounding
STRAP_GAP = 12.0  # mm between a strap and the rib beside it; ours


@dataclass(frozen=True, kw_only=True)
class Section:
    """A rib's finished section about its cylinder's axis [mm, deg]."""

    radius: float  # of F
    wrap: float
    rise: float
    shoulder: float
    limber: float

    @property
    def axis(self) -> float:
        """Height of the arc's centre over the base."""
        return self.rise + self.radius

    @property
    def half_chord(self) -> float:
        """Half the mouth; beyond 180 deg of wrap the mouth is narrower than the arc."""
        return self.radius * math.sin(math.radians(self.wrap / 2))

    @property
    def top(self) -> float:
        """Height of the shoulders over the base."""
        return self.axis - self.radius * math.cos(math.radians(self.wrap / 2))

    @property
    def half_width(self) -> float:
        widest = self.radius if self.wrap > 180 else self.half_chord
        return widest + self.shoulder


def section(chock: Chock, cylinder: Cylinder) -> Section:
    """The finished section: arc radius = body radius + liner + clearance."""
    return Section(radius=cylinder.radius + chock.liner + chock.clearance, wrap=chock.wrap, rise=chock.rise,
                   shoulder=chock.shoulder, limber=chock.limber)


def rib_positions(chock: Chock, cylinder: Cylinder) -> list[float]:
    """Middles of the ribs along the axis, from what the cylinder stands on when upright [mm]."""
    low, high = bottle.straight(cylinder)
    middle, spacing = (low + high) / 2, chock.spacing or 0.0
    return [middle + (i - (chock.count - 1) / 2) * spacing for i in range(chock.count)]


def strap_positions(chock: Chock, cylinder: Cylinder, rib: float) -> list[float]:
    """Where along the axis the straps go: inside the outer ribs, or the middle for a single one [mm]."""
    low, high = bottle.straight(cylinder)
    count, ribs = chock.straps.count, rib_positions(chock, cylinder)
    if count == 0:
        return []
    if count == 1:
        return [(low + high) / 2 if len(ribs) % 2 == 0 else ribs[0] + rib / 2 + STRAP_GAP + chock.straps.width / 2]
    inset = rib / 2 + STRAP_GAP + chock.straps.width / 2
    first, last = (ribs[0] + inset, ribs[-1] - inset) if len(ribs) > 1 else (ribs[0] - inset, ribs[0] + inset)
    return [first + (last - first) * i / (count - 1) for i in range(count)]


def shape(brief: Brief) -> Made:
    """The base and all its chocks. Pure: depends on the brief alone."""
    frame = frame_of(brief.cradle, brief.room)
    bodies: list[Body] = []
    stands: list[Stand] = []
    chains: list[Chain] = []
    plugs: list[Shaped] = []
    for name, chock in brief.cradle.chocks.items():
        stand, own, sockets = _chock_bodies(brief, frame, name, chock)
        stands.append(stand)
        bodies += own
        plugs += sockets
        chains.append(_chain(stand, chock, brief.rib_builds[name]))
    return Made((*_base_bodies(brief, frame, plugs), *bodies), tuple(stands), tuple(chains))


def _chain(stand: Stand, chock: Chock, build: Build) -> Chain:
    """From the cylinder's radius to the radius that the rib's core is sawn to."""
    steps = [
        Step(name="cylinder, radius", nominal=stand.cylinder.radius, tolerance=stand.cylinder.across.tolerance / 2,
             origin="half the measured diameter"),
        Step(name="clearance", nominal=chock.clearance, tolerance=0.0, origin="clearance"),
        Step(name="liner", nominal=chock.liner, tolerance=0.0, origin="liner", surface="F"),
        Step(name="paint", nominal=build.paint, tolerance=build.paint_tolerance, origin="coats.paint", surface="M"),
        Step(name="skin", nominal=build.skin, tolerance=build.skin_tolerance, origin=build.origin, surface="C"),
        Step(name="cut", nominal=0.0, tolerance=build.cut_tolerance, origin="handbook: cutting"),
    ]
    return Chain(part=stand.name, at="arc", measure="per_side", steps=tuple(steps), path=stand.path)


def _base_bodies(brief: Brief, frame: Frame, plugs: list[Shaped]) -> list[Body]:
    """The base the ribs stand on: part, core with the plugs' sockets, lifts."""
    length, width, height = brief.cradle.block
    skin, stock = brief.build.skin, brief.stocks[brief.cradle.stock]
    outer = block(length + 2 * skin, width + 2 * skin, height + skin).moved(Frame((-skin, -skin, 0.0)))
    core = block(length, width, height).cut(*plugs)
    part, whole = (Body(name=f"{brief.name} {kind}", kind=kind, shaped=_on_sole(brief, own.moved(frame)),
                        part=brief.name, path=brief.path, frame=frame, density=density)
                   for kind, own, density in (("part", outer, None), ("core", core, stock.density)))
    return [part, whole, *lifted(
        replace(whole, scribe=brief.cradle.scribe), stock=brief.cradle.stock, sheet=stock.true_thickness,
        name=f"{brief.name} lift", low=0.0, high=height)]


def _on_sole(brief: Brief, shaped: Shaped) -> Shaped:
    """What lies under a sloping sole cut away; nothing when the base leans with it, or the sole is level."""
    if not brief.room or brief.leans or brief.room.sole.z[2] > 1 - 1e-12:
        return shaped
    reach = 8 * (max(brief.cradle.block) + math.hypot(*(h - w for h, w in
                                                       zip(brief.room.high, brief.room.low, strict=True))))
    kept = shaped.common(above_sole(brief.room.sole, reach, reach))
    return kept if kept.solid.Volume() > 1.0 else shaped


def _chock_bodies(brief: Brief, frame: Frame, name: str, chock: Chock) -> tuple[Stand, list[Body], list[Shaped]]:
    """Ribs, liner, straps and cylinder of one chock; the sockets of its plugs in the base's own axes."""
    key, cylinder = brief.cylinder_of(name, chock.cylinder)
    full, path = f"{brief.name}.{name}", (*brief.path, "chocks", name)
    build, cut = brief.rib_builds[name], section(chock, cylinder)
    top = brief.cradle.block[2] + brief.build.skin
    cx, cy = centre(brief.cradle, chock.at)
    turn = math.radians(chock.turn)
    along = (math.cos(turn), math.sin(turn), 0.0)
    low, high = bottle.straight(cylinder)
    foot = (cx - (low + high) / 2 * along[0], cy - (low + high) / 2 * along[1], top + cut.axis)
    lying = Frame(foot, (0.0, 0.0, 1.0), along)  # own x points up, z along the cylinder
    at = frame.inside(lying)
    bodies = standing_bodies(full, path, cylinder, at)
    envelope = bodies[1].name if len(bodies) > 1 else None
    made, hosts = _ribs(brief, name, chock, cylinder, lying, frame)
    ties, sockets = _ties(brief, name, chock, cylinder, lying, frame)
    stand = Stand(
        name=full, path=path, kind="chock", cylinder=cylinder, cylinder_name=key,
        alternatives={n: brief.cylinders[n] for n in cylinder.alternatives}, frame=at, hosts=hosts, roles=name,
        paint=build.paint, liner=chock.liner, body=bodies[0].name, envelope=envelope,
        straps=tuple(t.name for t in ties), room=brief.cradle.locker)
    return stand, [*bodies, *made, *ties], sockets


def _ribs(brief: Brief, name: str, chock: Chock, cylinder: Cylinder, lying: Frame,
          frame: Frame) -> tuple[list[Body], tuple[str, ...]]:
    """Each rib as a cured part, as the sheets it is sawn from, and its liner."""
    full, path, build = f"{brief.name}.{name}", (*brief.path, "chocks", name), brief.rib_builds[name]
    cut, stock = section(chock, cylinder), brief.stocks[chock.stock]
    sheet, bodies, hosts = stock.true_thickness, [], []
    thick = chock.layers * sheet
    for number, middle in enumerate(rib_positions(chock, cylinder), 1):
        bare = rib(cut, inset=build.paint, thickness=thick + 2 * build.skin, name=name)
        bare = _edged(bare, name, chock.edge_radius)
        place = frame.inside(_rib_frame(lying, middle))
        title = f"{full} rib {number}"
        hosts.append(title)
        shown = f"round the arc's edges to {chock.edge_radius:g} mm, so that the liner turns over them"
        bodies.append(Body(name=title, kind="part", shaped=bare.moved(place), part=full, path=path, frame=place,
                           notes=(shown,) if chock.edge_radius else ()))
        sawn = rib(cut, inset=build.paint + build.skin, thickness=sheet, name="")
        for layer in range(chock.layers):
            own = place.inside(Frame((0.0, 0.0, (layer - (chock.layers - 1) / 2) * sheet)))
            flat = own.inside(Frame((0.0, 0.0, -sheet / 2), (1.0, 0.0, 0.0)))
            bodies.append(Body(name=f"{title} sheet {layer + 1}", kind="rib", shaped=sawn.moved(own), part=full,
                               path=path, frame=flat, stock=chock.stock, thickness=sheet, density=stock.density,
                               notes=(shown,) if chock.edge_radius and not build.skin else ()))
        if chock.liner > THIN:
            bodies.append(Body(name=f"{full} liner {number}", kind="liner", part=full, path=path, frame=place,
                               shaped=_liner(cut, chock.liner, thick + 2 * build.skin).moved(place)))
    return bodies, tuple(hosts)


def _rib_frame(lying: Frame, middle: float) -> Frame:
    """A rib's own axes in the block's: origin on the axis, x across, y up, z along the cylinder."""
    return Frame(lying.place((0.0, 0.0, middle)), tuple(-c for c in lying.y), lying.z)  # type: ignore[arg-type]


def rib(cut: Section, *, inset: float, thickness: float, name: str) -> Shaped:
    """A rib whose faces lie `inset` inside the finished ones, `thickness` along the cylinder, about its middle.

    Own axes: origin on the cylinder's axis, x across, y up. Roles, led by `name`: arc, shoulder, side, underside,
    limber, start, end.
    """
    import cadquery as cq

    radius, top, half = cut.radius + inset, cut.top - cut.axis - inset, cut.half_width - inset
    base, limber = -cut.axis, cut.limber + inset if cut.limber > THIN else 0.0
    lip = math.sqrt(max(radius**2 - top**2, 0.0))  # where the arc meets the shoulders' level
    low = -thickness / 2

    def at(x: float, y: float) -> cq.Vector:
        return cq.Vector(x, y, low)

    def line(role: str, *spots: tuple[float, float]) -> tuple[str, cq.Edge]:
        return role, cq.Edge.makeLine(at(*spots[0]), at(*spots[1]))

    edges = [line("side", (half, base), (half, top)), line("shoulder", (half, top), (lip, top)),
             ("arc", cq.Edge.makeThreePointArc(at(lip, top), at(0, -radius), at(-lip, top))),
             line("shoulder", (-lip, top), (-half, top)), line("side", (-half, top), (-half, base))]
    if limber:
        edges += [line("underside", (-half, base), (-limber, base)),
                  ("limber", cq.Edge.makeThreePointArc(at(-limber, base), at(0, base + limber), at(limber, base))),
                  line("underside", (limber, base), (half, base))]
    else:
        edges.append(line("underside", (-half, base), (half, base)))
    made = extruded(edges, (0.0, 0.0, thickness))
    return made.prefixed(name) if name else made


def _edged(shaped: Shaped, name: str, radius: float) -> Shaped:
    """The arc's two edges rounded, for the liner to turn over."""
    if radius < THIN:
        return shaped
    edges = [edge for face in shaped.faces(f"{name} arc") for edge in face.Edges() if edge.geomType() == "CIRCLE"]
    return shaped.rounded(edges, radius, f"{name} edge")


def _liner(cut: Section, thickness: float, width: float) -> Shaped:
    """The liner in the arc, from F inward."""
    import cadquery as cq

    half, low = math.radians(min(cut.wrap, 359.0) / 2), -width / 2
    outer, inner = cut.radius, cut.radius - thickness

    def at(radius: float, angle: float) -> cq.Vector:
        return cq.Vector(radius * math.sin(angle), -radius * math.cos(angle), low)

    edges = [
        ("outside", cq.Edge.makeThreePointArc(at(outer, -half), at(outer, 0), at(outer, half))),
        ("", cq.Edge.makeLine(at(outer, half), at(inner, half))),
        ("inside", cq.Edge.makeThreePointArc(at(inner, half), at(inner, 0), at(inner, -half))),
        ("", cq.Edge.makeLine(at(inner, -half), at(outer, -half))),
    ]
    return extruded(edges, (0.0, 0.0, width))


def _ties(brief: Brief, name: str, chock: Chock, cylinder: Cylinder, lying: Frame,
          frame: Frame) -> tuple[list[Body], list[Shaped]]:
    """Straps over the cylinder to eyes on the base, and the sockets of their plugs in the base."""
    full, path, cut = f"{brief.name}.{name}", (*brief.path, "chocks", name), section(chock, cylinder)
    sheet = brief.stocks[chock.stock].true_thickness * chock.layers + 2 * brief.rib_builds[name].skin
    made = strap(chock.straps, radius=cylinder.radius, distance=cut.axis, core=brief.cradle.block[2])
    bodies: list[Body] = []
    sockets: list[Shaped] = []
    for number, middle in enumerate(strap_positions(chock, cylinder, sheet), 1):
        local = Frame(lying.place((0.0, 0.0, middle)), (0.0, 0.0, 1.0), lying.z)
        own = frame.inside(local)
        for body in strap_bodies(full, path, number, made, own):
            if body.kind == "core plug":
                body = replace(body, shaped=_sunk(brief, frame, body.shaped))
            bodies.append(body)
        for side in (-1.0, 1.0):
            x, y, _ = local.place((0.0, side * (cylinder.radius + chock.straps.thickness / 2), 0.0))
            sockets.append(rod(made.plug_diameter / 2, (x, y, -1.0), (0, 0, brief.cradle.block[2] + 2),
                               f"{full} socket"))
    return bodies, sockets


def _sunk(brief: Brief, frame: Frame, plug: Shaped) -> Shaped:
    """A plug lies in the base's core, under the skin the eye sits on, and ends at the base's edge."""
    length, width, height = brief.cradle.block
    skin = brief.build.skin
    lowered = plug.moved(Frame(tuple(-skin * c for c in frame.z)))  # type: ignore[arg-type]
    inside = lowered.common(block(length, width, height).moved(frame))
    return _on_sole(brief, inside)
