"""Moves that put hatches elsewhere on their sole, one of them or several together, so that all lie well.

In       the hatches of one sole as made, the sole's outline.
Out      Moves: the edits of several hatches in one; what was tried, in words.
Not here the search itself (arrange.py), what is judged (sole_layout.py, sole_below.py, sole_reach.py).

Land and flanges, fittings, things below and targets count; what else a move may break shows when it is re-evaluated.
A turned hatch keeps its sides where they are in the boat, its hinge and drains with them: its length and width change
about. One with drains at points is turned as a whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from moldplan.check.hatch_spot import HatchSpot, Rounded
from moldplan.check.limits import bound
from moldplan.check.sole_reach import Space, Way, placed, space_of
from moldplan.finding import Edit, Move
from moldplan.shape.arrange import MOST, RECESS, Arrangement, Ground, Plot, Put, Search, Standing, Tail, kind
from moldplan.shape.below import plan_of
from moldplan.shape.choose_sole import outline_polygon

WEIGHED = 40  # arrangements whose targets are looked at


@dataclass(frozen=True)
class Layout:
    """The hatches of one sole, to be put elsewhere."""

    own: tuple[HatchSpot, ...]

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(str(spot.path[-1]) for spot in self.own)

    @cached_property
    def space(self) -> Space:
        first = self.own[0]
        return space_of(first.assembly, first.sole, self.own)

    @cached_property
    def reached(self) -> dict[str, bool]:
        """Which targets are within reach as things stand."""
        targets = self.own[0].sole.sole.targets
        return {name: self.space.within(t) for name, t in targets.items()}

    @cached_property
    def plots(self) -> Mapping[str, Plot]:
        return {name: _plot(spot, way) for name, spot, way in
                zip(self.names, self.own, self.space.ways, strict=True)}

    @cached_property
    def ground(self) -> Ground:
        spot = self.own[0]
        land, flanges, core, below = (
            bound(n, spot.spec).value for n in ("hatch-land", "flange-gap", "land", "below-gap"))  # fmt: skip
        room = max(flanges, core + RECESS)
        return Ground(outline_polygon(spot.sole.sole), (*self._plugs(core), *self._below(below)), land, room)

    def _plugs(self, core: float) -> list[Standing]:
        from shapely.geometry import Point

        spot, made = self.own[0], []
        for (_, one), plug in zip(spot.sole.sole.fittings.items(), spot.sole.plugs, strict=True):
            box = spot.assembly.body(plug).solid.BoundingBox()
            across = max(box.xlen, box.ylen, one.flange)
            ring = Point(*one.at).buffer(across / 2, 8).exterior.coords[:-1]
            made.append(Standing(tuple((float(x), float(y)) for x, y in ring), core))
        return made

    def _below(self, gap: float) -> list[Standing]:
        """Things below that stand as high as the lowest of the frames, or of the tails."""
        spot, made = self.own[0], []
        deep = max(way.deep for way in self.space.ways)
        tails = [min(t.foot[2], t.head[2]) - way.frame.origin[2] for way in self.space.ways for t in way.tails]
        for name, item in spot.sole.sole.below.items():
            solid = spot.assembly.body(spot.sole.below[name]).solid
            patch = tuple(plan_of(item, solid))
            low = min(spot.sole.surface.z(x, y) for x, y in patch)
            top = solid.BoundingBox().zmax
            frames, drains = top > low - deep - gap, top > low + min(tails, default=0.0) - gap
            if frames or drains:
                made.append(Standing(patch, gap, frames=frames, tails=drains, spans=True))
        return made

    def alone(self, spot: HatchSpot) -> tuple[Move, ...]:
        """The nearest place for one hatch while the others stay, as it is and turned."""
        return self._moves((str(spot.path[-1]),))

    def together(self, spots: Sequence[HatchSpot]) -> tuple[Move, ...]:
        """Arrangements of some hatches at once; of all, where the sole has few and those alone find no place."""
        found = self._moves(tuple(str(s.path[-1]) for s in spots)) if len(spots) > 1 else ()
        if not found and len(spots) < len(self.own) <= MOST:
            found = self._moves(self.names)
        return found

    def reaching(self, target: str) -> tuple[Move, ...]:
        """Arrangements of all hatches, where the sole has few, that bring a target within reach."""
        return self._moves(self.names, target) if 1 < len(self.own) <= MOST else ()

    def _moves(self, movable: tuple[str, ...], target: str = "") -> tuple[Move, ...]:
        """The nearest arrangement of each kind that keeps all targets within reach that are, and brings one more."""
        targets = self.own[0].sole.sole.targets
        search = Search(self.ground, self.plots, movable, lures=(targets[target].at[:2],) if target else ())
        wanted = [t for name, t in targets.items() if name == target or self.reached[name]]
        best: dict[str, Move] = {}
        weighed = 0
        for one in search.found():
            moved = {name: put for name, put in one.items() if search.cost(name, put) > 0.5}
            lies = kind(self.plots, one)
            named = f"{lies}, turned" if any(put.turned for put in moved.values()) else lies
            if not moved or named in best or weighed >= WEIGHED:
                continue
            space = self._space(one)
            if not all(space.near(t) for t in wanted):
                continue
            weighed += 1
            if all(space.within(t) for t in wanted):
                best[named] = self._move(moved, lies if len(one) > 1 else "")
        return tuple(best.values())

    def _space(self, one: Arrangement) -> Space:
        """The room under the sole with its hatches as arranged."""
        ways = tuple(_put(way, self.plots[way.name], one.get(way.name)) for way in self.space.ways)
        return replace(self.space, ways=ways)

    def _move(self, moved: Mapping[str, Put], lies: str) -> Move:
        """One move of several hatches: where each goes, in words and in edits."""
        edits: list[Edit] = []
        said = []
        for name, put in moved.items():
            spot = self.own[self.names.index(name)]
            x, y = put.centre
            how = f"move {name} {_way(spot.place.hatch.centre, put.centre)}, to {x:g}, {y:g}"
            said.append(how + (", turned by 90 deg" if put.turned else ""))
            edits += _turned(spot, put.centre) if put.turned else placed(spot, put.centre)
        return Move("; ".join(said) + (f": {lies}" if lies else ""), tuple(edits))


def _way(here: tuple[float, float], there: tuple[float, float]) -> str:
    """How far from one place in plan to another, in the boat's words."""
    steps = [(there[0] - here[0], "forward", "aft"), (there[1] - here[1], "to port", "to starboard")]
    return " and ".join(f"{abs(far):.0f} mm {more if far > 0 else less}"
                        for far, more, less in steps if abs(far) >= 0.5) or "0 mm"


