"""Packers that close a stack: sizes by hand (height less whole sheets), and proved through the chain where offered."""

import json

import pytest

from moldplan.check import mold_release, tower
from moldplan.check.hatch_spot import spots
from moldplan.check.packer import packer
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.load import edited, read_text

BOARD = {"kind": "melamine-faced board", "thickness": 18, "size": [2440, 1220]}
PLY = {"kind": "plywood", "thickness": 2, "measured": 2.2, "size": [2440, 1220]}


@pytest.mark.parametrize(("height", "sheets", "thick", "source"), [
    (38.0, 2, 2.2, "thin"), (38.9, 2, 2.9, None), (14.0, 0, 14.0, None), (51.5, 2, 15.5, None)])
def test_a_packer_is_what_whole_sheets_leave(spec_with, height, sheets, thick, source):
    found = packer(spec_with(stock={"board": BOARD, "thin": PLY}), "board", height)
    assert (found.sheets, found.thickness, found.source) == (sheets, pytest.approx(thick), source)
    (edit,) = found.move.edits
    assert (edit.path, edit.to) == (("stock", "board", "packers"), [found.thickness])
    assert f"{thick:g} mm thick" in found.words and (f"{sheets} x board" in found.words) == (sheets > 0)


@pytest.mark.parametrize("height", [18.0, 36.0, 36.4, 54.0])
def test_whole_sheets_want_no_packer(spec_with, height):
    assert packer(spec_with(stock={"board": BOARD}), "board", height) is None


def test_a_stock_of_the_handbook_is_written_out_with_its_packer(spec_with):
    (edit,) = packer(spec_with(), "board", 38.0).move.edits
    assert edit.path == ("stock", "board")
    assert edit.to["packers"] == [2.0] and edit.to["thickness"] == 18


def changed(loaded, move):
    resolved = resolve(edited(loaded, move.edits).spec)
    return resolved, assemble(resolved)


def test_a_seats_packer_makes_its_stack_hold():
    loaded = read_text(json.dumps({"moldplan": 1, "title": "one seat", "stock": {"board": BOARD}, "cylinders": {
        "b": {"diameter": 100, "height": 200, "knuckle_radius": 20}}, "cradles": {"k": {"block": [200, 200, 60],
        "seats": {"b": {"depth": 33, "clearance_per_side": 4, "draft": 4}}}}}), "seat.yaml")
    resolved = resolve(loaded.spec)
    (found,) = tower.stacks(assemble(resolved), resolved.spec)
    deeper, packed = found.moves
    assert found.verdict == "fails" and packed.text in found.note
    # one board of 18; 33 of depth are left 15 short
    assert [edit.to for edit in packed.edits] == [[15.0]]
    resolved, assembly = changed(loaded, packed)
    (after,) = tower.stacks(assembly, resolved.spec)
    assert after.verdict == "holds" and "2 layers make 33.0 mm" in after.note
    resolved, assembly = changed(loaded, deeper)
    assert tower.stacks(assembly, resolved.spec)[0].verdict == "holds"


def test_a_blocks_packer_makes_its_height_hold():
    """A landing of 20 and 12 is 32 deep: a board of 18, and 14 to make up."""
    loaded = read_text(json.dumps({"moldplan": 1, "title": "one hatch", "stock": {"board": BOARD}, "soles": {"s": {
        "outline": [[0, -300], [600, -300], [600, 300], [0, 300]], "hatches": {"h": {
            "centre": [300, 0], "clear_opening": [250, 250], "gutter": {"width": 42, "depth": 22},
            "lid": {"thickness": 20, "gasket": {"free": 20, "squeeze": 0.4}}}}}}}), "hatch.yaml")
    resolved = resolve(loaded.spec)
    (spot,) = spots(assemble(resolved), resolved.spec)
    (found,) = mold_release.block_height(spot)
    packed = found.moves[-1]
    assert found.verdict == "fails" and packed.text in found.note
    assert [edit.to for edit in packed.edits] == [[14.0]]
    resolved, assembly = changed(loaded, packed)
    (spot,) = spots(assembly, resolved.spec)
    assert mold_release.block_height(spot)[0].verdict == "holds"
    block = next(n for n in spot.place.mold if n.endswith("centre block"))
    layers = [assembly.body(n) for n in spot.place.mold_sheets[block]]
    assert [(b.kind, round(b.thickness, 6)) for b in layers] == [("mold sheet", 18), ("packer", 14)]
    whole = assembly.body(block).solid.Volume()
    assert sum(b.solid.Volume() for b in layers) == pytest.approx(whole, rel=1e-9)
    assert all(layer.solid.isValid() for layer in layers)
