"""The mold of a hatch with a sump, an upstand and a given landing: it lets go, in some order, and makes the part.

Expected values: what a builder finds on the bench (a piece under another cannot leave first), closed forms by hand.
"""

import json
import math
from dataclasses import replace
from math import dist

import pytest

from moldplan.check import mold_release
from moldplan.check.hatch_spot import spots
from moldplan.check.hatches import hatches
from moldplan.cure.search import cures
from moldplan.shape.assemble import assemble
from moldplan.shape.body import Frame
from moldplan.shape.choose import resolve
from moldplan.spec.load import read_text

# gutter 46 wide: 36 + 22 + a fall of 8.6 leave 38.4 between its walls at the drain, room for a flange of 26 in a sump
SPEC = {"moldplan": 1, "title": "one hatch", "soles": {"s": {
    "outline": [[0, -300], [600, -300], [600, 300], [0, 300]], "hatches": {"h": {
        "centre": [300, 0], "clear_opening": [250, 250], "landing": 30, "landing_depth": 36, "upstand": 8,
        "gutter": {"width": 46, "depth": 22, "fall": "1:50"}, "bond_flange": {"width": 55},
        "drains": {"a": {"at": "aft", "bore": 19, "flange": 26, "sump": 6}},
        "lid": {"thickness": 24, "hinge": "forward", "latches": 2, "latch_force": 400,
                "gasket": {"free": 20, "squeeze": 0.4, "stop": 12, "width": 15}}}}}}}


@pytest.fixture(scope="module")
def made():
    resolved = resolve(read_text(json.dumps(SPEC), "one.yaml").spec)
    assembly = assemble(resolved)
    return resolved, assembly


@pytest.fixture(scope="module")
def spot(made):
    (one,) = spots(made[1], made[0].spec)
    return one


def test_a_sump_an_upstand_and_a_given_landing_hold_everywhere(made):
    resolved, assembly = made
    assert [f.id for f in hatches(assembly, resolved.spec) if f.verdict == "fails"] == []


def ordered(spot, *groups):
    """The spot with its break-out order in other groups, given by the ends of their names."""
    names = spot.place.mold
    order = tuple(tuple(n for n in names if n.endswith(words)) for words in groups)
    assert sorted(n for g in order for n in g) == sorted(names)
    return replace(spot, place=replace(spot.place, break_out=order))


def test_another_order_is_named_where_the_planned_one_is_blocked(spot):
    wrong = ordered(spot, ("fence",), (" table",), ("centre block",), ("sump disc",), ("corner", " side"))
    found = mold_release.break_out(wrong)
    assert (found.verdict, found.measured) == ("fails", 1)
    assert found.note == "a sump disc cannot leave while its neighbours stand"
    first, *later = found.cure.text.removeprefix("break out in another order: ").split("; then ")
    assert "table" in first  # everything else stands under it
    assert "aft side" not in first
    where = {name: k for k, group in enumerate([first, *later]) for name in group.split("; each")[0].split(", ")}
    assert where["a sump disc"] > where["aft side"] > where["table"]
    # a cure that is no change of the spec stays as the check gave it
    (kept,) = cures([found], lambda edits: pytest.fail("nothing to evaluate"))
    assert kept.cure == found.cure


def test_where_no_order_works_it_says_what_was_tried(spot):
    """The part itself laid over the mold, so that its own wall is in every strip's way."""
    import cadquery as cq

    lid = cq.Solid.makeBox(900, 900, 5, cq.Vector(-150, -450, 30))
    molding = spot.molding
    over = replace(molding, shaped=replace(molding.shaped, solid=cq.Compound.makeCompound([molding.solid, lid])))
    bodies = {**spot.assembly.bodies, molding.name: over}
    found = mold_release.break_out(replace(spot, assembly=replace(spot.assembly, bodies=bodies)))
    assert found.verdict == "fails"
    assert found.cure.text.startswith("none found")
    assert "fence" in found.cure.tried[0] and "at once: held" in found.cure.tried[-1]
    assert found.cure.edits == ()


def plan_of(spot, name):
    """Outline of a piece's foot on the table in the hatch's own plan: its faces there, edges in chords of 0.05 mm."""
    from shapely import union_all
    from shapely.geometry import Polygon

    body = spot.assembly.body(name)
    faces = [f for f in body.solid.Faces() if abs(spot.own(f.Center().toTuple())[2] + spot.place.start + spot.paint)
             < 1e-4 and abs(abs(spot.seen(f)[1][2]) - 1) < 1e-6]

    def ring(wire):
        points = []
        for edge in wire.Edges():
            steps = 1 if edge.geomType() == "LINE" else 64
            points.append([spot.own(edge.positionAt(k / steps).toTuple())[:2] for k in range(steps + 1)])
        chain = points.pop(0)
        while points:
            end = chain[-1]
            piece = min(points, key=lambda run, end=end: min(dist(end, run[0]), dist(end, run[-1])))
            points.remove(piece)
            chain += piece if dist(chain[-1], piece[0]) < dist(chain[-1], piece[-1]) else piece[::-1]
        return chain

    return union_all([Polygon(ring(f.outerWire()), [ring(w) for w in f.innerWires()]).buffer(1e-4) for f in faces])


