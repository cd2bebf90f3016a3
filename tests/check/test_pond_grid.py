"""Ponds against scikit-image's reconstruction by erosion, on ever finer grids of the same surface seen along up.

Volume on a height grid is the sum of depths along up times a cell's area across up. The grid sees the surface at the
middles of its cells only: its passes lie too high or too low by a share of a cell, so it nears the triangles' figure
in the first order of the cell's size.
"""

import numpy as np
import pytest
from skimage.morphology import reconstruction

from moldplan.attitude import ups
from moldplan.check.flood import flood
from moldplan.check.flood_surface import welded
from moldplan.check.pond import standing


def lumpy(seed):
    """A square of 480 with lumps of up to 10 every 40 and two square drain holes; and its lids' first triangle."""
    random = np.random.default_rng(seed)
    x = np.linspace(0.0, 480.0, 13)
    X, Y = np.meshgrid(x, x, indexing="ij")
    Z = random.uniform(-10, 10, X.shape)
    number = np.arange(X.size).reshape(X.shape)
    rims = {"port": number[2:4, 8:10], "starboard": number[8:10, 3:5]}
    for rim in rims.values():
        Z.ravel()[rim] = Z.ravel()[rim].min() - 3
    a, b, c, d = (v.ravel() for v in (number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]))
    triangles = np.vstack([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    hole = np.any([np.isin(triangles, rim).all(1) for rim in rims.values()], axis=0)
    surface = welded(np.stack([X, Y, Z], -1).reshape(-1, 3), triangles[~hole], drains=rims)
    return surface, int((~hole).sum())


def seen_along(surface, up, cell):
    """Heights along up at the middles of square cells across it, and the triangle seen there (-1: none)."""
    side = np.cross(up, (0.0, 1.0, 0.0))
    side /= np.linalg.norm(side)
    p = surface.vertices @ np.stack([side, np.cross(up, side), up]).T
    low = p.min(0)[:2] - cell / 3
    shape = np.ceil((p.max(0)[:2] - low) / cell).astype(int) + 1
    height, owner = np.full(shape, np.nan), np.full(shape, -1)
    for number, t in enumerate(surface.triangles):
        q = p[t]
        first = np.maximum(np.ceil((q.min(0)[:2] - low) / cell).astype(int), 0)
        last = np.floor((q.max(0)[:2] - low) / cell).astype(int) + 1
        i, j = np.arange(first[0], last[0]), np.arange(first[1], last[1])
        at = np.stack(np.meshgrid(low[0] + cell * i, low[1] + cell * j, indexing="ij"), -1) - q[0, :2]
        shares = at @ np.linalg.inv(np.stack([q[1, :2] - q[0, :2], q[2, :2] - q[0, :2]]))
        inside = (shares >= 0).all(-1) & (shares.sum(-1) <= 1)
        z = q[0, 2] + shares @ (q[1:, 2] - q[0, 2])
        height[first[0]:last[0], first[1]:last[1]][inside] = z[inside]
        owner[first[0]:last[0], first[1]:last[1]][inside] = number
    return height, owner


def by_erosion(surface, lids, up, cell):
    """Litres and greatest depth: everything floods from the lids' cells, at their own height."""
    height, owner = seen_along(surface, up, cell)
    top = np.nanmax(height) + 1
    mask = np.where(owner >= 0, height, top)
    level = reconstruction(np.where(owner >= lids, mask, top), mask, method="erosion")
    return (level - mask).sum() * cell**2 / 1e6, (level - mask).max()


@pytest.mark.parametrize(("seed", "heel", "trim"), [(1, 0.0, 0.0), (2, -7.0, 3.0), (3, 12.0, -4.0)])
def test_a_finer_grid_comes_nearer(seed, heel, trim):
    surface, lids = lumpy(seed)
    up = ups(heel, trim)
    assert (surface.areas @ up[0] > 0).all()  # a grid sees one height a cell: nothing may overhang
    found = standing(flood(surface, up))
    for cell in (6.0, 3.0, 1.5, 0.75):  # measured: never over 2 % a mm, mostly low; 0.5 % at 0.375 mm
        litres, depth = by_erosion(surface, lids, up[0], cell)
        assert litres == pytest.approx(found.litres[0], rel=0.025 * cell)
        assert depth == pytest.approx(found.depth[0], abs=0.6 * cell)  # the lumps' slopes: up to 20 in 40
