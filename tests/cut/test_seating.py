"""Inside corners opened by what seats in them. Areas are closed forms of half discs: pi r2 / 2 along an edge, less the
triangle r2 where the disc lies between two edges. The relieved outlines are measured by shapely."""

import math

import cadquery as cq
import pytest
import shapely

from moldplan.cut.cutting import flatten
from moldplan.cut.loop import outline_area, sampled
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Body, Frame, Shaped
from moldplan.spec.model import Cutter

R = 3.0
HALF, BETWEEN = math.pi * R**2 / 2, math.pi * R**2 / 2 - R**2


def brick(x, y, z, at):
    return cq.Workplane().box(x, y, z, centered=False).translate(at).val()


def body(name, solid, **more):
    return Body(**{"name": name, "kind": "liner", "shaped": Shaped(solid), "part": "a part", "path": ("cradles", "a"),
                   "frame": Frame()} | more)


def plate(name="plate", at=(0, 0, 0), pocket=False):
    """A plate of 200 x 150 x 18 whose corner of 80 x 60 is taken out: its inside corner is at 120, 90."""
    solid = brick(200, 150, 18, at).cut(brick(90, 70, 18, (at[0] + 120, at[1] + 90, at[2])))
    if pocket:
        solid = solid.cut(brick(40, 40, 6, (at[0] + 20, at[1] + 20, at[2])))
    return body(name, solid, kind="rib", stock="board", thickness=18.0, frame=Frame(at))


def cut(board, *bodies, **cutter):
    """The one kind of piece there is."""
    asked = Cutter(diameter=2 * R, bridges=0, **cutter)
    (piece,) = flatten(Assembly(bodies={b.name: b for b in bodies}, stands=()), {"board": board}, asked).pieces
    return piece


def taken(piece):
    return outline_area(piece.outline) - outline_area(piece.cut)


def whole(piece, *ends):
    """Whether all of an edge is left."""
    ring = shapely.Polygon(sampled(piece.cut.outer, 0.001)).exterior.buffer(1e-6)
    return ring.covers(shapely.LineString(ends))


FLOOR, WALL = ((120, 90), (200, 90)), ((120, 90), (120, 150))
ON_FLOOR = body("on the floor", brick(30, 30, 18, (122, 90.2, 0)))
ON_WALL = body("on the wall", brick(30, 30, 18, (120.2, 92, 0)))
IN_BOTH = body("in both", brick(30, 30, 18, (120.2, 90.2, 0)))
AWAY = body("away", brick(30, 30, 18, (122, 92, 0)))


@pytest.mark.parametrize(("beside", "floor", "wall", "area"), [
    (ON_FLOOR, True, False, HALF), (ON_WALL, False, True, HALF), (IN_BOTH, False, False, BETWEEN),
    (AWAY, False, False, BETWEEN)])  # fmt: skip
def test_the_edge_that_something_seats_against_stays_whole_to_the_corner(board, beside, floor, wall, area):
    piece = cut(board, plate(), beside)
    assert (whole(piece, *FLOOR), whole(piece, *WALL)) == (floor, wall)
    assert taken(piece) == pytest.approx(area, abs=1e-6)
    assert [c.done for c in piece.corners] == ["edge" if floor or wall else "round"]


def test_a_style_that_is_asked_for_is_kept_whatever_seats(board):
    assert taken(cut(board, plate(), ON_FLOOR, corner_relief="round")) == pytest.approx(BETWEEN, abs=1e-6)
    longer = cut(board, plate(), ON_FLOOR, corner_relief="edge")
    assert not whole(longer, *FLOOR) and whole(longer, *WALL)  # 80 long against 60
    assert taken(cut(board, plate(), ON_FLOOR, corner_relief="none")) == 0


def test_copies_that_seat_unlike_are_opened_between_their_edges(board):
    second = body("on the second's wall", brick(30, 30, 18, (120.2, 92, 300)))
    piece = cut(board, plate(), plate("second", (0, 0, 300)), ON_FLOOR, second)
    assert piece.quantity == 2 and taken(piece) == pytest.approx(BETWEEN, abs=1e-6)


def test_a_piece_that_lies_underside_up_is_asked_on_its_right_side(board):
    piece = cut(board, plate(pocket=True), ON_FLOOR)
    assert piece.up == "underside"
    assert whole(piece, (-120, 90), (-200, 90)) and not whole(piece, (-120, 90), (-120, 150))


@pytest.mark.parametrize("tenon", [(40, 28), (28, 40)])
def test_a_tenon_bears_on_the_whole_of_the_two_sides_it_touches(board, tenon):
    """A mortise of 40 x 40 with a tenon that fills it one way only."""
    wide, high = tenon
    host = body("plate", brick(120, 120, 18, (0, 0, 0)).cut(brick(40, 40, 18, (40, 40, 0))), kind="rib", stock="board",
                thickness=18.0)
    piece = cut(board, host, body("tenon", brick(wide, high, 60, (60 - wide / 2, 60 - high / 2, -20)), kind="rib"))
    (hole,) = piece.cut.holes
    low_x, low_y, high_x, high_y = shapely.Polygon(sampled(hole, 0.001)).bounds
    out = (high_x - low_x - 40, high_y - low_y - 40)
    assert out == pytest.approx((0, 2 * R) if wide == 40 else (2 * R, 0), abs=0.002)
    assert taken(piece) == pytest.approx(4 * HALF, abs=1e-6)
