"""One way out as the checks see it: its whole line down to the outlet, and the fields of the spec that place it.

In       Assembly, Spec.
Out      Way: points from the drain's rim to the outlet [mm, boat axes], the line it joins included; for each point
         the fields that put it there; edits that move points and lift the floor.
Not here judging (hose.py, overboard.py), which moves to try (way_moves.py).

A line that joins another runs into it at the place of it that is nearest, below that one's tail, and on along it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from moldplan.attitude import Vector
from moldplan.check.limits import value_at
from moldplan.check.ruled import Facts, facts_of
from moldplan.errors import Path
from moldplan.finding import Edit
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.drain import SAME, DrainPlace
from moldplan.spec.model import Spec
from moldplan.spec.water import WayOut

GAS = "lp gas"  # of what a spec can name, what is heavier than air and burns
LEAST_TAIL = 15.0  # mm, what a clip needs; ours


@dataclass(frozen=True)
class Way:
    """A drain with its whole line. `gas`: its locker holds a gas that is heavier than air and burns."""

    assembly: Assembly
    drain: DrainPlace
    spec: Spec
    gas: bool
    chain: tuple[DrainPlace, ...] = field(default=())  # itself, then the drains whose lines it runs on in

    @property
    def name(self) -> str:
        return self.drain.name

    @property
    def path(self) -> Path:
        return self.drain.path

    @property
    def known(self) -> bool:
        """Whether the line reaches an outlet."""
        return self.outlet is not None and len(self.points) > 1

    @property
    def outlet(self) -> Vector | None:
        return self.chain[-1].outlet

    @property
    def outlet_path(self) -> Path:
        """The field its outlet stands in."""
        return (*self.chain[-1].path, "outlet")

    @cached_property
    def points(self) -> tuple[Vector, ...]:
        """The middles of the bore from the rim on."""
        found = self.chain[-1].line
        for drain in reversed(self.chain[:-1]):
            found = _merged(drain.line, found)
        return found

    @cached_property
    def facts(self) -> Facts:
        """What rules ask of the boat, and of the gas in its locker."""
        inside = [s for s in self.assembly.stands if s.room == self.drain.space and s.cylinder.contents == GAS]
        return gas_facts(self.spec, inside)

    @property
    def flip(self) -> float:
        """-1 where the bodies are the mirror image of what the spec gives."""
        return -1.0 if self.drain.path[0] == "lockers" and self.drain.space not in self.spec.lockers else 1.0

    @cached_property
    def fields(self) -> Mapping[int, tuple[Path, ...]]:
        """For each point that the spec gives, the fields that hold it."""
        found: dict[int, list[Path]] = {}
        for drain in self.chain:
            way = value_at(self.spec, drain.path)
            given = [((*drain.path, "hose", k), p) for k, p in enumerate(way.hose or ())]
            given += [((*drain.path, "outlet"), way.outlet)] if way.outlet is not None else []
            for path, (x, y, z) in given:
                here = (x, y * self.flip, z)
                k = min(range(1, len(self.points)), key=lambda i: math.dist(self.points[i], here))
                if math.dist(self.points[k], here) <= SAME:
                    found.setdefault(k, []).append(path)
        return {k: tuple(paths) for k, paths in found.items()}

    @property
    def start(self) -> int:
        """The point at which the hose begins: the tail's end, or the rim of a drain that has no tail."""
        a, b = self.drain.line[0], self.points[1]
        away = tuple(p - q for p, q in zip(a, b, strict=True))
        size = math.hypot(*away)
        plumb = all(abs(d - size * n) < 1e-6 * max(size, 1.0) for d, n in zip(away, self.drain.normal, strict=True))
        return 1 if plumb and (self.tail > SAME or self.drain.kind != "locker drain") else 0

    @property
    def tail(self) -> float:
        """Length of the tail as the spec gives it [mm]."""
        return float(value_at(self.spec, (*self.path, self._tail_field)) or 0.0)

    @property
    def _tail_field(self) -> str:
        return "spigot" if self.drain.kind == "gutter drain" else "tail"

    @property
    def bores(self) -> tuple[tuple[str, float, Path], ...]:
        """Every piece of the way with its clear bore [mm] and the field it stands in."""
        found = []
        for drain in self.chain:
            way: WayOut = value_at(self.spec, drain.path)
            found.append((f"the bore of {drain.name}", drain.bore, (*drain.path, "bore")))
            found += [(f"the {words} of {drain.name}", bore, (*drain.path, name))
                      for name, words, bore in (("hose_bore", "hose", way.hose_bore),
                                                ("narrowest", "narrowest fitting", way.narrowest)) if bore is not None]
        return tuple(found)

    @property
    def last_bore(self) -> float:
        """Bore at the outlet [mm]: the hose's, else the drain's."""
        way: WayOut = value_at(self.spec, self.chain[-1].path)
        return self.chain[-1].bore if way.hose_bore is None else way.hose_bore

    def lifted(self, by: float) -> tuple[Edit, ...]:
        """Edits that raise the floor this drain lies in: the sole, or the locker's sole and what stands on it."""
        if self.drain.kind != "locker drain":
            sole = self.spec.soles[str(self.path[1])]
            return (Edit(("soles", self.path[1], "surface"), round(sole.surface + by, 1)),)
        name = str(self.path[1])
        room = self.spec.lockers[name]
        low = min(room.box.from_[2], room.box.to[2])
        key = "from" if room.box.from_[2] == low else "to"
        based = [(n, c.base) for n, c in self.spec.cradles.items() if c.locker == name and c.base is not None]
        return (Edit(("lockers", name, "box", key, 2), round(low + by, 1)),
                *(Edit(("cradles", n, "base"), round(base + by, 1)) for n, base in based))

    @property
    def floor_words(self) -> str:
        return "the locker's floor" if self.drain.kind == "locker drain" else "the sole"

    def put(self, points: Sequence[Vector]) -> tuple[Edit, ...] | None:
        """Edits for new places of the points, in order; None where the spec gives no field to move one by.

        The rim carries the floor; a tail's end that moves by another height than its rim takes a longer or shorter
        tail. The outlet's field comes first.
        """
        up = points[0][2] - self.points[0][2]
        edits: list[Edit] = []
        for k in range(len(points) - 1, 0, -1):
            to, was = points[k], self.points[k]
            carried = k <= self.start and math.dist(to, (was[0], was[1], was[2] + up)) <= 1e-6
            if math.dist(to, was) <= 1e-6 or (carried and k not in self.fields):
                continue
            if k in self.fields:
                edits += [Edit(path, (round(to[0], 1), round(to[1] * self.flip, 1), round(to[2], 1)))
                          for path in self.fields[k]]
            elif k != self.start and not self._joint(k):
                return None
            if k == self.start and not carried:
                tail = round(self.tail - (to[2] - was[2] - up), 1)
                if tail < LEAST_TAIL or to[:2] != was[:2]:
                    return None
                edits.append(Edit((*self.path, self._tail_field), tail))
        return (*edits, *(self.lifted(up) if abs(up) > 1e-6 else ()))

    def _joint(self, k: int) -> bool:
        """Whether a point is where a line runs into another: it follows that one."""
        return len(self.chain) > 1 and k < len(self.points) - 1


