"""What cannot be built is refused before any solid is made, with the field, what is allowed and why."""

import re

import pytest

from moldplan.errors import SpecFault, dotted
from moldplan.shape.choose import resolve

SEAT = {"depth": 36, "clearance_per_side": 4}
CHOCK = {"straps": 0}
LOCKER = {"box": {"from": [0, 100, 0], "to": [600, 700, 700]}, "lid": {"clear_opening": [400, 400]}}


@pytest.mark.parametrize(("case", "field", "why"), [
    ({"seats": {"gas": SEAT | {"at": [100, 200]}}}, "seats.gas.at", "leave its block"),
    ({"seats": {"gas": SEAT}, "block": (250, 250, 80)}, "seats.gas.at", "leave its block"),
    ({"seats": {"gas": SEAT | {"depth": 80}}}, "seats.gas.depth", "come through the block"),
    ({"seats": {"gas": SEAT | {"floor_fillet": 60}}}, "seats.gas.floor_fillet", "reach the rim"),
    ({"seats": {"gas": SEAT | {"rim_radius": 34, "floor_fillet": 8}}}, "seats.gas.rim_radius", "meet in the wall"),
    ({"seats": {"gas": SEAT | {"rim_radius": 34}}}, "seats.gas.rim_radius", "least bore"),
    ({"seats": {"gas": SEAT | {"limber": {"towards": "aft", "bore": 36}}}}, "limber.bore", "through the rim"),
    ({"seats": {"gas": SEAT | {"depth": 76, "limber": {"towards": "aft", "bore": 20, "fall": "20 %"}}}},
     "limber.fall", "underside"),
    ({"chocks": {"gas": CHOCK | {"wrap": 190}}, "block": (600, 400, 20)}, "chocks.gas.wrap", "closes over"),
    ({"chocks": {"gas": CHOCK | {"wrap": 175, "made": "molded", "draft": 3}}, "block": (600, 400, 20)},
     "chocks.gas.wrap", "does not leave its mold"),
    ({"chocks": {"gas": CHOCK | {"spacing": 500}}, "block": (900, 400, 20)}, "chocks.gas.spacing", "straight part"),
    ({"chocks": {"gas": CHOCK | {"limber": 30}}, "block": (600, 400, 20)}, "chocks.gas.limber", "into the arc"),
    ({"chocks": {"gas": CHOCK | {"edge_radius": 9}}, "block": (600, 400, 20)}, "chocks.gas.edge_radius", "meet"),
    ({"chocks": {"gas": CHOCK}, "block": (600, 200, 20)}, "chocks.gas.at", "over the base's edge"),
    ({"seats": {"gas": SEAT | {"depth": 6, "limber": {"towards": "aft", "bore": 6}}}}, "seats.gas.depth", "least bore"),
    ({"seats": {"gas": SEAT | {"depth": 8, "floor_fillet": 6}}, "coats": {"paint": 5}}, "floor_fillet",
     "reach the rim"),
    ({"seats": {"gas": SEAT | {"depth": 3, "floor_fillet": 0}}, "coats": {"paint": 5}}, "seats.gas.depth", "paint"),
    ({"chocks": {"gas": CHOCK | {"rise": 2, "limber": 0}}, "block": (600, 400, 20), "coats": {"paint": 5}},
     "chocks.gas.rise", "under the arc"),
    ({"chocks": {"gas": CHOCK | {"shoulder": 3, "wrap": 40}}, "block": (600, 400, 20), "coats": {"paint": 5}},
     "chocks.gas.shoulder", "beside the arc"),
    ({"chocks": {"gas": {"straps": 2, "wrap": 60}}, "block": (600, 260, 20)}, "chocks.gas.straps", "off the base"),
    ({"cradle": {"locker": "l"}, "lockers": {"l": LOCKER | {"sole": {"fall": "20 %"}}}}, "sits", "under the sole"),
    ({"cradle": {"locker": "l"}, "lockers": {"l": LOCKER | {"sole": {"fall": "15 %"}}}}, "sits", "the floor of gas"),
    ({"cradle": {"hand": "both", "at": [0, -100]}}, "hand", "its own twin"),
    ({"cradle": {"locker": "l", "at": [-50, 150]}, "lockers": {"l": LOCKER}}, "cradles.block.at", "through the wall"),
    ({"block": (400, 400, 80), "cradle": {"locker": "l"},
      "lockers": {"l": LOCKER | {"box": {"from": [0, 0, 0], "to": [500, 500, 60]}}}}, "cradles.block.block", "taller"),
    ({"stock": {"board": {"kind": "plywood", "thickness": 0.5, "size": [2440, 1220]}}}, "gas.insert.stock",
     "72 sheets"),
    ({"stock": {"foam": {"kind": "pvc foam", "thickness": 1, "size": [2440, 1220]}}}, "block.stock", "80 sheets"),
    ({"lockers": {"l": LOCKER | {"box": {"from": [0, 0, 0], "to": [500, 0, 60]}}}}, "lockers.l.box", "no room"),
    ({"lockers": {"l": LOCKER | {"lid": {"clear_opening": [700, 300]}}}}, "lid.clear_opening", "own top"),
    ({"lockers": {"l": LOCKER | {"lid": {"clear_opening": [300, 300], "corner_radius": 200}}}}, "corner_radius",
     "half the shorter"),
])
def test_it_is_refused(spec, case, field, why):
    with pytest.raises(SpecFault) as caught:
        resolve(spec(case.get("seats"), **{key: value for key, value in case.items() if key != "seats"}))
    faults = [f for f in caught.value.faults if field in dotted(f.path)]
    assert faults, caught.value
    assert why in faults[0].why
    assert faults[0].allowed


