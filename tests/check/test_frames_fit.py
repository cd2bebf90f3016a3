"""Frames of an insert: what each check measures is moved by a known amount and read back from the solids."""

import math
from dataclasses import replace

import cadquery as cq
import pytest

from moldplan.check.frames_fit import frames_fit
from moldplan.shape.body import Frame, Shaped

SHEET, PLAY, COVERING, DEEP = 9.0, 0.3, 4.0, 72.0  # as the spec of the fixture asks
CHECKED = ("play in the slits", "height left beside a slit", "width left beside a slit", "height of the frames",
           "short of the covering by", "hollow under the covering")


def judged(made, limits=None):
    resolved, assembly = made
    spec = resolved.spec.model_copy(update={"limits": limits or {}})
    return {finding.what: finding for finding in frames_fit(assembly, spec)}


def with_body(made, name, solid):
    """The plan with one body's solid replaced."""
    resolved, assembly = made
    body = replace(assembly.body(name), shaped=Shaped(solid))
    return resolved, replace(assembly, bodies={**assembly.bodies, name: body})


def shifted(made, name, x=0.0, y=0.0, z=0.0):
    return with_body(made, name, made[1].body(name).solid.moved(cq.Location(cq.Vector(x, y, z))))


def test_sound_frames_hold_with_what_the_spec_asks_for(framed_seat):
    found = judged(framed_seat())
    assert tuple(found) == CHECKED
    assert {finding.verdict for finding in found.values()} == {"holds"}
    assert found["play in the slits"].measured == pytest.approx(PLAY, abs=1e-4)
    # half of the depth under the covering, less half of the play between two slits' ends
    assert found["height left beside a slit"].measured == pytest.approx((DEEP - COVERING - PLAY) / 2, abs=1e-3)
    assert found["short of the covering by"].measured == found["hollow under the covering"].measured == 0
    assert "floor 4.00, fillet 4.00, wall 4.00" in found["short of the covering by"].note


def test_the_width_beside_a_slit_is_that_of_a_chord(framed_seat):
    """Half way down a slit the surface under the covering is a circle; a chord of it less what is to the slit's far
    side. Frames athwart are slit in their lower half, the others in their upper half, where the wall is further out."""
    _, assembly = framed_seat()
    slant = math.radians(4)
    out = max(abs(assembly.body("k.b frame athwart 1").frame.origin[0] - 160 + way * SHEET) for way in (0, 1))
    floor = 104 + 0.3 * (1 - math.sin(slant)) / math.cos(slant)  # of M, where its wall would meet its floor
    level = COVERING + 0.25 * (DEEP - COVERING)
    radius = floor + level * math.tan(slant) - COVERING / math.cos(slant)
    found = judged(framed_seat())["width left beside a slit"]
    assert found.measured == pytest.approx(math.sqrt(radius**2 - out**2) - out - PLAY / 2, abs=2e-3)
    assert "athwart" in found.note


def test_a_frame_beside_its_place_has_that_much_less_play(framed_seat):
    name = "k.b frame athwart 1"
    found = judged(shifted(framed_seat(), name, x=0.1))["play in the slits"]
    # 0.15 on either side of the sheet, 0.05 after the shift; play counts both
    assert found.measured == pytest.approx(0.1, abs=1e-4) and found.verdict == "fails"
    assert name in found.note and len(found.moves) == 2
    assert judged(shifted(framed_seat(), name, x=0.2))["play in the slits"].measured == 0


def test_frames_that_do_not_reach_the_mouth_do_not_stand(framed_seat):
    found = judged(shifted(framed_seat(), "k.b frame fore and aft 2", z=-1.25))["height of the frames"]
    assert found.measured == pytest.approx(1.25, abs=1e-6) and found.verdict == "fails"
    assert "fore and aft 2" in found.note


