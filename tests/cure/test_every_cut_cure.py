"""Findings about pieces, bridges, sheets and stages: each in a plan that fails, and its cure that holds.

What only a fault of ours could make fail is made to fail by hand, on the finished pieces and sheets; its cure is then
asked of the whole chain like any other.
"""

import json
from dataclasses import replace

import pytest

from moldplan import plan as chain
from moldplan.cure.search import cures
from moldplan.cut.cutting import lay_out
from moldplan.cut.judge import judged_layout
from moldplan.cut.judge_bridges import judged_bridges
from moldplan.cut.judge_shapes import judged_shapes
from moldplan.cut.judge_stages import judged_stages
from moldplan.cut.loop import moved
from moldplan.cut.piece import Loop
from moldplan.spec.load import read_text


def board(length, width, x=0.0):
    """A sole without hatches: one rectangle of foam to cut."""
    return {"outline": [[x, 0], [x + length, 0], [x + length, width], [x, width]]}


def plan(soles, cutter=None, **foam):
    stock = {"foam": {"kind": "pvc foam", "thickness": 20, "size": [2440, 1220], **foam}}
    return {"moldplan": 1, "title": "boards", "soles": soles, "cutter": cutter or {}, "stock": stock}


def notched(beside):
    """A sole with a notch, and the round hole of a fitting so far under a corner of it [mm]."""
    outline = [[0, -300], [600, -300], [600, 300], [420, 300], [420, 100], [280, 100], [280, 300], [0, 300]]
    return plan({"s": {"outline": outline, "fittings": {"post": {"at": [280, 60 - beside], "flange": 40}}}})


TWO = {"a": board(1170, 1170), "b": board(1170, 1170, 1300)}
# a sheet with two arms, whose foot is cut off in the first stage but for what holds neither
ARMS = [[0, 0], [2440, 0], [2440, 400], [1198, 400], [1198, 800], [2440, 800], [2440, 1200], [0, 1200]]
FOOT = {"a": board(1188, 1188), "b": board(1200, 350, 1500), "c": board(1200, 350, 3000)}
FAILING = {
    ("sheets", "spacing takes the cutter"): plan({"a": board(400, 400)}, {"spacing": 4}),
    ("cut", "s sheet: width of its narrowest opening"): plan(
        {"s": {**board(400, 400), "fittings": {"post": {"at": [200, 200], "flange": 5}}}},
        {"diameter": 50, "spacing": 50}),
    ("cut", "s sheet: material between a relief and the next cut"): notched(1.5),
    ("cut", "s sheet: waste left in an inside corner"): notched(0.5),
    ("cut", "small pieces that bridges do not hold"): plan({"a": board(190, 190)}, {"bridge_length": 100,
                                                                                     "diameter": 50, "spacing": 50}),
    ("sheets", "short of the waste that bridges need by"): plan(
        {"a": board(1000, 90)}, {"edge_margin": 8}, size=[1018, 108]),
    ("stages", "dowels that two stages share, apart over the sheet's side"): plan(TWO, {"bed": [1250, 1250]}),
    ("stages", "dowels and later pieces cut loose before their stage"): plan(
        FOOT, {"bed": [1300, 1250], "edge_margin": 5}, size=[2440, 1200], on_hand=[{"outline": ARMS}]),
}  # fmt: skip

WHOLE = plan({"a": board(1100, 1000), "b": board(1100, 1000, 1300), "c": board(600, 80, 2500)},
             {"bed": [1250, 1250], "edge_margin": 25},
             on_hand=[{"size": [2440, 1220], "defects": [{"at": [2400, 1180], "diameter": 30}]}])  # fmt: skip


def shifted(layout, **by):
    """The layout with the first piece of its first sheet moved."""
    sheet, *rest = layout.sheets
    one, *others = sheet.placed
    one = replace(one, **{name: getattr(one, name) + way for name, way in by.items()})
    return replace(layout, sheets=(replace(sheet, placed=(one, *others)), *rest))


def respotted(layout, *, lost=0, knot=None):
    """The layout with pieces of its first sheet gone, or with a spoilt place more there."""
    sheet, *rest = layout.sheets
    more = (Loop(circle=knot),) if knot else ()
    return replace(layout, sheets=(replace(sheet, placed=sheet.placed[lost:], defects=(*sheet.defects, *more)), *rest))


def restaged(layout, **changes):
    """The layout with its first stage changed."""
    sheet, *rest = layout.sheets
    first, *later = sheet.stages
    return replace(layout, sheets=(replace(sheet, stages=(replace(first, **changes), *later)), *rest))


def rebridged(pieces):
    """The bridges of the small piece turned askew."""
    small = next(p for p in pieces if p.cut.bridges)
    (a, b), *others = small.cut.bridges
    return tuple(replace(p, cut=replace(p.cut, bridges=((a, (b[0] + 3, b[1] + 3)), *others))) if p is small else p
                 for p in pieces)  # fmt: skip


