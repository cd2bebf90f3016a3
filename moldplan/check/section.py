"""Does the section sum of a hatch close? Lid, gasket and landing against each other, from their finished faces.

In       a HatchSpot.
Out      findings "sum", "squeeze", "stop", "closing force", "gasket seat", "clear opening".
Not here the gutter (gutter.py), gaps at the lid's edge (edge_gap.py), mass (lid_weight.py).
"""

from __future__ import annotations

import math

from moldplan.check.hatch_spot import HatchSpot
from moldplan.check.lid_weight import lid_mass
from moldplan.check.limits import band, bound
from moldplan.finding import Edit, Finding, Move
from moldplan.shape.body import Body

GRAVITY = 9.80665  # m/s2
SAME = 1e-6  # mm, two edges that are one
WHOLE_FORCE = 10.0  # N, what a latch's force is rounded to


def section(spot: HatchSpot) -> list[Finding]:
    """The sum down, and what makes the seal."""
    return [total(spot), squeeze(spot), stop(spot), closing_force(spot), gasket_seat(spot), clear_opening(spot)]


def total(spot: HatchSpot) -> Finding:
    """The closed lid's top against the sole's surface, the lid lying on its squeezed gasket or its stop."""
    limit, rests = bound("section-sum", spot.spec), spot.rests
    proud = spot.thick + rests - spot.landing
    where = "flush" if abs(proud) < 0.005 else f"{abs(proud):.1f} mm {'proud of' if proud > 0 else 'below'} the sole"
    gasket = spot.place.hatch.lid.gasket
    on = "stop" if gasket.stop is not None and gasket.stop >= rests - 1e-9 else "squeezed gasket"
    note = (f"lid {spot.thick:.1f} mm and {on} {rests:.1f} mm in a landing {spot.landing:.1f} mm deep: "
            f"the lid closes {where}")
    right = round(spot.thick + rests, 3)
    moves = (Move("landing {to} mm deep: lid and squeezed gasket", (Edit((*spot.path, "landing_depth"), right),)),
             *_thicker(spot, -proud))
    return limit.finding(check="section", part=spot.name, what="sum", measured=abs(proud),
                         path=(*spot.path, "landing_depth"), at=spot.at((0.0, 0.0, proud)), note=note, moves=moves)


def _thicker(spot: HatchSpot, by: float) -> tuple[Move, ...]:
    now = spot.place.hatch.lid.thickness
    return (Move("a lid {to} mm thick", (Edit((*spot.path, "lid", "thickness"), round(now + by, 2)),)),)


def squeeze(spot: HatchSpot) -> Finding:
    """The share of its free height by which the gasket is squeezed under a lid that closes flush."""
    limit, gasket = band("squeeze-least", "squeeze-most", spot.spec), spot.place.hatch.lid.gasket
    gap = spot.landing + spot.lid_under
    measured = 1 - gap / gasket.free
    note = f"a gasket {gasket.free:.1f} mm high is squeezed to {gap:.1f} mm, by {measured:.0%}, under the flush lid"
    low, high = limit.low.value, limit.high.value
    target = low if measured < low else high
    path = (*spot.path, "lid", "gasket")
    moves: tuple[Move, ...] = ()
    if spot.place.hatch.landing_depth is None:
        middle = round((low + high) / 2, 3)
        edits = [Edit((*path, "squeeze"), middle)]
        if gasket.stop is not None:  # a stop that stands higher would hold the lid off the gasket
            edits.append(Edit((*path, "stop"), round(gasket.free * (1 - middle), 2)))
        words = "squeeze {to}" if gasket.stop is None else "squeeze {to}, and the stop with it"
        moves = (Move(words, tuple(edits)),)
    elif gap > 0:
        free = gap / (1 - target)
        whole = math.ceil(free * 2) / 2 if measured < low else math.floor(free * 2) / 2
        right = round(spot.thick + spot.rests, 3)
        moves = (Move("landing {to} mm deep: lid and squeezed gasket",
                      (Edit((*spot.path, "landing_depth"), right),)),
                 Move("a gasket {to} mm high", (Edit((*path, "free"), whole, math.copysign(0.5, low - measured)),)))
    return limit.finding(check="section", part=spot.name, what="squeeze", measured=measured,
                         path=(*path, "squeeze"), at=spot.at(_on_gasket(spot)), note=note, moves=moves)


def _on_gasket(spot: HatchSpot) -> tuple[float, float, float]:
    """A spot on the landing, at the middle of the forward side."""
    return ((spot.opening.half[0] + spot.inner["forward"].off(-spot.landing, spot.paint)) / 2, 0.0, -spot.landing)


def stop(spot: HatchSpot) -> Finding:
    """A hard stop, and the squeeze it leaves when the lid is pulled down onto it."""
    limit, gasket = band("squeeze-least", "squeeze-most", spot.spec), spot.place.hatch.lid.gasket
    path = (*spot.path, "lid", "gasket", "stop")
    low, high = gasket.free * (1 - limit.high.value), gasket.free * (1 - limit.low.value)
    planned = round(gasket.free * (1 - gasket.squeeze), 2)
    to = planned if low <= planned <= high else round((low + high) / 2, 2)
    if gasket.stop is None:
        measured, note = 1.0, "there is no hard stop: latches and feet squeeze the gasket flat, and it stays flat"
    else:
        measured = 1 - gasket.stop / gasket.free
        note = (f"on its {gasket.stop:.1f} mm stop the lid squeezes the gasket by {measured:.0%}; "
                f"the stop wants {low:.1f} to {high:.1f} mm")
        below = spot.landing - spot.thick - gasket.stop
        if below > 0.005:
            note += f", and the lid pulled down onto it lies {below:.1f} mm below the sole"
    return limit.finding(check="section", part=spot.name, what="stop", measured=measured, path=path,
                         at=spot.at(_on_gasket(spot)), note=note,
                         moves=(Move("a hard stop {to} mm high", (Edit(path, to),)),))


