"""The recess an upright cylinder stands in: its three surfaces, level by level, and the solids they bound.

In       a resolved Seat and its Cylinder, the skin and coats over it, the block it is sunk into.
Out      Recess: levels and radii of F (finished), M (molded) and C (core side); void solids; the fit chains.
Not here the block (cradle.py), the discs that shape it (insert.py), judging anything (check/).

Own axes: origin on the cylinder's axis at the core block's underside, z up, x forward along the block.
All moves between the surfaces are normal to the face. Across, at one level, a move t of a wall drafted by a is
t / cos a; the floor moves by t itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.errors import Path
from moldplan.quantity import plain
from moldplan.shape import cylinder as bottle
from moldplan.shape.body import Shaped, revolved
from moldplan.shape.chain import Chain, Step
from moldplan.spec.model import Coats, Cylinder, Seat

if TYPE_CHECKING:
    from moldplan.material.laminate import Skin


@dataclass(frozen=True, kw_only=True)
class Build:
    """What lies on a core: the skin, and the coats with their tolerances [mm]."""

    skin: float
    skin_tolerance: float
    lap: float  # the thickest ply, once more, where cloth overlaps
    paint: float
    paint_tolerance: float
    in_mold: float
    in_mold_tolerance: float
    cut_tolerance: float
    origin: str
    density: float | None = None  # of the skin, kg/m3

    @staticmethod
    def of(skin: Skin, coats: Coats, *, paint_share: float, cut: float) -> Build:
        """From a computed skin and the spec's coats; `paint_share` is a coat's tolerance as a share of it."""
        return Build(
            skin=skin.thickness, skin_tolerance=skin.tolerance, lap=max(ply.thickness for ply in skin.plies),
            paint=coats.paint, paint_tolerance=paint_share * coats.paint, in_mold=coats.in_mold,
            in_mold_tolerance=paint_share * coats.in_mold, cut_tolerance=cut,
            origin=f"{len(skin.plies)} plies of {skin.name}", density=skin.density)


@dataclass(frozen=True, kw_only=True)
class Surface:
    """One of the recess's surfaces: floor level z, wall radius where it would meet that floor, floor fillet [mm]."""

    floor: float
    radius: float
    fillet: float
    draft: float

    def wall(self, z: float) -> float:
        """Wall radius at a level [mm]."""
        return self.radius + (z - self.floor) * math.tan(math.radians(self.draft))

    @property
    def flat(self) -> float:
        """Radius of the floor inside the fillet [mm]."""
        return self.radius - self.fillet * math.tan(math.radians(45 - self.draft / 2))

    def within(self, z: float) -> float:
        """Radius of the recess at a level, fillet and all [mm]."""
        under = self.fillet - (z - self.floor)  # of the fillet's middle
        if under <= self.fillet * math.sin(math.radians(self.draft)):
            return self.wall(z)
        return self.flat + math.sqrt(max(self.fillet**2 - under**2, 0.0))

    def out(self, move: float, *, fillet: float | None = None) -> Surface:
        """The surface moved by `move` into the part, normal to its faces; a concave fillet grows with it."""
        slant = math.radians(self.draft)
        return Surface(
            floor=self.floor - move,
            radius=self.radius + move * (1 - math.sin(slant)) / math.cos(slant),
            fillet=self.fillet + move if fillet is None else fillet,
            draft=self.draft)

    def void(self, top: float) -> Shaped:
        """The recess as a solid up to a level, roles floor, fillet, wall, lid."""
        pen, slant = bottle.Pen(0.0, self.floor), self.draft
        # with no flat left the fillet still needs a point to start from: choose.py refuses such a fillet
        pen.line("floor", self.flat, self.floor)
        pen.corner("fillet", centre=(self.flat, self.floor + self.fillet), radius=self.fillet, start=-90, end=-slant)
        pen.line("wall", self.wall(top), top)
        pen.line("lid", 0.0, top)
        return revolved(pen.edges)


@dataclass(frozen=True, kw_only=True)
class Recess:
    """A seat's surfaces in a block whose bare core top is at `core_top` and whose bare skin top is at `bare_top`."""

    finished: Surface
    molded: Surface
    core: Surface
    cut: Surface  # the core cut-out: C, and the paste bed outside it; square where the floor meets the wall
    core_top: float
    bare_top: float
    finished_top: float
    build: Build

    @property
    def mouth(self) -> float:
        """Radius of the finished mouth at the finished top, before the rim is rounded [mm]."""
        return self.finished.wall(self.finished_top)


def recess(seat: Seat, cylinder: Cylinder, build: Build, *, block_height: float, bed: float) -> Recess:
    """All surfaces of one seat; `seat` is resolved (no field left open). Pure."""
    core_top, bare_top = block_height, block_height + build.skin
    finished_top = bare_top + build.paint
    reference = bottle.widest_below(cylinder, seat.depth, locate=seat.locate)
    finished = Surface(
        floor=finished_top - seat.depth, radius=reference + seat.clearance_per_side + seat.liner,
        fillet=seat.floor_fillet or 0.0, draft=seat.draft)
    molded = finished.out(build.paint)
    coat = build.in_mold if seat.insert.use == "mold" else 0.0
    core = molded.out(coat + build.skin)
    return Recess(finished=finished, molded=molded, core=core, cut=core.out(bed, fillet=0.0), core_top=core_top,
                  bare_top=bare_top, finished_top=finished_top, build=build)


