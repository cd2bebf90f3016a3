"""The process that runs the strip solver: reads one job, writes one layout, and may die without harm.

In       on standard input, JSON: height, length, spacing [mm], seconds, seed,
         items [{id, points, count, turns}].
Out      on standard output, JSON: width [mm], placed [{id, turn, x, y}].
Not here choosing what goes on which sheet (nest.py).

It is a process of its own because the solver can end its process on bad polygons, and because a process that has used
the solid kernel must not be forked. It stops as soon as the strip is no longer than `length`.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from typing import Any

POLL = 0.02  # how often the solver's progress is looked at [s]


def solve(job: dict[str, Any]) -> None:
    """Solves the job and prints the layout; ends the process when the strip is short enough."""
    import spyrrow

    items = [
        spyrrow.Item(item["id"], [tuple(p) for p in item["points"]], item["count"], item["turns"])
        for item in job["items"]
    ]
    instance = spyrrow.StripPackingInstance("", job["height"], items)
    seconds = max(1, round(job["seconds"]))
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds, min_items_separation=job["spacing"], num_workers=1, seed=job["seed"]
    )
    progress = spyrrow.ProgressQueue()
    done: list[Any] = []
    worker = threading.Thread(target=lambda: done.append(instance.solve(config, progress)), daemon=True)
    worker.start()
    best = None
    sound = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)
    until = time.monotonic() + job["seconds"]
    while worker.is_alive() and not (best is not None and best.width <= job["length"]):
        if time.monotonic() > until and best is not None:
            break
        time.sleep(POLL)
        for kind, found in progress.drain():
            if kind in sound and (best is None or found.width < best.width):
                best = found
    if done and (best is None or done[0].width < best.width):
        best = done[0]
    _say(best)


def _say(best: Any) -> None:
    if best is None:
        os._exit(1)
    placed = [
        {"id": p.id, "turn": p.rotation, "x": p.translation[0], "y": p.translation[1]} for p in best.placed_items
    ]
    sys.stdout.write(json.dumps({"width": best.width, "placed": placed}))
    sys.stdout.flush()
    os._exit(0)  # the solver's thread does not stop when asked


if __name__ == "__main__":
    solve(json.load(sys.stdin))
