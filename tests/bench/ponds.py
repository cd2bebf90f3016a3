"""How long ponds and areas served take, and how that grows. Run by hand:

    python tests/bench/ponds.py                the sole below, 41 x 25 attitudes; growth; the ratio to a grid
    python tests/bench/ponds.py --grid 4       the grid's cells in mm (2)

The sole: 2 m x 2 m between sides 250 mm high, crowned, falling aft by 1:100, scuppers in both aft corners, two hatches
with a drafted gutter round each and a drain in two of its corners. The grid: scikit-image's reconstruction by erosion
of the same surface, seen along up, one attitude at a time. Seconds are the processor's unless it says otherwise.
"""

import argparse
import time

import numpy as np

from moldplan.attitude import ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import welded
from moldplan.check.pond import drain_map, each_blocked, ponds

HATCHES = ((-420.0, 0.0), (480.0, 0.0))  # middles
HALF, WIDE, DEEP, WALL = 260.0, 30.0, 25.0, 2.0  # mm: half the inner size, gutter's width, depth, its wall in plan


def lines(step, middles):
    """Grid lines along one axis: even ones, and those that the gutters' feet and rims need."""
    own = [m + s * d for m in middles for s in (-1, 1)
           for d in (HALF, HALF + WALL, HALF + WALL + WIDE / 3, HALF + WALL + 2 * WIDE / 3, HALF + WALL + WIDE,
                     HALF + 2 * WALL + WIDE)]
    even = [x for x in np.arange(-1000, 1000 + step / 2, step) if min(abs(x - o) for o in own) > step / 3]
    rims = [-1000.0, -992.0, 992.0, 1000.0, -960.0, -930.0, 960.0, 930.0]
    return np.unique(np.round([*own, *even, *rims], 6))


def sole(step=66.0):
    """The surface of the module's head, as a Surface, its even lines `step` mm apart."""
    x, y = lines(step, [m[0] for m in HATCHES]), lines(step, [0.0])
    X, Y = np.meshgrid(x, y, indexing="ij")
    Z = 0.01 * X - 8e-6 * Y**2
    for cx, cy in HATCHES:
        out = np.maximum(abs(X - cx), abs(Y - cy)) - HALF
        foot = np.clip(np.minimum(out, 2 * WALL + WIDE - out) / WALL, 0, 1)
        Z -= foot * (DEEP - 0.01 * (Y - cy))
    Z = np.where((abs(X) == 1000) | (abs(Y) == 1000), 250.0, Z)
    number = np.arange(X.size).reshape(X.shape)
    a, b, c, d = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    mx, my = (x[:-1] + x[1:])[:, None] / 2 + 0 * y[:-1], (y[:-1] + y[1:])[None] / 2 + 0 * x[:-1, None]
    keep, rims = np.ones(a.shape, bool), {}

    def hole(name, inside):
        keep[inside] = False
        rims[name] = np.unique(np.concatenate([v[inside] for v in (a, b, c, d)]))

    run = HALF + WALL + WIDE / 2
    for k, (cx, cy) in enumerate(HATCHES):
        for side, sy in (("port", 1), ("starboard", -1)):
            at = (abs(mx - cx + run) < WIDE / 6) & (abs(my - cy - sy * run) < WIDE / 6)
            hole(f"hatch {k + 1} {side}", at)
    for side, sy in (("port", 1), ("starboard", -1)):
        hole(f"scupper {side}", (mx > -960) & (mx < -930) & (sy * my > 930) & (sy * my < 960))
    cells = np.stack([v[keep] for v in (a, b, c, d)])
    net = np.vstack([cells[[0, 1, 2]].T, cells[[0, 2, 3]].T])
    return welded(np.stack([X, Y, Z], -1).reshape(-1, 3), net, drains=rims)


