"""The frame round an opening: levels, offsets, the section of its molding, and the molding as a solid.

In       a resolved Hatch, the skin and coats of its frame, the thickness of the sole it is bonded into.
Out      Levels and Offsets (the section sum), FrameMade: the cured molding, its drains' tubes, its chains.
Not here the lid (lid.py), the mold (mold.py), the sole it lies in (sole.py), judging (check/).

Own axes: origin at the middle of the opening on the finished sole, x along its length, z up. Levels are measured down:
A landing, B gutter floor at its high point, C gutter floor at the drain, D rim of the drain. Offsets are measured
out from the opening's edge: a landing's outer edge, b outer wall of the gutter at the surface, c edge of the lid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from moldplan.errors import Path
from moldplan.shape import sump as sumps
from moldplan.shape.body import Frame, Shaped, Vector, rod
from moldplan.shape.chain import Chain, Step
from moldplan.shape.face_line import moved, rounded
from moldplan.shape.ring import Arc, Line, Plane2, Ring, Section, sweep
from moldplan.shape.seat import Build
from moldplan.spec.sole import Hatch, HatchDrain

SPIGOT = 2.0  # mm, wall of a drain's tail; for the drawing
EDGE = 3.0  # mm, finished radius of the rim and of the landing's edge; common practice for light cloth, no source


@dataclass(frozen=True, kw_only=True)
class Levels:
    """The section sum of one hatch, finished, down from the sole's surface [mm]."""

    lid: float
    gasket: float  # squeezed: what lid and landing leave of it
    landing: float  # A
    high: float  # B
    drain: float  # C
    rim: float  # D


@dataclass(frozen=True, kw_only=True)
class Offsets:
    """Plan offsets out from the clear opening, finished [mm]. `upstand`: foot of an upstand, on the landing."""

    landing: float  # a
    gutter: float  # b
    lid: float  # c
    flange: float
    upstand: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Runs:
    """The gutter's floor along the way: where it is high, where it drains, and its level between, straight."""

    ring: Ring
    drains: tuple[float, ...]  # places along the way, rising
    highs: tuple[float, ...]  # the one after each drain
    high: float
    low: float

    def level(self, s: float) -> float:
        """Floor level below the surface at a place [mm]."""
        whole, marks = self.ring.whole, []
        for here, after in zip(self.drains, self.highs, strict=True):
            marks += [(here, self.low), (after, self.high)]
        marks.append((self.drains[0] + whole, self.low))
        place = (s - marks[0][0]) % whole + marks[0][0]
        for (a, level_a), (b, level_b) in zip(marks, marks[1:], strict=False):
            if a - 1e-9 <= place <= b + 1e-9:
                return level_a + (level_b - level_a) * (place - a) / (b - a)
        return self.low

    @property
    def kinks(self) -> tuple[float, ...]:
        """Where the floor's fall changes."""
        return (*self.drains, *self.highs)

    @property
    def longest(self) -> float:
        """Length of the longest run from a high point to its drain [mm]."""
        ends = (*self.drains, self.drains[0] + self.ring.whole)
        return max((b - a) / 2 for a, b in zip(ends, ends[1:], strict=False))


def ring(hatch: Hatch) -> Ring:
    """The way round the hatch, measured on the middle of its gutter."""
    length, width = hatch.clear_opening
    return Ring(length=length, width=width, radius=hatch.corner_radius, off=hatch.landing + hatch.gutter.width / 2)


def levels(hatch: Hatch, *, paint: float) -> Levels:
    """The section sum, downward."""
    lid = hatch.lid.thickness + (0.0 if hatch.lid.finished else 2 * paint)
    squeezed = hatch.lid.gasket.free * (1 - hatch.lid.gasket.squeeze)
    landing = lid + squeezed if hatch.landing_depth is None else hatch.landing_depth
    high = landing + hatch.gutter.depth
    low = high + hatch.gutter.fall * runs_of(hatch, high=0.0, low=0.0).longest
    return Levels(
        lid=lid,
        gasket=landing - lid,
        landing=landing,
        high=high,
        drain=low,
        rim=low + max((d.sump for d in hatch.drains.values()), default=0.0),
    )


def offsets(hatch: Hatch, build: Build | None = None) -> Offsets:
    """The plan sum, outward; the foot of an upstand only where the build is known, whose skin it is made of."""
    gutter = hatch.landing + hatch.gutter.width
    return Offsets(
        landing=hatch.landing,
        gutter=gutter,
        lid=gutter - hatch.lid.gap,
        flange=gutter + hatch.bond_flange.width,
        upstand=0.0 if build is None else sum(upstand(hatch, build)),
    )


