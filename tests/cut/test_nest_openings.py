"""Pieces in the openings of others, and hands. Distances by GEOS on fine chords."""

import math

import cadquery as cq
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from moldplan.cut.cutting import flatten
from moldplan.cut.loop import on_sheet, reversed_loop, sampled
from moldplan.cut.nest import layout
from moldplan.cut.outline import pieces as pieces_of
from moldplan.cut.piece import Loop
from moldplan.cut.room import least_gap, sound
from moldplan.cut.sheet_note import note
from moldplan.material.stock import known
from moldplan.shape.assemble import assemble
from moldplan.shape.assembly import Assembly
from moldplan.shape.choose import resolve
from moldplan.spec.model import Cutter, Stock

CHORD = 0.001


def quiet(text):
    """Says nothing."""


def rounded(w, h, r, x=0.0, y=0.0):
    """A rectangle with round corners, counter-clockwise."""
    q = math.tan(math.pi / 8)
    return Loop(((x + r, y, 0), (x + w - r, y, q), (x + w, y + r, 0), (x + w, y + h - r, q), (x + w - r, y + h, 0),
                 (x + r, y + h, q), (x, y + h - r, 0), (x, y + r, q)))  # fmt: skip


@pytest.fixture(scope="module")
def frame(piece):
    """A function: a frame of 60 round an opening of 580 x 480 with corners of 40."""
    return lambda id="P1", **more: piece(id, rounded(700, 600, 100),
                                         holes=(reversed_loop(rounded(580, 480, 40, 60, 60)),), **more)


def shapes(made, pieces):
    table = {p.id: p for p in pieces}
    out = []
    for sheet in made.sheets:
        cut = [(p, on_sheet(table[p.piece], p)) for p in sheet.placed]
        out.append([(p.piece, p, shapely.Polygon(sampled(c.outer, CHORD), [sampled(h, CHORD) for h in c.holes]))
                    for p, c in cut])
    return out


def inside(lying, host):
    """The ids of what lies within the outer outline of each copy of a host."""
    return [sorted(name for name, _, s in lying if name != host and shapely.Polygon(h.exterior).covers(s))
            for id, _, h in lying if id == host]


def apart(lying):
    """Least distance of any two, each with its openings open."""
    return min((a.distance(b) for i, (_, _, a) in enumerate(lying) for _, _, b in lying[:i]), default=math.inf)


def test_a_lid_lies_in_the_frame_it_was_cut_out_of(frame, piece, board):
    """Closed form: 580 - 2 x 12 by 480 - 2 x 12 just fits, its corners' radius less by 12; 0.1 more each
    way does not."""
    tight = [frame(), piece("P2", rounded(556, 456, 28))]
    made = layout(tight, {"board": board}, Cutter(), saved=None, say=quiet)
    (lying,) = shapes(made, tight)
    assert inside(lying, "P1") == [["P2"]] and apart(lying) == pytest.approx(12, abs=0.01)
    assert sound(made, tight, {"board": board}, Cutter())
    assert least_gap(made.sheets[0], {p.id: p for p in tight}, within=13).distance == pytest.approx(12, abs=1e-6)
    large = [frame(), piece("P2", rounded(556.2, 456.2, 28))]
    made = layout(large, {"board": board}, Cutter(), saved=None, say=quiet)
    assert inside(shapes(made, large)[0], "P1") == [[]]


def test_small_pieces_fill_an_opening_and_a_filled_frame_lies_in_a_larger_one(frame, piece, box, board):
    ring = piece("P3", rounded(400, 300, 30), holes=(reversed_loop(box(300, 200, 50, 50)),))
    found = [frame(), ring, piece("P4", box(150, 120)), piece("P5", Loop(circle=(0, 0, 40)))]
    made = layout(found, {"board": board}, Cutter(), saved=None, say=quiet)
    (lying,) = shapes(made, found)
    assert inside(lying, "P1") == [["P3", "P4", "P5"]] and inside(lying, "P3")[0]
    assert apart(lying) >= 12 - 1e-5
    text = note(made.sheets[0], {p.id: p for p in found}, board, cutter=Cutter(), title="t", revision="A")
    assert "in an opening of P3 1: cut it before that opening" in text
    assert "in an opening of P1 1: cut it before that opening" in text


@settings(max_examples=12, deadline=None)
@example([(115, 95, 1, False, True), (181, 225, 4, False, False), (52, 221, 3, False, False),
          (183, 42, 2, False, True)])
@given(st.lists(st.tuples(st.integers(40, 300), st.integers(40, 250), st.integers(1, 4), st.booleans(), st.booleans()),
                min_size=1, max_size=4))
