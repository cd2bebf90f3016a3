"""Does a hatch's mold let go, stand in whole sheets, and make the part that was drawn?

In       a HatchSpot.
Out      findings "draft", "break-out", "block height", "mold match", "mold match round corners".
Not here the seat's inserts (draft.py, tower.py).

The part is lifted off its mold away from the table; what stays in it is broken out towards the table. Both are the same
way seen from either: n is the outward normal of the tool's molding face, d the way the part leaves it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from moldplan.check.gap import away_from
from moldplan.check.hatch_spot import HatchSpot
from moldplan.check.incline import Incline, incline
from moldplan.check.limits import bound
from moldplan.check.packer import packer
from moldplan.check.undercut import Standing, locked, spread
from moldplan.finding import Cure, Edit, Finding, Move
from moldplan.material.stock import known, stack
from moldplan.shape.body import Body, Vector

if TYPE_CHECKING:
    import cadquery as cq

MEDIUM = 5.0  # mm from a hollow corner, where corner radius medium stands
EVERY = 5  # of a face's places one in so many is looked at: with 4 across, both ways are walked through
STEP = 0.5  # deg, the rounding of a draft in a shop
STEEP = ("molding inner wall", "molding outer wall", "molding upstand", "molding sump")
WALLS = ("inner wall", "outer wall", "floor", "inner root", "outer root")


def mold_release(spot: HatchSpot) -> list[Finding]:
    """All of one hatch's mold."""
    return [draft(spot), break_out(spot), *block_height(spot), *match(spot)]


def _steep(tool: Body) -> list[tuple[str, cq.Face]]:
    """The faces that can grip: walls. Floors, landing and flange look along the way out, and a root's rounding ends
    in them with the draft of the wall it joins."""
    return [(role, face) for role in STEEP for face in tool.shaped.roles.get(role, ())]


def draft(spot: HatchSpot) -> Finding:
    """The molding face that looks least along the way out, of all pieces."""
    limit = bound("draft", spot.spec)
    least: tuple[Incline, Body, str] | None = None
    for tool in spot.tools:
        for role, face in _steep(tool):
            found = incline(face, spot.release, tolerance=0.05)
            if least is None or found.least < least[0].least:
                least = (found, tool, role)
    path = (*spot.path, "gutter", "draft")
    if least is None:
        return limit.unjudged(check="mold", part=spot.name, what="draft", path=path, why="no piece has a molding face")
    found, tool, role = least
    now = spot.place.hatch.gutter.draft
    goal = math.ceil((now + limit.short(found.least)) / STEP - 1e-9) * STEP
    return limit.finding(check="mold", part=spot.name, what="draft", measured=found.least, path=path,
                         at=dict(zip("xyz", (round(c, 1) for c in found.at), strict=True)), tolerance=found.tolerance,
                         note=f"the {role.removeprefix('molding ')} of {tool.name.removeprefix(spot.name + ' ')} has "
                              f"{found.least:.2f} deg of draft", moves=(Move("gutter draft {to} deg",
                                                                             (Edit(path, goal, STEP),)),))


def break_out(spot: HatchSpot) -> Finding:
    """Pieces that cannot leave straight towards the table while the later ones, and the part, still stand."""
    limit, groups, ready = bound("break-out", spot.spec), spot.place.break_out, Standing()
    stuck: list[str] = []
    for k, group in enumerate(groups):
        later = [n for g in groups[k + 1:] for n in g]
        stuck += [_short(spot, name) for name in group if not _free(spot, [name], later, ready)]
    note = f"in the order: {_told(spot, groups)}" if not stuck else \
        f"{', '.join(stuck)} cannot leave while its neighbours stand"
    made = limit.finding(check="mold", part=spot.name, what="break-out", measured=float(len(stuck)),
                         path=(*spot.path, "mold"), at=spot.at((0.0, 0.0, -spot.landing)), note=note)
    return replace(made, cure=_other_order(spot, ready)) if stuck else made


