"""Edits to a loaded spec: what the builder wrote is kept where it can be, and every rule is judged again."""

import pytest

from moldplan.errors import SpecError
from moldplan.finding import Edit
from moldplan.spec import load

SEAT = ("cradles", "seat block", "seats", "galley")


def seat_of(loaded):
    return loaded.spec.cradles["seat block"].seats["galley"]


def test_a_number_is_changed_and_the_first_spec_stays_as_it_was(reads, good):
    loaded = reads(good)
    changed = load.edited(loaded, [Edit((*SEAT, "depth"), 54), Edit(("cradles", "seat block", "block", 2), 100)])
    assert (seat_of(changed).depth, changed.spec.cradles["seat block"].block) == (54, (400, 400, 100))
    assert (seat_of(loaded).depth, loaded.spec.cradles["seat block"].block) == (36, (400, 400, 80))
    assert changed.sha256 == loaded.sha256


def test_a_shorthand_on_the_way_is_written_out(reads, good):
    changed = load.edited(reads(good), [Edit((*SEAT, "insert", "use"), "press"), Edit((*SEAT, "straps", "width"), 40)])
    assert (seat_of(changed).insert.stock, seat_of(changed).insert.use) == ("board", "press")
    assert changed.data["cradles"]["seat block"]["seats"]["galley"]["insert"] == {"stock": "board", "use": "press"}
    assert seat_of(changed).straps.width == 40


def test_a_bare_count_of_straps_and_a_bare_side_are_written_out_too(reads, good):
    text = good.replace("insert: board", "straps: 2, limber: port")
    changed = load.edited(reads(text), [Edit((*SEAT, "straps", "width"), 40), Edit((*SEAT, "limber", "fall"), 0.03)])
    assert (seat_of(changed).straps.count, seat_of(changed).limber.towards) == (2, "port")
    assert seat_of(changed).limber.fall == pytest.approx(0.03)
    assert changed.data["cradles"]["seat block"]["seats"]["galley"]["limber"]["fall"] == "3 %"


def test_a_tolerance_beside_a_number_is_kept(reads, good):
    changed = load.edited(reads(good), [Edit(("cylinders", "galley", "diameter"), 270)])
    assert changed.spec.cylinders["galley"].across.value == 270
    assert changed.spec.cylinders["galley"].across.tolerance == 2
    inches = reads(good.replace("267 ± 2", "10 1/2 in ± 1/16 in"))
    assert load.edited(inches, [Edit(("cylinders", "galley", "diameter"), 270)]).spec.cylinders[
        "galley"].across.tolerance == pytest.approx(25.4 / 16)


def test_missing_maps_are_made_and_none_takes_away(reads, good):
    changed = load.edited(reads(good), [
        Edit(("coats", "paint"), 0.2), Edit((*SEAT, "at"),
        (210, 190)), Edit(("cylinders", "galley", "full_mass"), None),
        Edit(("cylinders", "galley", "alternatives"), [])])
    assert changed.spec.coats.paint == 0.2
    assert seat_of(changed).at == (210, 190)
    assert changed.spec.cylinders["galley"].full_mass is None
    assert changed.data["cylinders"]["galley"]["or"] == []


def test_a_changed_spec_is_judged_again_and_told_with_the_old_lines(reads, good):
    with pytest.raises(SpecError, match=r"^spec.yaml:5:69: .*galley.depth = 2, allowed 3 to 1000 mm"):
        load.edited(reads(good), [Edit((*SEAT, "depth"), 2)])
    with pytest.raises(SpecError, match=r"limber.bore = 3, allowed 6 to 80 mm"):
        load.edited(reads(good), [Edit((*SEAT, "limber", "towards"), "aft"), Edit((*SEAT, "limber", "bore"), 3)])


def test_a_path_that_no_spec_has_is_a_fault_of_ours(reads, good):
    with pytest.raises(KeyError, match="no field cradles.seat block.deepth"):
        load.edited(reads(good), [Edit(("cradles", "seat block", "deepth"), 2)])


def test_cautions_of_the_text_outlive_an_edit(reads, good):
    loaded = reads(good.replace("title: Galley gas seat", "title: Galley #2"))
    assert len(loaded.cautions) == 1
    assert load.edited(loaded, [Edit((*SEAT, "depth"), 54)]).cautions == loaded.cautions
