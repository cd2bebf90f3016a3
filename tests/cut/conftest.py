"""Loops, pieces and flat bodies made by hand for the tests of this folder."""

import pytest

from moldplan.cut.loop import length, outline_area
from moldplan.cut.piece import Loop, Outline, Piece
from moldplan.shape.body import Body, Frame, Shaped
from moldplan.spec.model import Stock


@pytest.fixture(scope="session")
def ring():
    """A function: a loop of straight edges through the points given."""
    return lambda *points: Loop(tuple((float(x), float(y), 0.0) for x, y in points))


@pytest.fixture(scope="session")
def box(ring):
    """A function: an upright rectangle, counter-clockwise."""
    return lambda w, h, x=0.0, y=0.0: ring((x, y), (x + w, y), (x + w, y + h), (x, y + h))


@pytest.fixture(scope="session")
def piece():
    """A function: a piece with the outer loop given."""

    def make(id, outer, *, quantity=1, stock="board", grain=False, holes=()):
        outline = Outline(outer=outer, holes=tuple(holes))
        return Piece(id=id, body=f"body {id}", part="a part", path=("cradles", "a"), stock=stock, thickness=18.0,
                     outline=outline, cut=outline, area=outline_area(outline), outline_length=length(outer),
                     quantity=quantity, grain=grain)

    return make


@pytest.fixture(scope="session")
def board():
    return Stock(kind="plywood", thickness=18, size=(2440, 1220))


@pytest.fixture(scope="session")
def flat_body():
    """A function: a body of 18 mm board with the solid given."""

    def make(solid, *, name="a body", frame=None, thickness=18.0, hand=None, stock="board"):
        return Body(name=name, kind="insert", shaped=Shaped(solid), part="a part", path=("cradles", "a"),
                    frame=frame or Frame(), stock=stock, thickness=thickness, hand=hand)

    return make