def _free(spot: HatchSpot, names: Sequence[str], standing: Sequence[str], ready: Standing) -> bool:
    """Whether pieces can leave together, straight towards the table, while others and the part stand."""
    faces = [face for name in names for _, face in _steep(spot.assembly.body(name))]
    others = [spot.molding.solid, *(spot.assembly.body(name).solid for name in standing)]
    return not faces or locked(faces, spot.place.frame.z, others, off=-1e-2, ready=ready).area <= 1.0


def _other_order(spot: HatchSpot, ready: Standing) -> Cure:
    """An order that works, found by geometry: whatever is free while all the others stand leaves, and so on.

    What leaves only makes room, so that a round that frees nothing means that no order of single pieces does; what is
    left is then tried as one.
    """
    left = [name for group in spot.place.break_out for name in group]
    rounds: list[tuple[str, ...]] = []
    while left:
        free = tuple(n for n in left if _free(spot, [n], [o for o in left if o != n], ready))
        if not free:
            break
        rounds.append(free)
        left = [n for n in left if n not in free]
    if not left:
        return Cure(f"break out in another order: {_told(spot, rounds)}; each of these ways out was looked at again")
    rest = ", ".join(_short(spot, n) for n in left)
    if _free(spot, left, [], ready):
        before = f"{_told(spot, rounds)}; then " if rounds else ""
        return Cure(f"break out in another order: {before}{rest} together, screwed to each other")
    out = [f"{_told(spot, rounds)} leave"] if rounds else []
    return Cure("none found: no order of straight ways out works",
                tried=(*out, f"each of {rest} by itself: held by the others or the part", "all of these at once: held"))


def _told(spot: HatchSpot, groups: Sequence[Sequence[str]]) -> str:
    return "; then ".join(", ".join(_short(spot, name) for name in group) for group in groups)


def _short(spot: HatchSpot, name: str) -> str:
    return name.removeprefix(spot.name + " ")


def block_height(spot: HatchSpot) -> list[Finding]:
    """The centre block against the sheets it is built of: faced board is never planed."""
    name = next((n for n in spot.place.mold if n.endswith("centre block")), None)
    if name is None:
        return []
    limit, hatch = bound("stack-error", spot.spec), spot.place.hatch
    sheet = known(spot.spec)[hatch.mold_stock]
    levels = [spot.own(v.toTuple())[2] for v in spot.assembly.body(name).solid.Vertices()]
    height = max(levels) - min(levels)
    pile = stack(height, sheet=sheet.true_thickness, packers=sheet.packers, tolerance_each=sheet.tolerance)
    whole = [n * sheet.true_thickness for n in range(1, 40)]
    near = min(whole, key=lambda h: abs(h - height))
    off = min(abs(pile.error), abs(near - height))
    path = (*spot.path, "lid", "thickness")
    moves = [Move("a lid {to} mm thick: the landing is whole sheets deep",
                  (Edit(path, round(hatch.lid.thickness + by, 2)),))
             for by in sorted((h - height for h in whole), key=abs)[:2]]
    squeezed = 1 - hatch.lid.gasket.squeeze
    free = [hatch.lid.gasket.free + by / squeezed for by in (pile.height - height, near - height)]
    moves += [Move("a gasket {to} mm high when free", (Edit((*spot.path, "lid", "gasket", "free"), round(f, 2)),))
              for f in free if f > 1]
    note = f"the centre block is {height:.1f} mm high; {pile.layers} layers make {pile.height:.1f}"
    thin = packer(spot.spec, hatch.mold_stock, height)
    if thin is not None:
        moves.append(thin.move)
        note += f"; at the same height: {thin.words}" if off > limit.value else ""
    return [limit.finding(check="mold", part=spot.name, what="block height", measured=off, path=path,
                          at=spot.at((0.0, 0.0, -spot.landing)), tolerance=1e-6, note=note, moves=tuple(moves))]


