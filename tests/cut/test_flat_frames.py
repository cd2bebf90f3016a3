"""Crossing frames of a cone flattened: the sections are hyperbolas, which arcs must follow, with the slits in them."""

import cadquery as cq
import pytest

from moldplan.cut.flat import flatten
from moldplan.cut.loop import outline_area
from moldplan.cut.outline import pieces
from moldplan.cut.table import cut_list
from moldplan.shape.body import Body, Shaped
from moldplan.shape.frames import frames


def test_a_frames_outline_is_its_solids_face():
    made = frames(Shaped(cq.Solid.makeCone(133, 150, 200)), along=(-120, 40), across=(-40, 40), sheet_along=18,
                  sheet_across=12, clearance=0.3)
    for piece, sheet in zip(made, (18.0, 18.0, 12.0, 12.0), strict=True):
        body = Body(name="frame", kind="insert", shaped=piece.shaped, part="seat", path=("seat",), frame=piece.frame,
                    stock="board", thickness=sheet)
        flat, = flatten(body)
        outline = flat.outline
        assert not outline.holes and not flat.notes
        # a prism: volume over thickness; arcs may leave the curve by 0.02 mm over its length of some 200 mm a side
        assert outline_area(outline) == pytest.approx(piece.shaped.solid.Volume() / sheet, abs=2 * 200 * 0.02)


def test_every_frame_of_a_plan_is_on_one_piece_and_no_slit_is_painted(framed_seat):
    resolved, assembly = framed_seat()
    (stand,) = assembly.stands
    made = [piece for piece in pieces(assembly, resolved.stocks, resolved.spec.cutter) if piece.part == stand.name]
    assert sorted(name for piece in made for name in piece.bodies) == sorted(stand.frames)
    assert sum(piece.quantity for piece in made) == len(stand.frames) == 4
    # the two of a set are alike by the seat's symmetry; those of the other set have their slits on the other edge
    assert [piece.quantity for piece in made] == [2, 2]
    assert {row["edges"] for row in cut_list(made)} == {""}
    slits = [note for piece in made for note in piece.notes if "slits" in note]
    assert slits == ["stands first, mouth edge down, slits up", "pushed down over the athwart frames, slits down"]
    for piece in made:
        assert piece.thickness == 9 and piece.up == "face"
