"""The search for cures on made-up findings: which change is taken, what it may cost, what is said of none."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cure.search import cures
from moldplan.errors import Fault, GeometryError, SpecError, SpecFault
from moldplan.finding import Edit, Finding, Move, Source


def finding(what, measured, limit, moves=()):
    return Finding(check="c", part="p", what=what, measured=measured, limit=limit, sense="at_least", unit="mm",
                   source=Source(document="made up", how_read="ours"), moves=moves)


class Bench:
    """A made-up plan: values by path; each finding a function of the values."""

    def __init__(self, values, **rules):
        self.values, self.rules, self.asked = values, rules, []

    def __call__(self, edits):
        self.asked.append(edits)
        values = {**self.values, **{edit.path: edit.to for edit in edits}}
        return tuple(finding(what, rule(values), 10.0) for what, rule in self.rules.items())


WIDE, DEEP = ("wide",), ("deep",)


def move(path, to, step=0.5):
    return Move(f"{path[0]} {{to}} mm", (Edit(path, to, step),))


def only(found):
    (one,) = [f for f in found if f.cure]
    return one.cure


def test_what_holds_is_left_alone_and_nothing_is_evaluated():
    bench = Bench({})
    held = finding("room", 12.0, 10.0)
    assert cures([held], bench) == (held,)
    assert not bench.asked


def test_the_first_guess_is_taken_when_it_holds():
    bench = Bench({WIDE: 7.0}, room=lambda v: v[WIDE])
    cure = only(cures([finding("room", 7.0, 10.0, (move(WIDE, 10.0),))], bench))
    assert cure.rechecked
    assert cure.edits[0].to == 10.0
    assert cure.text == "wide 10 mm (re-checked)"
    assert len(bench.asked) == 1


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 16))
def test_of_all_steps_the_least_that_holds_is_taken(needed):
    # room grows by half of every step: it takes `needed` steps beyond the guess
    bench = Bench({}, room=lambda v: 10.0 - needed + (v[WIDE] - 5.0) / 0.5)
    cure = only(cures([finding("room", 0.0, 10.0, (move(WIDE, 5.0),))], bench, each=20))
    assert cure.edits[0].to == 5.0 + 0.5 * needed
    assert len(bench.asked) <= 10


def test_a_change_that_breaks_something_else_is_not_taken():
    bench = Bench({WIDE: 7.0, DEEP: 7.0}, room=lambda v: max(v[WIDE], v[DEEP]), core=lambda v: 20.0 - v[WIDE])
    start = [finding("room", 7.0, 10.0, (move(WIDE, 11.0), move(DEEP, 11.0))), finding("core", 13.0, 10.0)]
    cure = only(cures(start, bench))
    assert cure.edits[0].path == DEEP


def test_what_failed_before_may_go_on_failing():
    bench = Bench({WIDE: 7.0}, room=lambda v: v[WIDE], core=lambda v: 0.0)
    start = [finding("room", 7.0, 10.0, (move(WIDE, 11.0),)), finding("core", 0.0, 10.0)]
    room, core = cures(start, bench)
    assert room.cure.rechecked
    assert not core.cure.rechecked
    assert core.cure.edits == ()


def test_two_moves_together_where_neither_is_enough():
    bench = Bench({WIDE: 0.0, DEEP: 0.0}, room=lambda v: v[WIDE] + v[DEEP])
    cure = only(cures([finding("room", 0.0, 10.0, (move(WIDE, 5.0, 0.0), move(DEEP, 5.0, 0.0)))], bench))
    assert {edit.path: edit.to for edit in cure.edits} == {WIDE: 5.0, DEEP: 5.0}
    assert cure.text == "wide 5 mm, and deep 5 mm (re-checked)"


def test_two_moves_of_one_field_are_never_taken_together():
    bench = Bench({WIDE: 0.0}, room=lambda v: v[WIDE])
    cure = only(cures([finding("room", 0.0, 10.0, (move(WIDE, 5.0, 0.0), move(WIDE, 6.0, 0.0)))], bench))
    assert not cure.edits
    assert len(bench.asked) == 2


@pytest.mark.parametrize("trouble", [SpecError(["a.yaml:3: no"]), SpecFault([Fault(WIDE, 1, "more", "less")]),
                                     GeometryError("no solid")])
def test_an_impossible_change_is_passed_over_and_said(trouble):
    def evaluate(edits):
        raise trouble

    cure = only(cures([finding("room", 7.0, 10.0, (move(WIDE, 10.0, 0.0),))], evaluate))
    assert cure.text == "none found"
    assert not cure.rechecked
    assert "impossible" in cure.tried[0]
    assert str(trouble) in cure.tried[0]


def test_a_bug_of_ours_is_not_taken_for_an_impossible_change():
    def evaluate(edits):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        cures([finding("room", 7.0, 10.0, (move(WIDE, 10.0),))], evaluate)


def test_the_same_edits_are_evaluated_once_for_all_findings():
    bench = Bench({WIDE: 7.0}, room=lambda v: v[WIDE], play=lambda v: v[WIDE])
    same = (move(WIDE, 10.0),)
    found = cures([finding("room", 7.0, 10.0, same), finding("play", 7.0, 10.0, same)], bench)
    assert all(f.cure.rechecked for f in found)
    assert len(bench.asked) == 1


def test_the_budget_is_kept_and_running_out_of_it_is_said():
    bench = Bench({WIDE: 0.0}, room=lambda v: 0.0)
    moves = tuple(move((f"f{k}",), 1.0) for k in range(30))
    cure = only(cures([finding("room", 0.0, 10.0, moves)], bench, each=7))
    assert len(bench.asked) == 7
    assert "spent" in cure.text
    bench = Bench({WIDE: 0.0}, room=lambda v: 0.0, play=lambda v: 0.0)
    cures([finding("room", 0.0, 10.0, moves[:15]), finding("play", 0.0, 10.0, moves[15:])], bench, each=7, total=9)
    assert len(bench.asked) == 9


def test_without_a_move_nothing_is_promised():
    cure = only(cures([finding("room", 0.0, 10.0)], Bench({})))
    assert not cure.rechecked
    assert "no change" in cure.text


def test_places_and_sizes_read_as_a_builder_writes_them():
    bench = Bench({}, room=lambda v: 20.0)
    there = Move("move it to {to}", (Edit(("at",), (120.0, 200.5)),))
    cure = only(cures([finding("room", 0.0, 10.0, (there,))], bench))
    assert cure.text == "move it to 120, 200.5 (re-checked)"
    cure = only(cures([finding("room", 0.0, 10.0, (Move("a block {to}", (Edit(("b",), (400.0, 380.0, 60.0)),)),))],
                      bench))
    assert cure.text == "a block 400 x 380 x 60 (re-checked)"


def test_a_change_is_looked_at_no_further_than_to_where_it_fails():
    """Parts come one after the other: what fails in the first, or breaks something there, is not asked for the next."""
    asked = []

    def evaluate(edits):
        wide = edits[0].to
        yield (finding("room", wide, 30.0), finding("edge", 60.0 - wide, 5.0))
        asked.append(wide)
        yield (finding("cut", wide, 35.0),)

    cure = only(cures([finding("room", 7.0, 30.0, (move(WIDE, 10.0, 10.0),))], evaluate))
    assert not cure.rechecked and asked == [30.0]  # 10 and 20 fail at once; 30 cuts what then fails
    assert cure.tried == ("wide 30 mm: then c.p.cut fails",) or "cut" in cure.tried[0]


def test_what_cannot_be_in_a_later_part_is_no_cure():
    def evaluate(edits):
        yield (finding("room", edits[0].to, 10.0),)
        raise GeometryError("no such sheet")

    cure = only(cures([finding("room", 7.0, 10.0, (move(WIDE, 10.0, 0.0),))], evaluate))
    assert not cure.rechecked and "no such sheet" in cure.tried[0]
