"""Sinkings from the solid to the file: depths in the layers' names, areas those of the solid's own level faces.

Sizes are of boxes and cylinders, so every area is a closed form; the kernel's own faces are asked besides.
"""

import math

import cadquery as cq
import ezdxf
import pytest

from moldplan.cut.dxf import write_sheet
from moldplan.cut.flat import flatten
from moldplan.cut.loop import outline_area
from moldplan.cut.outline import pieces
from moldplan.cut.piece import Placed, Sheet
from moldplan.cut.reach import narrow
from moldplan.cut.relief import relieved
from moldplan.cut.sunk import islands, pools, sunk_areas
from moldplan.shape.assembly import Assembly
from moldplan.spec.model import Cutter


def box(length, width, low, high, at=(0, 0)):
    return cq.Workplane().box(length, width, high - low, centered=(True, True, False)).translate((*at, low)).val()


def rod(radius, low, high):
    return cq.Solid.makeCylinder(radius, high - low, cq.Vector(0, 0, low))


PLATE = box(300, 200, 0, 18)
STEPPED = PLATE.cut(box(160, 120, 12, 20), box(80, 60, 6, 20, (10, -15)))
# name: solid, area sunk to each depth at least, islands in all
SUNK = {
    "stepped": (STEPPED, {6.0: 160 * 120, 12.0: 80 * 60}, 0),
    "stepped against a wall": (PLATE.cut(box(160, 120, 12, 20), box(80, 120, 6, 20, (40, 0))),
                               {6.0: 80 * 120, 12.0: 80 * 120}, 0),
    "round and stepped": (PLATE.cut(rod(70, 10, 20), rod(30, 4, 20)), {8.0: math.pi * 70**2, 14.0: math.pi * 30**2}, 0),
    "with an island": (PLATE.cut(box(160, 120, 6, 20).cut(box(60, 40, 0, 30))), {12.0: 160 * 120 - 60 * 40}, 1),
    "round with an island": (PLATE.cut(rod(70, 6, 20).cut(rod(20, 0, 30))), {12.0: math.pi * (70**2 - 20**2)}, 1),
    "with a low island": (PLATE.cut(box(160, 120, 6, 20).cut(box(60, 40, 0, 15))),
                          {12.0: 160 * 120 - 60 * 40, 3.0: 60 * 40}, 1),
    "stepped, an island in the deeper": (
        PLATE.cut(box(160, 120, 12, 20).cut(box(20, 20, 0, 30)), box(80, 60, 6, 20).cut(box(20, 20, 0, 30))),
        {6.0: 160 * 120 - 400, 12.0: 80 * 60 - 400}, 2),
}  # fmt: skip


def flat_of(flat_body, solid):
    (flat,) = flatten(flat_body(solid))
    return flat


@pytest.mark.parametrize("name", SUNK)
def test_each_depth_has_the_area_of_the_solids_floors(flat_body, name):
    solid, wanted, standing = SUNK[name]
    outline = flat_of(flat_body, solid).outline
    sunk = (*outline.sinks, *outline.bores)
    assert sunk_areas(sunk) == pytest.approx(wanted, rel=1e-9)
    assert len(islands(sunk)) == standing and len(pools(sunk)) == len(sunk) - standing
    assert not outline.far and not outline.holes
    assert outline_area(outline) == pytest.approx(300 * 200)
    # the kernel's own floors: what is sunk at least so deep, less what is deeper within it
    floors = {}
    for face in solid.Faces():
        if face.normalAt().z > 0.5 and face.Center().z < 17:
            floors[round(18 - face.Center().z, 6)] = floors.get(round(18 - face.Center().z, 6), 0.0) + face.Area()
    for depth, own in floors.items():
        deeper = sum(area for other, area in wanted.items() if other > depth and "against" not in name
                     and "low island" not in name)
        assert sunk_areas(sunk)[depth] - deeper == pytest.approx(own, rel=1e-9)


def test_a_stepped_sinking_is_in_the_file_with_its_depths_and_rings(flat_body, board, tmp_path):
    """Written and read again by ezdxf: 160 x 120 to 6 mm, and in it 80 x 60 to 12, less no relief."""
    body = flat_body(STEPPED, name="cover")
    cutter = Cutter(corner_relief="none")
    (piece,) = pieces(Assembly(bodies={"cover": body}, stands=()), {"board": board}, cutter)
    sheet = Sheet(stock="board", number=1, size=board.size, used=0.1, file="a.dxf",
                  placed=(Placed(piece=piece.id, copy=1, x=400, y=300, turn=90),))
    write_sheet(tmp_path / sheet.file, sheet, [piece], board, cutter=cutter, title="Cover", revision="A")
    space = ezdxf.readfile(tmp_path / "a.dxf").modelspace()
    read = {layer: [list(e.get_points("xy")) for e in space.query(f'LWPOLYLINE[layer=="{layer}"]')]
            for layer in ("sink-6.0mm", "sink-12.0mm")}
    areas = {layer: [abs(sum(a * d - b * c for (a, b), (c, d) in zip(ring, ring[1:] + ring[:1], strict=True))) / 2
                     for ring in rings] for layer, rings in read.items()}
    assert areas == {"sink-6.0mm": [pytest.approx(19200)], "sink-12.0mm": [pytest.approx(4800)]}
    text = (tmp_path / "a.txt").read_text(encoding="utf-8")
    assert "sink-6.0mm     sunk 6.0 mm deep" in text and "sink-12.0mm    sunk 12.0 mm deep" in text
    assert "island" not in text


def test_an_islands_outside_corners_are_not_opened_but_the_recess_is(flat_body):
    """Four inside corners of the recess, relieved by a circle of 3 through each: pi r2 / 2 + r2 (half a circle beyond
    the corner, and two triangles) less what lies in the corner already; the island stays whole."""
    outline = flat_of(flat_body, SUNK["with an island"][0]).outline
    opened = relieved(outline, radius=3.0, style="round")
    assert len(opened.corners) == 4
    (before,), (after,) = islands(outline.sinks), islands(opened.outline.sinks)
    assert before == after


def test_a_gap_between_an_island_and_the_wall_is_measured(flat_body):
    near = PLATE.cut(box(160, 120, 6, 20).cut(box(60, 40, 0, 30, (0, 36))))  # its side lies 60 - 36 - 20 = 4 off
    found = narrow(flat_of(flat_body, near).outline, diameter=6)
    assert [(place.what, pytest.approx(place.width, abs=0.03)) for place in found] == [("recess beside an island", 4.0)]
    assert not narrow(flat_of(flat_body, near).outline, diameter=3.9)
