"""Sizes that are sold and sheets in the rack, as a builder writes them; every mistake on one line."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.errors import SpecError
from moldplan.material.sheet import bought, on_hand
from moldplan.material.stock import known
from moldplan.spec.load import read_text
from moldplan.spec.model import Stock

RACK = """\
stock:
  foam:
    kind: pvc foam
    thickness: 20
    size: [2440, 1220]
"""


def board(**more):
    return Stock.model_validate({"kind": "plywood", "thickness": 18, "size": [2440, 1220], **more})


def test_sizes_are_lists_or_maps_and_each_is_sold_once(reads, good):
    text = good + RACK + "    price: 70\n    sizes: [[1220, 1220], {size: [4 ft, 2 ft], price: 20}, [2440, 1220]]\n"
    found = bought(known(reads(text).spec)["foam"])
    assert [(b.size, b.price) for b in found] == [
        ((2440, 1220), 70), ((1220, 1220), None), (pytest.approx((1219.2, 609.6)), 20)]


def test_the_rack_is_counted_through_and_drawn_from_its_lower_left(reads, good):
    text = good + RACK + """\
    on_hand:
      - {size: [800, 600], count: 2, defects: [{at: [100, 200], diameter: 40}]}
      - {outline: [[500, 300], [500, 100], [100, 100]], defects: [{from: [480, 260], to: [440, 200]}]}