def _merged(line: Sequence[Vector], other: Sequence[Vector]) -> tuple[Vector, ...]:
    """A line, on into another at the place of it, past its tail, that is nearest to the line's end."""
    begin = 1 if len(other) > 2 else 0
    best = min(((k, _nearest(line[-1], other[k], other[k + 1])) for k in range(begin, len(other) - 1)),
               key=lambda found: math.dist(found[1], line[-1]))
    points = list(line)
    for point in (best[1], *other[best[0] + 1:]):
        if math.dist(point, points[-1]) > SAME:
            points.append(point)
    return tuple(points)


def _nearest(p: Vector, a: Vector, b: Vector) -> Vector:
    """The point of a stretch nearest to p."""
    along = tuple(q - r for q, r in zip(b, a, strict=True))
    size = sum(c * c for c in along)
    share = sum((q - r) * c for q, r, c in zip(p, a, along, strict=True)) / size if size else 0.0
    share = min(max(share, 0.0), 1.0)
    return (a[0] + share * along[0], a[1] + share * along[1], a[2] + share * along[2])


def gas_facts(spec: Spec, stands: Sequence[Stand]) -> Facts:
    """What rules ask of gas: where it is stowed, how much there is [kg]; what is not given is left out."""
    cradles = [spec.cradles[str(s.path[1])] for s in stands]
    where = {c.stowage or ("locker" if c.locker else None) for c in cradles}
    held = [s.cylinder.gas for s in stands]
    return facts_of(spec, stowage=where.pop() if len(where) == 1 else None,
                    **{"gas mass": math.fsum(g for g in held if g is not None) if None not in held else None})


def gas_rooms(assembly: Assembly) -> frozenset[str]:
    """The lockers in which a cylinder of such a gas stands."""
    return frozenset(s.room for s in assembly.stands if s.room and s.cylinder.contents == GAS)


def ways(assembly: Assembly, spec: Spec) -> tuple[Way, ...]:
    """Every drain with a closed way out, in the order of making; limbers are open runs."""
    named = {drain.name: drain for drain in assembly.drains}
    gassy = gas_rooms(assembly)
    found = []
    for drain in assembly.drains:
        if drain.kind == "limber":
            continue
        chain = [drain]
        while chain[-1].joins in named:
            chain.append(named[str(chain[-1].joins)])
        found.append(Way(assembly, drain, spec, drain.space in gassy, tuple(chain)))
    return tuple(found)