def runs_of(hatch: Hatch, *, high: float, low: float) -> Runs:
    """High points midway between neighbouring drains, round the ring; a single drain has one, right across."""
    way = ring(hatch)
    drains = tuple(sorted(drain_place(way, hatch, d) for d in hatch.drains.values()))
    ends = (*drains, drains[0] + way.whole)
    return Runs(
        ring=way,
        drains=drains,
        highs=tuple((a + b) / 2 for a, b in zip(ends, ends[1:], strict=False)),
        high=high,
        low=low,
    )


def drain_place(way: Ring, hatch: Hatch, drain: HatchDrain) -> float:
    """Where along the way a drain lies; a point is given in boat axes over the level plan of the hatch."""
    if isinstance(drain.at, str):
        return way.spot(drain.at)
    return way.nearest(*own_plan(hatch, drain.at))[0]


def level_x(turn: float) -> Vector:
    """The way `turn` [deg] points in a level plan."""
    return math.cos(math.radians(turn)), math.sin(math.radians(turn)), 0.0


def own_plan(hatch: Hatch, point: Plane2) -> Plane2:
    """A point in boat axes in the hatch's own plan."""
    turn, dx, dy = math.radians(hatch.turn), point[0] - hatch.centre[0], point[1] - hatch.centre[1]
    return dx * math.cos(turn) + dy * math.sin(turn), dy * math.cos(turn) - dx * math.sin(turn)


def runs(hatch: Hatch, made: Levels) -> Runs:
    """The finished floor along the way."""
    return runs_of(hatch, high=made.high, low=made.drain)


def start_level(hatch: Hatch, *, sole: float) -> float:
    """How far below the surface the molding's flange starts: 0 when rebated, a sole and a bed when it lies under."""
    return 0.0 if hatch.bond_flange.lies == "rebated" else sole + hatch.bond_flange.bed


def upstand(hatch: Hatch, build: Build) -> tuple[float, float]:
    """An upstand's finished face at its top, out from the clear opening, and how much further out its foot stands [mm].

    It leans inward by its draft, so that the opening is narrowest at its top: there skin and coat on both sides reach
    just to the stated edge.
    """
    if not hatch.upstand:
        return 0.0, 0.0
    draft = math.radians(hatch.gutter.draft)
    thick = (build.paint + build.in_mold + build.skin) * math.cos(draft) + build.paint
    return thick, hatch.upstand * math.tan(draft)


def flat(hatch: Hatch, out: Offsets) -> tuple[float, float]:
    """Between which offsets the landing is flat, finished: from the opening or an upstand's root to where the
    rounding of its edge begins [mm]. `out` with the upstand's foot in it."""
    share = math.tan(math.radians(45 - hatch.gutter.draft / 2))
    inner = out.upstand + hatch.gutter.root_radius / 2 * share if hatch.upstand else 0.0
    return inner, out.landing - EDGE * share


def finished_line(
    hatch: Hatch, made: Levels, floor: float, *, start: float, trim: float, build: Build
) -> tuple[list[Plane2], list[float]]:
    """Corners of the finished face (u, z) from the opening's edge outward, and the radius at each [mm].

    `floor`: level of the gutter's floor here; `start`: level of the flange; `trim`: how far outside the opening's edge
    the molding begins.
    """
    out, slant = offsets(hatch), math.tan(math.radians(hatch.gutter.draft))
    inner = out.landing + (floor - made.landing) * slant
    outer = out.gutter - floor * slant
    line: list[Plane2] = [(trim, -made.landing)]
    radii = [0.0]
    if hatch.upstand:
        thick, lean = upstand(hatch, build)
        line = [(thick, hatch.upstand - made.landing), (thick + lean, -made.landing)]
        radii = [0.0, hatch.gutter.root_radius / 2]
    line += [
        (out.landing, -made.landing),
        (inner, -floor),
        (outer, -floor),
        (out.gutter - start * slant, -start),
        (out.flange, -start),
    ]
    radii += [EDGE, hatch.gutter.root_radius, hatch.gutter.root_radius, EDGE, 0.0]
    return line, radii


ROLES = ("landing", "inner wall", "floor", "outer wall", "flange")
BENDS = ("", "landing edge", "inner root", "outer root", "rim", "")


def names(hatch: Hatch) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Roles of the straights and of the corners of a frame's face."""
    if hatch.upstand:
        return ("upstand", *ROLES), ("", "upstand root", *BENDS[1:])
    return ROLES, BENDS


