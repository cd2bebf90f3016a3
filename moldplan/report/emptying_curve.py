"""How a sole empties from its sill: level over its lowest rim against time, and with its worst drain blocked.

In       a finished plan, one Curve of it.
Out      emptying_curve(): one A4 sheet.
Not here the times (check/capacity.py), what they are held against (check/emptying_times.py).
"""

from __future__ import annotations

import math

from moldplan.check.capacity import Curve
from moldplan.check.emptying import Emptying
from moldplan.quantity import plain
from moldplan.report.drawing import Drawing, Mark, line, polyline
from moldplan.report.graph import Axes, area, sheet
from moldplan.report.subject import Plan

IN_SECONDS = {"s": 1.0, "min": 60.0}


def emptying_curve(plan: Plan, curve: Curve) -> Drawing:
    """The sheet of one sole at one attitude."""
    shut = max(curve.blocked, key=lambda name: curve.blocked[name].seconds, default=None)
    runs = [(curve.all_open, "wide"), *([(curve.blocked[shut], "hidden")] if shut is not None else [])]
    limits = _limits(plan, curve)
    last = max([float(run.times[-1]) for run, _ in runs] + limits) * 1.05 or 1.0
    top = max(float(run.levels[0]) for run, _ in runs) - curve.lowest
    least = min(0.0, *(float(min(run.levels)) - curve.lowest for run, _ in runs))
    low, high = area()
    axes = Axes(across=(0.0, last), upward=(least, top * 1.05), low=low, high=high)
    marks: list[Mark] = axes.marks("time [s]", "level over the lowest rim [mm]")
    for run, pen in runs:
        marks.append(polyline([axes(float(t), float(v) - curve.lowest)
                               for t, v in zip(run.times, run.levels, strict=True)], pen))  # type: ignore[arg-type]
    marks += [line(axes(each, axes.upward[0]), axes(each, axes.upward[1]), "axis") for each in limits]
    keys = [("wide", f"all drains open: {_time(curve.all_open)}")]
    if shut is not None:
        keys.append(("hidden", f"{shut} blocked: {_time(curve.blocked[shut])}"))
    keys += [("axis", f"limit {plain(each, 0)} s") for each in limits]
    said = [f"{curve.lying.capitalize()}: {plain(float(curve.all_open.litres[0]), 0)} L from the sill down.",
            f"Empty means {plain(curve.left, 0)} mm over the lowest rim."]
    if not limits:
        said.append("No limit of the rules in use gives a time here.")
    about = f"Level of the water on {curve.name} over time, {curve.lying}, with all drains open and one blocked."
    return sheet(plan, marks, part=curve.name, name=f"Emptying, {curve.lying}", said=said, about=about, keys=keys)


def _time(run: Emptying) -> str:
    return f"{plain(run.seconds, 0)} s" if math.isfinite(run.seconds) else f"never, {run.why}"


def _limits(plan: Plan, curve: Curve) -> list[float]:
    """The times that findings hold this sole to [s], each once, the shortest first."""
    found = {f.limit * IN_SECONDS[f.unit] for f in plan.findings
             if f.check == "emptying" and f.part == curve.name and isinstance(f.limit, (int, float))
             and f.unit in IN_SECONDS}
    return sorted(found)
