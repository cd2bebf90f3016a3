"""Draft findings on shaped inserts, and undercut against rays through triangles (embreex by way of trimesh)."""

import math

import numpy as np
import pytest
import trimesh

from moldplan.check.draft import draft, molding_faces
from moldplan.check.undercut import locked
from moldplan.shape.assembly import Assembly, Stand
from moldplan.shape.body import Body, Frame, revolved
from moldplan.shape.mesh import mesh
from moldplan.spec.model import Cylinder, Spec

PATH = ("cradles", "block", "seats", "galley")


def spec_with(draft_deg, **more):
    seat = {"depth": 36, "clearance_per_side": 4, "draft": draft_deg}
    return Spec.model_validate({
        "moldplan": 1, "title": "t", "cylinders": {"galley": {"diameter": 200, "height": 400}},
        "cradles": {"block": {"block": [400, 400, 80], "seats": {"galley": seat}}}, **more})


def insert_of(*points, roles):
    """A body turned from a profile in x-z, from the axis at the bottom to the axis at the top."""
    import cadquery as cq

    spots = [cq.Vector(x, 0, z) for x, z in points]
    edges = list(zip(roles, (cq.Edge.makeLine(a, b) for a, b in zip(spots, spots[1:], strict=False)), strict=True))
    return Body(name="galley insert 1", kind="insert", shaped=revolved(edges), part="block.galley", path=PATH)


def drafted(angle, depth=36.0, radius=104.0):
    top = radius + depth * math.tan(math.radians(angle))
    return insert_of((0, 0), (radius, 0), (top, depth), (0, depth), roles=["molding floor", "molding wall", "top"])


def plan(*tools, frame=None):
    cylinder = Cylinder.model_validate({"diameter": 200, "height": 400})
    stand = Stand(name="block.galley", path=PATH, kind="seat", cylinder=cylinder, cylinder_name="galley",
                  alternatives={}, frame=frame or Frame(), hosts=(), roles="galley", paint=0.0, liner=0.0, body="none",
                  envelope=None, tools=tuple(t.name for t in tools))
    return Assembly(bodies={t.name: t for t in tools}, stands=(stand,))


def by_name(findings, what):
    return next(f for f in findings if f.what == what)


@pytest.mark.parametrize("angle", [0.5, 1, 2, 3, 5])
def test_the_draft_of_a_turned_insert_is_the_angle_it_was_turned_to(angle):
    found = by_name(draft(plan(drafted(angle)), spec_with(angle)), "insert")
    assert found.measured == pytest.approx(angle, abs=1e-9)
    assert found.tolerance == 0
    assert found.verdict == ("fails" if angle < 3 else "close" if angle < 3.3 else "holds")


def test_the_cure_says_how_much_wider_in_mm_as_the_trade_table_has_it():
    # MLD-03: 150 deep, widening per side h tan a: 1 deg 2.6183, 3 deg 7.8612 mm
    found = by_name(draft(plan(drafted(1, depth=150.0)), spec_with(1)), "insert")
    assert f"{7.8612 - 2.6183:.1f} mm" in found.moves[0].text
    assert found.moves[0].edits[0].path == (*PATH, "draft")
    assert found.moves[0].edits[0].to == 3


def test_a_limit_of_the_builders_own_is_used_and_its_reason_kept():
    spec = spec_with(2, limits={"draft": {"least": 1.5, "reason": "waxed and sealed edges"}})
    found = by_name(draft(plan(drafted(2)), spec), "insert")
    assert found.limit == 1.5
    assert found.verdict == "holds"
    assert found.loosened == "waxed and sealed edges"
    assert found.source.how_read == "spec"


def test_a_leaning_stand_is_pulled_along_its_own_axis():
    lean = Frame((10, 20, 30), (math.cos(0.1), 0, -math.sin(0.1)), (math.sin(0.1), 0, math.cos(0.1)))
    tool = drafted(4)
    moved = Body(name=tool.name, kind="insert", shaped=tool.shaped.moved(lean), part=tool.part, path=PATH)
    found = by_name(draft(plan(moved, frame=lean), spec_with(4)), "insert")
    assert found.measured == pytest.approx(4, abs=1e-9)


WAISTED = [(0, 0), (110, 0), (100, 20), (112, 36), (0, 36)]
WAISTED_ROLES = ["molding floor", "molding wall", "molding wall", "top"]


def test_a_wall_that_leans_over_has_negative_draft_and_is_locked():
    findings = draft(plan(insert_of(*WAISTED, roles=WAISTED_ROLES)), spec_with(0))
    steep, lock = by_name(findings, "insert"), by_name(findings, "undercut")
    assert steep.measured == pytest.approx(-math.degrees(math.atan2(10, 20)), abs=1e-6)
    assert "parted in two" in steep.note or "instead" in steep.note
    assert lock.verdict == "fails"


def test_a_drafted_insert_is_not_locked():
    lock = by_name(draft(plan(drafted(3)), spec_with(3)), "undercut")
    assert lock.measured == 0
    assert lock.verdict == "holds"


def by_rays(shape, way):
    """Locked area by one ray a triangle: embreex, an independent code, on a fine mesh."""
    vertices, triangles, _ = mesh(shape, tolerance=0.05, angle=4.0)
    surface = trimesh.Trimesh(vertices, triangles, process=False)
    assert "embree" in type(surface.ray).__module__
    start = surface.triangles_center + 1e-3 * surface.face_normals
    hit = surface.ray.intersects_any(start, np.tile(way, (len(start), 1)))
    return surface, hit


def test_locked_area_agrees_with_rays_through_triangles():
    tool = insert_of(*WAISTED, roles=WAISTED_ROLES)
    faces = [face for _, face in molding_faces(tool)]
    found = locked(faces, (0.0, 0.0, -1.0), [tool.solid])
    surface, hit = by_rays(tool.solid, (0.0, 0.0, -1.0))
    top = surface.face_normals[:, 2] > 0.999  # not a molding face; all of it looks away from the way out
    expected = surface.area_faces[hit & ~top].sum()
    assert expected > 5000
    assert found.area == pytest.approx(expected, rel=0.15)
    assert found.points > 50


def test_another_tool_in_the_way_locks_too():
    tool = drafted(5)
    below = Frame((0, 0, -60))
    other = Body(name="galley insert 2", kind="insert", shaped=tool.shaped.moved(below), part=tool.part, path=PATH)
    alone = locked([f for _, f in molding_faces(tool)], (0.0, 0.0, -1.0), [tool.solid])
    blocked = locked([f for _, f in molding_faces(tool)], (0.0, 0.0, -1.0), [tool.solid, other.solid])
    assert alone.area == 0
    assert blocked.area > math.pi * 100**2 * 0.9
