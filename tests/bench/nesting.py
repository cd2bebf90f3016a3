"""How full sheets get, and how long it takes. Run by hand:

    python tests/bench/nesting.py                      panels and discs, 10, 100 and 1000 of them
    python tests/bench/nesting.py --instances FOLDER   published strip instances, beside the published record

FOLDER holds one JSON an instance (strip_height; items with quantity, angles_deg, outline) and records.json
(per instance, published_best_pct). Nothing of it is part of the project.
"""

import argparse
import json
import math
import random
import time
from pathlib import Path

import shapely

from moldplan.cut.loop import area, length
from moldplan.cut.nest import _ask, layout
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.cut.room import offcut
from moldplan.spec.model import Cutter, Stock


def piece(number, loop):
    outline = Outline(outer=loop)
    return Piece(id=f"P{number}", body=f"b{number}", part="p", path=(), stock="board", thickness=18, outline=outline,
                 cut=outline, area=area(loop), outline_length=length(loop))


def panels(count, seed=1):
    """Ribs with an arc, discs, sides and L's, as a boat's lockers have them."""
    draw = random.Random(seed)
    for number in range(1, count + 1):
        w, h = draw.uniform(120, 600), draw.uniform(80, 320)
        kind = number % 4
        if kind == 0:
            loop = Loop(circle=(0.0, 0.0, h / 2 + 40))
        elif kind == 1:
            loop = Loop(((0, 0, 0), (w, 0, 0), (w, h, 0), (0.8 * w, h, -0.4), (0.2 * w, h, 0), (0, h, 0)))
        elif kind == 2:
            loop = Loop(((0, 0, 0), (w, 0, 0), (w, h, 0), (0, h, 0)))
        else:
            t = 0.35 * h
            loop = Loop(((0, 0, 0), (w, 0, 0), (w, t, 0), (t, t, 0), (t, h, 0), (0, h, 0)))
        yield piece(number, loop)


def sets(seconds):
    stock = Stock(kind="plywood", thickness=18, size=(2440, 1220))
    cutter = Cutter(nest_seconds=seconds)
    print("pieces  seconds  sheets  lower bound  area used on all but the last  offcut on the last")
    for count in (10, 100, 1000):
        made = list(panels(count))
        start = time.perf_counter()
        done = layout(made, {"board": stock}, cutter, saved=None, say=lambda text: None)
        spent = time.perf_counter() - start
        full = done.sheets[:-1]
        used = sum(sheet.used for sheet in full) / len(full) if full else math.nan
        last = offcut(done.sheets[-1], {p.id: p for p in made}, cutter)
        bound = done.fewest["board"]["lower_bound"]
        counts = f"{count:6}  {spent:7.1f}  {len(done.sheets):6}  {bound:11}"
        print(f"{counts}  {used:29.1%}  {last[0]:.0f} x {last[1]:.0f} mm", flush=True)


def instances(folder, seconds):
    records = json.loads((folder / "records.json").read_text(encoding="utf-8"))
    print("instance   density here %   published best %")
    for path in sorted(folder.glob("*.json")):
        if path.stem == "records":
            continue
        data = json.loads(path.read_text())
        items = [{"id": str(n), "points": i["outline"], "count": i["quantity"], "turns": i["angles_deg"]}
                 for n, i in enumerate(data["items"])]
        job = {"height": data["strip_height"], "length": 0.0, "spacing": 0.0, "seconds": seconds, "seed": 1,
               "items": items}
        answer = _ask(job, seconds)
        whole = sum(shapely.Polygon(i["outline"]).area * i["quantity"] for i in data["items"])
        best = records["instances"].get(path.stem, {}).get("record_density_pct", math.nan)
        print(f"{path.stem:10} {100 * whole / answer['width'] / data['strip_height']:14.2f}   {best:16.2f}", flush=True)


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--instances", type=Path)
    asked.add_argument("--seconds", type=float, default=None)
    given = asked.parse_args()
    if given.instances:
        instances(given.instances, given.seconds or 60.0)
    else:
        sets(given.seconds or 5.0)
