"""An outline from a builder's own file: written by ezdxf, by GDAL and by hand, read back corner by corner.

Expected corners are typed by hand or stand in closed form (a bulge is the tangent of a quarter of its sweep, DXF
reference, group code 42).
"""

import hashlib
import math
import os

import ezdxf
import pytest

from moldplan.spec import load

SPEC = """\
moldplan: 1
title: Sole from a drawing
soles:
  cockpit:
    outline_from: {entry}
"""
SHAPE = [(0, -400), (900, -350), (900, 350), (0, 400)]


@pytest.fixture
def outline(tmp_path, monkeypatch):
    """A function: what stands after `outline_from:` -> the corners the loaded spec has."""
    monkeypatch.chdir(tmp_path)

    def read(entry):
        (tmp_path / "spec.yaml").write_text(SPEC.format(entry=entry), encoding="utf-8")
        return load.read("spec.yaml").spec.soles["cockpit"].outline

    return read


@pytest.fixture
def refused(outline):
    """A function: what stands after `outline_from:` -> the one line that refuses it."""

    def line(entry):
        with pytest.raises(load.SpecError) as error:
            outline(entry)
        (only,) = error.value.lines
        assert ", allowed " in only
        assert ", because " in only
        return only

    return line


def drawing(units=4):
    made = ezdxf.new("R2010")
    made.header["$INSUNITS"] = units
    return made, made.modelspace()


def area_of(corners):
    """Area of an outline of lines and arcs: the shoelace of its corners and the lune of each arc, closed form."""
    total = 0.0
    for before, here in zip([corners[-1], *corners[:-1]], corners, strict=True):
        (ax, ay), (bx, by) = before.at, here.at
        total += (ax * by - ay * bx) / 2
        if here.through:
            chord, (mx, my) = math.dist(before.at, here.at), here.through
            sag = ((mx - ax) * (by - ay) - (my - ay) * (bx - ax)) / chord
            sweep = 4 * math.atan(2 * sag / chord)
            radius = chord / 2 / math.sin(sweep / 2)
            total += radius**2 / 2 * (sweep - math.sin(sweep))
    return abs(total)


def test_a_closed_polyline_gives_its_corners_and_its_arcs(outline):
    made, space = drawing()
    points = [(0, -400, 0), (900, -350, math.tan(math.pi / 8)), (900, 350, 0), (0, 400, 0)]
    space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "sole"})
    space.add_text("cockpit sole", dxfattribs={"layer": "sole"})
    made.saveas("sole.dxf")
    found = outline("sole.dxf")
    assert [each.at for each in found] == [pytest.approx(p) for p in [*SHAPE[1:], SHAPE[0]]]
    # a quarter turn over a chord of 700: its middle stands 350 tan(22.5 deg) off the chord
    assert found[1].through == pytest.approx((900 + 350 * math.tan(math.pi / 8), 0))
    assert [each.through for each in found if each is not found[1]] == [None] * 3


def test_lines_and_arcs_in_any_order_and_either_way_round_are_joined(outline):
    made, space = drawing()
    space.add_line((900, 0), (100, 0))
    space.add_arc((900, 200), 200, -90, 90)
    space.add_line((100, 400), (900, 400))
    space.add_arc((100, 200), 200, 90, 270)
    made.saveas("sole.dxf")
    found = outline("sole.dxf")
    assert area_of(found) == pytest.approx(800 * 400 + math.pi * 200**2, rel=1e-12)
    assert sum(each.through is not None for each in found) == 4  # half turns are halved: three points then tell all


@pytest.mark.parametrize("kind", ["circle", "two half circles"])
def test_a_round_sole(kind, outline):
    made, space = drawing()
    if kind == "circle":
        space.add_circle((500, 20), 450)
    else:
        space.add_lwpolyline([(50, 20, 1), (950, 20, 1)], format="xyb", close=True)
    made.saveas("sole.dxf")
    found = outline("sole.dxf")
    assert len(found) >= 3
    assert area_of(found) == pytest.approx(math.pi * 450**2, rel=1e-12)
    assert all(math.dist(each.at, (500, 20)) == pytest.approx(450) for each in found)


@pytest.mark.parametrize(("code", "factor"), [(1, 25.4), (2, 304.8), (4, 1), (5, 10), (6, 1000)])
def test_the_drawings_own_units_count(code, factor, outline):
    made, space = drawing(code)
    space.add_lwpolyline([(0, 0), (900 / factor, 0), (900 / factor, 700 / factor)], close=True)
    made.saveas("sole.dxf")
    assert sorted(each.at for each in outline("sole.dxf")) == [pytest.approx(p) for p in [(0, 0), (900, 0), (900, 700)]]


