"""Water into a drain: over its rim as over a weir, then through it as through an orifice, then what its pipe takes.

In       heads [mm of water over the rim or sill], bores and widths [mm], discharge coefficients from the handbook.
Out      flows [L/s], Through (a flow and what holds it back), the head a flow needs.
Not here pipes (flow_pipe.py), emptying (emptying.py), which drain serves what (pond.py).

Sharp edges are good to +-5 %, molded fittings to +-15 %. The lesser of weir and orifice is taken, as highway manuals
do for grates. EN 12056-3's own forms are remembered only: shown beside, never judged by; the weir form here gives up to
some 30 % more than they do, since a round hole makes a whirl.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from moldplan.check.flow import FlowError, G
from moldplan.check.flow_pipe import UNVENTED, Pipe, full_bore
from moldplan.handbook.lookup import table

SHARP_SHARE, MOLDED_SHARE = 0.05, 0.15
By = Literal["weir", "orifice", "pipe", "no air", "dry"]


def weir_flow(*, head: float, length: float, coefficient: float | None = None) -> float:
    """Flow [L/s] over a level rim or sill: C L h^1.5 (m, s), C from the handbook's level crest unless given.

    `head` [mm] over it, `length` [mm] of edge, C [m^0.5/s]. Critical depth over a crest, no loss; +-15 %.
    """
    crest = table("losses").number("broad crest", "weir discharge", unit="m^(1/2)/s")
    given = crest if coefficient is None else coefficient
    _sizes(head=head, size=length, coefficient=given, upto=2.0)
    return 1000 * given * length / 1000 * (head / 1000) ** 1.5


def orifice_flow(*, head: float, bore: float, coefficient: float | None = None) -> float:
    """Flow [L/s] through a round hole: Cd a sqrt(2 g h), Cd of a sharp edge unless given.

    `head` [mm] over its middle, `bore` [mm]. +-5 % sharp, +-15 % molded.
    """
    given = table("losses").number("sharp", "discharge", unit="m2/m2") if coefficient is None else coefficient
    _sizes(head=head, size=bore, coefficient=given, upto=1.0)
    return 1000 * given * math.pi / 4 * (bore / 1000) ** 2 * math.sqrt(2 * G * head / 1000)


def scupper_flow(*, head: float, width: float, height: float, coefficient: float | None = None) -> float:
    """Flow [L/s] out through an upright opening, its sill flush with the deck, into the free air.

    A weir until `head` [mm over the sill] reaches its top, then the tall orifice
    2/3 Cd b sqrt(2g) (h^1.5 - (h - top)^1.5), which it becomes without a step. Cd of a sharp edge unless given.
    """
    given = table("losses").number("sharp", "discharge", unit="m2/m2") if coefficient is None else coefficient
    _sizes(head=head, size=width, coefficient=given, upto=1.0)
    if not 0 < height < math.inf:
        raise FlowError(f"a scupper {height:g} mm high")
    above = max(head - height, 0.0)
    deep = (head / 1000) ** 1.5 - (above / 1000) ** 1.5
    return 1000 * 2 / 3 * given * width / 1000 * math.sqrt(2 * G) * deep


@dataclass(frozen=True)
class Through:
    """A drain's flow [L/s] and what holds it back."""

    flow: float
    by: By


@dataclass(frozen=True, kw_only=True)
class Drain:
    """A round drain in a floor: bore of its rim [mm], its edge (a name of the handbook's discharges), its pipe.

    `suction`: the pipe is known to run full, so that its drop pulls at the entry too; left out, the entry has only the
    water over it, which is what a whirl of air makes of most drains.
    """

    bore: float
    edge: str = "sharp"
    pipe: Pipe | None = None
    vented: bool = True
    suction: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.bore < math.inf:
            raise FlowError(f"a drain of {self.bore:g} mm")
        if self.pipe is not None and self.pipe.bore > self.bore * (1 + 1e-9) and self.suction:
            raise FlowError(f"a pipe of {self.pipe.bore:g} mm cannot run full below a drain of {self.bore:g} mm")

    def through(self, head: float, *, drowned: float = 0.0) -> Through:
        """What runs under `head` [mm] over the rim; the sea `drowned` [mm] over the outlet holds the pipe back."""
        if not self.vented:
            return Through(0.0, "no air")
        if head <= 0:
            return Through(0.0, "dry")
        coefficient = table("losses").number(self.edge, "discharge", unit="m2/m2")
        ways: list[tuple[float, By]] = [(weir_flow(head=head, length=math.pi * self.bore), "weir")]
        if not self.suction or self.pipe is None:
            ways.append((orifice_flow(head=head, bore=self.bore, coefficient=coefficient), "orifice"))
        if self.pipe is not None:
            ways.append((full_bore(self.pipe, over=head, vented=True, drowned=drowned).flow, "pipe"))
        return Through(*min(ways))

    def flow(self, head: float) -> float:
        """The same as a plain number [L/s], its outlet free: what emptying asks for."""
        return self.through(head).flow

    @property
    def why_none(self) -> str | None:
        """Why nothing ever runs; None when it can."""
        return None if self.vented else UNVENTED

    def head_for(self, flow: float, *, deepest: float = 1000.0) -> float:
        """The head [mm] over the rim at which it takes a flow [L/s]: how deep water stands at a gutter's drain.

        FlowError when it does not take that at the `deepest` [mm].
        """
        from scipy.optimize import brentq

        if not 0 <= flow < math.inf:
            raise FlowError(f"a flow of {flow:g} L/s")
        if flow == 0:
            return 0.0
        most = self.flow(deepest)
        if flow > most:
            raise FlowError(f"a drain of {self.bore:g} mm takes {most:.3g} L/s under {deepest:g} mm of water, "
                            f"not {flow:g}")
        return float(brentq(lambda head: self.flow(head) - flow, 0.0, deepest, xtol=1e-9))


def remembered_outlet(*, head: float, bore: float) -> Through:
    """A gutter outlet's flow as EN 12056-3 is remembered: never a verdict, only shown. `head` and `bore` [mm]."""
    _sizes(head=head, size=bore, coefficient=1.0, upto=1.0)
    book = table("losses")
    if head <= bore / 2:
        return Through(bore * head**1.5 / book.number("en 12056-3", "weir divisor", unit="mm^2.5 s/L"), "weir")
    return Through(bore**2 * head**0.5 / book.number("en 12056-3", "orifice divisor", unit="mm^2.5 s/L"), "orifice")


def remembered_gutter(area: float, *, half: bool, shape: float = 1.0) -> float:
    """Flow [L/s] to design a nominally level eaves gutter for, as EN 12056-3 is remembered: never a verdict.

    `area` [mm2] of its section; `half`: half-round, else rectangular or trapezoidal with `shape` = Fd x Fs.
    """
    if not (0 < area < math.inf and 0 < shape <= 1):
        raise FlowError(f"a gutter of {area:g} mm2 with factors {shape:g}")
    book = table("losses")
    factor = book.number("en 12056-3", "half round factor" if half else "rectangular factor", unit="L/(s mm^2.5)")
    share = book.number("en 12056-3", "design share", unit="L/L")
    return share * factor * area**1.25 * (1.0 if half else shape)


def _sizes(*, head: float, size: float, coefficient: float, upto: float) -> None:
    if not (0 <= head < math.inf and 0 < size < math.inf and 0 < coefficient <= upto):
        raise FlowError(f"a head of {head:g} mm on an edge or bore of {size:g} mm, coefficient {coefficient:g}")
