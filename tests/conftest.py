"""What tests of several rooms ask for: a small spec with some fields changed, a stack of given plies."""

import copy
from dataclasses import replace

import pytest

from moldplan.finding import Source
from moldplan.material.laminate import Skin
from moldplan.spec.model import Spec


def pytest_collection_modifyitems(items):
    """Whole plans first: begun last, the longest of them would leave one worker alone."""
    items.sort(key=lambda item: "whole" not in item.path.parts)


@pytest.fixture(scope="session")
def spec_with():
    """A function: a small valid spec with the top-level fields given replaced."""

    def make(**fields):
        plain = {
            "moldplan": 1,
            "title": "a test piece",
            "cylinders": {"bottle": {"diameter": 171, "height": 500}},
            "cradles": {
                "block": {"block": [300, 300, 80], "seats": {"bottle": {"depth": 36, "clearance_per_side": 3}}},
            },
        }
        return Spec.model_validate(plain | fields)

    return make


@pytest.fixture(scope="session")
def lay():
    """A function: the skin of the plies given, and of nothing else."""

    def make(*plies):
        source = Source(document="a test", how_read="ours")
        return Skin(name="stack", plies=plies, tolerance=0.0, tolerance_source=source, source=source,
                    resin_name="resin", process="by hand")

    return make


GLASS, RESIN = 2.56, 1.20  # g/cm3
SKIN = 1.2  # mm: one ply of half resin, w = t / (1/rho_f + 1/rho_m) with rho = 1/(0.5/rho_f + 0.5/rho_m)
ONE_HATCH = {
    "moldplan": 1, "title": "one hatch", "coats": {"paint": 0.3, "in_mold": 0},
    "fabrics": {"cloth": {"fibre": "e-glass", "areal_weight": f"{SKIN / (1 / GLASS + 1 / RESIN) * 1000:.13g} g/m2"}},
    "resins": {"resin": {"density": RESIN * 1000}},
    "laminates": {"skin": {"fibre_fraction": 0.5, "resin": "resin", "plies": ["cloth"]}},
    "soles": {"sole": {"outline": [[-600, -600], [600, -600], [600, 600], [-600, 600]], "skin": "skin", "hatches": {
        "hatch": {
            "centre": [0, 0], "clear_opening": [500, 400], "corner_radius": 40, "landing": 25,
            "gutter": {"width": 40, "depth": 24, "fall": "1:50", "draft": 4, "root_radius": 6},
            "lid": {"thickness": 22, "gap": 3, "edge_draft": 6, "taper": 30, "hinge": "forward",
                    "gasket": {"free": 10, "squeeze": 0.4, "width": 15, "stop": 6, "stiffness": 0.5},
                    "latches": 2, "latch_force": 60},
            "drains": {"port": {"at": "aft port", "bore": 19}, "starboard": {"at": "aft starboard", "bore": 19}}}}}},
}


def _resolved(changes):
    """ONE_HATCH with changes, "lid/gasket/free" of the hatch, "/coats/paint" of the spec; nothing left open."""
    from moldplan.shape.choose import resolve

    data = copy.deepcopy(ONE_HATCH)
    for where, value in changes.items():
        here = data if where.startswith("/") else data["soles"]["sole"]["hatches"]["hatch"]
        *way, last = where.strip("/").split("/")
        for step in way:
            here = here.setdefault(step, {})
        here[last] = copy.deepcopy(value)
    return resolve(Spec.model_validate(data))


@pytest.fixture(scope="session")
def hatch_spot():
    """A function: the hatch of ONE_HATCH with changes, made by the whole chain, once for each set of changes."""
    from moldplan.check.hatch_spot import spots
    from moldplan.shape.assemble import assemble

    known = {}

    def make(changes=None):
        key = repr(changes)
        if key not in known:
            resolved = _resolved(changes or {})
            (known[key],) = spots(assemble(resolved), resolved.spec)
        return known[key]

    return make