def test_a_drawing_without_units_needs_a_scale(outline, refused):
    made, space = drawing(0)
    space.add_lwpolyline([(0, 0), (30, 0), (30, 20)], close=True)
    made.saveas("sole.dxf")
    assert "allowed a scale beside it: 1 for mm, 25.4 for inches" in refused("sole.dxf")
    assert max(each.at[0] for each in outline("{file: sole.dxf, scale: 25.4}")) == pytest.approx(762)


def test_a_scale_of_the_builders_own_goes_before_the_drawings_units_with_a_caution(outline):
    made, space = drawing(1)
    space.add_lwpolyline([(0, 0), (30, 0), (30, 20)], close=True)
    made.saveas("sole.dxf")
    assert max(each.at[0] for each in outline("{file: sole.dxf, scale: 1}")) == 30
    assert load.read("spec.yaml").cautions == (
        "spec.yaml:5:5: soles.cockpit.outline_from = 'sole.dxf': the drawing says that its units are inches "
        "($INSUNITS 1), 25.4 mm each; it was read with scale 1 as the spec says",)
    assert max(each.at[0] for each in outline("{file: sole.dxf, scale: 25.4}")) == pytest.approx(762)
    assert load.read("spec.yaml").cautions == ()


def test_a_layer_is_picked_by_its_name(outline, refused):
    made, space = drawing()
    space.add_lwpolyline(SHAPE, close=True, dxfattribs={"layer": "Sole"})
    space.add_lwpolyline([(100, 0), (200, 0), (200, 50)], close=True, dxfattribs={"layer": "hatch"})
    made.saveas("sole.dxf")
    assert len(outline("{file: sole.dxf, layer: sole}")) == 4
    assert "more is drawn beside it, at 100.0, 0.0 mm; name one of its layers: Sole, hatch" in refused("sole.dxf")
    line = refused("{file: sole.dxf, layer: soul}")
    assert "outline_from.layer = 'soul', allowed Sole (the nearest), hatch, because nothing is drawn on a layer" in line


@pytest.mark.parametrize(("draw", "says"), [
    (lambda s: s.add_spline([(0, 0), (50, 90), (100, 0)]), "splines are drawn on layer '0'"),
    (lambda s: s.add_ellipse((0, 0), (100, 0), 0.5), "ellipses are drawn"),
    (lambda s: s.add_lwpolyline(SHAPE), "it is open at 0.0, 400.0 mm; the nearest other end is 800.00 mm away"),
    (lambda s: [s.add_line(a, b) for a, b in [((0, 0), (9, 0)), ((9, 0), (9, 9)), ((9, 9), (0, 1))]],
     "it is open at 0.0, 1.0 mm; the nearest other end is 1.00 mm away"),
    (lambda s: [s.add_lwpolyline(SHAPE, close=True) for _ in "ab"], "4 ends meet at"),
    (lambda s: s.add_text("nothing"), "its model space holds none"),
    (lambda s: s.add_blockref("x", (0, 0)), "INSERT is drawn on layer '0'; resolve blocks first"),
    (lambda s: s.add_lwpolyline([(0, 0), (30000, 0), (30000, 900)], close=True), "one lies 30000 mm away"),
    (lambda s: s.add_lwpolyline([(0, 0), (900, 0)], close=True), "it gives 2"),
    (lambda s: s.add_polyline3d([(0, 0, 0), (900, 0, 5), (0, 900, 0)], close=True), "a curve in space"),
])
def test_a_drawing_that_is_no_outline_says_why(draw, says, refused):
    made, space = drawing()
    made.blocks.new("x").add_line((0, 0), (1, 1))
    draw(space)
    made.saveas("sole.dxf")
    line = refused("sole.dxf")
    assert line.startswith("spec.yaml:5:5: soles.cockpit.outline_from = 'sole.dxf', allowed ")
    assert says in line


def test_a_drawing_written_by_gdal_is_read(outline):
    pyogrio = pytest.importorskip("pyogrio")
    import numpy as np
    import shapely

    ring = shapely.LineString([*SHAPE, SHAPE[0]])
    pyogrio.raw.write("sole.dxf", np.array([shapely.to_wkb(ring)], dtype=object), [np.array(["sole"], dtype=object)],
                      ["Layer"], driver="DXF", geometry_type="LineString", crs="EPSG:3857")
    # GDAL writes $INSUNITS 1 without being asked
    found = outline("{file: sole.dxf, scale: 1}")
    assert sorted(each.at for each in found) == [pytest.approx(p) for p in sorted(SHAPE)]


