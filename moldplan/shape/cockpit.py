"""A sole with its hatches: all bodies in boat axes.

In       a resolved SolePlan, its stock, the skins and coats of sole, frames and lids.
Out      MadeSole: bodies, the SolePlace, a HatchPlace each, chains.
Not here sections and levels (hatch.py), the lid (lid.py), the mold's pieces (mold.py), the outline (sole.py).

The sole's core is cut from flat sheet and bent over a crown, so what is cut is drawn flat; the difference in length
over a crown of 1 in 100 is under 3 parts in 10 000. A rebated flange lies in a recess of the core, on a bed of paste.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from moldplan.errors import Path
from moldplan.material.stock import Stock
from moldplan.shape import hatch as frames
from moldplan.shape import lid as lids
from moldplan.shape import mold as molds
from moldplan.shape.assembly import HatchPlace, SolePlace
from moldplan.shape.below import below_solid
from moldplan.shape.body import Body, Frame, Shaped, rod
from moldplan.shape.chain import Chain
from moldplan.shape.drain import DrainPlace, flange_of, of_floor, of_hatch
from moldplan.shape.kept import Kept
from moldplan.shape.mold_bodies import break_out, mold_bodies
from moldplan.shape.seat import Build
from moldplan.shape.sole import Surface, edges_of, plate, surface_of
from moldplan.shape.stack import lifted
from moldplan.spec.sole import Hatch, SolePlan

BEYOND = 60.0  # mm that a hole's tool goes past the sole both ways: a crown falls away from a hatch's level plane


@dataclass(frozen=True)
class MadeSole:
    """What one sole came to."""

    bodies: tuple[Body, ...]
    place: SolePlace
    hatches: tuple[HatchPlace, ...]
    chains: tuple[Chain, ...]
    drains: tuple[DrainPlace, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SoleBrief:
    """All that the shaping of one sole depends on."""

    name: str
    sole: SolePlan
    stocks: Mapping[str, Stock]
    build: Build
    frame_builds: Mapping[str, Build]
    lid_builds: Mapping[str, Build]

    @property
    def path(self) -> Path:
        return ("soles", self.name)

    @property
    def core(self) -> float:
        return self.stocks[self.sole.core].true_thickness

    @property
    def thickness(self) -> float:
        """Core and both skins, bare [mm]."""
        return self.core + 2 * self.build.skin


HATCHES: Kept[tuple[list[Body], HatchPlace]] = Kept(24)


def _key(brief: SoleBrief, face: Surface, name: str, one: Hatch) -> str:
    """All that the bodies of one hatch depend on, in words."""
    return repr((brief.name, name, one.model_dump_json(warnings=False), face, brief.thickness, brief.frame_builds[name],
                 brief.lid_builds[name], brief.stocks[one.lid.core], brief.stocks[one.mold_stock]))


def bounds_of(sole: SolePlan) -> tuple[float, float, float, float]:
    """Bounds of the outline in plan (x low, y low, x high, y high), arcs counted."""
    spots = [p.toTuple() for e in edges_of(sole.outline or ()) for p in e.positions([k / 32 for k in range(33)])]
    xs, ys = [p[0] for p in spots], [p[1] for p in spots]
    return min(xs), min(ys), max(xs), max(ys)


def shape(brief: SoleBrief) -> MadeSole:
    """The sole, its hatches and what lies below. Pure: depends on the brief alone."""
    bounds = bounds_of(brief.sole)
    face = surface_of(brief.sole, bounds)
    bodies: list[Body] = []
    hatches: list[HatchPlace] = []
    chains: list[Chain] = []
    for name, one in brief.sole.hatches.items():
        own, place = HATCHES.of(_key(brief, face, name, one), partial(_hatch_bodies, brief, face, name, one))
        bodies += own
        hatches.append(place)
        chains += frames.chains(place.name, place.path, one, place.levels, brief.frame_builds[name])
    plugs, rings = _plugs(brief, face), _scupper_plugs(brief, face)
    below = {
        n: Body(
            name=f"{brief.name}.{n}",
            kind="surroundings",
            shaped=below_solid(item),
            part=brief.name,
            path=(*brief.path, "below", n),
        )
        for n, item in brief.sole.below.items()
    }
    own = _sole_bodies(brief, face, bounds, [*plugs, *rings])
    ground = SolePlace(
        name=brief.name,
        path=brief.path,
        sole=brief.sole,
        surface=face,
        bounds=bounds,
        thickness=brief.thickness,
        paint=brief.build.paint,
        part=own[0].name,
        core=own[1].name,
        below={n: b.name for n, b in below.items()},
        plugs=tuple(p.name for p in plugs),
        hatches=tuple(h.name for h in hatches),
    )
    return MadeSole((*own, *plugs, *rings, *below.values(), *bodies), ground, tuple(hatches), tuple(chains),
                    tuple(_drains(brief, face, hatches)))


def _drains(brief: SoleBrief, face: Surface, hatches: list[HatchPlace]) -> list[DrainPlace]:
    """Scuppers of the sole and drains of every gutter, as ways out."""
    found = [of_floor(f"{brief.name}.{n}", (*brief.path, "scuppers", n), one, space=brief.name,
                      at=face.frame(*one.at, 0.0), thickness=brief.thickness + 2 * brief.build.paint)
             for n, one in brief.sole.scuppers.items()]
    for place in hatches:
        build = brief.frame_builds[str(place.path[-1])]
        found += of_hatch(place.name, place.path, place.hatch, place.frame, place.levels, place.runs,
                          under=build.paint + build.in_mold + build.skin)
    return found


def _bores(brief: SoleBrief, face: Surface) -> list[Shaped]:
    """What the scuppers take out of the sole."""
    deep = brief.thickness + 60
    return [rod(s.bore / 2, (0, 0, -deep), (0, 0, 2 * deep), f"{n} bore").moved(face.frame(*s.at, 0.0))
            for n, s in brief.sole.scuppers.items()]


def _scupper_plugs(brief: SoleBrief, face: Surface) -> list[Body]:
    """A dense ring in the core round each scupper."""
    found, top = [], -brief.build.paint - brief.build.skin
    if not brief.sole.scuppers:
        return []
    slab = plate(edges_of(brief.sole.outline or ()), face, bounds_of(brief.sole), above=1.0, below=-brief.thickness - 5)
    for name, one in brief.sole.scuppers.items():
        at, across = face.frame(*one.at, 0.0), _plug(brief, flange_of(one))
        ring = rod(across / 2, (0, 0, top - brief.core), (0, 0, brief.core), "side").cut(
            rod(one.bore / 2, (0, 0, top - brief.core - 1), (0, 0, brief.core + 2), "bore"))
        found.append(Body(name=f"{brief.name}.{name} plug", kind="core plug", shaped=ring.moved(at).common(slab),
                          part=f"{brief.name}.{name}", path=(*brief.path, "scuppers", name), frame=at,
                          notes=(f"dense plug {across:.0f} mm across in the core round a bore of {one.bore:g} mm",)))
    return found


def _cut_outs(brief: SoleBrief, face: Surface, *, flat: bool) -> list[Shaped]:
    """What each hatch takes out of the sole: its opening, and the recess of a rebated flange."""
    found = []
    for name, one in brief.sole.hatches.items():
        build, at = brief.frame_builds[name], face.frame(*one.centre, one.turn)
        if flat:
            at = Frame((*one.centre, 0.0), frames.level_x(one.turn))
        wall = build.paint + build.in_mold + build.skin + one.bond_flange.bed
        rebated = one.bond_flange.lies == "rebated"
        cuts = [_upright(brief, one, wall)] if rebated else [_drafted(brief, one)]
        if rebated:
            (length, width), edge = one.clear_opening, frames.offsets(one).flange + 1.0
            recess = (-wall, brief.thickness + BEYOND)
            cuts.append(lids.rounded_plate(length + 2 * edge, width + 2 * edge, one.corner_radius + edge, recess))
        for cut in cuts:
            found.append(cut.renamed({"side": f"{name} edge", "underside": f"{name} rebate"}).moved(at))
    return found


def _upright(brief: SoleBrief, one: Hatch, wall: float) -> Shaped:
    """The hole for a rebated frame, whose gutter hangs through it."""
    (length, width), off, deep = one.clear_opening, frames.offsets(one).gutter + wall, brief.thickness + BEYOND
    return lids.rounded_plate(length + 2 * off, width + 2 * off, one.corner_radius + off, (-deep, deep))


def _drafted(brief: SoleBrief, one: Hatch) -> Shaped:
    """The hole over a frame that lies under the sole. The sole's own edge is the upper part of the gutter's outer
    wall, painted: it goes on in that wall's line, and its bare face stands a coat back, square to it."""
    (length, width), draft = one.clear_opening, math.radians(one.gutter.draft)
    slant, surface = math.tan(draft), frames.offsets(one).gutter + brief.build.paint / math.cos(draft)
    low, high = -brief.thickness - brief.build.paint - BEYOND, BEYOND
    if slant > 0:  # no lower than where the walls of a wide draft come in to the opening, far below the gutter
        low = max(low, -surface / slant)
    off = surface + low * slant
    return lids.rounded_plate(length + 2 * off, width + 2 * off, one.corner_radius + off, (low, high),
                              grow=(high - low) * slant)