def section(hatch: Hatch, made: Levels, build: Build, floor: float, *, start: float) -> list[Line | Arc]:
    """The molding's closed section where the finished floor lies at `floor`: M on top, the bare skin below."""
    line, radii = finished_line(hatch, made, floor, start=start, trim=build.paint, build=build)
    straights, corners = names(hatch)
    top, top_radii = moved(line, radii, build.paint)
    under, under_radii = moved(line, radii, build.paint + build.in_mold + build.skin)
    face = rounded(top, top_radii, straights, corners)
    far = rounded(
        under[::-1], under_radii[::-1], [f"under {r}" for r in straights[::-1]], [f"under {r}" for r in corners[::-1]]
    )
    return [*face, Line("flange edge", top[-1], under[-1]), *far, Line("opening edge", under[0], top[0])]


def table_level(start: float, build: Build) -> float:
    """Level of the mold table's face, below the sole's surface [mm]: M of the flange."""
    return start + build.paint


def channel(hatch: Hatch, made: Levels, build: Build, floor: float, *, start: float, by: float) -> Section:
    """All between the gutter's walls, down to its floor and up to the mold's table, its face moved by `by` into the
    part; with `by` the paint it is the section of the mold's strip."""
    line, radii = finished_line(hatch, made, floor, start=start, trim=build.paint, build=build)
    face, bent = moved(line, radii, by)
    first = 2 if hatch.upstand else 1  # the landing's outer edge
    inner, outer = face[first], face[first + 3]
    path: list[Plane2] = [inner, face[first + 1], face[first + 2], outer]
    edges = rounded(
        path,
        [0.0, bent[first + 1], bent[first + 2], 0.0],
        ("molding inner wall", "molding floor", "molding outer wall"),
        ("", "molding inner root", "molding outer root", ""),
    )
    foot = (inner[0], -start - by)
    closing = [Line("on the table", outer, foot)]
    if abs(foot[1] - inner[1]) > 1e-6:
        closing.append(Line("against the block", foot, inner))
    return [*edges, *closing]


def floor_width(hatch: Hatch, made: Levels) -> float:
    """Between the gutter's walls at its floor by the drain, roots not counted, finished [mm]."""
    slant = math.tan(math.radians(hatch.gutter.draft))
    return hatch.gutter.width - (2 * made.drain - made.landing) * slant


def sump_cup(hatch: Hatch, made: Levels, way: Runs, drain: HatchDrain, *, by: float, role: str,
             top: float | None = None) -> Shaped:
    """A drain's sump where it lies, its face moved by `by`, up past the roots of the gutter or to the level `top`."""
    x, y = middle_of(way, drain_place(way.ring, hatch, drain))
    over = -made.drain + hatch.gutter.root_radius + 1.0 if top is None else top
    made_cup = sumps.cup(flange=drain.flange, rim=-made.drain - drain.sump, top=over, draft=hatch.gutter.draft, by=by,
                         role=role)
    return made_cup.moved(Frame((x, y, 0.0)))


def gutter_round(hatch: Hatch, made: Levels, way: Runs, build: Build, drain: HatchDrain, *, start: float,
                 by: float) -> Shaped:
    """The gutter's inside for a stretch on both sides of a drain's sump, its face moved by `by` into the part."""
    long = 1.5 * sumps.reach(flange=drain.flange, deep=drain.sump, draft=hatch.gutter.draft) + 10
    low = (drain_place(way.ring, hatch, drain) - long) % way.ring.whole
    return sweep(way.ring, lambda s: channel(hatch, made, build, way.level(s), start=start, by=by), breaks=way.kinks,
                 span=(low, low + 2 * long))


@dataclass(frozen=True, kw_only=True)
class FrameMade:
    """A frame's solids in the hatch's own axes."""

    molding: Shaped
    tubes: dict[str, Shaped]
    levels: Levels
    offsets: Offsets
    runs: Runs


