"""How full sheets get, and how long it takes. Run by hand:

    python tests/bench/nesting.py                      panels and discs, 10, 100 and 1000 of them
    python tests/bench/nesting.py --instances FOLDER   published strip instances, beside the published record
    python tests/bench/nesting.py --plans FOLDER       what built plans bought, and what is left

--seconds is the time a set, or an instance, may take; --seeds parts it between so many seeds of the strip solver, of
which --at-once run beside each other (each has a core to itself, and so much longer).
FOLDER of --instances holds one JSON an instance (strip_height; items with quantity, angles_deg, outline) and
records.json (per instance, published_best_pct). Nothing of it is part of the project.
"""

import argparse
import json
import math
import random
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import shapely

from moldplan.cut.loop import area, length
from moldplan.cut.nest import layout
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.cut.solver import ask
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
    print("pieces  seconds  our own CPU  sheets  lower bound  area used on all but the last  offcut on the last")
    for count in (10, 100, 1000):
        made = list(panels(count))
        start, before = time.perf_counter(), time.process_time()
        done = layout(made, {"board": stock}, cutter, saved=None, say=lambda text: None)
        spent, own = time.perf_counter() - start, time.process_time() - before
        full = done.sheets[:-1]
        used = f"{sum(sheet.used for sheet in full) / len(full):.1%}" if full else "-"
        last = done.sheets[-1].offcuts[0][2:] if done.sheets[-1].offcuts else (0.0, 0.0)
        bound = done.fewest["board"]["lower_bound"]
        counts = f"{count:6}  {spent:7.1f}  {own:11.1f}  {len(done.sheets):6}  {bound:11}"
        print(f"{counts}  {used:>29}  {last[0]:.0f} x {last[1]:.0f} mm", flush=True)


def instances(folder, seconds, seeds, at_once):
    records = json.loads((folder / "records.json").read_text(encoding="utf-8"))
    own = seconds * at_once / seeds
    print(f"{seconds:g} s an instance, {seeds} seed(s) of {own:g} s, {at_once} at once, 1 worker each")
    print("instance   density here %   each seed             published best %   short by")
    gaps = []
    for path in sorted(folder.glob("*.json")):
        if path.stem == "records":
            continue
        data = json.loads(path.read_text())
        items = [{"id": str(n), "points": i["outline"], "count": i["quantity"], "turns": i["angles_deg"]}
                 for n, i in enumerate(data["items"])]
        job = {"height": data["strip_height"], "length": 0.0, "spacing": 0.0, "seconds": own,
               "items": items}
        whole = sum(shapely.Polygon(i["outline"]).area * i["quantity"] for i in data["items"])
        with ThreadPoolExecutor(at_once) as pool:  # each asks a process of its own
            answers = pool.map(ask, [job | {"seed": n} for n in range(1, seeds + 1)], [own] * seeds)
            found = [100 * whole / answer["width"] / data["strip_height"] for answer in answers]
        best = records["instances"].get(path.stem, {}).get("record_density_pct", math.nan)
        gaps.append(best - max(found))
        each = " ".join(f"{d:.2f}" for d in found)
        print(f"{path.stem:10} {max(found):14.2f}   {each:20}  {best:16.2f}   {gaps[-1]:8.2f}", flush=True)
    print(f"mean gap {sum(gaps) / len(gaps):.2f} points")


def plans(folder):
    print("plan             stock      sheets  lower bound  used            largest offcut of the last")
    for path in sorted(folder.glob("*/plan.json")):
        plan = json.loads(path.read_text(encoding="utf-8"))
        for stock, counts in plan["fewest"].items():
            own = [sheet for sheet in plan["sheets"] if sheet["stock"] == stock]
            left = own[-1]["offcuts"]
            size = f"{left[0]['length']:.0f} x {left[0]['width']:.0f} mm" if left else "none worth keeping"
            used = " ".join(f"{sheet['used']:.0%}" for sheet in own)
            print(f"{path.parent.name:16} {stock:10} {counts['used']:6} {counts['lower_bound']:12}  {used:14}  {size}")


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--instances", type=Path)
    asked.add_argument("--plans", type=Path)
    asked.add_argument("--seeds", type=int, default=1)
    asked.add_argument("--at-once", type=int, default=1)
    asked.add_argument("--seconds", type=float, default=None)
    given = asked.parse_args()
    if given.instances:
        instances(given.instances, given.seconds or 60.0, given.seeds, given.at_once)
    elif given.plans:
        plans(given.plans)
    else:
        sets(given.seconds or 5.0)
