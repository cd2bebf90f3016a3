"""Water down a drain pipe that runs full: what entry, bends, friction and exit leave of its head.

In       a Pipe (bore, length, bends, fall), water over its entry [mm], whether air can follow the water.
Out      PipeFlow: flow [L/s], speed, what each part cost; FlowError outside the range.
Not here whether the pipe falls all along and holds no pocket (fall_leg.py), the way into it (flow_drain.py).

Friction and the losses of bends come from the fluids library (Colebrook's relation, rounded bends by radius and
angle). Losses in fittings so small are good to some +-15 %. A space that is shut and has no vent lets no water out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from moldplan.check.flow import VISCOSITY, FlowError, G
from moldplan.handbook.lookup import table

PIPE_SHARE = 0.15  # how far the flow may be off, as a share: moldings, tails, clips
LEAST_BORE, LARGEST_BORE = 6.0, 200.0  # mm
TIGHTEST = 0.5  # bores: radius of the middle line of the tightest bend
UNVENTED = "no way in for air: what runs out must be followed by air, or it stops"


@dataclass(frozen=True)
class Bend:
    """A rounded bend of a pipe: by how much it turns [deg], radius of its middle line [mm]."""

    angle: float
    radius: float


@dataclass(frozen=True, kw_only=True)
class Pipe:
    """A drain's pipe: bore, length along it, `drop` from its entry down to its outlet [mm].

    `entry`: square, projecting, chamfered or rounded. `bends`; `fittings`: velocity heads lost in anything else, each
    with its number. `roughness` [mm]: height of the wall's roughness. FlowError for sizes that cannot be.
    """

    bore: float
    length: float
    drop: float
    entry: str = "square"
    bends: tuple[Bend, ...] = ()
    fittings: tuple[float, ...] = ()
    roughness: float = 0.0

    def __post_init__(self) -> None:
        if not LEAST_BORE <= self.bore <= LARGEST_BORE:
            raise FlowError(f"a pipe of {self.bore:g} mm bore, outside {LEAST_BORE:g} to {LARGEST_BORE:g} mm")
        if not (0 <= self.length < math.inf and math.isfinite(self.drop) and abs(self.drop) <= self.length + 1e-6):
            raise FlowError(f"a pipe {self.length:g} mm long that drops {self.drop:g} mm")
        if not 0 <= self.roughness <= self.bore / 20:
            raise FlowError(f"a wall {self.roughness:g} mm rough in a bore of {self.bore:g} mm, more than a twentieth")
        for bend in self.bends:
            if not (0 < bend.angle <= 180 and TIGHTEST * self.bore <= bend.radius < math.inf):
                raise FlowError(f"a bend of {bend.angle:g} deg round {bend.radius:g} mm in a pipe of {self.bore:g} mm")
        if not all(0 <= loss < math.inf for loss in self.fittings):
            raise FlowError("a fitting that loses less than nothing")

    @property
    def area(self) -> float:
        """Area of its bore [mm2]."""
        return math.pi / 4 * self.bore**2


@dataclass(frozen=True, kw_only=True)
class PipeFlow:
    """A pipe's flow [L/s] and speed [m/s] under a `head` [mm], and the velocity heads each part costs.

    `friction` is Darcy's factor; `lost` sums to head over velocity head. `why`: why nothing runs, None when it does.
    """

    flow: float
    speed: float
    head: float
    friction: float = 0.0
    reynolds: float = 0.0
    lost: dict[str, float] = field(default_factory=dict)
    why: str | None = None

    @property
    def low(self) -> float:
        """The flow [L/s] that can be counted on."""
        return self.flow * (1 - PIPE_SHARE)

    @property
    def discharge(self) -> float:
        """The flow over that of the whole bore at the head's own speed; 0 when nothing runs."""
        return self.speed / math.sqrt(2 * G * self.head / 1000) if self.head > 0 and self.why is None else 0.0


def full_bore(pipe: Pipe, *, over: float, vented: bool, drowned: float = 0.0) -> PipeFlow:
    """Flow of a pipe that runs full under `over` [mm] of water on its entry.

    `drowned` [mm]: the sea's level over the outlet, 0 or less when that is free. `vented`: whether air can follow.
    Energy: head = speed^2 / 2g x (exit + entry + bends + fittings + f L/D), solved for the speed.
    """
    from scipy.optimize import brentq

    if not (0 <= over < math.inf and math.isfinite(drowned)):
        raise FlowError(f"{over:g} mm of water over a pipe whose outlet lies {drowned:g} mm deep")
    head = over + pipe.drop - max(drowned, 0.0)
    if not vented:
        return PipeFlow(flow=0.0, speed=0.0, head=head, why=UNVENTED)
    if head <= 0:
        return PipeFlow(flow=0.0, speed=0.0, head=head, why="the outlet, or the sea over it, is as high as the water")

    def short(speed: float) -> float:
        return head / 1000 - speed**2 / (2 * G) * sum(losses(pipe, speed=speed).values())

    free = math.sqrt(2 * G * head / 1000)
    speed = float(brentq(short, 1e-6 * free, free, xtol=1e-12))
    return PipeFlow(flow=speed * pipe.area / 1000, speed=speed, head=head, friction=friction(pipe, speed=speed),
                    reynolds=_reynolds(pipe, speed), lost=losses(pipe, speed=speed))


def losses(pipe: Pipe, *, speed: float) -> dict[str, float]:
    """Velocity heads that each part costs at a speed [m/s]: exit, entry, bends, fittings, friction."""
    from fluids.fittings import bend_rounded

    book = table("losses")
    factor = friction(pipe, speed=speed)
    bends = sum(bend_rounded(Di=pipe.bore / 1000, angle=bend.angle, fd=factor, rc=bend.radius / 1000)
                for bend in pipe.bends)
    return {"exit": book.number("exit", "exit loss", unit="J/J"),
            "entry": book.number(pipe.entry, "entry loss", unit="J/J"), "bends": float(bends),
            "fittings": sum(pipe.fittings), "friction": factor * pipe.length / pipe.bore}


def friction(pipe: Pipe, *, speed: float) -> float:
    """Darcy's friction factor at a speed [m/s], laminar and turbulent, by the fluids library."""
    from fluids.friction import friction_factor

    return float(friction_factor(Re=_reynolds(pipe, speed), eD=pipe.roughness / pipe.bore))


def just_full(*, bore: float, slope: float, roughness: float) -> float:
    """Flow [L/s] of a sloping round pipe just full and open to the air, by Manning; +-20 %."""
    from moldplan.check.flow import manning_flow

    if not LEAST_BORE <= bore <= LARGEST_BORE:
        raise FlowError(f"a pipe of {bore:g} mm bore, outside {LEAST_BORE:g} to {LARGEST_BORE:g} mm")
    return manning_flow(area=math.pi / 4 * bore**2, perimeter=math.pi * bore, slope=slope, roughness=roughness)


def _reynolds(pipe: Pipe, speed: float) -> float:
    return speed * pipe.bore / 1000 / VISCOSITY
