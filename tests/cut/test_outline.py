"""Bodies to flat outlines. Expected areas are closed forms, or what the kernel measures on the solid's own face."""

import math

import cadquery as cq
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from moldplan.cut.flat import flatten
from moldplan.cut.loop import area, bounds, faults, moved, outline_area, sampled, segments
from moldplan.cut.outline import pieces
from moldplan.cut.profile import ARC_TOLERANCE
from moldplan.errors import GeometryError, SpecFault
from moldplan.shape.assembly import Assembly
from moldplan.shape.body import Frame
from moldplan.spec.model import Cutter, Stock

PLATE = cq.Workplane().box(300, 200, 18, centered=(True, True, False))
UPRIGHT = Frame((0, 0, 0), (1, 0, 0), (0, -1, 0))  # a rib: its sheet stands across the boat


def assembled(*bodies):
    return Assembly(bodies={body.name: body for body in bodies}, stands=())


def rib():
    """A rib with an arc for the cylinder, a limber notch below and one sloping shoulder: it has no mirror image."""
    outline = (
        cq.Workplane("XZ").moveTo(-150, 0).lineTo(-20, 0).threePointArc((0, 12), (20, 0)).lineTo(150, 0)
        .lineTo(150, 100).lineTo(110, 100).threePointArc((0, 25), (-110, 100)).lineTo(-150, 80).close()
    )  # fmt: skip
    return outline.extrude(18).val()


def flat(flat_body, solid, **more):
    (one,) = flatten(flat_body(solid, **more))
    for loop in (one.outline.outer, *one.outline.holes, *one.outline.far):
        assert faults(loop) == ()
    assert area(one.outline.outer) > 0
    assert all(hole.circle or area(hole) < 0 for hole in one.outline.holes)
    return one


def face_area(solid, where):
    return max(f.Area() for f in cq.Workplane(solid).faces(where).vals())


def test_a_plate_with_openings_has_its_face(flat_body):
    solid = PLATE.faces(">Z").workplane().pushPoints([(80, 40), (-70, 0)]).hole(31).faces(">Z").workplane()
    solid = solid.center(0, -60).slot2D(70, 22).cutThruAll().val()
    made = flat(flat_body, solid)
    assert outline_area(made.outline) == pytest.approx(face_area(solid, ">Z"), rel=1e-9)
    slot = 48 * 22 + math.pi * 11**2
    assert outline_area(made.outline) == pytest.approx(60000 - 2 * math.pi * 15.5**2 - slot, rel=1e-9)
    assert sum(hole.circle is not None for hole in made.outline.holes) == 2
    assert (made.outline.far, made.up) == ((), "face")


def test_a_rib_standing_across_the_boat_is_laid_flat_in_its_own_axes(flat_body):
    solid = rib()
    made = flat(flat_body, solid, frame=UPRIGHT)
    assert outline_area(made.outline) == pytest.approx(face_area(solid, ">Y"), rel=1e-9)
    assert bounds(made.outline.outer) == pytest.approx((-150, 0, 150, 100))
    assert {s.straight for s in segments(made.outline.outer)} == {True, False}


def test_a_disc_that_opens_upward_is_cut_large_and_marked_small_side_up(flat_body):
    """Widths by tan of the draft; a disc 18 high at 4 deg is 18 tan 4 deg = 1.259 mm smaller below."""
    solid = cq.Workplane().circle(150 - 18 * math.tan(math.radians(4))).extrude(18, taper=-4).val()
    made = flat(flat_body, solid)
    assert made.outline.outer.circle[2] == pytest.approx(150, abs=1e-6)
    assert made.outline.far[0].circle[2] == pytest.approx(150 - 1.2587, abs=1e-4)
    assert made.up == "underside"
    assert outline_area(made.outline) == pytest.approx(face_area(solid, ">Z"), rel=1e-9)


def test_a_drafted_opening_is_cut_small_and_its_larger_face_marked(flat_body):
    cone = cq.Workplane().circle(50).extrude(18, taper=-10)
    made = flat(flat_body, PLATE.cut(cone).val())
    assert [h.circle[2] for h in made.outline.holes] == pytest.approx([50])
    assert [f.circle[2] for f in made.outline.far] == pytest.approx([50 + 18 * math.tan(math.radians(10))])
    assert outline_area(made.outline) == pytest.approx(60000 - 2500 * math.pi, rel=1e-9)