def swollen(pieces):
    """The first piece half a millimetre too long."""
    one, *others = pieces
    longer = replace(one, outline=replace(one.outline, outer=moved(one.outline.outer, x=0.5)), area=one.area + 500.0)
    return (longer, *others)


# which thing is spoilt, and how: pieces of the plan, or its layout
SPOILT = {
    ("cut", "bridges on a mating edge, a corner or an arc that must be fair"): ("pieces", rebridged),
    ("cut", "outline off the shadow of its solid, on average"): ("pieces", swollen),
    ("sheets", "pieces not on exactly one sheet as drawn"): ("layout", lambda made: respotted(made, lost=1)),
    ("sheets", "short of the edge margin by"): ("layout", lambda made: shifted(made, x=-3.0)),
    ("sheets", "short of the spacing by"): ("layout", lambda made: shifted(made, x=10.0, y=10.0)),
    ("sheets", "short of the spacing from a defect by"): ("layout", lambda made: respotted(made, knot=(100, 100, 90))),
    ("stages", "pieces not cut in exactly one stage"): ("layout", lambda made: restaged(made, cut=())),
    ("stages", "over the bed in its stage by"): ("layout", lambda made: restaged(made, low=60.0)),
    ("stages", "short of room round a dowel hole by"): (
        "layout", lambda made: restaged(made, drill=((600.0, 600.0), (1200.0, 1209.0)))),
}


def failing(findings):
    return {f.id for f in findings if f.verdict == "fails"}


def cured(kind, before, loaded, made, nest):
    """The cure of a failing finding, asked of the whole chain; applied, it holds and nothing else begins to fail."""
    mine = [f for f in before if (f.check, f.what) == kind and f.verdict == "fails"]
    assert mine, f"the plan was to fail on {kind}, and fails on {failing(before)}"
    others = [replace(f, moves=()) for f in before if f.id != mine[0].id]

    def asked(edits):
        return chain.evaluate(loaded, edits, like=made, nest=nest)

    found = cures([mine[0], *others], asked)[0]
    assert found.cure.rechecked and found.cure.edits and "{" not in found.cure.text, found.cure
    after = asked(found.cure.edits)
    assert found.id not in failing(after) and failing(after) <= failing(before)


@pytest.mark.parametrize("kind", FAILING, ids="/".join)
def test_the_cure_makes_it_hold_and_breaks_nothing(kind):
    loaded = read_text(json.dumps(FAILING[kind]), "boards.yaml")
    made, nest = chain.flat(loaded), kind[0] != "cut"
    cured(kind, chain.evaluate(loaded, like=made, nest=nest), loaded, made, nest)


@pytest.fixture(scope="module")
def whole():
    """A plan of three boards in two stages on a sheet of the rack, all of whose cut findings hold; its layout."""
    loaded = read_text(json.dumps(WHOLE), "boards.yaml")
    made = chain.flat(loaded)
    laid = lay_out(made.cutting, made.resolved.stocks, made.resolved.spec.cutter, saved=None, say=lambda text: None)
    (sheet,) = laid.layout.sheets
    assert len(sheet.stages) == 2 and sheet.defects and failing(laid.findings) == set()
    return loaded, made, laid.layout


@pytest.mark.parametrize("kind", SPOILT, ids="/".join)
def test_the_cure_of_what_was_spoilt_makes_it_hold(kind, whole):
    loaded, made, layout = whole
    which, spoil = SPOILT[kind]
    pieces = spoil(made.cutting.pieces) if which == "pieces" else made.cutting.pieces
    layout = spoil(layout) if which == "layout" else layout
    cutter = made.resolved.spec.cutter
    found = [*judged_shapes(made.assembly, pieces, cutter), *judged_bridges(pieces, made.assembly, cutter),
             *judged_stages(layout, pieces, cutter, made.resolved.stocks)]  # fmt: skip
    found += judged_layout(layout, pieces, cutter)
    before = [*made.judged.findings, *found]
    cured(kind, before, loaded, made, nest=True)


def test_bodies_taken_over_for_another_cutter_give_the_findings_of_the_whole_chain():
    """Edits of the cutter and of the size of sheets, with and without the bodies of the plan before."""
    from moldplan.finding import Edit

    loaded = read_text(json.dumps(notched(1.5)), "boards.yaml")
    made = chain.flat(loaded)
    for edits in ((Edit(("cutter", "diameter"), 3),), (Edit(("stock", "foam", "size"), [1300, 700]),)):
        assert chain.evaluate(loaded, edits, like=made) == chain.evaluate(loaded, edits)
    thicker = (Edit(("stock", "foam", "thickness"), 25),)
    assert chain.evaluate(loaded, thicker, like=made) == chain.evaluate(loaded, thicker)
