"""The bodies as the page's 3D view wants them: quantised triangles and edge lines, in text.

In       a finished plan.
Out      scene(): plain data for JSON: groups, bodies (name, words, group, colour, alpha, mesh), where to look from.
Not here meshing (nets.py), drawing them (viewer.js), files for other programs (solids.py).

Positions are 16-bit steps of the body's own box: 0.01 mm on a body of 650 mm, far under the mesh's own tolerance.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from moldplan.report.looks import GROUPS, LID, Look, look_of
from moldplan.report.nets import FINE, Nets
from moldplan.report.subject import Plan
from moldplan.shape.body import Body

if TYPE_CHECKING:
    import numpy as np

    from moldplan.report.nets import Net

COARSE = 1.5  # mm, mesh tolerance when there is much to show
MANY = 120  # bodies


def shown(plan: Plan) -> list[Body]:
    """The bodies of the view: no part where its skin is shown, no whole core where its lifts are.

    A sole's core is cut flat, so its sheet lies where no sole is: the core itself is shown. A mold is shown by whole
    pieces, not by the sheets they are built up of.
    """
    flat = {sole.path for sole in plan.assembly.soles}
    bodies = [b for b in plan.assembly.bodies.values()
              if b.kind != "mold sheet" and not (b.kind == "lift" and b.path in flat)]  # fmt: skip
    skinned = {(b.part, b.hand) for b in bodies if b.kind == "skin"}
    lifted = {(b.part, b.hand) for b in bodies if b.kind == "lift"}
    return [b for b in bodies
            if not (b.kind == "part" and (b.part, b.hand) in skinned)
            and not (b.kind == "core" and (b.part, b.hand) in lifted)]  # fmt: skip


def scene(plan: Plan, nets: Nets | None = None) -> dict[str, Any]:
    """Everything the viewer needs, as plain data; `nets`: triangles to share."""
    nets = nets or Nets()
    bodies = shown(plan)
    tolerance = FINE if len(bodies) <= MANY else COARSE
    looks = {body.name: look_in(plan, body) for body in bodies}
    present = {look.group for look in looks.values()}
    return {
        "groups": [{"id": g, "name": name, "on": on} for g, (name, on) in GROUPS.items() if g in present],
        "bodies": [_body(body, looks[body.name], nets.of(body, tolerance)) for body in bodies],
        "from": list(stance(bodies)),
    }


def look_in(plan: Plan, body: Body) -> Look:
    """The look of a body's kind; lids of hatches are a group of their own, to be taken off."""
    look = look_of(body.kind)
    for hatch in plan.assembly.hatches:
        if body.name in (hatch.lid, hatch.lid_core, hatch.gasket) or body.path == (*hatch.path, "lid"):
            return replace(look, group="lids", colour=LID if body.name == hatch.lid else look.colour)
    return look


def stance(bodies: Iterable[Body]) -> tuple[float, float, float]:
    """The way from what is shown to the builder's eye: aft of it, on the side of the centreline, looking down."""
    from moldplan.shape.body import Vector

    centres: list[Vector] = [body.solid.Center().toTuple() for body in bodies]
    port = sum(c[1] for c in centres) >= 0
    return (-0.62, -0.62 if port else 0.62, 0.55)


def _body(body: Body, look: Look, net: Net) -> dict[str, Any]:
    import numpy as np

    vertices, triangles, owner = net
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    span = np.where(high - low > 1e-9, high - low, 1.0)
    steps = np.round((vertices - low) / span * 65535).astype("<u2")
    wide = len(vertices) > 65535
    kind: Any = "<u4" if wide else "<u2"
    return {
        "name": body.name,
        "words": _words(body),
        "group": look.group,
        "colour": list(look.colour),
        "alpha": look.alpha,
        "low": [round(float(v), 4) for v in low],
        "span": [round(float(v), 4) for v in span],
        "wide": wide,
        "v": _text(steps),
        "t": _text(triangles.astype(kind)),
        "e": _text(outlines(vertices, triangles, owner).astype(kind)),
    }


def outlines(vertices: np.ndarray, triangles: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """Pairs of vertices (k, 2) along the edges of the body's faces; seams within one face are left out."""
    import numpy as np

    sides = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    owners = np.concatenate([owner] * 3)
    ordered = np.sort(sides, axis=1)
    _, first, counts = np.unique(ordered, axis=0, return_index=True, return_counts=True)
    border = first[counts == 1]
    # a seam's two sides lie on each other within one face; a side that faces share is kept once
    spots = np.round(vertices * 100).astype(np.int64)
    ends = np.sort(np.ascontiguousarray(spots[sides[border]]).view([("", np.int64)] * 3).reshape(-1, 2), axis=1)
    keys: dict[Any, list[int]] = {}
    for k, pair in enumerate(map(bytes, ends)):
        keys.setdefault(pair, []).append(k)
    kept = [ks[0] for ks in keys.values() if len(ks) == 1 or len({int(owners[border[k]]) for k in ks}) > 1]
    return sides[border[sorted(kept)]].reshape(-1, 2)


def _words(body: Body) -> str:
    """What is said of a body when it is touched."""
    words = [body.kind]
    if body.stock:
        words.append(f"of {body.stock}, {body.thickness:g} mm" if body.thickness else f"of {body.stock}")
    if body.hand:
        words.append(body.hand)
    return "; ".join([", ".join(words), *body.notes])


def _text(numbers: np.ndarray) -> str:
    return base64.b64encode(numbers.tobytes()).decode("ascii")
