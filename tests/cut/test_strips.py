"""The pieces of a hatch's mold as they are cut: few true lines and arcs, their areas those of the solids' own faces.

Radii and bevels are closed forms of the section: a wall of draft d through (b, 0), moved by the paint p normal to
itself, lies at b - h tan d + p / cos d where it is h deep. Areas are the kernel's own measure of its faces.
"""

import math

import cadquery as cq
import pytest

from moldplan.cut.extent import levels
from moldplan.cut.flat import flatten
from moldplan.cut.loop import area, faults, outline_area, segments
from moldplan.cut.profile import polygon
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import read_text

SPEC = """\
moldplan: 1
title: One hatch
soles:
  deck:
    outline: [[-200, -420, 40], [900, -380], {at: [900, 380], through: [960, 0]}, [-200, 420]]
    hatches:
      h:
        centre: [450, 0]
        clear_opening: [400, 380]
        corner_radius: 35
        gutter: {width: 40, depth: 22, fall: 1:50, draft: 5}
        lid: {thickness: 22, gasket: {free: 10, squeeze: 0.4}}
    fittings: {column: {at: [-60, 150], flange: 90, bolts: 4, bolt_circle: 70}}
"""
DRAFT, LANDING, WIDTH, RADIUS, PAINT = math.radians(5), 25.0, 40.0, 35.0, 0.3


@pytest.fixture(scope="module")
def bodies():
    return {b.name: b for b in assemble(resolve(read_text(SPEC, "h.yaml").spec)).bodies.values() if b.stock}


@pytest.fixture(scope="module")
def flats(bodies):
    return {name: flatten(body) for name, body in bodies.items()}


def own(body):
    return body.solid.moved(body.frame.location.inverse)


def strips(bodies):
    return [name for name in bodies if " side " in name or " corner " in name]


def test_every_piece_of_the_mold_is_there_and_sound(bodies, flats):
    assert len(bodies) > 30
    for each in flats.values():
        for flat in each:
            for loop in (flat.outline.outer, *flat.outline.holes, *flat.outline.far):
                assert faults(loop) == ()


def test_a_strips_outline_is_four_lines_or_two_lines_and_two_arcs(bodies, flats):
    for name in strips(bodies):
        for flat in flats[name]:
            arcs = sum(not s.straight for s in segments(flat.outline.outer))
            assert (len(segments(flat.outline.outer)), arcs) == (4, 2 if " corner " in name else 0), name
            assert len(flat.outline.far) <= 2, name


def test_the_lowest_corner_sheet_has_the_radii_of_its_walls(bodies, flats):
    """Table's face at a depth of one coat: walls there, and a full sheet up."""
    sheet = bodies["deck.h forward port corner sheet 1"].thickness
    (flat,) = flats["deck.h forward port corner sheet 1"]

    def outer(depth):
        return LANDING + WIDTH - depth * math.tan(DRAFT) + PAINT / math.cos(DRAFT)

    def inner(depth, landing):
        return LANDING + (depth - landing) * math.tan(DRAFT) - PAINT / math.cos(DRAFT)

    landing = 22 + 6.0
    for loop, depth in ((flat.outline.outer, PAINT), (flat.outline.far[0], PAINT + sheet)):
        radii = sorted(s.radius for s in segments(loop) if not s.straight)
        low = inner(max(depth, landing), landing)  # over the landing the strip stands square against the block
        if depth < landing:
            low = LANDING - PAINT / math.cos(DRAFT) + (PAINT) * math.tan(DRAFT)
        assert radii == pytest.approx([RADIUS + low, RADIUS + outer(depth)], abs=2e-3)