def rectangle(spot: HatchSpot, shape: Rounded) -> Any:
    """The rectangle that a rounded one is grown from, in plan, boat axes; a line or point where it is all rounding."""
    from shapely import affinity
    from shapely.geometry import MultiPoint

    a, b = shape.inner
    hatch = spot.place.hatch
    plan = MultiPoint([(i * a, j * b) for i in (1, -1) for j in (1, -1)]).convex_hull
    return affinity.translate(affinity.rotate(plan, hatch.turn, origin=(0, 0)), *hatch.centre)


def _turned(spot: HatchSpot, centre: tuple[float, float]) -> tuple[Edit, ...]:
    """The edits that turn a hatch: its length and width changed about, or all of it where a drain lies at a point."""
    hatch = spot.place.hatch
    points = {name: drain.at for name, drain in hatch.drains.items() if not isinstance(drain.at, str)}
    if not points:
        length, width = hatch.clear_opening
        return (*placed(spot, centre), Edit((*spot.path, "clear_opening"), (width, length)))
    (x, y), turn = hatch.centre, (hatch.turn + 90) % 360
    turned = {name: (round(centre[0] - (at[1] - y), 1), round(centre[1] + (at[0] - x), 1))
              for name, at in points.items()}
    return (Edit((*spot.path, "centre"), centre), Edit((*spot.path, "turn"), turn),
            *(Edit((*spot.path, "drains", name, "at"), at) for name, at in turned.items()))


def _plot(spot: HatchSpot, way: Way) -> Plot:
    """What a hatch takes in plan, measured on its bodies."""
    flange: Rounded = spot.flange
    tails = []
    for tail in way.tails:
        u, v, _ = spot.own(tail.foot)
        tails.append(Tail((u, v), tail.radius))
    hatch = spot.place.hatch
    return Plot(half=flange.inner, opening=spot.opening.half[0] - flange.inner[0], rebate=spot.rebate.radius,
                flange=flange.radius, centre=hatch.centre, turn=hatch.turn, tails=tuple(tails))


def _put(way: Way, plot: Plot, put: Put | None) -> Way:
    """A hatch as an arm goes through it, elsewhere; turned: its length and width changed about, tails let be."""
    if put is None:
        return way
    made = way.moved(put.centre[0] - plot.centre[0], put.centre[1] - plot.centre[1])
    if not put.turned:
        return made

    def about(one: Rounded) -> Rounded:
        return Rounded((one.half[1], one.half[0]), one.radius)

    return replace(made, opening=about(made.opening), flange=about(made.flange), tails=())