@pytest.mark.parametrize(("field", "seat"), [
    ("rim_radius", {"depth": 12, "rim_radius": 15, "draft": 3, "limber": {"towards": "aft", "bore": 6}}),
    ("rim_radius", {"depth": 12, "rim_radius": 15, "draft": 1, "limber": {"towards": "aft", "bore": 6}}),
    ("floor_fillet", {"depth": 36, "floor_fillet": 90, "draft": 3}),
    ("covering", {"depth": 37, "insert": {"built": "frames", "frames": {"covering": 30, "spacing": 300}}}),
    ("spacing", {"depth": 54, "insert": {"built": "frames", "frames": {"spacing": 37}}}),
])
def test_the_end_of_what_is_said_to_be_allowed_is_allowed(spec, field, seat):
    """A number told rounded the wrong way is refused when it is typed as told."""
    seat = {"clearance_per_side": 4, "floor_fillet": 8, "rim_radius": 0, **seat}
    with pytest.raises(SpecFault) as caught:
        resolve(spec({"gas": seat}))
    told = min((f for f in caught.value.faults if f.path[-1] == field),
               key=lambda fault: float(re.findall(r"[\d.]+", fault.allowed)[-1])).allowed
    holder = seat["insert"]["frames"] if field in ("covering", "spacing") else seat
    holder[field] = float(re.findall(r"[\d.]+", told)[-1])
    resolve(spec({"gas": seat}))


def test_two_seats_that_cut_into_each_other_say_by_how_much(spec):
    # closed form: two mouths of radius 137.5 + (0.3 + skin)/cos 4 + 36 tan 4 + ..., 260 mm apart
    with pytest.raises(SpecFault, match="at least 28.* mm from the middle of gas") as caught:
        resolve(spec({"gas": SEAT | {"at": [200, 200]}, "two": SEAT | {"cylinder": "gas", "at": [460, 200]}},
                     block=(800, 400, 80)))
    assert "cut into each other" in caught.value.faults[0].why


def test_a_limber_through_another_seat_is_refused_and_never_chosen(spec):
    two = {"cylinder": "gas", "at": [540, 200]}
    seats = {"gas": SEAT | {"at": [200, 200], "limber": "forward"}, "two": SEAT | two}
    with pytest.raises(SpecFault, match="a side that is not beyond two"):
        resolve(spec(seats, block=(740, 400, 80)))
    free = {"gas": SEAT | {"at": [200, 205]}, "two": SEAT | two | {"at": [540, 205]}}
    made = resolve(spec(free, block=(740, 400, 80)))
    assert {s.limber.towards for s in made.spec.cradles["block"].seats.values()} <= {"port", "aft", "forward"}
    assert made.spec.cradles["block"].seats["two"].limber.towards != "aft"


def test_all_faults_are_told_at_once(spec):
    with pytest.raises(SpecFault) as caught:
        resolve(spec({"gas": SEAT | {"depth": 90, "at": [10, 10]}}))
    assert {f.path[-1] for f in caught.value.faults} >= {"depth", "at"}


def test_nothing_left_open_is_left_untold(spec):
    made = resolve(spec())
    told = {choice.field for choice in made.choices}
    assert {"cradles.block.at", "cradles.block.skin", "cradles.block.seats.gas.at",
            "cradles.block.seats.gas.floor_fillet", "cradles.block.seats.gas.limber"} <= told
    assert all(choice.why for choice in made.choices)


def test_the_sole_under_a_level_block_is_told_by_how_much(spec):
    """A sole of 20 % under 400 mm rises 80 mm, as high as the block: 1 mm short of the least that must be left."""
    with pytest.raises(SpecFault) as caught:
        resolve(spec(cradle={"locker": "l"}, lockers={"l": LOCKER | {"sole": {"fall": "20 %"}}}))
    assert "a block 1.0 mm higher" in caught.value.faults[0].allowed


def test_an_eye_off_the_base_is_told_by_how_much(spec):
    """Eyes lie at 133.5 + 2 / 2 mm from the middle; a base of 260 mm ends at 130."""
    with pytest.raises(SpecFault) as caught:
        resolve(spec(chocks={"gas": {"straps": 2, "wrap": 60}}, block=(600, 260, 20)))
    assert any("4 mm off" in f.why or "5 mm off" in f.why for f in caught.value.faults)


def test_a_chock_with_a_dot_in_its_name_is_shaped(shaped):
    _, made = shaped(chocks={"no. 1": {"cylinder": "gas", "straps": 1}}, block=(600, 400, 20))
    assert "block.no. 1 rib 1" in made.bodies


@pytest.mark.parametrize(("depth", "paint"), [(9, 0.3), (10, 5), (14, 1)])
def test_what_is_chosen_for_a_shallow_seat_is_not_refused_afterwards(spec, depth, paint):
    resolve(spec({"gas": SEAT | {"depth": depth}}, coats={"paint": paint}))
