"""What the report reads of a finished plan, and how it names things.

In       nothing.
Out      Plan and Choice, the shapes report/ asks for (plan.py fills them; report/ never imports it); words for sizes.
Not here making any of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from moldplan import quantity
from moldplan.check.seen_water import WaterSeen
from moldplan.cut.piece import Layout, Piece
from moldplan.finding import Finding
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body
from moldplan.shape.chain import Chain
from moldplan.spec.model import Spec


class Choice(Protocol):
    """A field the builder left open: what was chosen and why."""

    @property
    def field(self) -> str: ...
    @property
    def value(self) -> Any: ...
    @property
    def why(self) -> str: ...


class Plan(Protocol):
    """A finished plan. `fits`: rows {stand, cylinder, fits, tightest [mm], where}; `answer`: one sentence."""

    @property
    def spec(self) -> Spec: ...
    @property
    def file(self) -> str: ...
    @property
    def sha256(self) -> str: ...
    @property
    def assembly(self) -> Assembly: ...
    @property
    def findings(self) -> tuple[Finding, ...]: ...
    @property
    def chains(self) -> tuple[Chain, ...]: ...
    @property
    def pieces(self) -> tuple[Piece, ...]: ...
    @property
    def layout(self) -> Layout | None: ...
    @property
    def choices(self) -> tuple[Choice, ...]: ...
    @property
    def cautions(self) -> tuple[str, ...]: ...
    @property
    def fits(self) -> tuple[Mapping[str, Any], ...]: ...
    @property
    def water(self) -> WaterSeen | None: ...
    @property
    def answer(self) -> str: ...


def size(plan: Plan, mm: float, digits: int = 1) -> str:
    """A size on a drawing: mm without the unit, inches beside it where the spec asks: "275 (10 13/16 in)"."""
    inches = f" ({quantity.in_inches(mm)})" if plan.spec.units == "inch" else ""
    return quantity.plain(mm, digits) + inches


def material_of(plan: Plan, body: Body) -> str:
    """The hatch of a body where it is cut (a Material of drawing.py)."""
    by_kind = {"skin": "skin", "tube": "skin", "core plug": "plug", "liner": "rubber", "strap": "rubber", "eye": "skin"}
    if body.kind in by_kind:
        return by_kind[body.kind]
    stock = plan.spec.stock.get(body.stock or "")
    if body.kind == "surroundings" or body.kind in ("cylinder", "envelope"):
        return "plain"
    if stock is not None:
        return "foam" if "foam" in stock.kind else "board"
    return "foam" if body.kind in ("core", "part", "lift") else "board"


def hand_of(plan: Plan, stand: Stand) -> str | None:
    """The hand of the bodies a stand belongs to."""
    return plan.assembly.body(stand.hosts[0]).hand


def hand_word(plan: Plan, path: tuple[str | int, ...], hand: str | None) -> str:
    """The hand as the title block has it; of a mirrored pair only one is drawn, and it says so."""
    if hand is None:
        return "as drawn"
    twins = plan.spec.cradles[str(path[1])].hand == "both"
    return f"{hand}, {'starboard' if hand == 'port' else 'port'} mirrored" if twins else hand


def chains_of(plan: Plan, path: tuple[str | int, ...]) -> tuple[Chain, ...]:
    """The chains of one part of the spec; of a mirrored pair those of the first, which are the other's too."""
    found: dict[tuple[str, str], Chain] = {}
    for chain in plan.chains:
        if chain.path == path:
            found.setdefault((chain.measure, chain.at), chain)
    return tuple(found.values())


def one(chains: Sequence[Chain], measure: str, at: str) -> Chain | None:
    """The chain that measures so, at that place; None when there is none."""
    return next((c for c in chains if c.measure == measure and c.at == at), None)


def measure_word(chain: Chain) -> str:
    """What a chain measures, as a heading: "Across at the floor, per side"."""
    match chain.measure:
        case "per_side" if chain.at == "plan":
            return "Section sum, out from the clear opening"
        case "level":
            return "Section sum, down from the sole's surface"
        case "diameter":
            return f"Across at the {chain.at}, diameter"
        case "per_side":
            return f"Across at the {chain.at}, per side"
        case "depth":
            return "Down, rim to floor" if chain.at in ("floor", "rim") else f"Down, {chain.at}"


def chain_rows(plan: Plan, chain: Chain) -> list[list[str]]:
    """Rows of a chain's table: step, nominal, tolerance, running, surface, from; then the sums."""
    rows = []
    for step, total in zip(chain.steps, chain.running(), strict=True):
        tolerance = f"± {quantity.plain(step.tolerance)}" if step.tolerance else ""
        sums = quantity.plain(total)
        rows.append([step.name, quantity.plain(step.nominal), tolerance, sums, step.surface, step.origin])
    spread = f"± {quantity.plain(chain.worst_case)} worst case"
    rows.append(["sum", quantity.plain(chain.nominal), "", quantity.plain(chain.nominal), "",
                 f"{spread}, ± {quantity.plain(chain.root_sum_square)} root of squares"])  # fmt: skip
    return rows


CHAIN_HEADS = ("step", "nominal", "tolerance", "running", "face", "from")