@pytest.fixture(scope="session")
def hatch_bits(hatch_spot):
    """A function: the same, but of its bodies only those asked for (frame, lid, strips, sole), each by its own shaper.

    A tenth of the whole chain's time: no sheets, no drains' bores. The other bodies are those of ONE_HATCH.
    """
    from moldplan.check.hatch_spot import HatchSpot
    from moldplan.shape import cockpit, lid, mold
    from moldplan.shape import hatch as frame
    from moldplan.shape.choose import sole_brief
    from moldplan.shape.ring import sweep
    from moldplan.shape.sole import edges_of, plate, surface_of

    def make(changes, *bits):
        base, resolved = hatch_spot(), _resolved(changes)
        brief = sole_brief(resolved, "sole")
        one, build = brief.sole.hatches["hatch"], brief.frame_builds["hatch"]
        at = surface_of(brief.sole, cockpit.bounds_of(brief.sole)).frame(*one.centre, one.turn)
        levels, offsets = frame.levels(one, paint=build.paint), frame.offsets(one, build)
        way, start = frame.runs(one, levels), frame.start_level(one, sole=brief.thickness)
        place = replace(base.place, hatch=one, frame=at, levels=levels, offsets=offsets, runs=way, start=start,
                        paint=build.paint, skin=build.skin)
        made = {}
        if "frame" in bits:
            made[place.molding] = sweep(
                way.ring, lambda s: frame.section(one, levels, build, way.level(s), start=start), breaks=way.kinks)
        if "lid" in bits:
            closed = lid.lid(one, levels, offsets, brief.lid_builds["hatch"])
            made |= {place.lid: closed.part, place.lid_core: closed.core, place.gasket: closed.gasket}
            place = replace(place, hinge=closed.hinge)
        if "strips" in bits:
            for piece in mold.strips(one, levels, way, build, start=start):
                made[next(n for n in place.mold if n.endswith(f" {piece.name}"))] = piece.shaped
        bodies = dict(base.assembly.bodies)
        if "sole" in bits:  # as it is but for its hatches: one plate, cut once
            face, paint = surface_of(brief.sole, cockpit.bounds_of(brief.sole)), brief.build.paint
            whole = plate(edges_of(brief.sole.outline), face, cockpit.bounds_of(brief.sole), above=-paint,
                          below=-paint - brief.thickness)
            name = base.assembly.soles[0].part
            bodies[name] = replace(bodies[name], shaped=whole.cut(*cockpit._cut_outs(brief, face, flat=False)))
        for name, shaped in made.items():
            bodies[name] = replace(bodies[name], shaped=shaped.moved(at), frame=at)
        return HatchSpot(replace(base.assembly, bodies=bodies), place, resolved.spec)

    return make


FRAMED_SEAT = {
    "moldplan": 1, "title": "one seat", "coats": {"paint": 0.3},
    "cylinders": {"b": {"diameter": 200, "height": 300, "knuckle_radius": 30, "contents": "other"}},
    "stock": {"ply": {"kind": "plywood", "thickness": 9, "size": [2440, 1220]}},
    "cradles": {"k": {"block": [320, 320, 110], "seats": {"b": {
        "depth": 72, "clearance_per_side": 4, "draft": 4, "floor_fillet": 8,
        "insert": {"stock": "ply", "built": "frames", "frames": {"spacing": 130, "covering": 4, "clearance": 0.3}}}}}},
}


@pytest.fixture(scope="session")
def framed_seat():
    """A function: a seat whose insert is built of two frames each way, with fields of its insert or seat replaced."""
    from moldplan.shape.assemble import assemble
    from moldplan.shape.choose import resolve

    known = {}

    def make(shape=True, seat=None, frames=None, **insert):
        key = repr((shape, seat, frames, insert))
        if key not in known:
            data = copy.deepcopy(FRAMED_SEAT)
            one = data["cradles"]["k"]["seats"]["b"]
            one |= seat or {}
            one["insert"] |= insert
            one["insert"]["frames"] |= frames or {}
            resolved = resolve(Spec.model_validate(data))
            known[key] = resolved, assemble(resolved) if shape else None
        return known[key]

    return make