def _sole_bodies(
    brief: SoleBrief, face: Surface, bounds: tuple[float, float, float, float], plugs: list[Body]
) -> list[Body]:
    """Part, core and the flat core as it is cut from sheet."""
    edges, paint, skin = edges_of(brief.sole.outline or ()), brief.build.paint, brief.build.skin
    top, low = -paint, -paint - brief.thickness
    cuts = _cut_outs(brief, face, flat=False)
    part = plate(edges, face, bounds, above=top, below=low).cut(*cuts, *_bores(brief, face))
    sockets = [p.shaped for p in plugs]
    core = plate(edges, face, bounds, above=top - skin, below=low + skin)
    core = core.cut(*cuts, *sockets)
    level = replace(surface_of(brief.sole, bounds), slope=(0.0, 0.0), radius=0.0, height=0.0)
    sheet = plate(edges, level, bounds, above=top - skin, below=low + skin)
    sheet = sheet.cut(*_cut_outs(brief, level, flat=True), *_flat_sockets(brief, top - skin))
    stock = brief.stocks[brief.sole.core]
    bent = ("drawn flat; bent over the crown when it is laid",) if face.radius else ()

    def body(name: str, kind: str, shaped: Shaped, **more: Any) -> Body:
        return Body(name=f"{brief.name} {name}", kind=kind, shaped=shaped, part=brief.name, path=brief.path,
                    density=None if kind == "part" else stock.density, **more)

    return [
        body("part", "part", part),
        body("core", "core", core),
        body("sheet", "lift", sheet, stock=brief.sole.core, thickness=stock.true_thickness, notes=bent,
             scribe=brief.sole.scribe, frame=Frame((0.0, 0.0, low + skin))),
    ]  # fmt: skip


