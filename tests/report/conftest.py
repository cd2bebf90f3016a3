"""Two small plans to draw: a seat for an upright cylinder in a locker, and chocks for a lying one.

They are shaped by the shapers themselves from briefs written out here; findings, choices and the rest are made up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from moldplan.cut.piece import Layout, Loop, Outline, Piece, Placed, Sheet
from moldplan.finding import Cure, Edit, Finding, Source
from moldplan.material.stock import known
from moldplan.shape import chock, cradle, locker
from moldplan.shape.assembly import Assembly
from moldplan.shape.insert import Layer
from moldplan.shape.seat import Build
from moldplan.spec.model import Spec

BUILD = Build(skin=1.6, skin_tolerance=0.24, lap=0.8, paint=0.3, paint_tolerance=0.1, in_mold=0.0,
              in_mold_tolerance=0.0, cut_tolerance=0.5, origin="2 plies of inner skin")  # fmt: skip


@dataclass(frozen=True)
class Choice:
    field: str
    value: Any
    why: str


@dataclass(frozen=True)
class SamplePlan:
    spec: Spec
    assembly: Assembly
    chains: tuple = ()
    findings: tuple = ()
    pieces: tuple = ()
    layout: Layout | None = None
    choices: tuple = ()
    cautions: tuple = ()
    fits: tuple = ()
    water: Any = None
    answer: str = "The cylinder fits, and one thing fails."
    file: str = "sample.yaml"
    sha256: str = "0" * 64


def seat_plan(units: str = "mm", title: str = "Galley gas seat") -> SamplePlan:
    spec = Spec.model_validate(
        {
            "moldplan": 1,
            "title": title,
            "units": units,
            "cylinders": {
                "galley": {
                    "diameter": "267 ± 2", "height": 430, "foot": {"diameter": 200, "height": 22},
                    "knuckle_radius": 60, "shoulder_radius": 60, "valve": {"diameter": 120, "height": 90},
                    "full_mass": 16, "contents": "lp gas",
                }
            },
            "lockers": {"gas locker": {"box": {"from": [0, 100, -250], "to": [640, 620, 350]},
                                       "lid": {"clear_opening": [420, 380], "corner_radius": 40}}},
            "cradles": {
                "seat block": {
                    "block": [400, 400, 80], "locker": "gas locker",
                    "seats": {"galley": {"depth": 36, "clearance_per_side": 4, "draft": 4, "floor_fillet": 12,
                                         "liner": 3, "limber": "aft", "turn": 0}},
                }
            },
        }
    )  # fmt: skip
    one, stocks = spec.cradles["seat block"], known(spec)
    held = locker.room("gas locker", spec.lockers["gas locker"], core=20)
    room, walls = held.room, held.bodies[0]
    brief = cradle.Brief(
        name="seat block", cradle=one, cylinders=spec.cylinders, stocks=stocks, build=BUILD, rib_builds={},
        layers={"galley": (Layer(18.2, "board"), Layer(18.2, "board"))}, room=room, wall_core=20,
    )  # fmt: skip
    made = cradle.shape(brief)
    bodies = {b.name: b for b in (walls, *made.bodies)}
    assembly = Assembly(bodies=bodies, stands=made.stands, rooms={room.name: room}, chains=made.chains)
    return SamplePlan(spec=spec, assembly=assembly, chains=made.chains, findings=FINDINGS, choices=CHOICES,
                      cautions=("LP gas is heavier than air and collects low down: keep every opening sealed.",),
                      fits=({"stand": "seat block.galley", "cylinder": "galley", "fits": True, "tightest": 4.0,
                             "where": "at the floor, aft"},
                            {"stand": "seat block.galley", "cylinder": "tall galley", "fits": False, "tightest": -3.2,
                             "where": "lid"}),
                      pieces=PIECES, layout=LAYOUT)  # fmt: skip


def chock_plan() -> SamplePlan:
    spec = Spec.model_validate(
        {
            "moldplan": 1,
            "title": "Bottle rack",
            "cylinders": {"bottle": {"diameter": "171 ± 1", "height": 640, "bottom": "round", "knuckle_radius": 85,
                                     "shoulder_radius": 70, "valve": {"diameter": 80, "height": 70},
                                     "full_mass": 17, "contents": "breathing air"}},
            "cradles": {"rack": {"block": [700, 320, 20],
                                 "chocks": {"bottle": {"stock": "board", "spacing": 280, "count": 2}}}},
        }
    )  # fmt: skip
    brief = chock.Brief(
        name="rack", cradle=spec.cradles["rack"], cylinders=spec.cylinders, stocks=known(spec), build=BUILD,
        rib_builds={"bottle": BUILD}, layers={}, room=None, wall_core=20,
    )  # fmt: skip
    made = chock.shape(brief)
    assembly = Assembly(bodies={b.name: b for b in made.bodies}, stands=made.stands, chains=made.chains)
    return SamplePlan(spec=spec, assembly=assembly, chains=made.chains, answer="The bottle lies well; nothing fails.")


def _finding(**given: Any) -> Finding:
    base: dict[str, Any] = {"check": "clearance", "part": "seat block.galley", "unit": "mm", "sense": "at_least",
                            "source": Source(document="A handbook of gaps", edition="2001", clause="4.2",
                                             how_read="second-hand")}  # fmt: skip
    return Finding(**(base | given))


FINDINGS = (
    _finding(what="valve under the lid", measured=12.0, limit=25.0, at={"x": 320.0, "y": 360.0, "z": 340.0},
             cure=Cure(text="Raise the lid 13 mm", edits=(Edit(("lockers", "gas locker", "lid", "underside"), 363.0),),
                       rechecked=True)),
    _finding(what="gap at the floor", measured=4.0, limit=3.8, tolerance=0.5),
    _finding(what="draft of the insert", check="draft", measured=4.0, limit=2.0, unit="deg"),
    _finding(what="hand room", measured=70.0, limit=(45.0, 120.0), sense="between"),
    _finding(what="lift-out, tilted", measured=None, limit=None, skipped="the locker has no lid"),
    _finding(what="wrap", check="wrap", measured=120.0, limit=180.0, sense="at_most", unit="deg"),
)  # fmt: skip
CHOICES = (Choice("cradles.seat block.seats.galley.floor_fillet", 12.0, "the cloth lies round 12 mm"),)
SQUARE = Outline(Loop(((0, 0, 0), (400, 0, 0), (400, 400, 0), (0, 400, 0))),
                 holes=(Loop(circle=(200, 200, 137)),))  # fmt: skip
DISC = Outline(Loop(circle=(0, 0, 140)), far=(Loop(circle=(0, 0, 137)),), bores=((Loop(circle=(0, 0, 3)), 18.0),))


def _piece(number: int, body: str, outline: Outline, stock: str, area: float, **more: Any) -> Piece:
    return Piece(id=f"P{number}", body=body, part="seat block", path=("cradles", "seat block"), stock=stock,
                 thickness=18.2, outline=outline, cut=outline, area=area, outline_length=1600.0, **more)  # fmt: skip


PIECES = (
    _piece(1, "seat block lift 1", SQUARE, "foam", 101_035.0, quantity=2),
    _piece(2, "seat block.galley insert 1", DISC, "board", 61_575.0, notes=("larger outline cut",)),
)
LAYOUT = Layout(
    sheets=(
        Sheet(stock="foam", number=1, size=(2440, 1220), used=0.07, file="foam-1.dxf",
              offcuts=((839.0, 0.0, 1601.0, 1220.0),),
              placed=(Placed(piece="P1", copy=1, x=15, y=15, turn=0), Placed(piece="P1", copy=2, x=427, y=15, turn=0))),
        Sheet(stock="board", number=1, size=(2800, 2070), used=0.01, file="board-1.dxf",
              placed=(Placed(piece="P2", copy=1, x=155, y=155, turn=90),)),
    ),
    fewest={"foam": {"used": 1, "lower_bound": 1}, "board": {"used": 1, "lower_bound": 1}},
)  # fmt: skip


@pytest.fixture(scope="session")
def seat() -> SamplePlan:
    return seat_plan()


@pytest.fixture(scope="session")
def inch_seat() -> SamplePlan:
    return seat_plan("inch", "Galley <script>alert(1)</script> seat")


@pytest.fixture(scope="session")
def chocks() -> SamplePlan:
    return chock_plan()


@pytest.fixture(scope="session")
def drawn():
    """A function: a plan's drawings by part, made once for all tests."""
    from moldplan.report import drawings

    known = {}

    def make(plan):
        if id(plan) not in known:
            known[id(plan)] = plan, drawings.by_part(plan)  # the plan is kept, so that its id stays its own
        return known[id(plan)][1]

    return make
