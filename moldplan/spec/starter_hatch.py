"""`moldplan new hatch`: a first hatch in a sole, commented, that builds as it stands.

In       checked answers (every name of HATCH).
Out      the text of a spec.
Not here asking and writing (starter.py), building it (plan.py).

What a builder gets wrong is the sum: here the landing is made as deep as whole boards, and lid or squeeze follow.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from moldplan import quantity
from moldplan.errors import CallError
from moldplan.quantity import plain
from moldplan.spec.starter import Question, lined, scalar

SIDES = ("forward", "aft", "port", "starboard", "none")
SKINS = 3.0  # mm, both skins and coats of a lid by the handbook's own laminate: 2.4 and 0.6
LANDING, FLANGE, RADIUS, LAND = 25.0, 55.0, 40.0, 40.0  # mm, common practice, no source; LAND ours
DRAFT, ROOT, DEPTH, SEAL = 4.0, 6.0, 22.0, 15.0
BORE = 19.0  # mm, the least that does not clog; common practice, no source
SHARES = tuple(range(300, 451, 5))  # squeeze in thousandths: inside 25 to 50 %, with something in hand on both sides
DIGITS, SHARE_DIGITS = 3, 5  # written of a height [mm] and of a squeeze: the sum is off by under 0.001 mm

HATCH: tuple[Question, ...] = (
    Question("name", "What is the hatch called", "hatch"),
    Question("length", "Its clear opening fore and aft, in mm or with a unit", kind=quantity.LENGTH, range=(250, 800)),
    Question("width", "Its clear opening athwart", kind=quantity.LENGTH, range=(250, 800)),
    Question("foam_thickness", "Thickness of the core foam at hand", "20", kind=quantity.LENGTH, range=(8, 40)),
    Question("board_thickness", "Thickness of the board at hand, as measured", "18", kind=quantity.LENGTH,
             range=(9, 30)),
    Question("gasket_free", "Height of the gasket when free", "20", kind=quantity.LENGTH, range=(5, 40)),
    Question("lid_thickness", "Finished thickness of the lid; empty: chosen, so that whole boards make the mold", "",
             kind=quantity.LENGTH, range=(10, 60)),
    Question("sole_length", "The sole's length fore and aft; empty: as small as holds the hatch", "",
             kind=quantity.LENGTH, range=(400, 2400)),
    Question("sole_width", "The sole's width; empty: as small as holds the hatch", "", kind=quantity.LENGTH,
             range=(400, 1180)),
    Question("hinge", "Which side does it turn about", "forward", SIDES),
)


@dataclass(frozen=True, kw_only=True)
class _Sum:
    """A lid and a squeezed gasket that make a landing's depth [mm]; `boards`: whole ones, 0 where a packer is due."""

    lid: float
    share: float
    boards: int
    depth: float

    def deep(self, board: float) -> str:
        """What makes the depth, in words."""
        return f"{self.boards} x {plain(board, 4)} mm of board" if self.boards else "boards and a packer"


def hatch(given: Mapping[str, str]) -> str:
    """The text of a first hatch spec. Raises CallError when the sole asked for does not hold the hatch."""
    size = {name: quantity.length(given[name]) for name in ("length", "width")}
    board, foam, free = (quantity.length(given[f"{name}"]) for name in ("board_thickness", "foam_thickness",
                                                                       "gasket_free"))
    lid = round(quantity.length(given["lid_thickness"]), DIGITS) if given["lid_thickness"] else None
    total = _sum(board, foam, free, lid)
    fall, width = _gutter(size, total.depth)
    sole = _sole(given, size, width)
    gutter = (f"{{width: {plain(width)}, depth: {plain(DEPTH)}, fall: {fall}, draft: {plain(DRAFT)}, "
              f"root_radius: {plain(ROOT)}}}")
    return lined(
        ('# A first hatch, written by `moldplan new hatch`. Bare numbers are mm, degrees and kg; "10 1/2 in" is', ""),
        ("# understood too. Sizes are finished, painted. Measure, change, then: moldplan check FILE", ""),
        ("moldplan: 1", ""),
        (f"title: {scalar('Hatch ' + given['name'] if given['name'] != 'hatch' else 'A hatch in a sole')}", ""),
        ("", ""),
        *_stock_lines(given, total, board),
        ("", ""),
        ("soles:", ""),
        ("  sole:", ""),
        (f"    outline: [[0, {plain(-sole[1] / 2)}], [{plain(sole[0])}, {plain(-sole[1] / 2)}],",
         "corners in order, x forward and y to port;"),
        (f"              [{plain(sole[0])}, {plain(sole[1] / 2)}], [0, {plain(sole[1] / 2)}]]",
         "or outline_from: a DXF or CSV file"),
        ("    fall: 1:80", "water runs off aft, and out of the gutter"),
        ("    # depth_below: 200", "free depth under it, if you know it"),
        ("    hatches:", ""),
        (f"      {scalar(given['name'])}:", ""),
        (f"        centre: [{plain(sole[0] / 2)}, 0]", ""),
        (f"        clear_opening: [{scalar(given['length'])}, {scalar(given['width'])}]",
         "what one climbs through"),
        (f"        corner_radius: {plain(RADIUS)}", "all others follow outward from it"),
        (f"        landing: {plain(LANDING)}", "the ledge the gasket sits on"),
        (f"        # landing_depth: {plain(total.depth)}", f"lid and squeezed gasket; {total.deep(board)}"),
        (f"        gutter: {gutter}", ""),
        *_lid_lines(given, total, size, free),
        (f"        bond_flange: {{width: {plain(FLANGE)}, lies: rebated}}", "or under: a sole thickness lower"),
        ("        # drains: {port: {at: aft port, bore: 19}}", "two at the lowest corners when not given"),
    )