def frame(hatch: Hatch, build: Build, *, sole: float) -> FrameMade:
    """The cured molding with its sumps and drain bores, and the drains' tails. Pure."""
    made = levels(hatch, paint=build.paint)
    way, start = runs(hatch, made), start_level(hatch, sole=sole)

    def at(s: float) -> Section:
        return section(hatch, made, build, way.level(s), start=start)

    body = sweep(way.ring, at, breaks=way.kinks)
    holes, tubes = [], {}
    wall = build.skin + build.in_mold
    for name, drain in hatch.drains.items():
        x, y = middle_of(way, drain_place(way.ring, hatch, drain))
        rim = made.drain + drain.sump + build.paint
        under = rim + wall
        if drain.sump:
            # the cup's laminate ends in the middle of the gutter's own, so that no two faces coincide
            inside = gutter_round(hatch, made, way, build, drain, start=start, by=build.paint + build.in_mold +
                                  build.skin / 2)
            outer = sump_cup(hatch, made, way, drain, by=build.paint + wall, role=f"under {name} sump")
            inner = sump_cup(hatch, made, way, drain, by=build.paint, role=f"{name} sump", top=-made.landing)
            body = body.fuse(outer.cut(inside)).cut(inner)
        holes.append(rod(drain.bore / 2, (x, y, -under - 5), (0, 0, wall + 5 + 2), f"{name} bore"))
        if drain.spigot:
            tube = rod(drain.bore / 2 + SPIGOT, (x, y, -under - drain.spigot), (0, 0, drain.spigot), f"{name} spigot")
            hole = rod(drain.bore / 2, (x, y, -under - drain.spigot - 1), (0, 0, drain.spigot + 2), f"{name} bore")
            tubes[name] = tube.cut(hole)
    return FrameMade(molding=body.cut(*holes), tubes=tubes, levels=made, offsets=offsets(hatch, build), runs=way)


def middle_of(way: Runs, place: float) -> Plane2:
    """Middle of the gutter at a place along the way, in plan."""
    station = way.ring.station(place)
    off = way.ring.off
    return station.at[0] + off * station.out[0], station.at[1] + off * station.out[1]


def chains(name: str, path: Path, hatch: Hatch, made: Levels, build: Build) -> tuple[Chain, ...]:
    """The section sum down, and the plan sum out, with what each came from."""
    lid, gutter = hatch.lid, hatch.gutter
    down = [Step(name="lid", nominal=lid.thickness, tolerance=build.skin_tolerance, origin="lid.thickness")]
    if not lid.finished:
        down.append(Step(name="two coats on a bare lid", nominal=2 * build.paint,
                         tolerance=2 * build.paint_tolerance, origin="coats.paint"))
    run = runs_of(hatch, high=0.0, low=0.0).longest
    down += [
        _left_for_gasket(hatch, made),
        Step(name="gutter depth at its high point", nominal=gutter.depth, tolerance=build.paint_tolerance,
             origin="gutter.depth", surface="B"),
        Step(name=f"fall over the longest run, {run:.0f} mm", nominal=made.drain - made.high, tolerance=0.0,
             origin="gutter.fall", surface="C"),
        Step(name="sump", nominal=made.rim - made.drain, tolerance=0.0, origin="drains", surface="D"),
    ]
    out = [
        *_ledge(hatch, build),
        Step(name="gutter width", nominal=gutter.width, tolerance=build.paint_tolerance, origin="gutter.width",
             surface="b"),
        Step(name="gap to the lid", nominal=-lid.gap, tolerance=build.paint_tolerance, origin="lid.gap", surface="c"),
    ]
    return (
        Chain(part=name, at="section", measure="level", steps=tuple(down), path=path),
        Chain(part=name, at="plan", measure="per_side", steps=tuple(out), path=path),
    )


def _left_for_gasket(hatch: Hatch, made: Levels) -> Step:
    """From the lid down to the landing: the gasket as it is planned to be squeezed, or what a given landing leaves."""
    gasket = hatch.lid.gasket
    if hatch.landing_depth is None:
        said, origin = "gasket, squeezed", f"{gasket.free:g} free, squeezed {gasket.squeeze:.0%}"
    else:
        said = "left between lid and landing"
        share = 1 - made.gasket / gasket.free
        comes = f"squeezed {share:.0%}" if share > 0 else "not squeezed"
        origin = f"landing_depth {hatch.landing_depth:g}; the gasket, {gasket.free:g} free, is {comes}"
    return Step(name=said, nominal=made.gasket, tolerance=0.0, origin=origin, surface="A")


def _ledge(hatch: Hatch, build: Build) -> list[Step]:
    """From the opening's edge to the landing's: with an upstand its thickness and lean take their share of it."""
    thick, lean = upstand(hatch, build)
    if not hatch.upstand:
        return [Step(name="landing", nominal=hatch.landing, tolerance=build.paint_tolerance, origin="landing",
                     surface="a")]
    return [
        Step(name="upstand, skin and a coat on each face", nominal=thick,
             tolerance=build.skin_tolerance + 2 * build.paint_tolerance, origin="upstand, skin, coats"),
        Step(name=f"draft of the upstand, {hatch.gutter.draft:g} deg over its {hatch.upstand:g} mm", nominal=lean,
             tolerance=0.0, origin="upstand, gutter.draft"),
        Step(name="landing left for the gasket", nominal=hatch.landing - thick - lean,
             tolerance=build.paint_tolerance, origin="landing", surface="a"),
    ]
