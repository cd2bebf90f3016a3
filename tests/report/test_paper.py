"""1:1 patterns as files, read back by pypdf, which shares no code with the writer.

The reader here walks the content stream: matrices (cm), paths (m, l, c, h, re) and pen widths (w), as ISO 32000-1
defines the operators (from memory). Sizes of paper: ISO 216 and 8 1/2 x 11 in.
"""

import csv
import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from moldplan.cut.batten import lengthwise, offsets
from moldplan.cut.loop import bounds
from moldplan.cut.paper import page_of, tiling
from moldplan.cut.paper_card import lines_of
from moldplan.cut.piece import Layout, Loop, Outline, Piece, Placed, Sheet, Step
from moldplan.report import paper
from moldplan.report.drawing import Text
from moldplan.report.paper_ink import CUT, pdf
from moldplan.report.paper_sheet import pattern, sheet_tile
from moldplan.report.paper_tile import Job, check_points
from moldplan.spec.model import Stock
from moldplan.spec.paper import Paper

MM = 72 / 25.4
R = math.tan(math.pi / 8)
PLATE = Outline(
    Loop(((60, 0, 0), (440, 0, R), (500, 60, 0), (500, 300, 0), (0, 300, 0), (0, 60, R))),
    holes=(Loop(circle=(330, 180, 70)),), far=(Loop(((20, 60, 0), (480, 60, 0), (480, 280, 0), (20, 280, 0))),),
    bores=((Loop(circle=(90, 200, 4)), 9.0),),
    sinks=((Loop(((140, 100, 0), (220, 100, 0), (220, 240, 0), (140, 240, 0))), 1.5),))


def piece(outline=PLATE, **more):
    given = {"id": "P7", "body": "galley lift 2", "part": "galley", "path": (), "stock": "foam", "thickness": 20.0,
             "outline": outline, "cut": outline, "area": 1.0, "outline_length": 1.0, "hand": "port", "forward": 90.0,
             "bodies": ("galley lift 2",)}
    return Piece(**(given | more))


def written(tmp_path, one, asked, title="Galley seat", revision="C"):
    job = Job(title, revision)
    made = tiling(one.outline, page_of(asked))
    table = offsets(one, lengthwise(one, made.turn))
    path = tmp_path / "p.pdf"
    pdf(paper.sheets(job, one, made, table, asked), path, title="a pattern")
    return made, PdfReader(path)


def times(a, b):
    """PDF's matrix product: first a, then b."""
    return (a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3], a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
            a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5])


def strokes(reader, page):
    """Stroked subpaths of a page: (pen width [mm], [points, handles left out] [mm from the lower left corner])."""
    found, stack, matrix, width, runs = [], [], (1, 0, 0, 1, 0, 0), 1.0, []

    def at(x, y):
        a, b, c, d, e, f = matrix
        return ((a * float(x) + c * float(y) + e) / MM, (b * float(x) + d * float(y) + f) / MM)

    for args, operator in ContentStream(page.get_contents(), reader).operations:
        match operator:
            case b"q":
                stack.append((matrix, width))
            case b"Q":
                matrix, width = stack.pop()
            case b"cm":
                matrix = times(tuple(map(float, args)), matrix)
            case b"w":
                width = float(args[0])
            case b"gs":
                state = page["/Resources"]["/ExtGState"][args[0]]
                width = float(state.get("/LW", width))
            case b"m":
                runs.append([at(*args)])
            case b"l":
                runs[-1].append(at(*args))
            case b"c":
                runs[-1].append(at(*args[4:]))
            case b"h":
                runs[-1].append(runs[-1][0])
            case b"S" | b"B*" | b"B":
                found += [(width * abs(matrix[0]) / MM, run) for run in runs]
                runs = []
            case b"n" | b"W" | b"W*":
                runs = [] if operator == b"n" else runs
    return found


