"""All drawings of a plan, by part, and the files they go into.

In       a finished plan.
Out      by_part(): sheets by part; write(): drawings.pdf with all of them and one SVG a sheet in drawings/.
Not here what each shows (section.py and its neighbours).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from moldplan.report import (
    across,
    emptying_curve,
    frame_section,
    hose_profile,
    mold_view,
    plan_view,
    section,
    sole_view,
    water_map,
)
from moldplan.report.drawing import Drawing
from moldplan.report.ink import pdf, svg
from moldplan.report.solids import file_names
from moldplan.report.subject import Plan


def by_part(plan: Plan) -> dict[str, tuple[Drawing, ...]]:
    """The sheets of each cradle, stand, sole and hatch, then of water; a mirrored twin is not drawn again."""
    found: dict[str, tuple[Drawing, ...]] = {}
    seen: set[tuple[str | int, ...]] = set()
    for stand in plan.assembly.stands:
        cradle = str(stand.path[1])
        if cradle not in found:
            found[cradle] = (plan_view.cradle(plan, cradle),)
        if stand.path in seen:
            continue
        seen.add(stand.path)
        found[stand.name] = section.seat(plan, stand) if stand.kind == "seat" else across.chock(plan, stand)
    for sole in plan.assembly.soles:
        found[sole.name] = (sole_view.sole(plan, sole),)
    for hatch in plan.assembly.hatches:
        found[hatch.name] = (*frame_section.hatch(plan, hatch), mold_view.mold(plan, hatch))
    for part, sheet in _water(plan):
        found[part] = (*found.get(part, ()), sheet)
    return found


def _water(plan: Plan) -> Iterator[tuple[str, Drawing]]:
    """Sheets of water by part; a plan that was only checked has none."""
    water = plan.water
    if water is None:
        return
    for hose in water.hoses:
        yield hose.drain.space, hose_profile.profile(plan, hose)
    for seen in water.maps:
        if min(len(seen.open.heels), len(seen.open.trims)) > 1:  # else there is nothing to map
            yield seen.basin.space.name, water_map.water_map(plan, seen)
    for curve in water.curves:
        yield curve.name, emptying_curve.emptying_curve(plan, curve)


def write(plan: Plan, folder: Path, drawn: Mapping[str, Sequence[Drawing]]) -> None:
    """drawings.pdf and drawings/<part>-<n>.svg into `folder`; nothing when there is nothing drawn."""
    sheets = [sheet for ones in drawn.values() for sheet in ones]
    if not sheets:
        return
    pdf(sheets, folder / "drawings.pdf", title=plan.spec.title)
    place = folder / "drawings"
    place.mkdir(parents=True, exist_ok=True)
    names = file_names(drawn)
    for part, ones in drawn.items():
        for number, sheet in enumerate(ones, 1):
            (place / f"{names[part]}-{number}.svg").write_text(svg(sheet), encoding="utf-8")