def _flat_sockets(brief: SoleBrief, top: float) -> list[Shaped]:
    return [
        rod(_plug(brief, flange) / 2, (*at, top - brief.core - 1), (0, 0, brief.core + 2), f"{n} socket")
        for n, at, flange in (*((n, f.at, f.flange) for n, f in brief.sole.fittings.items()),
                              *((n, s.at, flange_of(s)) for n, s in brief.sole.scuppers.items()))
    ]


def _plug(brief: SoleBrief, flange: float) -> float:
    """A plug spreads its load at 45 deg through the core: flange and twice the core across; ours."""
    return flange + 2 * brief.core


def _plugs(brief: SoleBrief, face: Surface) -> list[Body]:
    """A dense plug in the core under each fitting, bored for its bolts."""
    found = []
    for name, one in brief.sole.fittings.items():
        at = face.frame(*one.at, 0.0)
        top = -brief.build.paint - brief.build.skin
        plug = rod(_plug(brief, one.flange) / 2, (0, 0, top - brief.core), (0, 0, brief.core), "side")
        circle = (one.bolt_circle or 0.7 * one.flange) / 2
        holes = [
            rod(
                one.bolt / 2,
                (
                    circle * math.cos(2 * math.pi * k / one.bolts),
                    circle * math.sin(2 * math.pi * k / one.bolts),
                    top - brief.core - 1,
                ),
                (0, 0, brief.core + 2),
                "bolt",
            )
            for k in range(one.bolts)
        ]
        found.append(
            Body(
                name=f"{brief.name}.{name} plug",
                kind="core plug",
                shaped=plug.cut(*holes).moved(at),
                part=f"{brief.name}.{name}",
                path=(*brief.path, "fittings", name),
                frame=at,
                notes=(f"dense plug {_plug(brief, one.flange):.0f} mm across in the core",),
            )
        )
    return found


