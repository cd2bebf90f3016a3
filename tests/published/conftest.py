"""Solids for the published relations: a spec of one bottle, resolved and shaped, and measures taken on its faces."""

import math
from types import SimpleNamespace

import pytest

GLASS, RESIN = 2.56, 1.20  # g/cm3


def skin_of(thickness):
    """Spec fields of a laminate of one ply, exactly so thick [mm]: w = t / (1/rho_f + 1/rho_m) at half resin."""
    weight = thickness / (1 / GLASS + 1 / RESIN)
    return {
        "fabrics": {"cloth": {"fibre": "e-glass", "areal_weight": f"{weight * 1000:.13g} g/m2"}},
        "resins": {"resin": {"density": RESIN * 1000}},
        "laminates": {"skin": {"fibre_fraction": 0.5, "resin": "resin", "plies": ["cloth"]}},
    }


@pytest.fixture(scope="session")
def radius_of():
    """A function: least distance from a face to the vertical through the origin [mm], a standing cylinder's radius."""
    import cadquery as cq

    axis = cq.Edge.makeLine(cq.Vector(0, 0, -5000), cq.Vector(0, 0, 5000))
    return lambda face: face.distance(axis)


@pytest.fixture(scope="session")
def circles():
    """A function: radii of the circular edges of faces at a level [mm]."""

    def make(faces, level):
        return [edge.radius() for face in faces for edge in face.Edges()
                if edge.geomType() == "CIRCLE" and all(abs(v.Z - level) < 1e-6 for v in edge.Vertices())]

    return make


@pytest.fixture(scope="session")
def shaped():
    """A function: all bodies of a spec, after everything left open in it was chosen."""
    from moldplan.shape.assemble import assemble
    from moldplan.shape.choose import resolve

    return lambda spec: assemble(resolve(spec))


@pytest.fixture(scope="session")
def seat_of(spec_with, shaped):
    """A function: bodies of one seat on the vertical through the origin, and their faces, for sizes in mm and deg.

    The block is 60 larger all round and 40 deeper than the seat; no rim radius and no floor fillet: the wall runs
    from floor to rim.
    """

    def make(*, diameter, clearance, depth, draft=0.0, paint=0.0, skin=2.0, coat=0.0):
        side = diameter + 2 * depth * math.tan(math.radians(draft)) + 120
        spec = spec_with(
            **skin_of(skin), coats={"paint": paint, "in_mold": coat},
            cylinders={"bottle": {"diameter": diameter, "height": 4 * depth + 100}},
            cradles={"block": {
                "block": [side, side, depth + 40], "at": [-side / 2, -side / 2], "skin": "skin",
                "seats": {"bottle": {"depth": depth, "clearance_per_side": clearance, "draft": draft, "floor_fillet": 0,
                                     "rim_radius": 0, "straps": 0}}}})
        bodies = shaped(spec)
        return SimpleNamespace(
            part=bodies.body("block part"), core=bodies.body("block core"), stand=bodies.stands[0],
            chains=bodies.chains, bodies=bodies, top=depth + 40 + skin)

    return make


@pytest.fixture(scope="session")
def rib_of(spec_with, shaped):
    """A function: the finished rib of a chock, bare and unpainted, with sharp edges; its cylinder; its axis' height."""

    def make(*, radius, wrap, clearance=0.0, liner=0.0):
        spec = spec_with(
            coats={"paint": 0},
            cylinders={"bottle": {"diameter": 2 * radius, "height": 600}},
            cradles={"base": {"block": [700, 2 * radius + 120, 20], "at": [0, 0], "chocks": {"bottle": {
                "wrap": wrap, "clearance": clearance, "liner": liner, "edge_radius": 0, "straps": 0}}}})
        bodies = shaped(spec)
        (stand,) = bodies.stands
        rib = bodies.body(stand.hosts[0])
        (arc,) = rib.faces(f"{stand.roles} arc")
        return SimpleNamespace(rib=rib, arc=arc, stand=stand, cylinder=bodies.body(stand.body), bodies=bodies)

    return make