@pytest.mark.parametrize("text", [
    "0,-400\n900,-350\n900,350\n0,400\n", "x,y\n0, -400\n900, -350\n900, 350\n0, 400\n0, -400\n",
    "x [mm];y [mm]\r\n0;-400\r\n900;-350\r\n900;350\r\n0;400\r\n", "# sole\n0\t-400\n\n900\t-350\n900\t350\n0\t400",
    '\ufeff"0","-400"\n900.0,-3.5e2\n900,350\n0,400,\n', "0,\u2212400\n900,-350\n900,350\n0,400\n",
])
def test_a_table_gives_its_points(text, outline, tmp_path):
    (tmp_path / "sole.csv").write_bytes(text.encode())
    assert [each.at for each in outline("sole.csv")] == SHAPE


def test_a_table_in_inches_needs_its_scale(outline, refused, tmp_path):
    (tmp_path / "sole.csv").write_text("x (in), y (in)\n0,0\n36,0\n36,24\n")
    assert refused("sole.csv") == (
        "sole.csv:1:1: soles.cockpit.outline_from = 'x (in), y (in)', allowed scale: 25.4 beside the file, because its "
        "heading speaks of in, and bare numbers are mm")
    assert outline("{file: sole.csv, scale: 25.4}")[2].at == pytest.approx((914.4, 609.6))


@pytest.mark.parametrize(("text", "line", "says"), [
    ("0,0\n9,5,12\n", 2, "3 stand there; decimals take a point, as in 9.5, not a comma"),
    ("0;0\n900;0\n9,5;12\n", 3, "decimals take a point"), ("0,0\n900\n", 2, "1 stand there"),
    ("0,0\n900,left\n", 2, "'left' is no plain number"), ("0,0\n900,nan\n", 2, "finite"),
    ("0,0\n900,\n", 2, "one of them is missing"), ("0,0\n900,0\n900,0\n0,9\n", 3, "an edge has no length"),
    ("0,0\n12 in,3\n", 2, "'12 in' is no plain number"),
])
def test_a_wrong_row_is_told_with_its_line(text, line, says, refused, tmp_path):
    (tmp_path / "sole.csv").write_text(text)
    told = refused("sole.csv")
    assert told.startswith(f"sole.csv:{line}:1: soles.cockpit.outline_from = ")
    assert says in told


@pytest.mark.parametrize(("entry", "says"), [
    ("none.dxf", "no such file; here are junk.dxf (the nearest), empty.csv"), ("/etc/hostname", "an absolute path"),
    ("../x.dxf", "must not lead out"), ("folder", "there is no such file"), ("two.csv", "3 to 2000 corners"),
    ("empty.csv", "the file is empty"), ("table.ods", "a .dxf file, or a .csv"), ("junk.dxf", "cannot be read as one"),
    ("{file: two.csv, layer: a}", "no layers"), ("latin.csv", "byte 3 is no UTF-8"),
])
def test_a_file_that_cannot_be_read_says_why(entry, says, refused, tmp_path):
    (tmp_path / "folder").mkdir()
    for name, content in {"two.csv": b"0,0\n9,9\n", "empty.csv": b" \n", "table.ods": b"x", "junk.dxf": b"\x00\xffPK",
                          "latin.csv": b"0,\xe90\n"}.items():
        (tmp_path / name).write_bytes(content)
    assert says in refused(entry)


def test_a_link_that_leads_out_is_refused(refused, tmp_path, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside") / "sole.csv"
    outside.write_text("0,0\n900,0\n0,900\n")
    os.symlink(outside, tmp_path / "sole.csv")
    assert "a link that leads out" in refused("sole.csv")


def test_the_digest_covers_the_file_and_an_edit_reads_nothing_anew(outline, tmp_path):
    from moldplan.finding import Edit

    text = "0,0\n900,0\n900,700\n"
    (tmp_path / "sole.csv").write_text(text)
    outline("sole.csv")
    loaded = load.read("spec.yaml")
    spec = (tmp_path / "spec.yaml").read_bytes()
    assert loaded.sha256 == hashlib.sha256(spec + text.encode()).hexdigest()
    (tmp_path / "sole.csv").unlink()
    again = load.edited(loaded, [Edit(("soles", "cockpit", "crown"), 12)])
    assert again.spec.soles["cockpit"].outline == loaded.spec.soles["cockpit"].outline
    assert again.spec.soles["cockpit"].crown == 12