def chains(name: str, path: Path, seat: Seat, cylinder: Cylinder, made: Recess, *, bed: float) -> tuple[Chain, ...]:
    """The fit chains of a seat: across per side at floor and rim, across as diameters, and down."""
    rim = seat.depth
    floor_steps = _across(seat, cylinder, made, bed=bed, level=0.0)
    rim_steps = _across(seat, cylinder, made, bed=bed, level=rim)
    return (
        Chain(part=name, at="floor", measure="per_side", steps=floor_steps, path=path),
        Chain(part=name, at="rim", measure="per_side", steps=rim_steps, path=path),
        Chain(part=name, at="floor", measure="diameter", steps=_doubled(floor_steps), path=path),
        Chain(part=name, at="rim", measure="diameter", steps=_doubled(rim_steps), path=path),
        Chain(part=name, at="floor", measure="depth", steps=_down(seat, made, bed=bed), path=path),
    )


def _across(seat: Seat, cylinder: Cylinder, made: Recess, *, bed: float, level: float) -> tuple[Step, ...]:
    """From the cylinder's radius out to the core cut-out, at a level above the seat's finished floor."""
    build, slant = made.build, math.radians(seat.draft)
    reference = bottle.widest_below(cylinder, seat.depth, locate=seat.locate)
    per_face = 1 / math.cos(slant)
    what = "foot" if seat.locate == "foot" and cylinder.foot else "body"
    on_knuckle = not (cylinder.foot and reference == cylinder.foot.diameter / 2) and reference < cylinder.radius - 1e-6
    coat = build.in_mold if seat.insert.use == "mold" else 0.0
    steps = [
        Step(name=f"cylinder, radius at the {what}", nominal=reference, tolerance=cylinder.across.tolerance / 2,
             origin="its knuckle at the rim's height" if on_knuckle else "half the measured diameter"),
        Step(name="clearance per side", nominal=seat.clearance_per_side, tolerance=0.0, origin="clearance_per_side"),
    ]
    if seat.liner:
        steps.append(Step(name="liner", nominal=seat.liner, tolerance=0.0, origin="liner"))
    steps.append(Step(name=f"draft, {plain(level)} mm up at {seat.draft:g} deg", nominal=level * math.tan(slant),
                      tolerance=0.0, origin="draft", surface="F"))
    steps.append(Step(name="paint", nominal=build.paint * per_face, tolerance=build.paint_tolerance * per_face,
                      origin="coats.paint", surface="M"))
    if coat:
        steps.append(Step(name="in-mold coat", nominal=coat * per_face, tolerance=build.in_mold_tolerance * per_face,
                          origin="coats.in_mold"))
    steps.append(Step(name="skin", nominal=build.skin * per_face, tolerance=build.skin_tolerance * per_face,
                      origin=build.origin, surface="C"))
    if bed:
        steps.append(Step(name="paste bed", nominal=bed * per_face, tolerance=0.0, origin="bed"))
    steps.append(Step(name="cut", nominal=0.0, tolerance=build.cut_tolerance, origin="handbook: cutting"))
    return tuple(steps)


def _doubled(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    return tuple(
        Step(name=s.name.replace(", radius at", ", diameter at").replace(" per side", ", both sides"),
             nominal=2 * s.nominal, tolerance=2 * s.tolerance, origin=s.origin.replace("half the ", "the "),
             surface=s.surface)
        for s in steps)


def _down(seat: Seat, made: Recess, *, bed: float) -> tuple[Step, ...]:
    """From the finished depth to the depth of the core cut-out."""
    build = made.build
    coat = build.in_mold if seat.insert.use == "mold" else 0.0
    steps = [
        Step(name="finished depth, rim to floor", nominal=seat.depth, tolerance=0.0, origin="depth"),
        Step(name="paint under the floor", nominal=build.paint, tolerance=build.paint_tolerance, origin="coats.paint"),
        Step(name="paint on the rim", nominal=-build.paint, tolerance=build.paint_tolerance, origin="coats.paint"),
    ]
    if coat:
        steps.append(Step(name="in-mold coat", nominal=coat, tolerance=build.in_mold_tolerance,
                          origin="coats.in_mold"))
    steps += [
        Step(name="floor skin", nominal=build.skin, tolerance=build.skin_tolerance, origin=build.origin),
        Step(name="rim skin", nominal=-build.skin, tolerance=build.skin_tolerance, origin=build.origin),
    ]
    if bed:
        steps.append(Step(name="paste bed", nominal=bed, tolerance=0.0, origin="bed"))
    steps.append(Step(name="cut", nominal=0.0, tolerance=build.cut_tolerance, origin="handbook: cutting",
                      surface="C"))
    return tuple(steps)