def test_screws_stand_in_their_pieces_at_their_spacing_clear_of_edges(spot):
    from shapely.geometry import MultiPoint, Point

    places = spot.place.screws
    assert [n for n in spot.place.mold if not places[n]] == [spot.name + " table", spot.name + " a sump disc"]
    for name, own in places.items():
        if not own:
            continue
        foot = plan_of(spot, name)
        long = max(b - a for a, b in zip(foot.bounds[:2], foot.bounds[2:], strict=True))
        for place in own:
            assert foot.contains(Point(place)), name
            # 18 mm battens take a screw in their middle; strips and the block's ring are 28 mm wide and more
            assert foot.exterior.distance(Point(place)) >= (9 if "fence" in name else 12) - 0.01, name
        # from any place of the piece it is not further to a screw than half a spacing along, and the room beside it
        rim = MultiPoint([foot.exterior.interpolate(k, normalized=True) for k in [i / 200 for i in range(200)]])
        assert max(p.distance(MultiPoint(own)) for p in rim.geoms) <= math.hypot(175 / 2, 40), name
        assert long <= 60 or len(own) >= 2, name


def test_the_tables_bores_are_the_screws_of_all_pieces(made, spot):
    from moldplan.cut.cutting import flatten

    resolved, assembly = made
    (table,) = [p for p in flatten(assembly, resolved.stocks, resolved.spec.cutter).pieces if "h table" in p.body]
    assert len(table.outline.bores) == sum(map(len, spot.place.screws.values())) > 30
    assert {(round(loop.circle[2], 6), depth) for loop, depth in table.outline.bores} == {(5, 4)}
    assert any(note.startswith(f"{len(table.outline.bores)} screws") for note in table.notes)
    # their pattern is that of the positions, whichever way up the table lies: all distances from the table's middle
    size = [max(v[k] for v in table.outline.outer.vertices) + min(v[k] for v in table.outline.outer.vertices)
            for k in (0, 1)]
    far = sorted(math.hypot(c[0] - size[0] / 2, c[1] - size[1] / 2) for loop, _ in table.outline.bores
                 for c in [loop.circle])
    want = sorted(math.hypot(x, y) for own in spot.place.screws.values() for x, y in own)
    assert far == pytest.approx(want, abs=1e-6)


@pytest.mark.parametrize(("size", "rows"), [((450, 430, 65), (4, 4)), ((900, 300, 65), (6, 3)), ((60, 60, 5), (2, 2))])
def test_a_large_block_is_screwed_in_rows_both_ways(size, rows):
    from moldplan.shape.screws import grid

    found = grid(*size)
    assert (len({x for x, _ in found}), len({y for _, y in found})) == rows
    assert len(found) == rows[0] * rows[1]
    for k in (0, 1):
        lines = sorted({p[k] for p in found})
        assert max(b - a for a, b in zip(lines, lines[1:], strict=False)) <= 175
        assert size[k] / 2 - max(lines) >= 25 - 1e-9


@pytest.mark.parametrize(("move", "least", "most"), [((0, 0, 0.2), 0.199, 0.201), ((0.2, 0, 0), 0.1, 0.2)])
def test_a_corner_strip_that_stands_off_is_seen_by_the_millimetre(spot, move, least, most):
    name = next(n for n in spot.place.mold if n.endswith("aft port corner"))
    strip = spot.assembly.body(name)
    bodies = {**spot.assembly.bodies, name: replace(strip, shaped=strip.shaped.moved(Frame(move)))}
    runs, corners = mold_release.match(replace(spot, assembly=replace(spot.assembly, bodies=bodies)))
    assert runs.verdict == "holds"
    assert corners.verdict == "fails" and least <= corners.measured <= most
    assert corners.limit == 0.05 and corners.source.how_read == "ours"


def test_round_its_corners_the_mold_makes_the_molding(spot):
    runs, corners = mold_release.match(spot)
    assert corners.measured < 0.001  # 9 sections of a quarter turn: a polynomial of degree 8 is right to 1e-9 of R
    assert "within 0.001 mm of the runs' walls carried round" in corners.note
    assert "on the runs" in runs.note