@pytest.mark.parametrize("where", ["<Z", ">Z"])
def test_a_rounded_edge_does_not_make_the_piece_smaller(flat_body, where):
    made = flat(flat_body, cq.Workplane().circle(150).extrude(18).faces(where).edges().fillet(8).val())
    assert made.outline.outer.circle[2] == pytest.approx(150, abs=1e-6)
    assert [f.circle[2] for f in made.outline.far] == pytest.approx([142], abs=1e-6)
    assert made.up == ("underside" if where == "<Z" else "face")


def test_a_rib_with_its_arc_rounded_keeps_the_narrow_arc(flat_body):
    """The edges at the arc are rounded 3 mm: there both faces lie 3 mm back, the outline does not."""
    sharp = rib()
    edges = cq.selectors.BoxSelector((-109, -30, 24), (109, 30, 99))
    soft = cq.Workplane(sharp).edges(edges).fillet(3).val()
    made = flat(flat_body, soft, frame=UPRIGHT)
    assert outline_area(made.outline) == pytest.approx(face_area(sharp, ">Y"), rel=1e-6)
    assert len(made.outline.far) == 1


def test_a_wedge_cut_lift_keeps_its_whole_outline_and_says_so(flat_body):
    wedge = cq.Workplane().box(500, 500, 40).rotate((0, 0, 0), (0, 1, 0), 2).translate((0, 0, -14))
    made = flat(flat_body, PLATE.cut(wedge).val())
    assert outline_area(made.outline) == pytest.approx(60000, rel=1e-9)
    assert any("underside is not flat and level" in note for note in made.notes)


def test_blind_holes_and_recesses_carry_their_depth(flat_body):
    solid = PLATE.faces(">Z").workplane().pushPoints([(80, 40)]).hole(60, 9).faces(">Z").workplane()
    made = flat(flat_body, solid.center(-60, -40).rect(60, 30).cutBlind(-6).val())
    ((bore, bored),), ((sink, sunk),) = made.outline.bores, made.outline.sinks
    assert (bored, sunk) == (pytest.approx(9), pytest.approx(6))
    assert bore.circle == pytest.approx((80, 40, 30))
    assert abs(area(sink)) == pytest.approx(1800)
    assert outline_area(made.outline) == pytest.approx(60000)
    assert made.outline.far == ()


def test_recesses_from_below_turn_the_piece_over_or_ask_for_a_second_set_up(flat_body):
    below = PLATE.faces("<Z").workplane().pushPoints([(80, 40)]).hole(60, 9)
    made = flat(flat_body, below.val())
    assert (made.up, [d for _, d in made.outline.bores], made.outline.under) == ("underside", [pytest.approx(9)], ())
    both = flat(flat_body, below.faces(">Z").workplane().pushPoints([(-80, 0)]).hole(30, 5).val())
    assert (both.up, [d for _, d in both.outline.bores]) == ("face", [pytest.approx(5)])
    assert [d for _, d in both.outline.under] == [pytest.approx(9)]


def test_a_slanting_hole_is_marked_for_the_hand(flat_body):
    drill = cq.Workplane().circle(6).extrude(200, both=True).rotate((0, 0, 0), (1, 0, 0), 70)
    made = flat(flat_body, PLATE.cut(drill).val())
    assert outline_area(made.outline) == pytest.approx(60000) and made.outline.holes == ()
    assert len(made.outline.far) == 2
    assert any("made by hand" in note for note in made.notes)


def test_an_opening_that_a_groove_breaks_open_below_stays_a_circle(flat_body):
    cone = cq.Workplane().circle(60).extrude(18, taper=-4)
    groove = cq.Workplane("YZ").circle(8).extrude(-200)
    made = flat(flat_body, PLATE.cut(cone).cut(groove).val())
    assert [h.circle[2] for h in made.outline.holes] == [pytest.approx(60, abs=1e-4)]


def test_a_groove_is_marked_as_a_groove_and_no_edge_is_drawn_twice(flat_body):
    """A groove of 16 x 8 in the underside, from the middle of a hole to one side."""
    groove = cq.Workplane().box(200, 16, 16).translate((-100, 0, 0))
    made = flat(flat_body, PLATE.cut(cq.Workplane().circle(60).extrude(18)).cut(groove).val())
    ((sunk, depth),) = made.outline.sinks
    assert made.up == "underside" and depth == 8.0
    assert [h.circle[2] for h in made.outline.holes] == [pytest.approx(60)]
    half_chord = 60 * math.cos(math.asin(8 / 60))
    lune = 60**2 * math.asin(8 / 60) - 8 * half_chord
    assert abs(area(sunk)) == pytest.approx(16 * (150 - half_chord) - lune, rel=1e-9)
    (mark,) = made.outline.far
    assert abs(area(mark)) == pytest.approx(16 * (150 - half_chord), rel=1e-6)