def test_in_openings_too_spacing_and_grain_are_kept_and_none_is_lost(frame, piece, box, found):
    board = Stock(kind="plywood", thickness=18, size=(2440, 1220))
    small = [piece(f"P{n}", Loop(circle=(0, 0, h / 2)) if round_ else box(w, h), quantity=q, grain=grain)
             for n, (w, h, q, round_, grain) in enumerate(found, 2)]
    pieces = [frame(quantity=2), *small]
    made = layout(pieces, {"board": board}, Cutter(nest_seconds=0.5), saved=None, say=quiet)
    assert sorted((p.piece, p.copy) for s in made.sheets for p in s.placed) == sorted(
        (p.id, n) for p in pieces for n in range(1, p.quantity + 1))
    for lying in shapes(made, pieces):
        assert apart(lying) >= 12 - 1e-5
        grained = [p for name, p, _ in lying if next(x for x in pieces if x.id == name).grain]
        assert {p.turn % 180 for p in grained} <= {0.0}
    assert sound(made, pieces, {"board": board}, Cutter())


def test_nothing_is_laid_in_openings_where_the_spec_says_so(frame, piece, box, board):
    found = [frame(), piece("P2", box(200, 150), quantity=3)]
    made = layout(found, {"board": board}, Cutter(in_openings=False), saved=None, say=quiet)
    assert inside(shapes(made, found)[0], "P1") == [[]]


def test_twins_are_mirror_images_of_each_other_and_neither_lies_mirrored(flat_body, board):
    """An L with a hole in one leg has no mirror image of its own: no turn lays it on its twin, a mirror does."""
    ell = (cq.Workplane().polyline([(0, 0), (300, 0), (300, 60), (90, 60), (90, 200), (0, 200)]).close().extrude(18)
           .faces(">Z").workplane(origin=(0, 0, 0)).center(250, 30).hole(20).val())
    port = flat_body(ell, name="a port", hand="port")
    twin = port.mirrored(name="a starboard", hand="starboard")
    assembly = Assembly(bodies={b.name: b for b in (port, twin)}, stands=(), rooms={}, chains=())
    made = pieces_of(assembly, {"board": board}, Cutter())
    assert [(p.hand, p.quantity) for p in made] == [("port", 1), ("starboard", 1)]
    laid = layout(made, {"board": board}, Cutter(), saved=None, say=quiet)
    assert not any(p.mirrored for s in laid.sheets for p in s.placed)
    (_, _, a), (_, _, b) = shapes(laid, made)[0]
    assert all(shapely.is_ccw(s.exterior) for s in (a, b))  # mirroring would turn the walk round
    flipped = shapely.affinity.scale(a, -1, 1, origin=(0, 0))
    assert off(flipped, b) < 0.1 and off(a, b) > 1000


def test_a_mirrored_set_is_complete_each_copy_of_one_hand_has_its_mirror_image_in_the_other(spec_with):
    """A seat off the middle of its block, both hands: bodies by their names, shapes by shapely, recesses cut out."""
    chosen = resolve(spec_with(cradles={"block": {"block": [300, 220, 40], "hand": "both", "at": [0, 300], "seats": {
        "bottle": {"at": [105, 122], "depth": 25, "clearance_per_side": 3, "straps": 0}}}}))
    made = flatten(assemble(chosen), known(chosen.spec), chosen.spec.cutter).pieces
    names = [name for one in made for name in one.bodies]
    ports = sorted(name for name in names if "(port)" in name)
    assert len(ports) >= 3
    assert sorted(names) == sorted([*ports, *(name.replace("(port)", "(starboard)") for name in ports)])
    handed = {name: one for one in made for name in one.bodies}
    for name in ports:
        one, twin = handed[name], handed[name.replace("(port)", "(starboard)")]
        a, b = (shape_of(each.outline) for each in (one, twin))
        assert off(shapely.affinity.scale(a, -1, 1, origin=(0, 0)), b) < 0.1, name
        assert one is twin or (one.hand, twin.hand, one.up) == ("port", "starboard", twin.up), name


def shape_of(outline):
    """A polygon with all that is cut into it cut out."""
    deep = [*outline.holes, *(loop for loop, _ in (*outline.bores, *outline.sinks, *outline.under))]
    return shapely.Polygon(sampled(outline.outer, 0.001)).difference(
        shapely.union_all([shapely.Polygon(sampled(loop, 0.001)) for loop in deep]))


def off(a, b):
    """Least area that `a`, turned by quarters and shifted onto `b`'s centroid, does not share with it [mm2]."""
    def onto(turn):
        turned = shapely.affinity.rotate(a, turn, origin=(0, 0))
        dx, dy = b.centroid.x - turned.centroid.x, b.centroid.y - turned.centroid.y
        return shapely.affinity.translate(turned, dx, dy).symmetric_difference(b).area

    return min(onto(turn) for turn in (0, 90, 180, 270))
