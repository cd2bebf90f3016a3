"""Drawings of seats and chocks: readable, and their numbers those of the solids.

What is printed comes from the chain; what it is held against is measured here on the bodies' faces.
"""

import math
from dataclasses import replace

import pytest

from moldplan.report import drawings
from moldplan.report.drawing import Region, clashes
from moldplan.report.picture import picture
from moldplan.report.shadow import shadow
from moldplan.report.subject import chains_of, one


def words(sheet):
    return [text.words for text in sheet.texts()]


@pytest.mark.parametrize("which", ["seat", "inch_seat", "chocks"])
def test_no_words_stand_on_a_line_or_on_other_words(which, request, drawn):
    sheets = [sheet for ones in drawn(request.getfixturevalue(which)).values() for sheet in ones]
    assert len(sheets) >= 3
    assert {sheet.title: clashes(sheet) for sheet in sheets if clashes(sheet)} == {}


@pytest.mark.parametrize("which", ["seat", "chocks"])
def test_words_are_ten_points_or_more_but_for_the_labels_of_the_title_block(which, request, drawn):
    for ones in drawn(request.getfixturevalue(which)).values():
        for sheet in ones:
            small = {text.words for text in sheet.texts() if text.size < 10 * 25.4 / 72}
            assert small <= {"Title", "Drawing", "Part", "Hand", "Rev.", "Scale", "Units", "Sheet"}


def test_every_sheet_says_which_way_is_forward_and_up_and_at_what_scale(seat, chocks, drawn):
    for plan in (seat, chocks):
        for ones in drawn(plan).values():
            for sheet in (s for s in ones if s.on_page):
                assert {"FWD", "UP", "Scale", "Units", plan.spec.title, plan.spec.revision} <= set(words(sheet))


def test_the_seat_is_dimensioned_with_what_its_faces_measure(seat, drawn):
    (stand,) = seat.assembly.stands
    host = seat.assembly.body(stand.hosts[0])
    (cone,) = host.faces("galley wall")
    rings = [e for e in cone.Edges() if e.geomType() == "CIRCLE"]
    low, high = sorted(rings, key=lambda e: e.Center().z)[:: len(rings) - 1]
    lean = (high.radius() - low.radius()) / (high.Center().z - low.Center().z)
    floor = low.radius() + lean * (stand.frame.origin[2] - low.Center().z)  # carried down to F
    chain = one(chains_of(seat, stand.path), "per_side", "floor")
    paint = seat.assembly.stands[0].paint / math.cos(math.atan(lean))
    assert floor - paint == pytest.approx(chain.upto("F"), abs=1e-6)
    first = drawn(seat)[stand.name][0]
    assert f"Ø {2 * (floor - paint):.1f}".removesuffix(".0") + " finished at floor" in words(first)


def test_the_chock_is_dimensioned_with_what_its_arc_measures(chocks, drawn):
    (stand,) = chocks.assembly.stands
    (arc,) = (f for f in chocks.assembly.body(stand.hosts[0]).faces("bottle arc") if f.geomType() == "CYLINDER")
    molded = max(e.radius() for e in arc.Edges() if e.geomType() == "CIRCLE")
    finished = molded - stand.paint
    said = words(drawn(chocks)[stand.name][0])
    assert f"arc R {finished:.1f} finished" in said
    assert f"chord {2 * finished * math.sin(math.radians(60)):.0f}" in said  # chord = 2 R sin(w/2), wrap 120 deg
    assert "rise 25" in said
    assert "wrap 120 deg" in said


def test_core_skin_and_paste_are_hatched_each_in_its_way(seat, drawn):
    (stand,) = seat.assembly.stands
    kinds = {mark.material for mark in drawn(seat)[stand.name][0].marks if isinstance(mark, Region)}
    assert {"foam", "skin", "paste"} <= kinds