"""
    one, two, three = on_hand(known(reads(text).spec)["foam"])
    assert (one.name, two.name, three.name) == ("on hand 1", "on hand 2", "on hand 3")
    assert one.size == (800, 600) and one.outline == () and one.spoilt[0].round
    assert one.spoilt[0].box == (80, 180, 120, 220)
    assert three.size == (400, 200) and three.outline == ((0, 0), (400, 0), (400, 200))  # counter-clockwise
    assert three.spoilt[0].box == (340, 100, 380, 160) and not three.spoilt[0].round


@pytest.mark.parametrize(("entry", "field", "words"), [
    ("{outline: [[0, 0], [500, 400], [500, 0], [0, 400]]}", "outline",
     "an outline that does not cross itself, because the edge from corner 1 meets that from corner 3"),
    ("{outline: [[0, 0], [900, 0], [900, 400], [400, 0], [0, 400]]}", "outline", "meets that from corner 3"),
    ("{outline: [[0, 0], [900, 0], [400, 0], [400, 300]]}", "outline", "doubles back at corner 2"),
    ("{outline: [[0, 0], [900, 0]]}", "outline", "2 stand there"),
    ("{outline: [[0, 0], [900, 0], [900, 400], [0, 0]]}", "outline", "a corner stands there twice"),
    ("{size: [800, 600], outline: [[0, 0], [9, 0], [0, 9]]}", "on_hand.0", "both stand there"),
    ("{count: 2}", "on_hand.0", "neither stands there"),
    ("{size: [800, 600], defects: [{at: [900, 100], diameter: 50}]}", "defects", "number 1 does not lie on the sheet"),
    ("{size: [800, 600], defects: [{at: [100, 100]}]}", "defects.0", "a circle {at, diameter} or a rectangle"),
    ("{size: [800, 600], defects: [{from: [100, 100], to: [100, 200]}]}", "to", "off in both directions"),
    ("{size: [800, 600], count: 0}", "count", "1 to 200"),
])
def test_a_sheet_of_the_rack_that_cannot_be_is_refused_on_one_line(mistakes, good, entry, field, words):
    (line,) = mistakes(good + RACK + f"    on_hand:\n      - {entry}\n")
    assert line.startswith("spec.yaml:12:") and f"{field} " in line and words in line


@pytest.mark.parametrize(("sizes", "words"), [("[2440]", "[length, width]"), ("[[2440]]", "[length, width]"),
                                              ("[[2440, -3]]", "above 0 to 20000 mm")])
def test_a_size_that_is_none_is_refused_on_one_line(mistakes, good, sizes, words):
    (line,) = mistakes(good + RACK + f"    sizes: {sizes}\n")
    assert line.startswith("spec.yaml:11:") and words in line


@pytest.mark.parametrize(("price", "words"), [("-3", "0 to 1000000, because a price is nothing or more"),
                                              (".nan", "a finite number"), ("cheap", "a number, 0 to 1000000")])
def test_a_price_that_is_none_is_refused_on_one_line(mistakes, good, price, words):
    for text in (f"price: {price}", f"sizes: [{{size: [900, 600], price: {price}}}]"):
        (line,) = mistakes(good + RACK + f"    {text}\n")
        assert line.startswith("spec.yaml:11:") and "price = " in line and words in line


def test_one_size_at_two_prices_is_refused_and_at_one_taken(mistakes, reads, good):
    two = good + RACK + "    price: 3\n    sizes: [{size: [2440, 1220], price: 70}]\n"
    (line,) = mistakes(two)
    assert line.startswith("spec.yaml:12:") and "each size at one price" in line and "at 3 and at 70" in line
    assert len(bought(known(reads(two.replace("70", "3")).spec)["foam"])) == 1


@pytest.mark.parametrize(("defect", "lies"), [
    ("{at: [700, 700], diameter: 50}", False), ("{from: [500, 500], to: [900, 900]}", False),
    ("{at: [410, 410], diameter: 50}", True), ("{from: [390, 390], to: [900, 900]}", True)])
def test_a_defect_beside_the_outline_of_its_sheet_is_refused(mistakes, reads, good, defect, lies):
    """A triangle of 800 by 800: its long side goes through 400, 400."""
    text = good + RACK + f"    on_hand: [{{outline: [[0, 0], [800, 0], [0, 800]], defects: [{defect}]}}]\n"
    if lies:
        assert len(on_hand(known(reads(text).spec)["foam"])[0].spoilt) == 1
    else:
        (line,) = mistakes(text)
        assert "places inside the outline, because number 1 lies beside the sheet" in line


@pytest.mark.parametrize("kerf", ["0", "-6"])
def test_a_cutter_of_no_width_is_refused(mistakes, good, kerf):
    (line,) = mistakes(good + f"cutter: {{diameter: {kerf}}}\n")
    assert "cutter.diameter" in line and "0.5 to 50" in line


@pytest.mark.parametrize(("value", "field", "words"), [
    ("[0, 1200]", "bed.0 = 0,", "above 0 to 20000 mm, because a router reaches something"),
    ("[1300, -1]", "bed.1 = -1,", "above 0 to 20000 mm"),
    ("[1300, .nan]", "bed.1 = nan,", "because it must be a finite number"),
    ("[1300, 1e9]", "bed.1 = 1000000000.0,", "above 0 to 20000 mm"),
    ("[a, 1200]", "bed.0 = 'a',", "'a' cannot be read as a length"),
    ("big", "bed = 'big',", "a list of 2 lengths in mm such as [400, 300] (length and width that the router reaches"),
    ("1300", "bed = 1300,", "because a number stands there"), ("true", "bed = true,", "because true or false stands"),
    ("[1300]", "bed = [1300],", "because 1 stands there"),
    ("[1300, 1200, 100]", "bed = [1300, 1200, 100],", "because 3 stand there"),
])
def test_a_bed_that_is_none_is_refused_on_one_line(mistakes, good, value, field, words):
    (line,) = mistakes(good + f"cutter:\n  bed: {value}\n")
    assert line.startswith("spec.yaml:7:") and f"cutter.{field}" in line and words in line


@pytest.mark.parametrize(("value", "words"), [
    ("0", "1 to 500 mm"), ("-3", "1 to 500 mm"), (".nan", "a finite number"), ("deep", "cannot be read as a length"),
    ("[18]", "because a list stands there"), ("501", "bits in use are no longer")])
def test_a_depth_that_is_none_is_refused_on_one_line(mistakes, good, value, words):
    (line,) = mistakes(good + f"cutter:\n  depth: {value}\n")
    assert line.startswith("spec.yaml:7:") and "cutter.depth = " in line and words in line


@pytest.mark.parametrize(("text", "words"), [
    ("cutter: {bridges: true}", "cutter.bridges = true, allowed a whole number, 0 to 12"),
    ("cutter: {nest_seconds: false}", "cutter.nest_seconds = false, allowed a number, above 0 to 3600"),
    (RACK + "    price: true", "stock.foam.price = true, allowed a number, 0 to 1000000"),
    (RACK + "    on_hand: [{size: [800, 600], count: true}]", "count = true, allowed a whole number, 1 to 200")])
def test_true_and_false_are_no_numbers(mistakes, good, text, words):
    (line,) = mistakes(good + text + "\n")
    assert words in line


def test_true_where_a_number_is_due_hides_no_other_mistake(mistakes, good):
    assert len(mistakes(good + "cutter: {bridges: true, spacing: -3}\n")) == 2


@pytest.mark.parametrize(("text", "words"), [
    ("cutter: {bed: [1300 1250]}", "cutter.bed = ['1300 1250'], allowed a list of 2 lengths"),
    ("cutter: {bed: {length: 1300, width: 1250}}", "because a map stands there"),
    (RACK + "    on_hand: {size: [800, 600]}", "because a map stands there")])
def test_a_list_of_the_wrong_kind_is_told_once(mistakes, good, text, words):
    (line,) = mistakes(good + text + "\n")
    assert words in line


def test_a_bed_and_a_depth_are_read_in_any_unit(reads, good):
    cutter = reads(good + "cutter: {bed: [8 ft, 4 ft], depth: 1 in}\n").spec.cutter
    assert cutter.bed == pytest.approx((2438.4, 1219.2)) and cutter.depth == pytest.approx(25.4)


@pytest.mark.parametrize(("field", "value", "words"), [
    ("bridges", "-1", "0 to 12"), ("bridges", "2.5", "whole number"), ("bridge_length", "0", "1 to 100"),
    ("bridge_height", "0", "0.2 to 50"), ("bridge_height", "60", "0.2 to 50"),
])
def test_bridges_that_cannot_be_are_refused_on_one_line(mistakes, good, field, value, words):
    (line,) = mistakes(good + f"cutter: {{{field}: {value}}}\n")
    assert f"cutter.{field}" in line and words in line


@pytest.mark.parametrize("over", ["-1", "101"])
def test_a_scribe_out_of_its_range_is_refused_on_one_line(mistakes, good, over):
    (line,) = mistakes(good.replace("seats:", f"scribe: {over}, seats:"))
    assert "cradles." in line and ".scribe" in line and "0 to 100" in line


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=3, max_size=7, unique=True))
def test_an_outline_is_taken_just_when_geos_finds_it_simple(corners):
    import shapely

    ring = shapely.LinearRing(corners)
    simple = ring.is_valid and shapely.Polygon(corners).area > 0
    points = [[10.0 * x, 10.0 * y] for x, y in corners]
    try:
        board(on_hand=[{"outline": points}])
        taken = True
    except ValueError:
        taken = False
    assert taken == simple


@pytest.mark.parametrize(("text", "words"), [
    ("on_hand: 3", "allowed a list (part-used sheets in the rack, used before any is bought), because a number stands"),
    ("sizes: big", "allowed a list (other sizes"), ("packers: thin", "allowed a list of lengths (thin packers"),
    ("on_hand: [{outline: square}]", "allowed a list of points [x, y] (its corners in order"),
    ("sizes: [{sice: [900, 300]}]", "allowed size (the nearest), price, because a sheet size has no field 'sice'")])
def test_what_is_due_is_told_by_what_it_is(text, words):
    """Not "a list of None to None", not "names" for lengths."""
    with pytest.raises(SpecError) as caught:
        read_text("moldplan: 1\ntitle: t\nstock: {foam: {kind: pvc foam, thickness: 20, size: [2440, 1220], "
                  f"{text}}}}}\n", "s.yaml")
    (line,) = [line for line in caught.value.lines if "stock" in line]
    assert words in line and line.startswith("s.yaml:3:")
