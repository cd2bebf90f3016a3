"""Heavy gas that runs out of a locker's drain by its own weight: how fast, and how long a full locker takes.

In       gas, head [mm], bore [mm], whether air has a free way in.
Out      GasFlow [L/min] with its range, Outlet for emptying.py, seconds.
Not here where gas is trapped (pond.py, flood.py), densities (material/gas.py), limits.

Good to +-30 %: pure gas in a layer, no wind, no wall friction. Mixed with air it is lighter and slower, and at the
lower explosive limit it hardly runs at all; so this is never shown as a time after which a locker is safe.
"""

from __future__ import annotations

from dataclasses import dataclass

from moldplan.check.emptying import Outlet, Reservoir, empty
from moldplan.check.flow import FlowError
from moldplan.check.flow_pipe import UNVENTED
from moldplan.material.gas import gravity_outflow

GAS_SHARE = 0.30


@dataclass(frozen=True, kw_only=True)
class GasFlow:
    """Outflow of pure gas [L/min]; `why`: why none runs, None when it does."""

    flow: float
    why: str | None = None

    @property
    def low(self) -> float:
        """The flow [L/min] 30 % less."""
        return self.flow * (1 - GAS_SHARE)

    @property
    def high(self) -> float:
        """The flow [L/min] 30 % more."""
        return self.flow * (1 + GAS_SHARE)


def gas_outflow(gas: str, *, head: float, bore: float, vented: bool, discharge: float = 0.6) -> GasFlow:
    """Pure gas standing `head` [mm] over the outlet of a `bore` [mm], nothing at all without a free way in for air.

    v = sqrt(2 g h (rho - rho_air) / rho), times area and `discharge`. HandbookError for a gas no heavier than air.
    """
    flow = gravity_outflow(gas, head=head, bore=bore, discharge=discharge)
    return GasFlow(flow=flow) if vented else GasFlow(flow=0.0, why=UNVENTED)


def gas_outlet(name: str, gas: str, *, level: float, bore: float, drop: float = 0.0, discharge: float = 0.6) -> Outlet:
    """An outlet for emptying.py that lets out pure gas: `level` [mm] of its entry, `drop` [mm] on to its end."""
    if not drop >= 0:
        raise FlowError(f"a gas drain that drops {drop:g} mm")
    return Outlet(name=name, level=level, flow=lambda head: gravity_outflow(
        gas, head=head + drop, bore=bore, discharge=discharge) / 60)


def gas_emptying(basin: Reservoir, outlet: Outlet, *, vented: bool) -> tuple[float, float, str | None]:
    """Seconds, least and most, in which a space full of pure gas runs out; inf and why without a way in for air."""
    if not vented:
        return float("inf"), float("inf"), UNVENTED
    ran = empty(basin, (outlet,))
    return ran.seconds / (1 + GAS_SHARE), ran.seconds / (1 - GAS_SHARE), ran.why