def test_a_round_recess_that_a_groove_runs_into_is_sunk_round(flat_body):
    """The groove is deeper: it bites into the floor, yet nothing stands there."""
    sunk = PLATE.cut(cq.Workplane().circle(60).extrude(12).translate((0, 0, 6)))
    made = flat(flat_body, sunk.cut(cq.Workplane("YZ").circle(5).extrude(-200).translate((30, 0, 6))).val())
    ((floor, depth),) = made.outline.bores
    assert floor.circle == pytest.approx((0, 0, 60)) and depth == 12.0


def test_grooves_that_meet_by_chance_are_no_opening(flat_body):
    """A bar of 20 slants through 18 mm at 30 deg: right above one another both faces are open over a short length."""
    bar = cq.Workplane("YZ").circle(10).extrude(400, both=True).rotate((0, 0, 0), (0, 1, 0), 30)
    made = flat(flat_body, PLATE.cut(bar.translate((0, 0, 9))).val())
    assert made.outline.holes == () and outline_area(made.outline) == pytest.approx(60000)
    assert len(made.outline.far) == 2 and any("made by hand" in note for note in made.notes)


def test_a_leaning_prism_is_cut_to_its_whole_shadow(flat_body):
    """100 x 50 sheared by 10, 7 over its height: the shadow is the hexagon of both ends and all between."""
    made = flat(flat_body, cq.Workplane().rect(100, 50).workplane(offset=18).center(10, 7).rect(100, 50).loft().val())
    shadow = shapely.unary_union(
        [shapely.box(-50 + 10 * k / 99, -25 + 7 * k / 99, 50 + 10 * k / 99, 25 + 7 * k / 99) for k in range(100)])
    ours = shapely.Polygon(sampled(made.outline.outer, 0.01))
    assert ours.area == pytest.approx(shadow.area, rel=0.01)
    assert shapely.box(-50, -25, 50, 25).difference(ours.buffer(0.01)).is_empty


@pytest.mark.parametrize("axes", [(300, 200), (90, 20), (60, 59)])
def test_arcs_fitted_to_an_ellipse_keep_their_tolerance_both_ways(flat_body, axes):
    """Distance to the ellipse itself, by Newton on its parameter; the area of an ellipse is pi a b."""
    a, b = axes
    made = flat(flat_body, cq.Workplane().ellipse(a, b).extrude(18).val())
    walk = segments(made.outline.outer)

    def off(x, y):
        t = math.atan2(y * a, x * b)
        for _ in range(60):
            f = (a * a - b * b) * math.cos(t) * math.sin(t) - x * a * math.sin(t) + y * b * math.cos(t)
            g = (a * a - b * b) * math.cos(2 * t) - x * a * math.cos(t) - y * b * math.sin(t)
            t -= f / g
        return math.hypot(x - a * math.cos(t), y - b * math.sin(t))

    assert max(off(*s.at(k / 20)) for s in walk for k in range(20)) <= ARC_TOLERANCE
    from moldplan.cut.segment import from_point

    around = [(a * math.cos(t / 50), b * math.sin(t / 50)) for t in range(315)]
    assert max(min(from_point(s, p) for s in walk) for p in around) <= ARC_TOLERANCE
    assert area(made.outline.outer) == pytest.approx(math.pi * a * b, abs=ARC_TOLERANCE * made_length(walk))
    assert len(walk) <= 150


def test_a_finer_tolerance_is_kept_too_and_takes_more_arcs(flat_body, board):
    """Areas to the ellipse's pi a b: arcs within e leave it by less than e times its length; counts go as the cube
    root of 1/e (tests/published/test_arc_counts.py)."""
    oval = flat_body(cq.Workplane().ellipse(140, 90).extrude(18).val())
    walks = [segments(pieces(assembled(oval), {"board": board}, Cutter(arc_tolerance=e))[0].outline.outer)
             for e in (0.02, 0.0025)]
    assert len(walks[1]) == pytest.approx(2 * len(walks[0]), abs=3)
    for s in walks[1]:
        for k in range(11):
            x, y = s.at(k / 10)
            slope = 2 * math.hypot(x / 140**2, y / 90**2)
            assert abs((x / 140) ** 2 + (y / 90) ** 2 - 1) / slope <= 0.0026  # to first order the distance


def made_length(walk):
    return sum(s.length for s in walk)


