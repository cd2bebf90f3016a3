"""An insert of frames in its seat: where frames stand, how far a covering spans, what is refused; closed forms."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.errors import SpecFault, dotted
from moldplan.shape.assemble import _mirrored, _renamed
from moldplan.shape.choose import resolve
from moldplan.shape.framed import places, widest_span
from moldplan.shape.seat import Build, recess
from moldplan.spec.model import Cylinder, Seat

BARE = Build(skin=1.6, skin_tolerance=0, lap=0.8, paint=0.3, paint_tolerance=0, in_mold=0, in_mold_tolerance=0,
             cut_tolerance=0, origin="")


@settings(max_examples=25, deadline=None)
@given(across=st.floats(150, 500), spacing=st.floats(60, 400), covering=st.floats(0.5, 12), sheet=st.floats(4, 19),
       fillet=st.floats(0, 15))
def test_frames_stand_evenly_on_either_side_of_the_axis_and_leave_a_tooth(across, spacing, covering, sheet, fillet):
    seat = Seat.model_validate({"depth": 90, "clearance_per_side": 4, "floor_fillet": fillet, "draft": 0, "insert": {
        "built": "frames", "frames": {"spacing": spacing, "covering": covering, "clearance": 0}}})
    made = recess(seat, Cylinder(diameter=across, height=400), BARE, block_height=120, bed=0)
    stands = places(seat, made, sheet)
    assert len(stands) % 2 == 0
    assert [-at for at in reversed(stands)] == pytest.approx(list(stands), abs=1e-9)
    steps = [b - a for a, b in zip(stands, stands[1:], strict=False)]
    assert max(steps) <= spacing + 1e-6 and max(steps) == pytest.approx(min(steps), abs=1e-9)
    # without draft the surface under the covering is a cylinder: its radius is the cylinder's, 4 of gap and 0.3 of
    # paint more, the covering less; a frame's end on it, at the side of the last slit, is a chord's half away
    radius, side = across / 2 + 4.3 - covering, stands[-1] + sheet / 2
    assert math.sqrt(radius**2 - side**2) - side >= min(15, 0.85 * radius / 5) - 1e-6


def test_a_covering_spans_from_frame_end_to_frame_end():
    # ends at 30 and 60 deg of a circle of 100 and so on round: 60 deg between those of one side
    stand = 100 * math.sin(math.radians(30)) - 4.5
    assert widest_span(100, (-stand, stand), 9) == pytest.approx(100 * math.pi / 3)
    # a frame near the axis halves that: sin 5 deg; then 25 deg between it and the next, 30 deg across the corner
    near = 100 * math.sin(math.radians(5)) - 4.5
    assert widest_span(100, (-stand, -near, near, stand), 9) == pytest.approx(100 * math.pi / 6)


def test_the_frames_stand_in_the_covered_insert_and_share_its_mouth(framed_seat):
    _, made = framed_seat()
    (stand,) = made.stands
    whole = made.body(*stand.tools)
    assert stand.frames == tuple(f"k.b frame {way} {n}" for way in ("athwart", "fore and aft") for n in (1, 2))
    top = whole.solid.BoundingBox().zmax
    for name in stand.frames:
        body = made.body(name)
        assert body.solid.cut(whole.solid).Volume() == pytest.approx(0, abs=1e-3)
        assert body.solid.BoundingBox().zmax == pytest.approx(top, abs=1e-6)
        assert body.thickness == 9
        # the frames athwart stand on their mouth edges: nothing is cut out of these
        uncut = [e for e in body.solid.Edges() if e.geomType() == "LINE" and abs(e.Center().z - top) < 1e-6]
        assert len(uncut) == (4 if "athwart" in name else 12)


def test_each_hand_of_a_pair_names_its_own_frames(framed_seat):
    """A mirrored twin's bodies are called after their hand; what a stand names must be among them."""
    (stand,) = framed_seat()[1].stands
    for twin in (_renamed(stand, "port"), _mirrored(stand, "port")):
        assert twin.frames == tuple(f"{name} (port)" for name in stand.frames) and len(twin.frames) == 4


def test_the_choice_tells_what_both_ways_take_of_sheet(framed_seat):
    unused = "; what the spec says of `frames` is not used"
    for way in ("frames", "discs"):
        resolved, _ = framed_seat(shape=False, built=way)
        (choice,) = (c for c in resolved.choices if c.field.endswith("insert.built"))
        assert choice.value == way
        # eight discs, each as the square round it: 104.3 + 72 tan 4 at the mouth (the floor's radius is the finished
        # one and the paint on a wall of 4 deg, less what 0.3 of it lowers the floor by)
        wide = 2 * (104 + 0.3 * (1 - math.sin(math.radians(4))) / math.cos(math.radians(4))
                    + 72 * math.tan(math.radians(4)))
        # and each frame as the box round it: a chord of the mouth under 4 mm of covering, 68 mm high
        off = abs(framed_seat()[1].body("k.b frame athwart 1").frame.origin[0] + 4.5 - 160)
        chord = 2 * math.sqrt((wide / 2 - 4 / math.cos(math.radians(4))) ** 2 - off**2)
        assert choice.why == (f"8 discs take {8 * wide**2 / 1e6:.2f} m2 of sheet, frames {4 * chord * 68 / 1e6:.2f} m2 "
                              "and a covering" + unused * (way == "discs"))


def test_no_choice_is_told_where_there_is_none(framed_seat):
    """Eight discs of a press insert, and of one whose frames would not stand clear of each other."""
    for insert in ({"use": "press"}, {"frames": {"spacing": 20}}):
        resolved, _ = framed_seat(shape=False, built="discs", **insert)
        assert not [c for c in resolved.choices if c.field.endswith("insert.built")]


@pytest.mark.parametrize(("insert", "frames", "field", "allowed", "why"), [
    ({"use": "press"}, {}, "insert.built", "discs for a press insert", "only the frames hold"),
    ({}, {"covering": 30}, "frames.covering", "at most 18.0", "a stub of an insert"),
    ({"stock": "board"}, {"spacing": 30}, "frames.spacing", "or more, or discs", "less than two sheets of 18 mm"),
])
def test_what_no_frames_can_be_built_from_is_refused(framed_seat, insert, frames, field, allowed, why):
    with pytest.raises(SpecFault) as caught:
        framed_seat(shape=False, frames=frames, **insert)
    (fault,) = caught.value.faults
    assert dotted(fault.path).endswith(field)
    assert allowed in fault.allowed and why in fault.why


def test_the_spacing_that_is_allowed_works_and_a_hair_less_does_not(framed_seat):
    with pytest.raises(SpecFault) as caught:
        framed_seat(shape=False, frames={"spacing": 30}, stock="board")
    least = float(caught.value.faults[0].allowed.split()[0])
    framed_seat(shape=False, frames={"spacing": least}, stock="board")
    with pytest.raises(SpecFault):
        framed_seat(shape=False, frames={"spacing": least - 0.2}, stock="board")


def test_an_insert_too_narrow_for_two_sheets_a_side_is_refused(spec):
    with pytest.raises(SpecFault) as caught:
        resolve(spec({"gas": {"depth": 36, "clearance_per_side": 4, "insert": {"built": "frames"}}},
                     cylinder={"diameter": 80, "knuckle_radius": 10}))
    assert "too narrow" in caught.value.faults[0].why
