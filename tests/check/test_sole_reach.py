"""Does an arm reach what it must: ways by hand past boxes, under frames, through one of two hatches.

One sole, flat, its surface at 0; a hatch whose opening reaches 150 mm from its middle at 450, 0. The opening is entered
45 mm (ours) inside its edge at the landing, 28 mm down. Its frame goes 115 mm further out than the opening.
"""

import math

import pytest

from moldplan.check.sole_below import below
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

HATCH = {"centre": [450, 0], "clear_opening": [300, 300], "corner_radius": 40,
         "gutter": {"width": 40, "depth": 22, "fall": "1:50"}, "lid": {"thickness": 22}}
# landing 28, gutter 22, a fall of 1:50 from the middle of the forward side to the aft corners, paint and skin
FRAME = 28 + 22 + (150 - 40 + 85 * math.pi / 2 + 220 + 85 * math.pi / 4) / 50 + 0.3 + 1.2


@pytest.fixture(scope="module")
def reached():
    """A function: the finding about one target at a place."""

    def run(at, arm=600, **fields):
        body = {"outline": [[0, -500], [1800, -500], [1800, 500], [0, 500]], "hatches": {"a": HATCH},
                "targets": {"valve": {"at": at, "arm": arm}}} | fields
        resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "t", "soles": {"s": body}}))
        (found,) = (f for f in below(assemble(resolved), resolved.spec) if f.what == "reach to valve")
        return found

    return run


def test_a_straight_reach_is_the_distance_to_the_opening(reached):
    found = reached([855, 0, -328])
    assert found.measured == pytest.approx(math.hypot(855 - 450 - 105, 300), abs=0.01)


def test_a_target_high_under_the_sole_is_reached_under_the_frame(reached):
    # straight it would be 301 mm, through the gutter: down the opening, under flange and gutter, and up
    found = reached([855, 0, -60])
    edge, outer = (600, 0, -FRAME), (715, 0, -FRAME)
    least = math.dist((555, 0, -28), edge) + math.dist(edge, outer) + math.dist(outer, (855, 0, -60))
    assert found.measured == pytest.approx(least, abs=0.2)
    assert found.measured > math.dist((555, 0, -28), (855, 0, -60)) + 2


def test_a_wall_in_between_makes_the_way_longer(reached):
    free = reached([855, 0, -328])
    round_it = reached([855, 0, -328], below={"wall": {"from": [650, -300, -600], "to": [660, 300, -110]}})
    assert round_it.measured > free.measured
    # over its top, where 20 mm are left under the frame, or round an end: no shorter than over the two nearest corners
    over = math.dist((555, 0, -28), (650, 0, -110)) + 10 + math.dist((660, 0, -110), (855, 0, -328))
    assert round_it.measured >= over - 0.1


def test_a_target_behind_the_engine_is_not_reached_through_it(reached):
    # on the forward face of a box as wide as the sole: over its top, along it, and down its face
    engine = {"engine": {"from": [600, -500, -500], "to": [900, 500, -150]}}
    found = reached([900, 0, -300], below=engine, arm=900)
    over = math.dist((555, 0, -28), (600, 0, -150)) + 300 + 150
    assert over - 0.1 <= found.measured <= over + 150
    on_top = reached([750, 0, -150], below=engine)
    assert on_top.measured <= over


def test_what_is_shut_in_is_told_to_be_out_of_reach(reached):
    walls = {"low": {"from": [1000, -400, -500], "to": [1600, 400, -490]},
             "high": {"from": [1000, -400, -110], "to": [1600, 400, -100]},
             "aft": {"from": [1000, -400, -500], "to": [1010, 400, -100]},
             "fore": {"from": [1590, -400, -500], "to": [1600, 400, -100]},
             "port": {"from": [1000, 390, -500], "to": [1600, 400, -100]},
             "other": {"from": [1000, -400, -500], "to": [1600, -390, -100]}}
    found = reached([1300, 0, -300], arm=1400, below=walls)
    assert found.verdict == "fails"
    assert "no way to valve was found" in found.note
    del walls["aft"]
    assert reached([1300, 0, -300], arm=1400, below=walls).verdict != "fails"


def test_the_nearest_of_two_hatches_is_named_and_the_other_ones_frame_is_passed(reached):
    two = {"a": HATCH, "b": {**HATCH, "centre": [1000, 0]}}
    found = reached([1200, 0, -200], hatches=two)
    assert "from the opening of b" in found.note
    # between the two, nearer to a: 20 mm beyond where b's frame ends, 58 mm down, level with both frames' undersides
    between = reached([715 + 10, 0, -45], hatches=two)
    assert "from the opening of a" in between.note
    assert between.measured > math.dist((555, 0, -28), (600, 0, -FRAME)) + 115


def test_the_hatch_to_move_and_by_how_much_is_named_to_the_millimetre(reached):
    found = reached([1200, 0, -200], arm=500)
    (move,) = found.moves
    step = int(move.text.split(" mm ")[0].split()[-1])
    assert move.text.startswith(f"move a {step} mm towards valve")
    # from the entry, 105 forward of the middle, down to the frame's underside at the opening's edge, then straight
    edge = math.hypot(45, FRAME - 28)
    level = 45 + math.sqrt((500 - edge) ** 2 - (200 - FRAME) ** 2)
    assert step == pytest.approx(1200 - 450 - 105 - level, abs=1.6)  # whole millimetres, half a one in hand
    assert {e.path[-1]: e.to for e in move.edits}["centre"] == (450 + step, 0)