def test_the_insert_lists_its_discs_as_thick_as_their_sheets(seat, drawn):
    sheet = next(s for s in drawn(seat)[seat.assembly.stands[0].name] if "insert" in s.title)
    assert words(sheet).count("18.2") == 2


def test_the_insert_says_how_its_lower_edge_is_rounded(seat, drawn):
    """Radius as OpenCascade has it on the rounded face of the lowest disc, a torus."""
    stand = seat.assembly.stands[0]
    sheet = next(s for s in drawn(seat)[stand.name] if "insert" in s.title)
    (torus,) = [f for f in seat.assembly.body(stand.tools[0]).solid.Faces() if f.geomType() == "TORUS"]
    radius = torus._geomAdaptor().Torus().MinorRadius()
    assert any(said.endswith(f"lower edge rounded R {radius:.1f}") for said in words(sheet))


def test_a_mirrored_twin_is_not_drawn_twice(seat):
    (stand,) = seat.assembly.stands
    twin = replace(seat.assembly, stands=(stand, replace(stand, name="twin", hand="starboard")))
    assert list(drawings.by_part(replace(seat, assembly=twin))) == ["seat block", "seat block.galley"]


def test_the_chains_of_a_mirrored_pair_stand_once(seat):
    twins = replace(seat, chains=(*seat.chains, *(replace(c, part=f"{c.part} (starboard)") for c in seat.chains)))
    assert chains_of(twins, seat.chains[0].path) == chains_of(seat, seat.chains[0].path) == seat.chains


def test_the_files_are_written_and_hold_every_sheet(seat, drawn, tmp_path):
    made = drawn(seat)
    drawings.write(seat, tmp_path, made)
    count = sum(map(len, made.values()))
    assert len(list((tmp_path / "drawings").glob("*.svg"))) == count
    assert (tmp_path / "drawings.pdf").read_bytes().count(b"/Type /Page\n") == count


def test_the_still_picture_shows_lines_and_directions(chocks):
    sheet = picture(chocks)
    assert len(sheet.marks) > 50
    assert words(sheet) == ["UP", "FWD"]
    assert clashes(sheet) == []


def test_of_a_mirrored_pair_the_title_block_says_that_the_other_is_its_mirror(seat):
    """The same in a spec that asks for both hands; what is drawn stays whole and clear of other words."""
    block = seat.spec.cradles["seat block"].model_copy(update={"hand": "both"})
    both = seat.spec.model_copy(update={"cradles": {"seat block": block}})
    bodies = {name: replace(b, hand="port") for name, b in seat.assembly.bodies.items()}
    stands = tuple(replace(stand, hand="port") for stand in seat.assembly.stands)
    twins = replace(seat, spec=both, assembly=replace(seat.assembly, bodies=bodies, stands=stands))
    made = drawings.by_part(twins)
    for sheet in (sheet for ones in made.values() for sheet in ones):
        assert "port, starboard mirrored" in words(sheet)
        assert clashes(sheet) == []


def test_straps_are_named_with_the_length_to_cut_and_seen_over_a_lying_cylinder(chocks, seat, drawn):
    """Lengths against the straps' own notes; from above a band over a bottle is as long as it is across its eyes."""
    (stand,) = chocks.assembly.stands
    bodies = [chocks.assembly.body(name) for name in stand.straps]
    notes = [note.split()[1] for body in bodies for note in body.notes if "webbing" in note]
    for sheet in (drawn(chocks)[stand.name][0], drawn(chocks)["rack"][0]):
        assert f"{len(notes)} straps, each cut {notes[0]}" in words(sheet)
    (seat_stand,) = seat.assembly.stands
    assert any(said.startswith("strap, cut ") for said in words(drawn(seat)[seat_stand.name][0]))
    box, (loop,) = bodies[0].solid.BoundingBox(), shadow(bodies[0].solid)
    xs, ys = zip(*loop, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((box.xlen, box.ylen), abs=0.1)
