"""Crossing frames of a cone flattened: the sections are hyperbolas, which arcs must follow, with the slits in them."""

import cadquery as cq
import pytest

from moldplan.cut.flat import flatten
from moldplan.cut.loop import outline_area
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
