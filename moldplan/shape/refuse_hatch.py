"""What cannot be built of one hatch, before any solid is made: levels, gutter, lid and drains that do not go together.

In       the brief of a sole, a hatch with nothing left open.
Out      Faults: the field, what is allowed, why.
Not here hatches against the sole and each other (choose_sole.py), limits that are judged (check/).
"""

from __future__ import annotations

import math
from itertools import combinations

from moldplan.errors import Fault, Path
from moldplan.quantity import INCH, at_least
from moldplan.shape import hatch as frames
from moldplan.shape import sump as sumps
from moldplan.shape.cockpit import SoleBrief, bounds_of
from moldplan.shape.seat import Build
from moldplan.shape.sole import surface_of
from moldplan.spec.model import Cutter
from moldplan.spec.sole import Hatch

SMALLEST = 60.0  # mm, an opening no hand goes through; ours
ALL_CORNER = 1e-6  # mm of straight: a side without any
THINNEST_CORE = 3.0  # mm; sheets are no thinner


def hatch_faults(brief: SoleBrief, path: Path, name: str, one: Hatch, cutter: Cutter) -> list[Fault]:
    """One hatch by itself: opening, levels, gutter, lid, drains."""
    found = _opening(path, one, cutter)
    if found:
        return found
    build = brief.frame_builds[name]
    levels = frames.levels(one, paint=build.paint)
    found = [*_levels(path, one, levels, build), *_lid(path, one, levels, brief.lid_builds[name]),
             *_gutter(path, one, levels, build, cutter)]
    below = brief.sole.depth_below
    if below is not None and levels.rim + build.skin > below:
        found.append(Fault((*path, "gutter", "depth"), one.gutter.depth,
                           f"{at_least(levels.rim + build.skin - below)} mm less",
                           f"its drain would lie deeper than the {below:g} mm there are below the sole"))
    return found + _drain_faults(brief, path, one, levels)


def _opening(path: Path, one: Hatch, cutter: Cutter) -> list[Fault]:
    length, width = one.clear_opening
    short = min(length, width)
    if short < SMALLEST:
        meant = f"; did you mean {length:g} x {width:g} in?" if max(length, width) < SMALLEST <= short * INCH else ""
        return [Fault((*path, "clear_opening"), list(one.clear_opening), f"at least {SMALLEST:g} mm each way",
                      f"no hand goes through it{meant}")]
    if one.corner_radius > short / 2:
        return [Fault((*path, "corner_radius"), one.corner_radius, f"5 to {short / 2:g}",
                      "at most half the shorter side of the opening")]
    return _side(path, one, cutter)


def _side(path: Path, one: Hatch, cutter: Cutter) -> list[Fault]:
    """A side that its corners leave so little of that no strip can be cut for it; none at all is right."""
    sides = [side - 2 * one.corner_radius for side in one.clear_opening]
    straight = min((side for side in sides if side > ALL_CORNER), default=math.inf)
    if straight >= cutter.diameter:
        return []
    long, half = max(one.clear_opening), min(one.clear_opening) / 2
    rest = long - 2 * half
    whole = "" if rest < ALL_CORNER or rest >= cutter.diameter else f" with both sides {2 * half:g}"
    most = math.floor((half - cutter.diameter / 2) * 10) / 10
    return [Fault((*path, "corner_radius"), one.corner_radius, f"5 to {most:g}, or {half:g}{whole}",
                  f"{straight:.1f} mm of a side are left straight: its strip is shorter than the {cutter.diameter:g} "
                  f"mm cutter is thick")]


def _levels(path: Path, one: Hatch, levels: frames.Levels, build: Build) -> list[Fault]:
    """The landing under the lid, and what stands on it."""
    found, under = [], levels.landing - levels.lid
    if under <= 0:
        found.append(Fault((*path, "landing_depth"), one.landing_depth, f"more than {levels.lid:g}",
                           "the lid is thicker than the rebate it lies in"))
    elif one.upstand and one.upstand >= under:
        found.append(Fault((*path, "upstand"), one.upstand, f"less than {under:g}",
                           "the closed lid's underside would lie on it"))
    found += _ledge(path, one, build)
    gasket = one.lid.gasket
    if gasket.stop is not None and gasket.stop >= gasket.free:
        found.append(Fault((*path, "lid", "gasket", "stop"), gasket.stop, f"less than {gasket.free:g}",
                           "a stop as high as the free gasket never lets it be squeezed"))
    return found


def _ledge(path: Path, one: Hatch, build: Build) -> list[Fault]:
    """What an upstand leaves of the landing, against its roundings and the gasket."""
    foot, width = sum(frames.upstand(one, build)), one.lid.gasket.width
    share = math.tan(math.radians(45 - one.gutter.draft / 2))
    far = build.paint + build.in_mold + build.skin
    least = foot + (frames.EDGE + one.gutter.root_radius / 2 + far) * share
    if one.upstand and one.landing < least:
        return [Fault((*path, "landing"), one.landing, f"at least {math.ceil((least + width) * 2) / 2:g}",
                      f"the upstand takes {foot:.1f} mm of it, and leaves no flat between its root and the gutter")]
    room = one.landing - foot
    if room < width:
        beside = f", beside the upstand's foot, which takes {foot:.1f} mm of it" if one.upstand else ""
        return [Fault((*path, "lid", "gasket", "width"), width, f"up to {math.floor(room * 10) / 10:g}",
                      f"the gasket must lie on the landing{beside}")]
    return []


