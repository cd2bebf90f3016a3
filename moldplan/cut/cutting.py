"""From bodies to sheets in two steps: flatten, which is quick and always done, and lay_out, which takes time.

In       the assembly, the stocks, the cutter; the text of an earlier layout.json.
Out      Cutting (pieces and what is found on them), Laid (the layout and what is found on it).
Not here how any of it is done (outline.py, seating.py, bridges.py, nest.py), the disk.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from moldplan.cut.bridges import bridged
from moldplan.cut.judge import judged_layout, judged_pieces
from moldplan.cut.judge_bridges import judged_bridges, judged_waste
from moldplan.cut.judge_stages import judged_stages
from moldplan.cut.nest import layout
from moldplan.cut.outline import pieces
from moldplan.cut.piece import Layout, Piece
from moldplan.cut.saved import from_text
from moldplan.cut.seating import opened
from moldplan.cut.stages import in_stages
from moldplan.cut.touching import Touching
from moldplan.finding import Finding, Source
from moldplan.material.stock import Stock
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter


@dataclass(frozen=True)
class Laid:
    """The sheets, None when they were left out; findings and cautions on them."""

    layout: Layout | None
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Cutting:
    """All pieces to cut, and the findings that need no sheets."""

    pieces: tuple[Piece, ...]
    findings: tuple[Finding, ...] = ()

    def left_out(self) -> Laid:
        """The sheets not judged, and why."""
        if not self.pieces:
            return Laid(None)
        skipped = Finding(
            check="sheets", part="all sheets", what="sheets laid out", measured=None, limit=None, sense="at_most",
            unit="sheets", source=Source(document="geometry", how_read="maths"), path=("cutter",),
            skipped="the layout on sheets takes time and was left out; build makes it",
        )  # fmt: skip
        return Laid(None, (skipped,))


def flatten(assembly: Assembly, stocks: Mapping[str, Stock], cutter: Cutter) -> Cutting:
    """The pieces of an assembly, judged by themselves.

    Raises SpecFault for a piece larger than every sheet of its stock, GeometryError for a body that is not flat.
    """
    touching = Touching(assembly)
    found = bridged(opened(pieces(assembly, stocks, cutter), touching, cutter), touching, stocks, cutter)
    return Cutting(found, (*judged_pieces(found, cutter), *judged_bridges(found, assembly, cutter)))


def lay_out(
    cutting: Cutting, stocks: Mapping[str, Stock], cutter: Cutter, *, saved: str | None, say: Callable[[str], None]
) -> Laid:
    """The pieces on sheets, judged. `saved`: the text of an earlier layout, used again where it still holds."""
    earlier = from_text(saved) if saved is not None else None
    made = in_stages(layout(cutting.pieces, stocks, cutter, saved=earlier, say=say), cutting.pieces, cutter)
    found = (*judged_layout(made, cutting.pieces, cutter), *judged_waste(made, cutting.pieces, cutter),
             *judged_stages(made, cutting.pieces, cutter, stocks))  # fmt: skip
    return Laid(made, found, (*made.cautions, *made.near))