def test_arcs_fitted_to_a_spline_keep_their_tolerance_both_ways(flat_body):
    """The spline is sampled by the kernel at 2000 points, apart from the fit."""
    knots = [(0, 0), (60, 25), (120, -10), (180, 30)]
    edge = cq.Edge.makeSpline([cq.Vector(x, y, 0) for x, y in knots])
    rest = [cq.Edge.makeLine(cq.Vector(180, 30, 0), cq.Vector(180, -80, 0)),
            cq.Edge.makeLine(cq.Vector(180, -80, 0), cq.Vector(0, -80, 0)),
            cq.Edge.makeLine(cq.Vector(0, -80, 0), cq.Vector(0, 0, 0))]
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges([edge, *rest]))
    made = flat(flat_body, cq.Solid.extrudeLinear(face, cq.Vector(0, 0, 18)))
    curve = shapely.LineString([edge.positionAt(k / 2000).toTuple()[:2] for k in range(2001)])
    ours = [s for s in segments(made.outline.outer) if not s.straight]
    fit = shapely.MultiLineString([[s.at(k / 50) for k in range(51)] for s in ours])
    assert curve.hausdorff_distance(fit) <= ARC_TOLERANCE + 0.001
    assert fit.hausdorff_distance(curve) <= ARC_TOLERANCE + 0.001


def test_a_body_thicker_than_its_sheet_is_refused_and_a_thinner_one_noted(flat_body):
    with pytest.raises(GeometryError, match=r"a body: 18\.00 mm high, yet cut from sheet of 15\.00 mm"):
        flatten(flat_body(PLATE.val(), thickness=15.0))
    assert flat(flat_body, PLATE.val(), thickness=20.0).notes == ("brought from 20.0 to 18.0 mm thick after cutting",)


def test_a_sheet_that_falls_apart_gives_two_pieces(flat_body, board):
    halves = PLATE.cut(cq.Workplane().box(50, 500, 100)).val()
    made = pieces(assembled(flat_body(halves)), {"board": board}, Cutter())
    assert [(p.id, p.quantity) for p in made] == [("P1", 2)]
    assert made[0].area == pytest.approx(125 * 200)


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 360), st.floats(-500, 500), st.floats(-500, 500))
def test_the_same_piece_elsewhere_in_the_boat_is_the_same_piece(flat_body, turn, x, y):
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(2440, 1220))}
    one = flat_body(PLATE.faces(">Z").workplane().center(80, 40).rect(50, 30).cutThruAll().val(), name="one")
    two = flat_body(one.solid.rotate(cq.Vector(), cq.Vector(0, 0, 1), turn).moved(cq.Location((x, y, 30))), name="two",
                    frame=Frame((0, 0, 30)))
    (made,) = pieces(assembled(one, two), stocks, Cutter())
    assert (made.quantity, made.bodies) == (2, ("one", "two"))
    assert made.area == pytest.approx(60000 - 1500, rel=1e-9)


def test_hands_stay_apart_unless_the_piece_is_its_own_mirror_image(flat_body, board):
    def both(solid, **more):
        port = flat_body(solid, name="a port", hand="port", **more)
        return pieces(assembled(port, port.mirrored(name="a starboard", hand="starboard")), {"board": board}, Cutter())

    handed = both(rib(), frame=UPRIGHT)
    assert [(p.quantity, p.hand) for p in handed] == [(1, "port"), (1, "starboard")]
    plain = both(PLATE.val())
    assert [(p.quantity, p.hand) for p in plain] == [(2, None)]


def test_with_a_grain_only_half_a_turn_makes_two_pieces_one(flat_body):
    grain = {"board": Stock(kind="plywood", thickness=18, size=(2440, 1220), grain=True)}
    along = flat_body(PLATE.val(), name="along")
    across = flat_body(PLATE.val(), name="across", frame=Frame((0, 0, 0), (0, 1, 0), (0, 0, 1)))
    back = flat_body(PLATE.val(), name="back", frame=Frame((0, 0, 0), (-1, 0, 0), (0, 0, 1)))
    made = pieces(assembled(along, across, back), grain, Cutter())
    assert [(p.bodies, p.grain) for p in made] == [(("along", "back"), True), (("across",), True)]


def test_forward_is_told_where_all_copies_agree(flat_body, board):
    one = flat_body(rib(), name="one", frame=UPRIGHT)
    (made,) = pieces(assembled(one), {"board": board}, Cutter())
    assert made.forward == pytest.approx(0)
    round_ = flat_body(PLATE.val(), name="x", frame=Frame((0, 0, 0), (0, 1, 0), (0, 0, 1)))
    (made,) = pieces(assembled(round_), {"board": board}, Cutter())
    assert made.forward == pytest.approx(270)