def seen_from_above(surface, up, cell):
    """Heights along up on a square grid of the triangles that face up, the topmost; NaN beside them."""
    side = np.cross(up, (0, 1, 0.0))
    side /= np.linalg.norm(side)
    turn = np.stack([side, np.cross(up, side), up])
    p = surface.vertices @ turn.T
    low = p.min(0)
    size = np.ceil((p.max(0) - low)[:2] / cell).astype(int) + 1
    grid = np.full(size, np.nan)
    for t in surface.triangles:
        (x1, y1, z1), (x2, y2, z2), (x3, y3, z3) = p[t] - (low[0], low[1], 0)
        det = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
        if det <= 0:
            continue
        i = np.arange(max(int(np.ceil(min(x1, x2, x3) / cell)), 0), int(max(x1, x2, x3) / cell) + 1)
        j = np.arange(max(int(np.ceil(min(y1, y2, y3) / cell)), 0), int(max(y1, y2, y3) / cell) + 1)
        dx, dy = i[:, None] * cell - x1, j[None] * cell - y1
        b, c = (dx * (y3 - y1) - dy * (x3 - x1)) / det, (dy * (x2 - x1) - dx * (y2 - y1)) / det
        z = z1 + b * (z2 - z1) + c * (z3 - z1)
        if not i.size or not j.size:
            continue
        part = grid[i[0]:i[-1] + 1, j[0]:j[-1] + 1]
        inside = (b >= -1e-9) & (c >= -1e-9) & (b + c <= 1 + 1e-9)
        part[inside] = np.fmax(part[inside], z[inside])
    return grid, p - (low[0], low[1], 0)


def by_grid(surface, up, cell):
    """Litres by scikit-image, and the seconds of its reconstruction alone."""
    from skimage.morphology import reconstruction

    heights, seen = seen_from_above(surface, up, cell)
    top = np.nanmax(heights) + 1
    mask = np.where(np.isnan(heights), top, heights)
    start = np.full(mask.shape, top)
    for group in range(len(surface.names)):
        i, j = np.round(seen[surface.group == group][:, :2] / cell).astype(int).T
        start[i, j] = mask[i, j]
    begin = time.process_time()
    level = reconstruction(start, mask, method="erosion")
    spent = time.process_time() - begin
    return (level - mask).sum() * cell**2 / 1e6, spent


def timed(work, rounds=3):
    """The least of some rounds' seconds (of one processor, all threads), and the last answer."""
    best = np.inf
    for _ in range(rounds):
        begin = time.process_time()
        answer = work()
        best = min(best, time.process_time() - begin)
    return best, answer


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--grid", type=float, default=2.0)
    cell = ask.parse_args().grid
    heels, trims, surface = np.linspace(-20, 20, 41), np.linspace(-6, 6, 25), sole()
    print(f"sole: {len(surface.vertices)} vertices, {len(surface.triangles)} triangles, {len(surface.names)} drains")
    begin = time.perf_counter()
    drain_map(surface, heels, trims)
    print(f"one drain map by the clock, on this machine as busy as it is: {time.perf_counter() - begin:.2f} s")
    spent, found = timed(lambda: drain_map(surface, heels, trims))
    print(f"41 x 25 attitudes, ponds and areas served: {spent:.2f} s; most {found.litres.max():.2f} L, "
          f"{found.depth.max():.1f} mm at {found.worst()}")
    spent_all, _ = timed(lambda: drain_map(surface, heels, trims, each_blocked(surface)), 1)
    print(f"the same with each of {len(surface.blockable)} drains blocked in turn besides: {spent_all:.2f} s")
    for heel, trim in ((-15.0, 3.0), (8.0, -2.0)):
        up = ups(heel, trim)[0]
        litres, grid = by_grid(surface, up, cell)
        ours = sum(p.litres for p in ponds(surface, up))
        print(f"heel {heel:g} trim {trim:g}: {ours:.4f} L; on a {cell:g} mm grid {litres:.4f} L, {grid:.2f} s, "
              f"{grid / (spent / 1025):.0f} times ours per attitude")
    print("attitudes  seconds")
    for n in (5, 11, 21, 41):
        print(f"{n * 25:9}  {timed(lambda n=n: drain_map(surface, np.linspace(-20, 20, n), trims))[0]:7.2f}")
    print("triangles  seconds for 205 attitudes   for one")
    for step in (100.0, 50.0, 25.0, 12.5):
        finer = sole(step)
        many = timed(lambda s=finer: drain_map(s, heels, trims[::5]), 1)[0]
        one = timed(lambda s=finer: flood(s, ups(5, 1)), 1)[0]
        print(f"{len(finer.triangles):9}  {many:26.2f}  {one:8.3f}")


if __name__ == "__main__":
    main()
