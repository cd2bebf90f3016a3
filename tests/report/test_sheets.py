"""Pictures of the sheets: the number of every piece can be read, wherever on the sheet the piece lies.

What overlaps and what lies inside what is found by geometry (shapely), apart from the raster that placed the words.
"""

import re

import pytest
from shapely import Point, Polygon

from moldplan.cut.loop import Loop
from moldplan.cut.piece import Outline, Piece, Placed, Sheet
from moldplan.report.drawing import Curve, clashes, polygon
from moldplan.report.sheets import BROADEST, WIDTH, sheet
from moldplan.spec.model import Cutter


def rectangle(length, width, x=0, y=0):
    return Loop(((x, y, 0), (x + length, y, 0), (x + length, y + width, 0), (x, y + width, 0)))


def piece(name, outline, quantity=1):
    return Piece(id=name, body="rib", part="rack", path=("cradles", "rack"), stock="board", thickness=18,
                 outline=outline, cut=outline, area=1, outline_length=1, quantity=quantity)


def strip(length, width):
    return piece("P2", Outline(rectangle(length, width)), 6)


@pytest.mark.parametrize("left", [15, 2225])
def test_numbers_of_small_pieces_stand_on_the_paper_and_on_no_line(left):
    """Strips too low for a number inside, in a corner of the sheet."""
    placed = tuple(Placed(piece="P2", copy=n + 1, x=left, y=15 + 80 * n, turn=0) for n in range(6))
    drawing = sheet(Sheet(stock="board", number=1, size=(2440, 1220), used=0.01, placed=placed),
                    {"P2": strip(200, 25)}, Cutter())
    assert {f"P2.{n}" for n in range(1, 7)} <= {text.words for text in drawing.texts()}
    assert clashes(drawing) == []


def crowded():
    """A board full of strips 10 mm apart, lying and standing: 60 pieces from 20 to 60 mm wide."""
    pieces, placed, y = {}, [], 15
    for k in range(20):
        width = 20 + 10 * (k % 5)
        pieces[f"P{k}"] = piece(f"P{k}", Outline(rectangle(400, width)), 2)
        pieces[f"P{k + 20}"] = piece(f"P{k + 20}", Outline(rectangle(width, 400)))
        placed += [Placed(piece=f"P{k}", copy=n, x=15 + 410 * (n - 1), y=y, turn=0) for n in (1, 2)]
        placed.append(Placed(piece=f"P{k + 20}", copy=1, x=850 + 70 * (k % 15), y=15 + 410 * (k // 15), turn=0))
        y += width + 10
    return Sheet(stock="board", number=1, size=(2440, 1220), used=0.4, placed=tuple(placed)), pieces


def test_on_a_crowded_sheet_every_number_stands_in_its_piece_or_has_a_line_to_it():
    one, pieces = crowded()
    drawing = sheet(one, pieces, Cutter())
    assert WIDTH < drawing.width <= BROADEST
    assert clashes(drawing) == []
    areas = [polygon([m.vertices]) for m in drawing.marks if isinstance(m, Curve) and m.fill == "pale"]
    named = [f"{p.piece}.{p.copy}" if pieces[p.piece].quantity > 1 else p.piece for p in one.placed]
    dots = [m for m in drawing.marks if isinstance(m, Curve) and m.fill == "black"]
    ties = [Point(dot.vertices[0][0] - 0.45, dot.vertices[0][1]) for dot in dots]
    found = {text.words: Polygon(text.box()) for text in drawing.texts() if re.fullmatch(r"P\d+(\.\d)?", text.words)}
    assert sorted(found) == sorted(named)
    outside = [name for name, area in zip(named, areas, strict=True) if not area.contains(found[name])]
    assert len(outside) == len(ties) < len(named) / 3
    led = [name for name, area in zip(named, areas, strict=True) if any(area.contains(tip) for tip in ties)]
    assert led == outside


def test_a_recess_is_drawn_in_fine_dashes_with_its_depth():
    """A ring sunk round an opening, and blind holes of one depth: words once for each depth, on no line."""
    outline = Outline(rectangle(900, 700), holes=(Loop(circle=(300, 350, 150)),),
                      sinks=((Loop(circle=(300, 350, 200)), 1.694),),
                      bores=((Loop(circle=(700, 200, 5)), 4.0), (Loop(circle=(700, 500, 5)), 4.0)),
                      under=((rectangle(100, 30, 760, 600), 6.0),))  # fmt: skip
    placed = (Placed(piece="P1", copy=1, x=15, y=15, turn=0),)
    drawing = sheet(Sheet(stock="foam", number=1, size=(2440, 1220), used=0.2, placed=placed),
                    {"P1": piece("P1", outline)}, Cutter())
    said = {text.words for text in drawing.texts()}
    assert {"sunk 1.7", "bored 4.0, 2 of them", "sunk 6.0 from below"} <= said
    assert clashes(drawing) == []
    areas = [polygon([m.vertices]).area for m in drawing.marks if isinstance(m, Curve) and m.pen == "sunk"]
    scale = 182 / 2440  # paper 190 mm wide less 4 mm on either side
    assert max(areas) == pytest.approx(3.14159265 * (200 * scale) ** 2, rel=0.01)
