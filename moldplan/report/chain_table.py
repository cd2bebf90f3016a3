"""A fit chain as a table beside an enlarged view, each row tied by a leader to the layer it speaks of.

In       a chain, where the table stands, and a function that says where a step's layer is.
Out      chain_beside(): marks.
Not here the view (wall_detail.py, across.py).
"""

from __future__ import annotations

from collections.abc import Callable

from moldplan import quantity
from moldplan.report.annotate import Column, table
from moldplan.report.drawing import TEXT, Mark, Point, Text, circle, polyline
from moldplan.shape.chain import Chain, Step

Tip = Callable[[Step, float, float, float], Point | None]  # step, sum before, sum after, row's level on paper -> point


def chain_beside(chain: Chain, heading: str, first: str, *, left: float, top: float, right: float, tip: Tip
                 ) -> list[Mark]:  # fmt: skip
    """The table between `left` and `right`, down from `top`, with the leaders. `first`: heading of its first column."""
    columns = (Column(first, 40), Column("mm", 13, "end"), Column("±", 11, "end"), Column("sum", 16, "end"),
               Column("face", 10, "middle"))  # fmt: skip
    plain, rows = quantity.plain, []
    for step, total in zip(chain.steps, chain.running(), strict=True):
        tolerance = plain(step.tolerance) if step.tolerance else ""
        rows.append([step.name, plain(step.nominal), tolerance, plain(total), step.surface])
    rows.append(["sum", plain(chain.nominal), plain(chain.worst_case), plain(chain.nominal), ""])
    rows.append(["root of squares", "", plain(chain.root_sum_square), "", ""])
    marks, _ = table((left, top), right - left, heading, columns, rows, strong=[len(rows) - 2])
    found = list(marks)
    cells = [m for m in marks if isinstance(m, Text) and m.at[0] < left + 2 and m.anchor == "start"]
    before = 0.0
    for step, total in zip(chain.steps, chain.running(), strict=True):
        cell = next((c for c in cells if step.name.startswith(c.words) and not c.bold), None)
        if cell is not None and step.nominal > 1e-9:
            level = cell.at[1] + 0.27 * TEXT
            spot = tip(step, before, total, level)
            if spot is not None:
                dark = step.name.endswith("skin")
                found.append(polyline([spot, (left - 4, level), (left - 0.5, level)]))
                found.append(circle(spot, 0.55, "none", "white" if dark else "black"))
        before = total
    return found
