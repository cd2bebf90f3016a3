"""Bores of a straight-walled seat, finished, molded and core, measured on the solids and in the chain.

Relation  finished = D + tolerance on D + 2 x clearance per side; molded = that + 2 x paint; core = molded + 2 x
          (in-mold coat + skin), all at one level on a straight wall. Addition of layers normal to a wall: mathematics.
Worked    D 171 without tolerance, clearance 3, no paint, skin 2 -> finished and molded 177, core 181 mm.

Where ours differs: the tolerance on D stands in a column of its own and is not added into the bore.
"""

import pytest


@pytest.fixture
def bore(radius_of):
    """A function: diameter of the seat's wall in a body [mm]."""
    return lambda body: 2 * min(radius_of(face) for face in body.faces("bottle wall"))


def test_the_worked_seat_is_177_finished_and_181_in_the_core(seat_of, bore):
    made = seat_of(diameter=171, clearance=3, depth=36)
    assert bore(made.part) == pytest.approx(177, abs=1e-6)
    assert bore(made.core) == pytest.approx(181, abs=1e-6)


def test_paint_moves_the_molded_bore_and_an_in_mold_coat_the_core(seat_of, bore):
    """By hand: 177 finished, 2 x 0.3 of paint -> 177.6 molded, 2 x (0.5 + 2) -> 182.6 in the core."""
    made = seat_of(diameter=171, clearance=3, depth=36, paint=0.3, coat=0.5)
    assert bore(made.part) == pytest.approx(177.6, abs=1e-6)
    assert bore(made.core) == pytest.approx(182.6, abs=1e-6)


def test_the_insert_that_molds_it_has_the_molded_bore(seat_of, radius_of):
    made = seat_of(diameter=171, clearance=3, depth=36, paint=0.3)
    for name in made.stand.tools:
        (wall,) = made.bodies.body(name).faces("molding wall")
        assert 2 * radius_of(wall) == pytest.approx(177.6, abs=1e-6), name


@pytest.mark.parametrize(("surface", "diameter"), [("F", 177.0), ("M", 177.6), ("C", 181.6)])
def test_the_printed_chain_says_the_same(seat_of, surface, diameter):
    made = seat_of(diameter=171, clearance=3, depth=36, paint=0.3)
    (across,) = [c for c in made.chains if c.measure == "diameter" and c.at == "floor"]
    assert across.upto(surface) == pytest.approx(diameter, abs=1e-9)
