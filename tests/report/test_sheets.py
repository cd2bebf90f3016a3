"""Pictures of the sheets: the number of every piece can be read, wherever on the sheet the piece lies."""

import pytest

from moldplan.cut.loop import Loop
from moldplan.cut.piece import Outline, Piece, Placed, Sheet
from moldplan.report.drawing import clashes
from moldplan.report.sheets import sheet
from moldplan.spec.model import Cutter


def strip(length, width):
    outline = Outline(Loop(((0, 0, 0), (length, 0, 0), (length, width, 0), (0, width, 0))))
    return Piece(id="P2", body="rib", part="rack", path=("cradles", "rack"), stock="board", thickness=18,
                 outline=outline, cut=outline, area=length * width, outline_length=2 * (length + width), quantity=6)


@pytest.mark.parametrize("left", [15, 2225])
def test_numbers_of_small_pieces_stand_on_the_paper_and_on_no_line(left):
    """Strips too low for a number inside, in a corner of the sheet; what overlaps is found by geometry (shapely)."""
    piece = strip(200, 25)
    placed = tuple(Placed(piece="P2", copy=n + 1, x=left, y=15 + 80 * n, turn=0) for n in range(6))
    drawing = sheet(Sheet(stock="board", number=1, size=(2440, 1220), used=0.01, placed=placed), {"P2": piece},
                    Cutter())
    assert {f"P2.{n}" for n in range(1, 7)} <= {text.words for text in drawing.texts()}
    assert clashes(drawing) == []
