"""Several hatches put elsewhere in one move: what the move promises is measured on the sole that it makes."""

import copy

import pytest

from moldplan.check.sole_below import below
from moldplan.check.sole_layout import layout
from moldplan.shape.assemble import assemble
from moldplan.shape.choose import resolve
from moldplan.spec.model import Spec

HATCH = {"centre": [450, 0], "clear_opening": [300, 300], "corner_radius": 40,
         "gutter": {"width": 40, "depth": 22, "fall": "1:50"}, "lid": {"thickness": 22}}


@pytest.fixture(scope="module")
def judged():
    """A function: {what: finding} of one sole."""

    def run(sole):
        resolved = resolve(Spec.model_validate({"moldplan": 1, "title": "t", "soles": {"s": sole}}))
        made = assemble(resolved)
        return {f"{f.part} {f.what}": f for f in [*layout(made, resolved.spec), *below(made, resolved.spec)]}

    return run


def edited(sole, move):
    """The sole with the edits of a move, each a field of a hatch."""
    changed = copy.deepcopy(sole)
    for edit in move.edits:
        _, _, _, hatch, field = edit.path
        changed["hatches"][hatch][field] = list(edit.to)
    return changed


def test_a_hatch_makes_room_for_another_that_must_come_nearer(judged):
    # the valve is out of a's reach; nearer stands b, in whose place a must come: one reaches the cock, one the valve.
    # a tank as high as the frames are deep stands along the port side, and both must keep clear of it
    sole = {"outline": [[0, -500], [1800, -500], [1800, 500], [0, 500]],
            "hatches": {"a": copy.deepcopy(HATCH), "b": {**HATCH, "centre": [1000, 0]}},
            "below": {"tank": {"from": [0, 300, -300], "to": [1800, 420, -50]}},
            "targets": {"valve": {"at": [700, -50, -480], "arm": 455}, "cock": {"at": [1300, 0, -200], "arm": 300}}}
    found = judged(sole)
    assert found["s reach to valve"].verdict == "fails"
    assert found["s reach to cock"].verdict != "fails"
    joint = [m for m in found["s reach to valve"].moves if len(m.edits) == 2]
    assert joint
    after = judged(edited(sole, joint[0]))
    assert {name: f.measured for name, f in after.items() if f.verdict == "fails"} == {}