def test_a_piece_larger_than_every_sheet_is_refused_by_name(flat_body):
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(280, 260)),
              "large": Stock(kind="plywood", thickness=18, size=(2440, 1220))}
    turned = PLATE.rotate((0, 0, 0), (0, 0, 1), 30).val()
    with pytest.raises(SpecFault) as caught:
        pieces(assembled(flat_body(turned, name="base of galley")), stocks, Cutter(edge_margin=15))
    (fault,) = caught.value.faults
    assert fault.path == ("cradles", "a")
    assert fault.value == "base of galley, 300.0 x 200.0 mm"
    assert fault.allowed == "at most 250 x 230 mm, a sheet of board inside its edge margin"
    assert fault.why == "it is 50.0 mm too long; large enough: large (18 mm)"


def test_a_long_thin_piece_may_lie_askew(flat_body):
    stocks = {"board": Stock(kind="plywood", thickness=18, size=(300, 300))}
    strip = flat_body(cq.Workplane().box(350, 20, 18).val())
    (made,) = pieces(assembled(strip), stocks, Cutter(edge_margin=10))
    from moldplan.cut.fits import turns

    (turn,) = turns(made, stocks["board"], Cutter(edge_margin=10))
    low_x, low_y, high_x, high_y = bounds(moved(made.cut.outer, turn=turn))
    assert high_x - low_x <= 280 and high_y - low_y <= 280


def test_where_no_exact_outline_is_to_be_had_it_is_drawn_in_strokes_and_said(flat_body, monkeypatch):
    """The last resort, played on a round sheet with a hole: pi (R2 - r2) less what chords within 0.01 mm cut off."""
    import cadquery as cq

    from moldplan.cut import flat

    sheet = cq.Solid.makeCylinder(60, 18).cut(cq.Solid.makeCylinder(20, 18))
    monkeypatch.setattr(flat, "_pick", lambda lump, stack: None)
    monkeypatch.setattr(flat, "shadow", lambda lump, stack: None)
    (made,) = flat.flatten(flat_body(sheet))
    measured = outline_area(made.outline)
    assert measured == pytest.approx(math.pi * (60**2 - 20**2), abs=0.01 * 2 * math.pi * 80)
    assert len(made.outline.holes) == 1 and made.outline.outer.circle is None
    assert any("straight strokes, within 0.01 mm" in note for note in made.notes)


def test_a_shadow_that_no_level_bounds_is_put_together_from_the_lines_of_several(flat_body):
    """Two discs of 50, 60 apart and one above the other, on a bar of 30 x 10: areas of lens and caps by hand."""
    low = cq.Workplane().circle(50).extrude(6)
    bar = cq.Workplane().workplane(offset=6).center(30, 0).rect(30, 10).extrude(6)
    high = cq.Workplane().workplane(offset=12).center(60, 0).circle(50).extrude(6)
    made = flat(flat_body, low.union(bar).union(high).val())
    lens = 2 * 50**2 * math.acos(30 / 50) - 60 / 2 * math.sqrt(4 * 50**2 - 60**2)
    assert area(made.outline.outer) == pytest.approx(2 * math.pi * 50**2 - lens, rel=1e-9)
    assert "its outline is put together from that of several levels, within 0.05 mm" in made.notes
    walk = segments(made.outline.outer)
    assert all(s.radius == pytest.approx(50, abs=1e-9) for s in walk)
    assert {(round(x, 6), round(y, 6)) for s in walk for x, y in (s.start,)} >= {(30, 40), (30, -40)}


def test_a_shadow_of_many_levels_is_that_of_the_chords(flat_body):
    """A disc with a bar slanting over it and beyond it: an ellipse and a strip, united by shapely."""
    bar = cq.Workplane("YZ").rect(30, 8).extrude(200, both=True).rotate((0, 0, 0), (0, 1, 0), 3).translate((0, 0, 9))
    slab = cq.Workplane().box(1000, 1000, 18, centered=(True, True, False))
    solid = cq.Workplane().ellipse(90, 60).extrude(6).union(bar.intersect(slab)).val()
    made = flat(flat_body, solid)
    ours = shapely.Polygon(sampled(made.outline.outer, 0.001))
    ends = solid.BoundingBox()
    oval = shapely.Polygon([(90 * math.cos(t / 500), 60 * math.sin(t / 500)) for t in range(3142)])
    shadow = oval.union(shapely.box(ends.xmin, -15, ends.xmax, 15))
    assert ours.symmetric_difference(shadow).area <= ARC_TOLERANCE * shadow.length
    assert len(made.outline.outer.vertices) <= 60  # in strokes it would be some hundreds
