"""The best way off a tool: the direction towards which its steepest face still looks most.

In       outward unit normals of the molding faces, (n, 3), with the face each belongs to; or the faces themselves.
Out      Pull: the way, its draft, and where there is none the proof of it, the least bad way, and a parting.
Not here whether something blocks the way (undercut.py).

Largest s with n_i . d >= s and |d| <= 1: by duality s* is the length of the shortest vector in the convex hull of the
normals, and d* its direction. The shortest vector comes from non-negative least squares on the normals with a row of
ones (Lawson and Hanson 1974), which ends after finitely many steps with at most four normals in play.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldplan.errors import GeometryError
from moldplan.shape.body import Vector

if TYPE_CHECKING:
    import cadquery as cq
    import numpy as np

    Worth = Callable[[np.ndarray], np.ndarray]

NONE = 1e-9  # a hull whose shortest vector is shorter than this holds the origin
TRIES = 4000  # directions of the search for the least bad way
SEEDS = 24  # of them, followed up
OF_NORMALS = 500  # directions taken from the normals themselves, at most, and as many against them
CHUNK = 30_000_000  # numbers at a time: a tool of hundreds of thin discs has more than ten thousand normals


@dataclass(frozen=True, kw_only=True)
class Pull:
    """A way out and what it is worth.

    `draft` [deg] is the least asin(n . d) over the normals given. `exists`: some way leaves every face. When it is
    False, `certificate` is the proof: weights and normals whose sum vanishes, so that no direction has a positive
    product with all of them; `way` is then only the least bad that was found. `parting`: a direction along which a tool
    parted in two between its faces would let go, each half its own way, with the draft it would have [deg].
    """

    way: Vector
    draft: float
    exists: bool
    certificate: tuple[tuple[float, Vector], ...] = ()
    parting: tuple[Vector, float] | None = None


def best_pull(normals: Sequence[Vector] | np.ndarray, faces: Sequence[int] | np.ndarray | None = None) -> Pull:
    """The best direction for unit normals (n, 3); `faces` (n,) tells which normals lie on one face, which no parting
    can split. Raises GeometryError when there are no normals."""
    import numpy as np

    given = np.asarray(normals, float).reshape(-1, 3)
    if not len(given) or not np.isfinite(given).all():
        raise GeometryError("a pull needs at least one finite normal")
    owner = np.arange(len(given)) if faces is None else np.asarray(faces)
    given, owner = _each_once(given, owner)
    weights, shortest = _shortest(given)
    size = float(np.linalg.norm(shortest))
    if size > NONE:
        way = shortest / size
        return Pull(way=_vector(way), draft=_least(given, way), exists=True)
    proof = tuple((float(w), _vector(n)) for w, n in zip(weights, given, strict=True) if w > 0)
    least_bad = _search(given, lambda products: products.min(axis=-1))
    split = _parted(owner)
    parting = _search(given, split)
    apart = float(np.degrees(np.arcsin(np.clip(split((given @ parting)[None])[0], -1, 1))))
    return Pull(way=_vector(least_bad), draft=_least(given, least_bad), exists=False, certificate=proof,
                parting=(_vector(parting), apart) if apart > 0 else None)


def _each_once(normals: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Without faces that have the normals of another: a tool of a hundred thin discs asks no more than one disc."""
    import numpy as np

    seen: set[bytes] = set()
    kept = []
    for face in dict.fromkeys(faces.tolist()):
        own = np.flatnonzero(faces == face)
        key = np.unique(np.round(normals[own], 9) + 0.0, axis=0).tobytes()
        if key not in seen:
            seen.add(key)
            kept.append(own)
    order = np.sort(np.concatenate(kept))
    return normals[order], faces[order]


def _parted(faces: np.ndarray) -> Worth:
    """What a direction is worth to a tool parted in two: each face leaves whole, one way or the other."""
    import numpy as np

    order = np.argsort(faces, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(faces[order]) != 0])

    def worth(products: np.ndarray) -> np.ndarray:
        by_face = products[..., order]
        low = np.minimum.reduceat(by_face, starts, axis=-1)
        high = np.maximum.reduceat(by_face, starts, axis=-1)
        return np.maximum(low, -high).min(axis=-1)

    return worth


def _shortest(rods: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Weights (they sum to 1) and the shortest vector of the convex hull."""
    import numpy as np
    from scipy.optimize import nnls

    weights, _ = nnls(np.vstack([rods.T, np.ones(len(rods))]), np.array([0.0, 0.0, 0.0, 1.0]))
    weights = weights / weights.sum()
    return weights, weights @ rods


def _least(rods: np.ndarray, way: np.ndarray) -> float:
    import numpy as np

    return float(np.degrees(np.arcsin(np.clip((rods @ way).min(), -1, 1))))


def _vector(way: np.ndarray) -> Vector:
    return (float(way[0]), float(way[1]), float(way[2]))


def fibonacci_sphere(count: int) -> np.ndarray:
    """Directions spread evenly over the sphere, (count, 3)."""
    import numpy as np

    k = np.arange(count) + 0.5
    z, turn = 1 - 2 * k / count, math.pi * (1 + math.sqrt(5)) * k
    flat = np.sqrt(1 - z**2)
    return np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])


def _search(rods: np.ndarray, worth: Worth) -> np.ndarray:
    """The direction of most worth: even directions with the axes and the normals, then ever closer round the best."""
    import numpy as np

    some = rods[:: math.ceil(len(rods) / OF_NORMALS)]
    ways = np.vstack([np.eye(3), -np.eye(3), some, -some, fibonacci_sphere(TRIES)])
    value = np.concatenate([worth(part @ rods.T) for part in np.array_split(ways, 1 + ways.size * len(rods) // CHUNK)])
    seeds = ways[np.argsort(-value, kind="stable")[:SEEDS]]
    around, spread = fibonacci_sphere(40), 0.05
    for _ in range(24):
        near = (seeds[:, None] + spread * np.vstack([np.zeros(3), around])[None]).reshape(-1, 3)
        near /= np.linalg.norm(near, axis=1)[:, None]
        value = worth(near @ rods.T).reshape(len(seeds), -1)
        seeds = near.reshape(len(seeds), -1, 3)[np.arange(len(seeds)), value.argmax(axis=1)]
        spread *= 0.6
    return seeds[int(np.argmax(worth(seeds @ rods.T)))]


def normals_of(faces: Sequence[cq.Face], *, step: float = 5.0) -> tuple[np.ndarray, np.ndarray]:
    """Unit outward normals of faces, (n, 3), and the face each lies on, (n,): at the ends of each face's parameters and
    at most `step` [deg] apart on faces of revolution, on a grid of 24 x 24 on others; one on a plane."""
    import numpy as np

    from moldplan.check.incline import bounds, normal_at

    found, owner = [], []
    for index, face in enumerate(faces):
        low_u, high_u, low_v, high_v = bounds(face)
        kind = face.geomType()
        turns = leans = 24
        if kind in ("PLANE", "CYLINDER", "CONE", "SPHERE", "TORUS"):
            turns = 1 if kind == "PLANE" else 1 + math.ceil(math.degrees(high_u - low_u) / step)
            leans = 1 + math.ceil(math.degrees(high_v - low_v) / step) if kind in ("SPHERE", "TORUS") else 1
        for u in np.linspace(low_u, high_u, turns + 1):
            for v in np.linspace(low_v, high_v, leans + 1):
                normal = normal_at(face, float(u), float(v))[1]
                if any(normal):
                    found.append(normal)
                    owner.append(index)
    return np.array(found), np.array(owner)