def test_areas_are_those_of_the_solids_faces(bodies, flats):
    """Each sheet's outline has the area of its larger level face, as the kernel measures it.

    A strip's underside is a free-form face; the edge of a dowel hole bored through one is a curve that the kernel fits
    within a thousandth, so that its own area of the face is that much off. There the face is measured within its outer
    edge, and each hole is the circle of a dowel of 8 mm.
    """
    judged = 0
    for name, body in bodies.items():
        solid = own(body)
        faces = [[f for f in solid.Faces() if abs(f.Center().z - level) < 1e-4
                  and all(abs(v.Z - level) < 1e-4 for v in f.Vertices())] for level in levels(solid)]
        larger = max(sum(f.Area() for f in level) for level in faces)
        wedge = any("shaped after cutting" in note for flat in flats[name] for note in flat.notes)
        if larger and not wedge:
            judged += 1
            cut = sum(outline_area(f.outline) for f in flats[name])
            if name in strips(bodies):
                bored = [hole for flat in flats[name] for hole in flat.outline.holes]
                assert [hole.circle[2] for hole in bored] == pytest.approx([4] * len(bored), abs=1e-3), name
                larger = max(sum(cq.Face.makeFromWires(f.outerWire()).Area() for f in level) for level in faces)
                cut = sum(area(f.outline.outer) for f in flats[name])
            assert cut == pytest.approx(larger, rel=1e-6), name
    assert judged > 20


def test_a_wedges_outline_holds_its_solid_and_is_little_larger(bodies, flats):
    wedges = [n for n in strips(bodies) if any("shaped after cutting" in x for f in flats[n] for x in f.notes)]
    assert len(wedges) >= 4
    for name in wedges:
        solid = own(bodies[name])
        points, _ = solid.tessellate(0.01, 0.1)
        import shapely

        cut = shapely.union_all([polygon(flat.outline.outer) for flat in flats[name]])
        if all(flat.up == "face" for flat in flats[name]):
            far = shapely.distance(shapely.points([(p.x, p.y) for p in points]), cut).max()
            assert far < 0.05, name
        shadow = max(f.Area() for f in solid.Faces())
        assert sum(abs(area(f.outline.outer)) for f in flats[name]) < 2.5 * shadow


def test_notes_say_bevel_ends_and_packer(bodies, flats):
    for name in strips(bodies):
        if bodies[name].thickness < 6.3:
            continue  # all of it is rounded: the root radius and its coat
        assert any("bevel 5 deg" in note and "larger face down" in note for note in flats[name][0].notes), name
    top = [n for n in strips(bodies) if any("wedge: " in note for note in flats[n][0].notes)]
    assert any("mm high at its aft end" in note for n in top for note in flats[n][0].notes)
    # a strip's line over the table is told on the sheets it cuts, and on no other
    told = [n for n in strips(bodies) if any("dress its top" in note for note in bodies[n].notes)]
    assert told
    assert not any(n.endswith("sheet 1") for n in told)


def test_a_board_that_is_no_whole_one_asks_for_a_packer(bodies):
    from moldplan.cut.outline import pieces
    from moldplan.material.stock import known
    from moldplan.shape.assembly import Assembly
    from moldplan.spec.model import Cutter

    block = {n: b for n, b in bodies.items() if "centre block" in n or "lid sheet" in n}
    spec = read_text(SPEC, "h.yaml").spec
    made = {p.body: p for p in pieces(Assembly(bodies=block, stands=()), known(spec), Cutter())}
    # the block stands lid 22 and gasket 6 high: a board of 18 and 10 more
    assert any("10.0 mm of a 18 mm board: faced board is not planed" in note
               for note in made["deck.h centre block sheet 2"].notes)
    assert not any("packer" in note for note in made["deck.h centre block sheet 1"].notes)
    (lid,) = (p for p in made.values() if "lid sheet" in p.body)
    assert any(note.startswith("brought from 20.0 to ") for note in lid.notes)


def test_the_soles_sheet_has_its_opening_its_recess_and_its_socket(flats):
    (flat,) = flats["deck sheet"]
    assert (flat.up, len(flat.outline.holes), len(flat.outline.sinks)) == ("face", 2, 1)
    (socket,) = (hole for hole in flat.outline.holes if hole.circle)
    assert socket.circle == pytest.approx((-60, 150, 45 + 20))  # flange and twice the core, across
    # closed form: four corners, one rounded, one edge an arc of sagitta 60 over a chord of 760
    assert sum(not s.straight for s in segments(flat.outline.outer)) == 2
