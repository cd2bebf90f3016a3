"""How the boat lies when its drains are judged, from the spec.

In       Spec.
Out      the attitudes with what each demands, the box of heel and trim afloat, the waterline.
Not here which way is down (attitude.py), judging (fall_leg.py, pond.py, outlet.py).
"""

from __future__ import annotations

from dataclasses import dataclass

from moldplan.attitude import Attitude, AttitudeBox, Waterline
from moldplan.spec.model import Spec
from moldplan.spec.water import Demand


@dataclass(frozen=True)
class Lying:
    """One way the boat lies, and what is demanded of its drains then."""

    name: str
    attitude: Attitude
    demand: Demand


def lyings(spec: Spec) -> tuple[Lying, ...]:
    """At rest, where every open run must fall, then the attitudes the builder named."""
    named = spec.boat.attitudes if spec.boat else {}
    return (Lying("at rest", Attitude(heel=0.0, trim=0.0), "fall"),
            *(Lying(name, Attitude(heel=lie.heel, trim=lie.trim), lie.demand) for name, lie in named.items()))


def box_of(spec: Spec) -> AttitudeBox | None:
    """Heel and trim afloat; None when the spec gives none."""
    if spec.boat is None or spec.boat.box is None:
        return None
    return AttitudeBox(heel=spec.boat.box.heel, trim=spec.boat.box.trim)


def waterline_of(spec: Spec) -> Waterline | None:
    """The loaded waterline; None when the spec gives none."""
    if spec.boat is None or spec.boat.waterline is None:
        return None
    return Waterline(height=spec.boat.waterline.height, at_x=spec.boat.waterline.at_x)
