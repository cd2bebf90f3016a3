"""One stand as the checks see it: its bodies by name, its allowances, and the moves that shift it.

In       Assembly, Stand, Spec.
Out      Spot with the shapes that are measured; Moves that shift a seat or chock in its block, or its block.
Not here measuring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from moldplan.check.limits import value_at
from moldplan.errors import Path
from moldplan.finding import Edit, Move
from moldplan.shape.assembly import Assembly, Room, Stand
from moldplan.shape.body import Body, Frame, Vector
from moldplan.spec.model import Spec

if TYPE_CHECKING:
    import cadquery as cq

GRID = 0.5  # mm, what a move is rounded to
HAIR = 1e-6  # mm, so that a limit is not missed by the last digit


@dataclass(frozen=True)
class Spot:
    """A stand with the bodies round it."""

    assembly: Assembly
    stand: Stand
    spec: Spec

    @property
    def path(self) -> Path:
        return self.stand.path

    @property
    def body(self) -> Body:
        return self.assembly.body(self.stand.body)

    @property
    def envelope(self) -> Body | None:
        return self.assembly.body(self.stand.envelope) if self.stand.envelope else None

    @property
    def solids(self) -> tuple[cq.Shape, ...]:
        """The cylinder, and the room of its valve when it has one."""
        return (self.body.solid, self.envelope.solid) if self.envelope else (self.body.solid,)

    @property
    def hosts(self) -> tuple[Body, ...]:
        return tuple(self.assembly.body(name) for name in self.stand.hosts)

    @property
    def room(self) -> Room | None:
        return self.assembly.rooms.get(self.stand.room) if self.stand.room else None

    @property
    def others(self) -> tuple[Spot, ...]:
        return tuple(Spot(self.assembly, s, self.spec) for s in self.assembly.stands if s.name != self.stand.name)

    def host_faces(self, role: str) -> tuple[cq.Face, ...]:
        """Faces "<roles> role" of all hosts; none where there is no such role."""
        return tuple(f for host in self.hosts for f in host.shaped.roles.get(f"{self.stand.roles} {role}", ()))

    @property
    def slack(self) -> float:
        """Half the diameter's tolerance: how much nearer one side of the largest cylinder comes [mm]."""
        return self.stand.cylinder.across.tolerance / 2

    @property
    def allowance(self) -> float:
        """Worst case of the fit per side: half the diameter's tolerance, and coats, skin and cut besides [mm]."""
        chain = next((c for c in self.assembly.chains
                      if c.path == self.path and c.measure == "per_side" and c.at in ("floor", "arc")), None)
        if chain is None:
            return self.slack
        asked = value_at(self.spec, (*self.path, "cylinder")) or str(self.path[-1])
        planned = self.spec.cylinders.get(asked)
        return chain.worst_case + self.slack - (planned.across.tolerance / 2 if planned else self.slack)

    def value(self, *steps: str | int) -> Any:
        """What the spec says at a field of this seat or chock."""
        return value_at(self.spec, (*self.path, *steps))

    @property
    def cradle_path(self) -> Path:
        return self.path[:2]

    @property
    def block(self) -> Body | None:
        """The cured block, or base, this stand belongs to."""
        return self._of_cradle("part")

    @property
    def core(self) -> Body | None:
        """The block's core."""
        return self._of_cradle("core")

    def _of_cradle(self, kind: str) -> Body | None:
        """The cradle's own body of a kind, on this stand's hand where there are two."""
        return next((b for b in self.assembly.of_kind(kind) if b.path == self.cradle_path
                     and (self.stand.hand is None or b.hand == self.stand.hand)), None)


def up(value: float, grid: float = GRID) -> float:
    """Rounded up to the grid."""
    return math.ceil(value / grid - 1e-9) * grid


def grown(text: str, path: Path, now: float | None, by: float, *, grid: float = GRID) -> tuple[Move, ...]:
    """One move that makes a number larger by at least `by` (smaller when negative), stepping on by the grid."""
    if now is None:
        return ()
    step = math.copysign(grid, by)
    to = up(now + by, grid) if by > 0 else -up(-now - by, grid)
    return (Move(text, (Edit(path, to, step),)),)


def in_block(frame: Frame, origin: Vector) -> tuple[float, float, float]:
    """Place of a stand in its block's own axes, and -1 for a mirrored block whose y runs the other way."""
    away = tuple(a - b for a, b in zip(origin, frame.origin, strict=True))
    x = sum(a * b for a, b in zip(away, frame.x, strict=True))
    y = sum(a * b for a, b in zip(away, frame.y, strict=True))
    return x, abs(y), math.copysign(1.0, y)


def own_way(frame: Frame, side: float, way: Vector) -> tuple[float, float]:
    """A direction in boat axes as unit steps in the block's own plan; (0, 0) for a vertical one."""
    x = sum(a * b for a, b in zip(way, frame.x, strict=True))
    y = side * sum(a * b for a, b in zip(way, frame.y, strict=True))
    size = math.hypot(x, y)
    return (x / size, y / size) if size > 1e-9 else (0.0, 0.0)


def shifts(spot: Spot, way: Vector, by: float) -> tuple[Move, ...]:
    """Moves that carry a seat or chock along a direction in boat axes by at least `by` [mm].

    In its block; in a block grown to take it; with its whole block.
    """
    block = spot.block
    size = value_at(spot.spec, (*spot.cradle_path, "block"))
    if block is None or size is None:
        return ()
    x, y, side = in_block(block.frame, spot.stand.frame.origin)
    at = spot.value("at") or (round(x, 3), round(y, 3))
    step = own_way(block.frame, side, way)
    if step == (0.0, 0.0):
        return ()
    name = str(spot.path[-1])
    to = tuple(_further(a, s * by) for a, s in zip(at, step, strict=True))
    edit = Edit((*spot.path, "at"), to)
    longer = tuple(s + max(_further(0.0, d * by), 0.0) for s, d in zip(size[:2], step, strict=True))
    moves = [Move(f"move {name} to {{to}}", (edit,))]
    if longer != tuple(size[:2]):
        grow = Edit((*spot.cradle_path, "block"), (*longer, size[2]))
        moves.append(Move(f"move {name} to {{to}} in a larger block", (edit, grow)))
    return (*moves, *_block_shift(spot, block, side, way, by))


def _block_shift(spot: Spot, block: Body, side: float, way: Vector, by: float) -> tuple[Move, ...]:
    if side < 0:  # a mirrored twin follows the block that is drawn
        return ()
    flat = math.hypot(way[0], way[1])
    x, y, _ = block.frame.origin
    to = (_further(x, way[0] / flat * by), _further(y, way[1] / flat * by))
    return (Move(f"move the {spot.cradle_path[-1]} to {{to}}", (Edit((*spot.cradle_path, "at"), to),)),)


def _further(at: float, by: float) -> float:
    """A coordinate moved by a hair more than `by`, rounded away to the grid; untouched when it does not move."""
    if abs(by) < 1e-9:
        return round(at, 3)
    return up(at + by + HAIR) if by > 0 else -up(-at - by + HAIR)
