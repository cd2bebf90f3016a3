"""Faces keep their names through booleans, roundings, moves and mirrors; held against plain geometry."""

import math

import cadquery as cq
import pytest

from moldplan.errors import GeometryError
from moldplan.shape.body import Body, Frame, block, extruded, revolved, rod


def cone_tool(low=44.0, high=90.0):
    def line(a, b):
        return cq.Edge.makeLine(cq.Vector(a[0], 0, a[1]), cq.Vector(b[0], 0, b[1]))

    return revolved([("floor", line((0, low), (100, low))), ("wall", line((100, low), (105, high))),
                     ("lid", line((105, high), (0, high)))])


def test_a_frustum_has_the_volume_of_its_closed_form():
    # V = pi h (R2 + R r + r2) / 3
    assert cone_tool().solid.Volume() == pytest.approx(math.pi * 46 * (100**2 + 100 * 105 + 105**2) / 3, rel=1e-9)


def test_tool_faces_keep_their_names_in_a_cut_and_untouched_faces_theirs():
    cut = block(400, 400, 80).cut(cone_tool().prefixed("seat").moved(Frame((200, 200, 0))))
    floor, = cut.faces("seat floor")
    assert floor.Area() == pytest.approx(math.pi * 100**2, rel=1e-9)
    assert floor.normalAt().z == pytest.approx(1.0)  # out of the part, up into the recess
    assert cut.faces("underside")[0].Area() == pytest.approx(400 * 400)  # no operation touched it
    top, = cut.faces("top")
    mouth = 100 + 5 * 36 / 46
    assert top.Area() == pytest.approx(400 * 400 - math.pi * mouth**2, rel=1e-9)


def test_every_face_of_the_result_with_a_role_is_one_of_the_result():
    cut = block(400, 400, 80).cut(cone_tool().prefixed("seat").moved(Frame((200, 200, 0))))
    own = set(cut.solid.Faces())
    assert all(face in own for faces in cut.roles.values() for face in faces)


def test_several_tools_at_once_each_keep_their_own_names():
    tools = [cone_tool().prefixed(name).moved(Frame((x, 150, 0))) for name, x in (("a", 130), ("b", 370))]
    cut = block(500, 300, 80).cut(*tools)
    assert cut.faces("a floor")[0].Center().x == pytest.approx(130)
    assert cut.faces("b floor")[0].Center().x == pytest.approx(370)


def test_a_rounding_gets_its_own_role_and_the_faces_beside_it_keep_theirs():
    plain = block(100, 60, 20)
    edges = [e for e in plain.faces("top")[0].Edges() if abs(e.Center().x - 100) < 1e-6]
    soft = plain.rounded(edges, 5, "nose")
    nose, = soft.faces("nose")
    assert nose.Area() == pytest.approx(math.pi / 2 * 5 * 60, rel=1e-9)
    assert soft.faces("forward")[0].Area() == pytest.approx(60 * 15)
    assert soft.solid.Volume() == pytest.approx(100 * 60 * 20 - (1 - math.pi / 4) * 25 * 60, rel=1e-9)


def test_a_face_that_a_cut_removes_loses_its_role():
    cut = block(100, 100, 100).cut(block(200, 200, 60).moved(Frame((-50, -50, 50))))
    with pytest.raises(GeometryError, match="no face has the role 'missing'"):
        cut.faces("missing")
    assert cut.solid.Volume() == pytest.approx(100 * 100 * 50)
    assert cut.faces("underside")[0].Center().z in (pytest.approx(0), pytest.approx(50))


def test_a_mirror_keeps_names_volume_and_outward_normals():
    cut = block(400, 300, 80).cut(cone_tool().prefixed("seat").moved(Frame((200, 150, 0))))
    twin = cut.mirrored()
    assert twin.solid.isValid()
    assert twin.solid.Volume() == pytest.approx(cut.solid.Volume(), rel=1e-12)
    assert twin.faces("port")[0].normalAt().toTuple() == pytest.approx((0, -1, 0))
    assert twin.faces("seat floor")[0].Center().toTuple() == pytest.approx((200, -150, 44))


def test_a_mirrored_body_keeps_its_sheet_face_up():
    body = Body(name="lift", kind="lift", shaped=block(10, 20, 5), part="p", path=(), frame=Frame((0, 5, 0)))
    twin = body.mirrored(name="twin", hand="starboard")
    assert twin.frame.z == (0, 0, 1) and twin.frame.x == (1, 0, 0) and twin.frame.origin == (0, -5, 0)


@pytest.mark.parametrize("turn", [0, 30, 90, 211])
def test_a_frame_inside_a_frame_is_the_same_as_one_after_the_other(turn):
    angle = math.radians(turn)
    outer = Frame((10, 20, 30), (math.cos(angle), math.sin(angle), 0))
    inner = Frame((1, 2, 3), (0, 1, 0), (1, 0, 0))
    assert outer.inside(inner).place((7, 8, 9)) == pytest.approx(outer.place(inner.place((7, 8, 9))))
    solid = block(1, 1, 1).moved(inner).moved(outer).solid
    assert solid.Center().toTuple() == pytest.approx(outer.inside(inner).place((0.5, 0.5, 0.5)))


def test_a_prism_names_its_sides_and_ends():
    spots = [cq.Vector(0, 0, 0), cq.Vector(10, 0, 0), cq.Vector(0, 10, 0)]
    edges = [(name, cq.Edge.makeLine(spots[i], spots[(i + 1) % 3])) for i, name in enumerate("abc")]
    prism = extruded(edges, (0, 0, 5))
    assert prism.solid.Volume() == pytest.approx(250)
    assert prism.faces("b")[0].normalAt().toTuple() == pytest.approx((math.sqrt(0.5), math.sqrt(0.5), 0))
    assert prism.faces("end")[0].normalAt().toTuple() == pytest.approx((0, 0, 1))


def test_a_rod_has_the_volume_of_a_cylinder_along_any_way():
    assert rod(3, (1, 2, 3), (3, 4, 12), "bore").solid.Volume() == pytest.approx(math.pi * 9 * 13, rel=1e-9)