def match(spot: HatchSpot) -> list[Finding]:
    """Greatest distance between the strips' molding faces and the faces they make: on straight runs, round corners."""
    found: list[Finding] = []
    for what, words, limit in (("mold match", " side", "mold-match"),
                               ("mold match round corners", " corner", "mold-match-corner")):
        if not any(tool.name.endswith(words) for tool in spot.tools):
            continue  # a round hatch has no runs
        worst, where, seen = _apart(spot, words)
        at = {} if where is None else dict(zip("xyz", (round(c, 1) for c in where), strict=True))
        note = f"strips against the molding at {seen} places {'on the runs' if words == ' side' else 'round corners'}"
        if words == " corner":
            off = _off_round(spot)
            worst = max(worst, off)
            near = f"{math.ceil(off * 1000) / 1000:g} mm"
            carried = "the runs' walls carried round" if found else "true rounds about the hatch's middle"
            note += f", where their walls stand within {near} of {carried}"
        note += "; the hollow corners of corner radius medium and the places of drains left out"
        found.append(bound(limit, spot.spec).finding(check="mold", part=spot.name, what=what, measured=worst,
                                                     path=(*spot.path, "mold"), at=at, note=note))
    return found


def _apart(spot: HatchSpot, words: str) -> tuple[float, Vector | None, int]:
    """Greatest distance of the strips called so from the molding, where, and at how many places it was looked."""
    worst, where, seen = 0.0, None, 0
    roles = [role for role in WALLS if spot.molding.shaped.roles.get(role)]  # roots may be sharp
    made = {role: away_from(spot.molding.faces(role)) for role in roles}
    for point, role in _molding_points(spot, words, roles):
        seen += 1
        off = made[role](point)
        if off > worst:
            worst, where = off, point
    return worst, where, seen


def _molding_points(spot: HatchSpot, words: str, roles: Sequence[str]) -> Iterator[tuple[Vector, str]]:
    """Places on the molding faces of the strips called so, clear of corner radius medium and of drains."""
    holes = [_drained(spot, name) for name in spot.place.hatch.drains]
    for tool in spot.tools:
        if not tool.name.endswith(words):
            continue
        for role in roles:
            hollow = spot.landing if role.startswith("inner") else spot.place.start
            for face in tool.shaped.roles.get(f"molding {role}", ()):
                for point, _ in spread(face)[::EVERY]:
                    own = spot.own(point)
                    if own[2] <= -hollow - MEDIUM and all(math.dist(own[:2], h[:2]) >= reach for h, reach in holes):
                        yield point, role


def _off_round(spot: HatchSpot) -> float:
    """How far the corners' walls stand off the round that joins the straight walls: at each level its middle is that
    of the opening's corner, its radius what the straight wall has there [mm]."""
    middle, worst = spot.opening.inner, 0.0
    for point, role in _molding_points(spot, " corner", ("inner wall", "outer wall")):
        x, y, z = spot.own(point)
        wall = (spot.inner if role == "inner wall" else spot.outer)["forward"]
        radius = wall.off(z) - middle[0]
        off = abs(math.hypot(abs(x) - middle[0], abs(y) - middle[1]) - radius)
        worst = max(worst, off * math.cos(math.radians(wall.draft)))
    return worst


def _drained(spot: HatchSpot, name: str) -> tuple[Vector, float]:
    """Where a drain's bore or sump takes the gutter's floor away: its middle, and how far round it [mm]."""
    roles = spot.molding.shaped.roles
    faces = [face for role in (f"{name} bore", f"{name} sump", f"{name} sump root") for face in roles.get(role, ())]
    middle = spot.own(faces[0].Center().toTuple())
    ends = [spot.own(edge.positionAt(k / 16).toTuple()) for face in faces for edge in face.Edges() for k in range(17)]
    return middle, max(math.dist(end[:2], middle[:2]) for end in ends) + 2