def _lid(path: Path, one: Hatch, levels: frames.Levels, build: Build) -> list[Fault]:
    """A lid with a core in it, that covers its gasket."""
    lid, found = one.lid, []
    core = levels.lid - 2 * build.paint - 2 * build.skin
    if core < THINNEST_CORE:
        found.append(Fault((*path, "lid", "thickness"), lid.thickness,
                           f"at least {math.ceil((lid.thickness + THINNEST_CORE - core) * 10) / 10:g}",
                           f"its skins and coats leave {core:.1f} mm for a core"))
    if lid.gap >= one.gutter.width:
        found.append(Fault((*path, "lid", "gap"), lid.gap, f"less than {one.gutter.width:g}, the gutter's width",
                           "the lid would not reach over the gutter, and not cover its gasket"))
    short = min(one.clear_opening) / 2
    if lid.close_out >= short:
        found.append(Fault((*path, "lid", "close_out"), lid.close_out, f"less than {short:g}",
                           "the core would be cut back to nothing"))
    return found


def _gutter(path: Path, one: Hatch, levels: frames.Levels, build: Build, cutter: Cutter) -> list[Fault]:
    """A gutter wide enough for the strip that makes it, and deep enough for its roundings."""
    gutter, found = one.gutter, []
    slant, share = math.tan(math.radians(gutter.draft)), math.tan(math.radians(45 - gutter.draft / 2))
    floor = gutter.width - (2 * levels.drain - levels.landing) * slant
    least = max(cutter.diameter, 2.0) + 2 * (gutter.root_radius + build.paint) * share
    if floor < least:
        found.append(Fault((*path, "gutter", "width"), gutter.width,
                           f"at least {math.ceil((gutter.width + least - floor) * 10) / 10:g}",
                           f"at the drain its floor is {floor:.1f} mm wide between drafted walls, and a strip's flat "
                           f"there must take the {cutter.diameter:g} mm cutter"))
    # rounding of the landing's edge above, of the root below: on the finished face or on the molding's far one
    far = build.paint + build.in_mold + build.skin
    rounded = max(frames.EDGE + gutter.root_radius, gutter.root_radius + far) if gutter.root_radius else frames.EDGE
    deep = rounded * share * math.cos(math.radians(gutter.draft))
    if gutter.depth < deep:
        found.append(Fault((*path, "gutter", "depth"), gutter.depth, f"at least {math.ceil(deep * 10) / 10:g}",
                           "its wall is all rounding: the landing's edge above, the root below"))
    return found


def _drain_faults(brief: SoleBrief, path: Path, one: Hatch, levels: frames.Levels) -> list[Fault]:
    """Drains in the gutter, apart from each other; a floor that falls to at least one of them as she lies at rest."""
    found, way = [], frames.ring(one)
    places = {}
    for name, drain in one.drains.items():
        if not isinstance(drain.at, str):
            off = way.nearest(*frames.own_plan(one, drain.at))[1]
            if abs(off - way.off) > one.gutter.width / 2:
                found.append(
                    Fault(
                        (*path, "drains", name, "at"),
                        list(drain.at),
                        f"a point {one.landing:g} to {one.landing + one.gutter.width:g} mm outside the opening",
                        "that is where the gutter is",
                    )
                )
        places[name] = frames.drain_place(way, one, drain)
        if drain.flange < drain.bore:
            found.append(Fault((*path, "drains", name, "flange"), drain.flange, f"at least {drain.bore:g}",
                               "a flange is wider than its bore"))
        elif drain.sump:
            found += _sump(path, one, name, levels)
    for a, b in combinations(places, 2):
        apart = abs(places[a] - places[b])
        apart = min(apart, way.whole - apart)
        if apart < (one.drains[a].flange + one.drains[b].flange) / 2:
            found.append(
                Fault(
                    (*path, "drains", b, "at"),
                    one.drains[b].at,
                    "a place apart from the other drains",
                    f"its flange would lie on that of {a}",
                )
            )
    return found or _uphill(brief, path, one)


def _sump(path: Path, one: Hatch, name: str, levels: frames.Levels) -> list[Fault]:
    """A sump that reaches under the gutter's walls: the disc that makes it could not leave."""
    drain, floor = one.drains[name], frames.floor_width(one, levels)
    widest = sumps.widest(floor=floor, deep=drain.sump, draft=one.gutter.draft)
    if drain.flange <= widest:
        return []
    most = f"up to {math.floor(widest * 10) / 10:g}, or" if widest >= drain.bore else "no sump,"
    wider = math.ceil((one.gutter.width + drain.flange - widest) * 2) / 2
    return [Fault((*path, "drains", name, "flange"), drain.flange, f"{most} a gutter at least {wider:g} wide",
                  f"its sump must lie between the gutter's walls, which stand {floor:.1f} mm apart at the drain")]


def _uphill(brief: SoleBrief, path: Path, one: Hatch) -> list[Fault]:
    """A fall that is uphill to every drain at rest, because the sole leans the other way."""
    face = surface_of(brief.sole, bounds_of(brief.sole))
    at = face.frame(*one.centre, one.turn)
    levels = frames.levels(one, paint=0.0)
    way = frames.runs(one, levels)
    drops = []
    for k, high in enumerate(way.highs):
        for drain in (way.drains[k], way.drains[(k + 1) % len(way.drains)]):
            a, b = (at.place((*frames.middle_of(way, s), -way.level(s)))[2] for s in (high, drain))
            drops.append(a - b)
    if all(drop < 0 for drop in drops):
        return [
            Fault(
                (*path, "gutter", "fall"),
                f"{100 * one.gutter.fall:g} %",
                f"steeper than the sole's own {100 * brief.sole.fall:g} %, or drains on the side the sole falls to",
                "every run of the gutter would rise to its drain",
            )
        ]
    return []


