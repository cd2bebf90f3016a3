"""A layout as text and back, so that a plan built again keeps its sheets.

In       a Layout, or the text of a layout.json.
Out      the text, or the Layout; None for a text that is none of ours.
Not here the disk (plan.py), whether it still holds (room.py).
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from moldplan.cut.piece import Layout, Loop, Piece, Placed, Sheet
from moldplan.material.sheet import bought, on_hand
from moldplan.material.stock import Stock
from moldplan.spec.model import Cutter

FORM = 5  # counts up when a layout made before must not be used again
COUNTS = ("used", "lower_bound", "on_hand")  # what Layout.fewest says of a stock, in this order


def layout_key(pieces: Sequence[Piece], stocks: Mapping[str, Stock], cutter: Cutter) -> str:
    """A hash of all that a layout depends on: outlines, quantities, grain, sheets with their prices and defects, the
    cutter's fields that place pieces."""
    names = sorted({piece.stock for piece in pieces})
    inputs = {
        "form": FORM,
        "pieces": [[p.id, p.stock, p.quantity, p.grain, p.mirrored, _rounded(asdict(p.cut))] for p in pieces],
        "sheets": {name: [_rounded([asdict(b) for b in (*on_hand(stocks[name]), *bought(stocks[name]))]),
                          stocks[name].grain] for name in names},
        "cutter": [cutter.spacing, cutter.edge_margin, cutter.nest_seconds, cutter.in_openings, cutter.diameter,
                   *(cutter.bed or ())],
    }
    return hashlib.sha256(json.dumps(inputs, sort_keys=True).encode()).hexdigest()


def _rounded(value: Any) -> Any:
    """Numbers to 1e-4 mm: the kernel's last digits are not the same on every machine."""
    if isinstance(value, float):
        return round(value, 4) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(inner) for key, inner in value.items()}
    return [_rounded(inner) for inner in value] if isinstance(value, list | tuple) else value


def as_text(layout: Layout) -> str:
    """The layout as JSON."""
    return json.dumps(asdict(layout), indent=1, sort_keys=True) + "\n"


def from_text(text: str) -> Layout | None:
    """The layout of a text made by as_text(); None when it is not one."""
    try:
        data = json.loads(text)
        sheets = tuple(
            Sheet(
                stock=str(s["stock"]),
                number=int(s["number"]),
                size=(_number(s["size"][0]), _number(s["size"][1])),
                placed=tuple(_placed(p) for p in s["placed"]),
                used=_number(s["used"]),
                file=str(s["file"]),
                edge=_loop(s["edge"]) if s["edge"] is not None else None,
                defects=tuple(_loop(d) for d in s["defects"]),
                rack=str(s["rack"]),
                offcuts=tuple(_four(o) for o in s["offcuts"]),
            )
            for s in data["sheets"]
        )
        fewest = {str(k): {n: int(counts[n]) for n in COUNTS if n in counts} for k, counts in data["fewest"].items()}
        cautions, near = (tuple(map(str, data[name])) for name in ("cautions", "near"))
        return Layout(sheets=sheets, fewest=fewest, key=str(data["key"]), cautions=cautions, near=near)
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError):
        return None


def _placed(p: Mapping[str, Any]) -> Placed:
    return Placed(
        piece=str(p["piece"]), copy=int(p["copy"]), x=_number(p["x"]), y=_number(p["y"]), turn=_number(p["turn"]),
        mirrored=p["mirrored"] is True,
    )  # fmt: skip


def _loop(data: Mapping[str, Any]) -> Loop:
    circle = data["circle"]
    return Loop(
        vertices=tuple((_number(x), _number(y), _number(b)) for x, y, b in data["vertices"]),
        circle=None if circle is None else (_number(circle[0]), _number(circle[1]), _number(circle[2])),
    )


def _four(data: Sequence[Any]) -> tuple[float, float, float, float]:
    x, y, length, width = map(_number, data)
    return (x, y, length, width)


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ValueError(f"{value!r} is no size")
    return float(value)