def test_a_frame_too_low_leaves_less_over_the_floor_and_one_too_high_is_hollow(framed_seat):
    name = "k.b frame athwart 2"
    short = judged(shifted(framed_seat(), name, z=-0.6))["short of the covering by"]
    assert short.measured == pytest.approx(0.6, abs=1e-4) and short.verdict == "fails"
    assert "floor 3.40" in short.note and name in short.note
    hollow = judged(shifted(framed_seat(), name, z=1.5))["hollow under the covering"]
    assert hollow.measured == pytest.approx(1.5, abs=1e-4) and hollow.verdict == "fails"
    assert name in hollow.note


def test_a_frame_moved_along_itself_is_short_at_one_end_and_hollow_at_the_other(framed_seat):
    """At the mouth the surface under the covering is a circle: there a corner's way out to the wall in closed form."""
    _, assembly = framed_seat()
    name, slant = "k.b frame fore and aft 2", math.radians(4)
    floor = 104 + 0.3 * (1 - math.sin(slant)) / math.cos(slant)
    mouth = floor + DEEP * math.tan(slant)
    side = max(abs(assembly.body(name).frame.origin[1] - 160 - way * SHEET) for way in (0, 1))
    end = math.sqrt((mouth - COVERING / math.cos(slant)) ** 2 - side**2)
    left = (mouth - math.hypot(end + 0.8, side)) * math.cos(slant)
    found = judged(shifted(framed_seat(), name, x=0.8))
    assert found["short of the covering by"].measured == pytest.approx(COVERING - left, abs=0.02)
    assert found["short of the covering by"].at["x"] > 160
    over = (mouth - math.hypot(end - 0.8, side)) * math.cos(slant) - COVERING
    assert found["hollow under the covering"].measured == pytest.approx(over, abs=0.02)
    assert found["hollow under the covering"].at["x"] < 160


def test_a_frame_out_of_the_covered_insert_is_short_by_more_than_the_covering(framed_seat):
    found = judged(shifted(framed_seat(), "k.b frame athwart 1", z=-5))["short of the covering by"]
    assert found.measured == pytest.approx(5, abs=1e-3)  # 4 of covering, and 1 mm out of it


def test_a_tooth_sawn_narrow_is_found(framed_seat):
    """A saw cut beside the last slit leaves a tooth 5 mm wide."""
    name = "k.b frame athwart 1"
    body = framed_seat()[1].body(name)
    slit = max(abs(framed_seat()[1].body(f"k.b frame fore and aft {n}").frame.origin[1] - 160 - w * SHEET)
               for n in (1, 2) for w in (0, 1)) + PLAY / 2
    saw = cq.Solid.makeBox(60, 60, 100, cq.Vector(body.frame.origin[0] - 30, 160 + slit + 5, 0))
    found = judged(with_body(framed_seat(), name, body.solid.cut(saw)))["width left beside a slit"]
    assert found.measured == pytest.approx(5, abs=1e-4) and found.verdict == "fails"
    assert name in found.note


def test_a_seat_of_discs_has_no_such_finding(framed_seat):
    resolved, assembly = framed_seat()
    stand = replace(assembly.stands[0], frames=())
    assert frames_fit(replace(assembly, stands=(stand,)), resolved.spec) == ()


def test_a_seat_that_is_turned_and_leans_measures_the_same(framed_seat):
    """All of it is measured in the frames' own axes: nothing but the place changes."""
    resolved, assembly = framed_seat()
    at = Frame((700.0, -300.0, 50.0), (0.8, 0.6, 0.0), (-0.06, 0.08, math.sqrt(1 - 0.01)))
    bodies = {name: replace(body, shaped=body.shaped.moved(at), frame=at.inside(body.frame))
              for name, body in assembly.bodies.items()}
    stand = replace(assembly.stands[0], frame=at.inside(assembly.stands[0].frame))
    here, there = judged((resolved, assembly)), judged((resolved, replace(assembly, bodies=bodies, stands=(stand,))))
    for what, finding in here.items():
        assert there[what].measured == pytest.approx(finding.measured, abs=1e-3), what
