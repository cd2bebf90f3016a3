"""Every field the builder left open is decided here, once, with the reason; and what cannot be built is refused.

In       a Spec whose fields are good one by one.
Out      Resolved: the spec with nothing left open, skins, stock, layers of the inserts, and the list of choices.
         SpecFault with every mistake that only shows when parts meet.
Not here solids (the shapers), limits that are judged (check/).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from moldplan.errors import Path, SpecFault, dotted
from moldplan.handbook.lookup import table
from moldplan.material import laminate, stock
from moldplan.shape import choose_sole, insert, locker, seat
from moldplan.shape import cylinder as bottle
from moldplan.shape.assembly import Room
from moldplan.shape.body import DIRECTIONS
from moldplan.shape.cockpit import SoleBrief
from moldplan.shape.cradle import Brief, centre
from moldplan.shape.framed import framed_faults, sheet_areas
from moldplan.shape.record import Choice
from moldplan.shape.refuse import cradle_faults
from moldplan.shape.refuse_water import water_faults
from moldplan.shape.seat import Build
from moldplan.spec.frames import Framing
from moldplan.spec.model import Chock, Cradle, Cylinder, Limber, Locker, Seat, Spec, Towards

FILLET = 8.0  # mm, what a floor fillet is made when nothing stops it; common practice, no source (6 to 10 mm)
LIMBER_BORE = 20.0
MANY = 3  # discs beyond which it is said what frames would take of sheet; ours
LIMBER_CLEAR = 40.0  # mm beside another cylinder that a limber passes at least; ours


@dataclass(frozen=True)
class Resolved:
    """A spec with nothing left open."""

    spec: Spec
    stocks: Mapping[str, stock.Stock]
    skins: Mapping[str, laminate.Skin]  # cradle name -> skin over its block
    rib_skins: Mapping[str, Mapping[str, laminate.Skin | None]]  # cradle -> chock -> skin over its ribs
    choices: tuple[Choice, ...]


def resolve(spec: Spec) -> Resolved:
    """Decide what is open, then refuse what cannot be built. Raises SpecFault with every mistake."""
    faults = [f for name, one in spec.cylinders.items() for f in bottle.faults(one, ("cylinders", name))]
    faults += [f for name, one in spec.lockers.items() for f in locker.faults(one, ("lockers", name))]
    if faults:
        raise SpecFault(faults)
    choices: list[Choice] = []
    known = stock.known(spec)
    skins = {n: laminate.skin(spec, c.skin, path=("cradles", n, "skin")) for n, c in spec.cradles.items()}
    rib_skins = {
        n: {k: laminate.skin(spec, c.skin, path=("cradles", n, "chocks", k, "skin")) if c.skin else None
            for k, c in cradle.chocks.items()} for n, cradle in spec.cradles.items()}
    sole_skins = {n: laminate.skin(spec, s.skin, path=("soles", n, "skin")) for n, s in spec.soles.items()}
    cradles = {name: _cradle(spec, name, one, skins[name], choices) for name, one in spec.cradles.items()}
    soles = {name: choose_sole.settled(name, one, sole_skins[name].name, choices) for name, one in spec.soles.items()}
    rooms = {name: _locker(name, one, choices) for name, one in spec.lockers.items()}
    _tell_frames(spec.model_copy(update={"cradles": cradles}), known, skins, choices)
    settled = spec.model_copy(update={"cradles": cradles, "soles": soles, "lockers": rooms})
    _tell_materials(settled, skins, known, choices)
    made = Resolved(settled, known, skins, rib_skins, tuple(choices))
    faults = [f for name in soles for f in choose_sole.sole_faults(sole_brief(made, name), settled.cutter)]
    faults += [f for name in cradles for f in cradle_faults(brief(made, name, _rooms(settled)), settled)]
    faults += water_faults(settled)
    if faults:
        raise SpecFault(faults)
    return made


def _locker(name: str, one: Locker, choices: list[Choice]) -> Locker:
    """A locker whose drain lies somewhere."""
    found, side = {}, one.sole.towards if one.sole.fall else "aft"
    for title, (where, drain) in locker.drains_of(one).items():
        found[title] = drain
        if drain.at == "lowest":
            at = locker.lowest_spot(one, drain)
            found[title] = drain.model_copy(update={"at": at})
            choices.append(Choice(dotted(("lockers", name, *where, "at")), list(at),
                                  f"the middle of its {side} side" + (", the sole's lowest" if one.sole.fall else "")))
    return one.model_copy(update={"drain": found.pop("drain", None) if one.drain else None, "drains": found})


def _rooms(spec: Spec) -> dict[str, Room]:
    return {name: locker.space(name, one) for name, one in spec.lockers.items()}


def brief(resolved: Resolved, name: str, rooms: Mapping[str, Room]) -> Brief:
    """All that the shaping of one cradle depends on."""
    spec, cradle = resolved.spec, resolved.spec.cradles[name]
    build = _build(spec, resolved.skins[name])
    bare = _bare(spec)
    rib_builds = {k: _build(spec, skin) if skin else bare for k, skin in resolved.rib_skins[name].items()}
    place = spec.lockers.get(cradle.locker) if cradle.locker else None
    core = resolved.stocks[place.core if place else cradle.stock].true_thickness
    layers = {k: _layers(resolved, cradle, k, one, build) for k, one in cradle.seats.items()}
    return Brief(name=name, cradle=cradle, cylinders=spec.cylinders, stocks=resolved.stocks, build=build,
                 rib_builds=rib_builds, layers=layers, room=rooms.get(cradle.locker or ""), wall_core=core)


def sole_brief(resolved: Resolved, name: str) -> SoleBrief:
    """All that the shaping of one sole depends on."""
    spec, sole = resolved.spec, resolved.spec.soles[name]
    path: Path = ("soles", name)
    built = {k: _build(spec, laminate.skin(spec, h.skin, path=(*path, "hatches", k, "skin")))
             for k, h in sole.hatches.items()}
    lids = {k: _build(spec, laminate.skin(spec, h.lid.skin, path=(*path, "hatches", k, "lid", "skin")))
            for k, h in sole.hatches.items()}
    return SoleBrief(name=name, sole=sole, stocks=resolved.stocks,
                     build=_build(spec, laminate.skin(spec, sole.skin, path=(*path, "skin"))), frame_builds=built,
                     lid_builds=lids)


def _shares() -> tuple[float, float]:
    rows = table("tolerances")
    return rows.number("paint", "share", unit="mm/mm"), rows.number("cut", "each edge", unit="mm")


def _build(spec: Spec, skin: laminate.Skin) -> Build:
    paint, cut = _shares()
    return Build.of(skin, spec.coats, paint_share=paint, cut=cut)


def _bare(spec: Spec) -> Build:
    """A rib without skin: sawn, painted."""
    paint, cut = _shares()
    return Build(skin=0.0, skin_tolerance=0.0, lap=0.0, paint=spec.coats.paint,
                 paint_tolerance=paint * spec.coats.paint, in_mold=0.0, in_mold_tolerance=0.0, cut_tolerance=cut,
                 origin="no skin")


def _layers(resolved: Resolved, cradle: Cradle, name: str, one: Seat, build: Build) -> tuple[insert.Layer, ...]:
    """The sheets, and packers, that an insert is stacked of, lowest first."""
    if one.insert.built == "frames":
        return ()
    sheet = resolved.stocks[one.insert.stock]
    cylinder = resolved.spec.cylinders[one.cylinder or name]
    made = seat.recess(one, cylinder, build, block_height=cradle.block[2], bed=cradle.bed)
    height = insert.least_height(one, made)
    packers = sheet.packers if one.insert.use == "mold" else ()
    pile = stock.stack(height, sheet=sheet.true_thickness, packers=packers, tolerance_each=sheet.tolerance)
    boards = tuple(insert.Layer(sheet.true_thickness, one.insert.stock) for _ in range(pile.sheets))
    return boards + tuple(insert.Layer(thin, None) for thin in pile.packers)


def _cradle(spec: Spec, name: str, one: Cradle, skin: laminate.Skin, choices: list[Choice]) -> Cradle:
    """One cradle with nothing left open."""
    path: Path = ("cradles", name)

    def chose(value: object, why: str, *steps: str) -> None:
        choices.append(Choice(dotted((*path, *steps)), value, why))

    if one.skin is None:
        chose(skin.name, skin.reason, "skin")
    if one.at is None:
        chose("middle" if one.locker else [0, 0], "the middle of its locker" if one.locker else "no place was given",
              "at")
    seats = {k: _seat(spec, name, k, one, s, choices) for k, s in one.seats.items()}
    made = {k: _chock(spec, name, k, one, c, choices) for k, c in one.chocks.items()}
    return one.model_copy(update={"seats": seats, "chocks": made, "skin": one.skin or skin.name})


def _seat(spec: Spec, cradle_name: str, name: str, cradle: Cradle, one: Seat, choices: list[Choice]) -> Seat:
    """Place, floor fillet and limber of one seat."""
    path: Path = ("cradles", cradle_name, "seats", name)
    cylinder = spec.cylinders[one.cylinder or name]
    update: dict[str, object] = {}
    if one.at is None:
        update["at"] = centre(cradle, None)
        choices.append(Choice(dotted((*path, "at")), list(centre(cradle, None)), "the middle of the block"))
    if one.floor_fillet is None:
        value, why = _under_the_rim(one, spec.coats.paint, *_fillet(one, cylinder))
        update["floor_fillet"] = value
        choices.append(Choice(dotted((*path, "floor_fillet")), value, why))
    if one.limber is None:
        towards, why = _way_out(spec, cradle, one)
        bore = min(LIMBER_BORE, math.floor(min(one.depth * 0.8, one.depth - one.rim_radius)))
        update["limber"] = Limber(towards=towards, bore=max(bore, 6.0))
        choices.append(Choice(dotted((*path, "limber")), f"{towards}, bore {max(bore, 6.0):g}",
                              f"{why}; 19 to 25 mm does not clog (common practice), less where the seat is shallow"))
    return one.model_copy(update=update)


def _fillet(one: Seat, cylinder: Cylinder) -> tuple[float, str]:
    """The largest floor fillet, up to 8 mm, on whose inside the foot still stands with its side play.

    With play as large as the clearance the flat must reach the foot's flat plus the clearance, and the flat of a
    fillet f is f tan(45 deg - a/2) short of the wall.
    """
    room = bottle.widest_below(cylinder, one.depth, locate=one.locate) + one.liner - bottle.standing_radius(cylinder)
    most = room / math.tan(math.radians(45 - one.draft / 2))
    fits = math.floor(most * 0.9 * 2) / 2  # whole half millimetres, a tenth in hand
    if fits >= FILLET:
        return FILLET, "8 mm lets cloth lie in the corner (common practice, 6 to 10 mm)"
    if fits >= 1.0:
        return fits, f"as large as what stands in it allows: over {most:.1f} mm its edge rides up"
    return 6.0, "the least that cloth lies in (common practice); what stands in it is too sharp for any fillet"


def _under_the_rim(one: Seat, paint: float, fillet: float, why: str) -> tuple[float, str]:
    """A chosen fillet, smaller where a shallow seat needs it: with the paint under it, it ends below the rim."""
    most = (one.depth - max(one.rim_radius, 1.0)) / (1 - math.sin(math.radians(one.draft))) - paint
    if fillet <= most:
        return fillet, why
    return max(math.floor(most * 2) / 2, 0.0), f"as large as the depth allows: over {most:.1f} mm it reaches the rim"


def _way_out(spec: Spec, cradle: Cradle, one: Seat) -> tuple[Towards, str]:
    """The limber's side: down the locker's sole where it falls, else the nearest side; never through another seat."""
    place = spec.lockers.get(cradle.locker) if cradle.locker else None
    (cx, cy), (length, width, _) = centre(cradle, one.at), cradle.block
    others = [(centre(cradle, s.at), spec.cylinders[s.cylinder or k].radius) for k, s in cradle.seats.items()
              if s is not one]

    def clear(side: Towards) -> bool:
        dx, dy, _ = DIRECTIONS[side]
        ahead = [((x - cx) * dx + (y - cy) * dy, abs((y - cy) * dx - (x - cx) * dy), r) for (x, y), r in others]
        return all(far <= 0 or beside > radius + LIMBER_CLEAR for far, beside, radius in ahead)

    square = cradle.turn % 360 == 0 and one.turn % 360 == 0
    if place and place.sole.fall > 0 and square and clear(place.sole.towards):
        return place.sole.towards, "the side the locker's sole falls to"
    sides: list[tuple[float, Towards]] = [(cx, "aft"), (length - cx, "forward"), (cy, "starboard"),
                                          (width - cy, "port")]
    free = [side for side in sides if not square or clear(side[1])] or sides
    return min(free, key=lambda s: round(s[0], 6))[1], "the nearest side of the block that no other seat lies before"


def _chock(spec: Spec, cradle_name: str, name: str, cradle: Cradle, one: Chock, choices: list[Choice]) -> Chock:
    """Place and spacing of one set of chocks."""
    path: Path = ("cradles", cradle_name, "chocks", name)
    cylinder = spec.cylinders[one.cylinder or name]
    update: dict[str, object] = {}
    if one.at is None:
        update["at"] = centre(cradle, None)
        choices.append(Choice(dotted((*path, "at")), list(centre(cradle, None)), "the middle of the block"))
    if one.spacing is None and one.count > 1:
        low, high = bottle.straight(cylinder)
        value = round(0.6 * (high - low) / (one.count - 1), 0)
        update["spacing"] = value
        choices.append(Choice(dotted((*path, "spacing")), value,
                              "the outer ribs three fifths of the straight part apart (common practice, no source)"))
    return one.model_copy(update=update)


def _tell_materials(spec: Spec, skins: Mapping[str, laminate.Skin], known: Mapping[str, stock.Stock],
                    choices: list[Choice]) -> None:
    """Choices about materials: what the handbook filled in."""
    for skin in {s.name: s for s in skins.values()}.values():
        for said in skin.assumed:
            choices.append(Choice(f"laminates.{skin.name}", said, "left out in the spec; from the handbook"))
    for name in _stock_used(spec):
        if known[name].assumed:
            choices.append(Choice(f"stock.{name}", known[name].assumed, "the spec gives no such stock"))


def _tell_frames(spec: Spec, known: Mapping[str, stock.Stock], skins: Mapping[str, laminate.Skin],
                 choices: list[Choice]) -> None:
    """What discs and what frames take of sheet, for each insert of frames and each deep stack of discs."""
    for name, cradle in spec.cradles.items():
        build = _build(spec, skins[name])
        for key, one in cradle.seats.items():
            cylinder = spec.cylinders[one.cylinder or key]
            made = seat.recess(one, cylinder, build, block_height=cradle.block[2], bed=cradle.bed)
            sheet = known[one.insert.stock].true_thickness
            layers = math.ceil(insert.least_height(one, made) / sheet)
            unused = one.insert.built == "discs" and one.insert.frames != Framing()
            if one.insert.built == "discs" and layers <= MANY and not unused:
                continue
            if framed_faults(("cradles", name, "seats", key), one, made, sheet):  # a press, or no room: discs only
                continue
            discs, crossed = sheet_areas(one, made, layers, sheet)
            field = dotted(("cradles", name, "seats", key, "insert", "built"))
            why = f"{layers} discs take {discs:.2f} m2 of sheet, frames {crossed:.2f} m2 and a covering"
            why += "; what the spec says of `frames` is not used" if unused else ""
            choices.append(Choice(field, one.insert.built, why))


def _stock_used(spec: Spec) -> Iterable[str]:
    """Names of the stock a plan cuts, each once."""
    used: dict[str, None] = {}
    for cradle in spec.cradles.values():
        used.setdefault(cradle.stock)
        for one in cradle.seats.values():
            used.setdefault(one.insert.stock)
        for ribs in cradle.chocks.values():
            used.setdefault(ribs.stock)
    for sole in spec.soles.values():
        used.setdefault(sole.core)
        for hatch in sole.hatches.values():
            used.setdefault(hatch.lid.core)
            used.setdefault(hatch.mold_stock)
    return used