def _hatch_bodies(brief: SoleBrief, face: Surface, name: str, one: Hatch) -> tuple[list[Body], HatchPlace]:
    """Frame, drains, lid, gasket and mold of one hatch."""
    full, path = f"{brief.name}.{name}", (*brief.path, "hatches", name)
    build, lid_build = brief.frame_builds[name], brief.lid_builds[name]
    at = face.frame(*one.centre, one.turn)
    made = frames.frame(one, build, sole=brief.thickness)
    closed = lids.lid(one, made.levels, made.offsets, lid_build)
    start = frames.start_level(one, sole=brief.thickness)

    def body(title: str, kind: str, shaped: Shaped, **more: Any) -> Body:
        return Body(name=f"{full} {title}", kind=kind, shaped=shaped.moved(at), part=full, path=path, frame=at, **more)

    lid_stock = brief.stocks[one.lid.core]
    bodies = [
        body("frame", "part", made.molding, density=build.density),
        body("lid", "part", closed.part),
        body("lid core", "core", closed.core, density=lid_stock.density),
        body("gasket", "liner", closed.gasket),
    ]
    tubes = [body(f"{drain} spigot", "tube", tube) for drain, tube in made.tubes.items()]
    bodies += [*_lid_sheets(brief, bodies[2], one, made.levels, lid_build), *tubes]
    pieces, sheets, screws = mold_bodies(full, path, one, made, at, build, brief.stocks[one.mold_stock], start=start)
    place = HatchPlace(
        name=full, path=path, sole=brief.name, hatch=one, frame=at, levels=made.levels, offsets=made.offsets,
        runs=made.runs, start=start, paint=build.paint, skin=build.skin, molding=bodies[0].name, lid=bodies[1].name,
        lid_core=bodies[2].name, gasket=bodies[3].name, tubes=tuple(t.name for t in tubes),
        mold=tuple(p.name for p in pieces), mold_sheets={n: tuple(s.name for s in own) for n, own in sheets.items()},
        break_out=break_out(pieces), screws=screws, hinge=closed.hinge,
        medium=molds.medium_volume(one, made.levels, build, start=start),
    )  # fmt: skip
    return [*bodies, *pieces, *(s for own in sheets.values() for s in own)], place


def _lid_sheets(brief: SoleBrief, core: Body, one: Hatch, levels: frames.Levels, build: Build) -> list[Body]:
    """The lid's core as sheets of its stock, from its underside up."""
    return lifted(
        replace(core, path=(*core.path, "lid")), stock=one.lid.core, sheet=brief.stocks[one.lid.core].true_thickness,
        name=core.name.removesuffix("core") + "sheet", low=-levels.lid + build.paint + build.skin,
        high=-build.paint - build.skin,
        says=lambda number, count: "taper the edge to the marked line",
    )  # fmt: skip