def _stock_lines(given: Mapping[str, str], total: _Sum, board: float) -> tuple[tuple[str, str], ...]:
    """The sheets at hand, with a packer where whole boards do not make the landing's depth."""
    left = total.depth - math.floor(total.depth / board + 1e-6) * board
    packers, lacking = ("}", "") if total.boards else (f", packers: [{plain(left, DIGITS)}]}}", "what the boards lack")
    return (
        ("stock:", "what is at hand; sheets are seldom nominal"),
        ("  foam: {kind: pvc foam, density: 80,", ""),
        (f"         thickness: {scalar(given['foam_thickness'])}, size: [2440, 1220]}}", ""),
        ("  board: {kind: melamine-faced board,", ""),
        (f"          thickness: {scalar(given['board_thickness'])}, size: [2440, 1220]{packers}", lacking),
    )


def _lid_lines(given: Mapping[str, str], total: _Sum, size: Mapping[str, float], free: float
               ) -> tuple[tuple[str, str], ...]:  # fmt: skip
    """The lid with its gasket, and latches that press harder than the gasket pushes back."""
    line = 2 * (size["length"] + size["width"]) + 8 * (LANDING - SEAL / 2)
    force = math.ceil(1.3 * line * total.share / 2 / 50) * 50
    return (
        ("        lid:", ""),
        (f"          thickness: {plain(total.lid, DIGITS)}", "foam, two skins and two coats"),
        ("          gap: 3", "all round, at the top"),
        (f"          hinge: {given['hinge']}", "away from where one stands"),
        (f"          gasket: {{free: {scalar(given['gasket_free'])}, squeeze: {plain(total.share, SHARE_DIGITS)}, "
         f"width: {plain(SEAL)}, stop: {plain(free * (1 - total.share), DIGITS)}}}", ""),
        ("          latches: 2", ""),
        (f"          latch_force: {force}", "N each; the lid must not stand proud"),
    )


def _sum(board: float, foam: float, free: float, lid: float | None) -> _Sum:
    """Lid and squeezed gasket that make whole boards where that can be. Lid and share are rounded here, as they will
    be written, so that the sum of what is written is the sum that is stated."""
    if lid is not None:
        return _under(board, free, lid)
    best: tuple[float, _Sum] | None = None
    for boards in range(1, 9):
        for share in SHARES:
            thick = round(boards * board - free * (1 - share / 1000), DIGITS)
            core = thick - SKINS
            sheets = max(math.ceil(core / foam - 1e-9), 1)
            waste = sheets * foam - core  # planed away; more sheets are worse than a little planing
            cost = 10 * sheets + waste + abs(share - 400) / 100
            if thick >= 12 and (best is None or cost < best[0]):
                best = cost, _Sum(lid=thick, share=share / 1000, boards=boards, depth=boards * board)
    return best[1] if best is not None else _under(board, free, foam + SKINS - 0.5)


def _under(board: float, free: float, lid: float) -> _Sum:
    """The sum of a given lid: the squeeze nearest to 40 % that makes whole boards, else 40 % and a packer."""
    shares = {boards: round(1 - (boards * board - lid) / free, SHARE_DIGITS) for boards in range(1, 9)}
    fit = {n: share for n, share in shares.items() if SHARES[0] / 1000 <= share <= SHARES[-1] / 1000}
    if not fit:
        return _Sum(lid=lid, share=0.4, boards=0, depth=lid + 0.6 * free)
    boards = min(fit, key=lambda n: abs(fit[n] - 0.4))
    return _Sum(lid=lid, share=fit[boards], boards=boards, depth=boards * board)


def _gutter(size: Mapping[str, float], depth: float) -> tuple[str, float]:
    """Fall and width: a drain's bore must find a flat between the roots where the gutter is deepest."""
    run = size["length"] + size["width"] / 2 + 60  # from the middle of the forward side to an aft corner
    fall = 50 if run < 700 else 75
    deepest = depth + DEPTH + run / fall
    slant, root = math.tan(math.radians(DRAFT)), 2 * (ROOT + 0.5) * math.tan(math.radians(45 - DRAFT / 2))
    need = BORE + 1 + root + (2 * deepest - depth) * slant
    return f"1:{fall}", max(40.0, math.ceil(need / 5) * 5.0)


def _sole(given: Mapping[str, str], size: Mapping[str, float], gutter: float) -> tuple[float, float]:
    """Length and width of the sole; raises CallError where it is too small."""
    found = []
    for name, across in (("sole_length", size["length"]), ("sole_width", size["width"])):
        least = across + 2 * (LANDING + gutter + FLANGE)
        if not given[name]:
            found.append(math.ceil((least + 2 * LAND) / 20) * 20.0)
            continue
        asked = quantity.length(given[name])
        if asked < least + 60:
            option = "--" + name.replace("_", "-")
            raise CallError(f"{option} = {given[name]!r}, allowed at least {plain(least + 60)} mm, because the "
                            f"opening has {plain(LANDING + gutter + FLANGE)} mm of landing, gutter and flange on each "
                            "side, and 30 mm of sole beside them")
        found.append(asked)
    return found[0], found[1]