def squares(reader, page, side):
    """How many closed boxes of that size [mm] are drawn."""
    count = 0
    for _, run in strokes(reader, page):
        if len(run) in (5, 6) and math.dist(run[0], run[-1]) < 1e-3:
            xs, ys = zip(*run, strict=True)
            count += (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx(side, abs=0.002)
    return count


@pytest.mark.parametrize(("size", "wide", "high"), [("A4", 210, 297), ("A3", 297, 420), ("letter", 215.9, 279.4)])
@pytest.mark.parametrize("measured", [50, 48.5])
def test_pages_keep_the_size_of_the_paper_and_each_has_its_square(tmp_path, size, wide, high, measured):
    made, reader = written(tmp_path, piece(), Paper(size=size, measured=measured))
    assert len(reader.pages) >= 1 + len(made.tiles)
    for page in reader.pages:
        assert [float(c) / MM for c in page.mediabox] == pytest.approx([0, 0, wide, high], abs=0.01)
        assert squares(reader, page, (50 * 50 / measured,) * 2) == 1


def test_every_tile_says_what_it_is(tmp_path):
    made, reader = written(tmp_path, piece(quantity=3), Paper())
    assert len(made.tiles) == 4
    for tile, page in zip(made.tiles, reader.pages[1:], strict=False):
        text = page.extract_text()
        for words in (tile.name, "P7 x 3", "galley lift 2", "PORT", "FACE UP", "FWD", "rev C", "50 x 50 mm"):
            assert words in text, (tile.name, words)
        for seam in made.seams(tile):
            assert (f"cut here, lay on {seam.neighbour}" if seam.lies_on else f"{seam.neighbour} lies on here") in text
    first = reader.pages[0].extract_text()
    for words in ("500 x 300 mm", "Galley seat", "foam, 20 mm", "100 %", "--measured", *(t.name for t in made.tiles)):
        assert words in first


def test_a_lifts_pages_say_its_place_in_the_stack_its_face_and_its_step(tmp_path):
    step = Step("outline", "upper", 0.4, 2.6)
    made, reader = written(tmp_path, replace(piece(), orders=("2 of 3 from below",), steps=(step,)), Paper())
    for page in reader.pages[: 1 + len(made.tiles)]:
        text = page.extract_text()
        assert "2 OF 3, THIS FACE UP" in text and "step 0.4 to 2.6 mm, lower larger" in text
    first = " ".join(reader.pages[0].extract_text().split())
    assert "In its stack 2 of 3 from below, the printed face up." in first
    assert "Step 0.4 to 2.6 mm, lower outline larger." in first


@pytest.mark.parametrize("asked", [
    Paper(), Paper(size="A3"), Paper(size="letter", overlap=6), Paper(measured=49, measured_up=51.5),
    Paper(size="A0 roll")], ids=["A4", "A3", "letter", "corrected", "roll"])
def test_the_tiles_laid_together_are_the_piece(tmp_path, asked):
    """Every vertex of what is cut, read back from each tile and carried to the piece's own axes, is one of the piece;
    the scale is what the square measured, each way by itself."""
    made, reader = written(tmp_path, piece(), asked)
    turn = math.radians(made.turn)
    across, up = 50 / asked.measured, 50 / (asked.measured_up or asked.measured)
    corners = {(x, y) for x, y, _ in PLATE.outer.vertices}
    seen = set()
    for tile, page in zip(made.tiles, reader.pages[1:], strict=False):
        for width, run in strokes(reader, page):
            if abs(width - CUT.width * min(across, up)) > 1e-3 or len(run) < 7:
                continue
            for x, y in run:
                u = x / across - asked.margin / across + tile.low[0]
                v = y / up - asked.margin / up + tile.low[1]
                back = (u * math.cos(turn) + v * math.sin(turn), v * math.cos(turn) - u * math.sin(turn))
                near = min(corners, key=lambda c: math.dist(c, back))
                if math.dist(near, back) < 0.001:
                    seen.add(near)
                elif math.dist(back, (330, 180)) < 100:
                    assert math.dist(back, (330, 180)) == pytest.approx(70, abs=0.003)
                else:  # a place on one of the two round corners
                    centre = (60, 60) if back[0] < 250 else (440, 60)
                    assert math.dist(back, centre) == pytest.approx(60, abs=0.003)
    assert seen == corners


def test_lines_survive_a_poor_printer(tmp_path):
    """No line of the piece is thinner than 0.5 mm."""
    made, reader = written(tmp_path, piece(), Paper())
    widths = {round(width, 2) for page in reader.pages[1 : 1 + len(made.tiles)] for width, _ in strokes(reader, page)}
    assert {0.7, 0.5} <= widths
    assert all(w in (0.2, 0.25) or w >= 0.5 for w in widths)  # thin ones: crosses, seams, brackets, the card


def test_no_line_of_words_runs_into_another(tmp_path):
    """A rough piece on many small tiles has the most to say. Places of words as pypdf reads them; a line's letters
    are taken as wide as 0.4 of their height, narrower than any text face sets them."""
    rough = Outline(Loop(((-15, -15, 0), (515, -15, 0), (515, 315, 0), (-15, 315, 0))), true=(PLATE.outer,),
                    sinks=PLATE.sinks, bores=PLATE.bores, far=PLATE.far, holes=PLATE.holes)
    _, reader = written(tmp_path, piece(rough, notes=("rough, 15 mm over; true line marked",)), Paper(measured=49))
    words = []
    reader.pages[0].extract_text(visitor_text=lambda text, cm, tm, font, size: text.strip() and words.append(
        (tm[4] / MM, tm[5] / MM, size * tm[0] / MM, text.strip())))
    below = [w for w in words if w[1] < 297 - 12 - 16 - 92]  # the map's own words stand about its lines
    assert len(below) > 20
    for k, (x, y, size, text) in enumerate(below):
        for u, v, other_size, other in below[k + 1:]:
            apart = x >= u + 0.4 * other_size * len(other) or u >= x + 0.4 * size * len(text)
            assert apart or abs(y - v) >= 0.8 * min(size, other_size), (text, other)


def test_check_points_are_the_corners_farthest_apart():
    (a, first), (b, second) = check_points(Outline(Loop(((0, 0, 0), (300, 0, 0), (320, 200, 0), (10, 190, 0)))))
    assert {a, b} == {(0, 0), (320, 200)} and (first, second) == ("A", "B")
    (a, _), (b, _) = check_points(Outline(Loop(circle=(10, 20, 40))))
    assert math.dist(a, b) == pytest.approx(80)


def plan(*pieces, asked=None, units="mm"):
    spec = SimpleNamespace(title="Galley seat", revision="C", units=units, paper=asked or Paper())
    return SimpleNamespace(pieces=pieces, spec=spec)


def test_the_same_plan_gives_the_same_bytes(tmp_path):
    one = plan(piece(), piece(id="P8", body="../x", bodies=("../x",), up="underside", hand=None, forward=None,
                              grain=True))
    for name in ("a", "b"):
        paper.write(one, tmp_path / name)
    files = sorted(str(p.relative_to(tmp_path / "a")) for p in (tmp_path / "a").rglob("*") if p.is_file())
    assert files == ["paper/p7_galley-lift-2_a4_rev-c.pdf", "paper/p8_x_a4_rev-c.pdf", "tables/offsets.csv"]
    for file in files:
        assert (tmp_path / "a" / file).read_bytes() == (tmp_path / "b" / file).read_bytes()


def test_offsets_are_a_table_for_a_spreadsheet(tmp_path):
    paper.write(plan(piece(body="=1+1")), tmp_path)
    with (tmp_path / "tables" / "offsets.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows[0]["name"] == "'=1+1"
    assert {row["face"] for row in rows} == {"near", "far"}
    assert all(float(row[axis]) * 2 == int(float(row[axis]) * 2) for row in rows for axis in ("X mm", "Y mm"))
    (hole,) = [row for row in rows if row["line"] == "opening"]
    assert (float(hole["X mm"]), float(hole["Y mm"]), float(hole["radius mm"])) == (330, 180, 70)


def test_nothing_to_cut_writes_nothing(tmp_path):
    paper.write(plan(), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_inches_stand_beside_where_the_spec_asks_for_them(tmp_path):
    """500 mm is 19.685 in, 300 mm 11.811 in: to a sixteenth 19 11/16 and 11 13/16."""
    paper.write(plan(piece(), units="inch"), tmp_path)
    (file,) = (tmp_path / "paper").iterdir()
    assert "19 11/16 in x 11 13/16 in" in PdfReader(file).pages[0].extract_text()


EDGE_OF_SHEET = (1600.0, 800.0)
RACKED = Loop(((0, 0, 0), (1600, 0, 0), (1600, 500, 0), (1200, 800, 0), (0, 800, 0)))


def laid_out(**more):
    """Two of P7, the second turned by a quarter, and P8 mirrored, on a part-used sheet with a spoilt place."""
    flap = piece(Outline(Loop(((0, 0, 0), (120, 0, 0), (0, 80, 0)))), id="P8", body="flap", bodies=("flap",),
                 hand="starboard", up="underside", forward=None)
    placed = (Placed(piece="P7", copy=1, x=20, y=20, turn=0), Placed(piece="P7", copy=2, x=860, y=20, turn=90),
              Placed(piece="P8", copy=1, x=1500, y=30, turn=0, mirrored=True))
    sheet = Sheet(stock="ply", number=2, size=EDGE_OF_SHEET, placed=placed, used=0.4, edge=RACKED, rack="shed",
                  defects=(Loop(circle=(1000, 600, 30)),), file="x.dxf")
    return (piece(quantity=2, bodies=("galley lift 2", "locker lift 2")), flap), sheet, more


def sheet_pdf(tmp_path, asked):
    pieces, sheet, _ = laid_out()
    given = pattern(sheet, pieces, page_of(asked), grain=True)
    pdf(paper.sheet_pages(Job("Galley seat", "C"), given, asked), tmp_path / "s.pdf", title="a sheet")
    return given, PdfReader(tmp_path / "s.pdf")


@pytest.mark.parametrize("asked", [Paper(), Paper(size="letter", overlap=6, measured=49, measured_up=51.5),
                                   Paper(size="A3"), Paper(size="A0 roll")], ids=["A4", "letter", "A3", "roll"])
def test_the_tiles_of_a_sheet_laid_together_are_its_pieces_where_they_are_nested(tmp_path, asked):
    """Every vertex of what is cut, carried from its tile to the sheet's axes, is where the nest has it: turned about
    0,0 and moved, by hand here. Each way by what the square measured."""
    given, reader = sheet_pdf(tmp_path, asked)
    across, up = 50 / asked.measured, 50 / (asked.measured_up or asked.measured)
    due = {(x + 20, y + 20) for x, y, _ in PLATE.outer.vertices}
    due |= {(860 - y, x + 20) for x, y, _ in PLATE.outer.vertices}  # a quarter turn: (x, y) to (-y, x)
    due |= {(1500 - x, y + 30) for x, y in ((0, 0), (120, 0), (0, 80))}
    seen = set()
    for tile, page in zip(given.tiling.tiles, reader.pages[1:], strict=False):
        assert squares(reader, page, (50 * across,) * 2) == (1 if across == up else 0)
        for width, run in strokes(reader, page):
            if abs(width - CUT.width * min(across, up)) < 1e-3 and len(run) > 3:
                for x, y in run:
                    spot = given.on_sheet((x / across - asked.margin / across + tile.low[0],
                                           y / up - asked.margin / up + tile.low[1]))
                    near = min(due, key=lambda c: math.dist(c, spot))
                    if math.dist(near, spot) < 0.002:
                        seen.add(near)
    assert seen == due


def test_every_tile_of_a_sheet_names_its_pieces_their_hands_and_where_it_lies(tmp_path):
    given, reader = sheet_pdf(tmp_path, Paper())
    tiles, whole = given.tiling.tiles, given.tiling.rows * given.tiling.columns
    assert 1 < len(tiles) < whole
    boxes = {each.name: bounds(each.outline.outer) for each in given.laid}
    assert set(boxes) == {"P7.1", "P7.2", "P8"}
    for tile, page in zip(tiles, reader.pages[1:], strict=False):
        text = page.extract_text()
        x, y = given.on_sheet(tile.low)
        for words in (tile.name, "sheet 2", f"corner {x:.1f}, {y:.1f}", "50 x 50 mm", "rev C", "grain"):
            assert words in text, (tile.name, words)
        for name, (low_x, low_y, high_x, high_y) in boxes.items():
            half = 12  # within its joints
            if (low_x + half < tile.high[0] and high_x - half > tile.low[0] and low_y + half < tile.high[1]
                    and high_y - half > tile.low[1] and name == "P8"):
                assert "P8 starboard mirrored underside up" in " ".join(text.split())
    text = " ".join(page.extract_text() for page in reader.pages[1 : len(tiles) + 1])
    for words in ("galley lift 2", "locker lift 2", "P7.1 PORT", "P7.2 PORT", "P8 STARBOARD MIRRORED", "FACE UP"):
        assert words in text
    first = " ".join(reader.pages[0].extract_text().split())
    for words in ("Sheet 2", "1600 x 800 mm", "from the rack: shed", "crossed ones are left out", "P7.1", "P7.2",
                  "1 spoilt place(s)", "no corner is opened for a round cutter"):
        assert words in first, words


def test_a_lift_on_a_sheets_pages_says_its_place_in_the_stack_and_its_face(tmp_path):
    pieces, sheet, _ = laid_out()
    orders = ("1 of 3 from below", "3 of 3 from below")
    lifts = [replace(one, orders=orders) if one.id == "P7" else one for one in pieces]
    given = pattern(sheet, lifts, page_of(Paper()), grain=False)
    assert {each.name: each.stack for each in given.laid} == {
        "P7.1": "1 of 3 from below, this face up", "P7.2": "3 of 3 from below, this face up", "P8": ""}
    pages = [sheet_tile(Job("Galley seat", "C"), given, tile, lines_of(given.tiling)) for tile in given.tiling.tiles]
    said = [mark.words for page in pages for mark in page.marks if isinstance(mark, Text)]
    assert {"1 OF 3 FROM BELOW, THIS FACE UP", "3 OF 3 FROM BELOW, THIS FACE UP"} <= set(said)


def test_the_bow_on_a_piece_turns_with_it_on_the_sheet():
    """P7's bow is at 90 deg of its own: up the sheet as it lies, to the left a quarter turn on."""
    pieces, sheet, _ = laid_out()
    given = pattern(sheet, pieces, page_of(Paper()), grain=False)
    assert [each.forward for each in given.laid] == [
        (90 + given.tiling.turn) % 360, (180 + given.tiling.turn) % 360, None]


def test_the_spec_says_whether_pieces_sheets_or_both_are_printed(tmp_path):
    pieces, sheet, _ = laid_out()
    stock = {"ply": Stock(kind="plywood", thickness=12, size=EDGE_OF_SHEET)}
    for of, names in (("pieces", {"p7", "p8"}), ("sheets", {"ply_sheet-2"}), ("both", {"p7", "p8", "ply_sheet-2"})):
        spec = SimpleNamespace(title="Galley seat", revision="C", units="mm", paper=Paper(of=of), stock=stock)
        paper.write(SimpleNamespace(pieces=pieces, spec=spec, layout=Layout(sheets=(sheet,))), tmp_path / of)
        files = [file.name for file in (tmp_path / of / "paper").iterdir()]
        assert len(files) == len(names)
        assert all(any(file.startswith(name) for name in names) for file in files)
        assert (tmp_path / of / "tables" / "offsets.csv").is_file()
    again = tmp_path / "again"
    paper.write(SimpleNamespace(pieces=pieces, spec=spec, layout=Layout(sheets=(sheet,))), again)
    for file in (again / "paper").iterdir():
        assert file.read_bytes() == (tmp_path / "both" / "paper" / file.name).read_bytes()