def gasket_line(spot: HatchSpot) -> float:
    """Length of the gasket's own middle line [mm]: its plan area over its width, exact for parallel edges."""
    body, gasket = spot.assembly.body(spot.place.gasket), spot.place.hatch.lid.gasket
    return float(sum(face.Area() for face in body.faces("top"))) / gasket.width


def closing_force(spot: HatchSpot) -> Finding:
    """Latches and weight against the force that squeezes the gasket as far as planned."""
    limit, lid = bound("closing-force", spot.spec), spot.place.hatch.lid
    share = 1 - spot.rests / lid.gasket.free
    line = gasket_line(spot)
    needed = lid.gasket.stiffness * line * share
    weight = lid_mass(spot).whole * GRAVITY
    there = lid.latches * lid.latch_force + weight
    measured = there / needed if needed > 1e-9 else math.inf
    note = (f"{needed:.0f} N squeeze {line:.0f} mm of gasket by {share:.0%}; {lid.latches} latches and the lid's "
            f"weight give {there:.0f} N")
    if measured < limit.value and there < needed:
        proud = (share - there / (lid.gasket.stiffness * line)) * lid.gasket.free
        note += f": the lid stands {proud:.1f} mm proud"
    if math.isinf(measured):
        return limit.unjudged(check="section", part=spot.name, what="closing force",
                              path=(*spot.path, "lid", "latches"), why="the gasket is not squeezed: nothing to close")
    return limit.finding(check="section", part=spot.name, what="closing force", measured=measured,
                         path=(*spot.path, "lid", "latches"), at=spot.at(_on_gasket(spot)), note=note,
                         moves=_closer(spot, limit.value * needed - weight))


def _closer(spot: HatchSpot, wanted: float) -> tuple[Move, ...]:
    """Stronger latches, or more of them; `wanted` is what all of them must give [N]."""
    lid, path = spot.place.hatch.lid, (*spot.path, "lid")
    count = max(lid.latches, 2)
    each = math.ceil(wanted / count / WHOLE_FORCE + 1e-9) * WHOLE_FORCE
    force = Edit((*path, "latch_force"), each, WHOLE_FORCE)
    number = () if lid.latches >= 2 else (Edit((*path, "latches"), count),)
    moves = [Move(f"{count} latches of {{to}} N each", (force, *number))]
    if lid.latch_force:
        more = math.ceil(wanted / lid.latch_force - 1e-9)
        moves.insert(0, Move("{to} latches", (Edit((*path, "latches"), more, 1),)))
    return tuple(moves)


def gasket_seat(spot: HatchSpot) -> Finding:
    """Flat of the landing, between its roundings, against the gasket's width, and against where the gasket lies."""
    limit, gasket = bound("gasket-seat", spot.spec), spot.place.hatch.lid.gasket
    low, high = _reach(spot, spot.molding, "landing")
    inner, outer = _reach(spot, spot.assembly.body(spot.place.gasket), "underside")
    beside, over = (high - low) - (outer - inner), max(low - inner, outer - high)
    measured = min(beside, -over) if over > SAME else beside
    note = f"the landing is flat for {high - low:.1f} mm; the gasket is {gasket.width:.1f} mm wide"
    note += f", and {over:.1f} mm of it lie beyond the flat" if over > 0.05 else ""
    short = limit.short(measured)
    moves = (Move("a landing {to} mm wide", (Edit((*spot.path, "landing"),
                                                  math.ceil((spot.place.hatch.landing + short) * 2) / 2, 0.5),)),
             Move("a gasket {to} mm wide", (Edit((*spot.path, "lid", "gasket", "width"),
                                                 math.floor((gasket.width - short) * 2) / 2, -0.5),)))
    return limit.finding(check="section", part=spot.name, what="gasket seat", measured=measured,
                         path=(*spot.path, "landing"), at=spot.at(_on_gasket(spot)), note=note, moves=moves)


def _reach(spot: HatchSpot, body: Body, role: str) -> tuple[float, float]:
    """How far outside the opening's finished edge the corners of a role's faces lie: the nearest, the furthest [mm]."""
    (a, b), radius = spot.opening.inner, spot.opening.radius
    spots = [spot.own(v.toTuple()) for face in body.faces(role) for v in face.Vertices()]
    found = [math.hypot(max(abs(x) - a, 0.0), max(abs(y) - b, 0.0)) - radius for x, y, _ in spots]
    return min(found), max(found)


def clear_opening(spot: HatchSpot) -> Finding:
    """The finished clear opening against the one that was asked for."""
    limit, asked = bound("clear-opening", spot.spec), spot.place.hatch.clear_opening
    made = tuple(2 * half for half in spot.opening.half)
    short = max(a - m for a, m in zip(asked, made, strict=True))
    corners = f", its diagonals {spot.opening.diagonal:.1f} mm" if any(spot.opening.inner) else ""
    return limit.finding(check="section", part=spot.name, what="clear opening", measured=max(short, 0.0),
                         path=(*spot.path, "clear_opening"), at=spot.at((spot.opening.half[0], 0.0, -spot.landing)),
                         note=f"the finished opening is {made[0]:.1f} x {made[1]:.1f} mm{corners}")
