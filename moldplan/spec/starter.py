"""`moldplan new`: a first spec, commented, that builds as it stands.

In       answers: from the command line, or asked for on a terminal.
Out      the text of a spec; `write` puts it into a file that was not there before.
Not here building it (plan.py).

The text is written out by hand and not dumped from data, because its comments are what a builder learns from. Sizes
are rules of thumb of ours, chosen so that every check holds; each stands in the spec to be changed.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath

from moldplan import quantity
from moldplan.errors import CallError, OutputError
from moldplan.quantity import Kind, QuantityError, Toleranced, plain

POSTURES = ("upright", "lying")
CONTENTS = ("lp gas", "breathing air", "oxygen-enriched gas", "inert gas", "other")


@dataclass(frozen=True)
class Question:
    """One thing a starter needs: its option, what is asked, its default (None: it must be answered), its choices."""

    name: str
    asks: str
    default: str | None = None
    choices: tuple[str, ...] = ()
    kind: Kind | None = None
    range: tuple[float, float] = (0.0, math.inf)

    @property
    def option(self) -> str:
        return "--" + self.name.replace("_", "-")


CRADLE: tuple[Question, ...] = (
    Question("name", "What is the cylinder called", "galley"),
    Question("diameter", "Its diameter, over paint and net, in mm or with a unit (267, 267 ± 2, 10 1/2 in)",
             kind=quantity.LENGTH, range=(40, 1000)),
    Question("height", "Its height without the valve, in mm or with a unit", kind=quantity.LENGTH, range=(60, 3000)),
    Question("edge_radius", "Radius of its lower edge, 0 when sharp; empty if not known", "", kind=quantity.LENGTH,
             range=(0, 500)),
    Question("posture", "Does it stand or lie", "upright", POSTURES),
    Question("contents", "What is in it", "other", CONTENTS),
    Question("mass", "Its mass when full, in kg or with a unit; empty if not known", "", kind=quantity.MASS,
             range=(0.01, 500)),
    Question("foam_thickness", "Thickness of the core foam at hand", "20", kind=quantity.LENGTH, range=(3, 100)),
    Question("board_thickness", "Thickness of the board at hand, as measured", "18", kind=quantity.LENGTH,
             range=(6, 40)),
)


def read_answer(question: Question, text: str) -> str:
    """An answer as it will stand in the spec; raises QuantityError when it cannot."""
    text = text.strip()
    if not text and question.default is not None:
        return question.default
    if question.choices:
        chosen = [each for each in question.choices if text and each.startswith(text.lower())]
        if len(chosen) != 1:
            raise QuantityError(", ".join(question.choices), "one of these words is due")
        return chosen[0]
    if question.kind is None:
        from moldplan.spec.references import why_no_name

        if why := why_no_name(text):
            raise QuantityError("a name such as galley", why)
        return text
    value = _value(text, question.kind)
    low, high = question.range
    if not low <= value <= high:
        meant = ""
        if question.kind is quantity.LENGTH and quantity.is_bare(text) and value < low <= value * quantity.INCH:
            meant = f'; did you mean "{plain(value, 4)} in" ({plain(value * quantity.INCH)} mm)?'
        raise QuantityError(f"{plain(low)} to {plain(high)} {question.kind.unit}",
                            f"a starter is written for these sizes{meant}")
    return text


def answers(questions: tuple[Question, ...], given: Mapping[str, str | None],
            ask: Callable[[str], str] | None) -> dict[str, str]:
    """All answers: those given, those asked for (when there is someone to ask), else the defaults.

    Raises CallError for an option that is wrong or missing.
    """
    found: dict[str, str] = {}
    for question in questions:
        text = given.get(question.name)
        if text is not None:
            try:
                found[question.name] = read_answer(question, text)
            except QuantityError as error:
                raise CallError(f"{question.option} = {text!r}, {error}") from None
    missing = [each.option for each in questions if each.name not in found and each.default is None]
    if missing and ask is None:
        raise CallError(f"new needs {' and '.join(missing)} when it is not run on a terminal")
    for question in questions:
        if question.name not in found:
            found[question.name] = _asked(question, ask) if ask else (question.default or "")
    return found


def _asked(question: Question, ask: Callable[[str], str]) -> str:
    hint = f" ({', '.join(question.choices)})" if question.choices else ""
    default = f" [{question.default}]" if question.default else ""
    while True:
        try:
            return read_answer(question, ask(f"{question.asks}{hint}{default}: "))
        except QuantityError as error:
            hint = f"; {error}"


def write(file: FilePath, text: str) -> None:
    """Write a new file; raises CallError when there is one, OutputError when it cannot be written."""
    try:
        with file.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise CallError(f"{file}: there is such a file already, and it stays as it is; give another name") from None
    except (OSError, ValueError) as error:
        raise OutputError(f"{file}: cannot be written ({getattr(error, 'strerror', None) or error})") from None


def cradle(given: Mapping[str, str]) -> str:
    """The text of a first cradle spec from checked answers (every name of CRADLE)."""
    text = _upright(given) if given["posture"] == "upright" else _lying(given)
    return _head(given) + text


def _head(given: Mapping[str, str]) -> str:
    lengths = (given["diameter"], given["height"], given["foam_thickness"], given["board_thickness"])
    inches = any(re.search(r"in|ft|foot|feet|[\"'″′]", each) for each in lengths)
    board = plain(_value(given["board_thickness"], quantity.LENGTH), 4)
    edge, edge_note = _edge(given)
    mass = f"full_mass: {scalar(given['mass'])}" if given["mass"] else "# full_mass: 16"
    return lined(
        ('# A first cradle, written by `moldplan new cradle`. Bare numbers are mm, degrees and kg; "10 1/2 in" or', ""),
        ('# "24 lb" are understood too. Sizes are finished, painted. Measure, change, then: moldplan check FILE', ""),
        ("moldplan: 1", ""),
        (f"title: {scalar('Cradle for ' + given['name'])}", ""),
        ("units: inch" if inches else "# units: inch", "sizes printed in mm, with inches beside them"),
        ("", ""),
        ("cylinders:", "what must be held; measure yours"),
        (f"  {scalar(given['name'])}:", ""),
        (f"    diameter: {scalar(given['diameter'])}", "over paint and net; 267 ± 2 says how far it may be off"),
        (f"    height: {scalar(given['height'])}", "to the top of the body, without the valve"),
        (f"    {edge}", edge_note),
        (f"    contents: {given['contents']}", "decides which cautions apply"),
        (f"    {mass}", "when full; straps are judged by it"),
        ("    # foot: {diameter: 200, height: 22}", "if it stands on a ring"),
        ("    # valve: {diameter: 120, height: 90}", "envelope of valve, regulator and spanner"),
        ("", ""),
        ("stock:", "what is at hand; sheets are seldom nominal"),
        ("  foam:", ""),
        ("    kind: pvc foam", ""),
        (f"    thickness: {scalar(given['foam_thickness'])}", ""),
        ("    density: 80", "kg/m3"),
        ("    size: [2440, 1220]", "a whole sheet"),
        ("  board:", ""),
        ("    kind: melamine-faced board", ""),
        (f"    thickness: {board}", "by name"),
        (f"    measured: {board}", "with a caliper"),
        ("    size: [2440, 1220]", ""),
        ("", ""),
    )


def _edge(given: Mapping[str, str]) -> tuple[str, str]:
    """The cylinder's lower edge: as answered, else a guess that is called one."""
    says = "of its lower edge"
    if given["edge_radius"]:
        return f"knuckle_radius: {scalar(given['edge_radius'])}", says
    across, height = quantity.toleranced(given["diameter"]).value, _value(given["height"], quantity.LENGTH)
    return f"knuckle_radius: {plain(min(across / 10, height / 6), 0)}", f"{says}: a guess, measure yours"


def _upright(given: Mapping[str, str]) -> str:
    across = quantity.toleranced(given["diameter"])
    foam, board = (_value(given[f"{each}_thickness"], quantity.LENGTH) for each in ("foam", "board"))
    height = _value(given["height"], quantity.LENGTH)
    # as deep as holds: an eighth of the diameter, 30 mm at least, and whole boards, so that the discs need no packer;
    # 24 mm takes a limber of 20 mm under the rim
    boards = max(math.ceil(24 / board), round(min(max(30.0, across.value / 8), height / 3) / board))
    depth = boards * board
    clearance = math.ceil(3 + across.tolerance / 2)
    side = _up(across.value + across.tolerance + 2 * (clearance + depth * math.tan(math.radians(4)) + 50), 10)
    sheets = math.ceil((depth + 44) / foam)  # 44: core under the floor, through which the limber falls
    return lined(
        ("cradles:", ""),
        ("  seat block:", ""),
        (f"    block: [{side}, {side}, {plain(sheets * foam, 4)}]",
         f"length, width, height: {_some(sheets, 'sheet')} of foam"),
        ("    stock: foam", ""),
        ("    seats:", ""),
        (f"      {scalar(given['name'])}:", "the name of its cylinder"),
        (f"        depth: {plain(depth, 4)}", f"{_some(boards, 'board')} high, so its discs need no packer"),
        (f"        clearance_per_side: {clearance}", "finished gap all round"),
        ("        draft: 4", "degrees; the wall opens upward"),
        *([("        floor_fillet: 0", "a square corner, as its edge is sharp")] if _is_sharp(given) else []),
        ("        insert: board", "the discs that shape it are cut from this"),
        ("        limber: aft", "the way out for water and gas"),
        ("        straps: 1", ""),
    )


def _lying(given: Mapping[str, str]) -> str:
    across = quantity.toleranced(given["diameter"])
    foam = _value(given["foam_thickness"], quantity.LENGTH)
    height = _value(given["height"], quantity.LENGTH)
    reach = across.value / 2 + across.tolerance / 2 + 4  # liner 3, clearance 1
    # ribs, and the eyes of the straps beside a large cylinder
    width = _up(max(2 * reach * math.sin(math.radians(60)) + 2 * 25 + 40, 2 * reach + 50), 10)
    length = _up(min(max(height * 0.9, 120), 2400), 10)  # 2400: out of one sheet
    sheets = max(1, math.ceil(20 / foam))
    # a rib under 12 mm has no room for the roundings of its arc
    layers = math.ceil(12 / _value(given["board_thickness"], quantity.LENGTH))
    return lined(
        ("cradles:", ""),
        ("  rack:", ""),
        (f"    block: [{length}, {width}, {plain(sheets * foam, 4)}]",
         f"the base under the chocks: {_some(sheets, 'sheet')} of foam"),
        ("    stock: foam", ""),
        ("    chocks:", ""),
        (f"      {scalar(given['name'])}:", "the name of its cylinder"),
        ("        count: 2", "ribs; where they stand is chosen, and reported"),
        ("        stock: board", ""),
        (f"        layers: {layers}", "boards glued up for one rib"),
        ("        wrap: 120", "degrees of its girth that rest in the rib"),
        ("        rise: 25", "under the cylinder, where water must pass"),
        ("        liner: 3", "rubber or felt in the arc"),
        ("        straps: 2", ""),
    )


def _is_sharp(given: Mapping[str, str]) -> bool:
    """No room for a floor fillet of 1 mm under the cylinder's edge."""
    return bool(given["edge_radius"]) and _value(given["edge_radius"], quantity.LENGTH) < 1.2


def lined(*rows: tuple[str, str]) -> str:
    """Lines with their comments in one column."""
    return "".join(f"{text:<39} # {note}".rstrip() + "\n" if note else f"{text}\n" for text, note in rows)


def _some(count: int, word: str) -> str:
    return f"{count} {word}" + ("" if count == 1 else "s")


def _value(text: str, kind: Kind) -> float:
    if kind is quantity.MASS:
        return quantity.mass(text)
    read: Toleranced = quantity.toleranced(text)
    return read.value


def _up(number: float, step: int) -> int:
    return math.ceil(number / step) * step


def scalar(text: str) -> str:
    """A text as a YAML scalar: plain where it reads back as it stands, else in quotes."""
    if quantity.is_bare(text) or re.fullmatch(r"[0-9][0-9A-Za-z ./±]*", text):
        return text
    plain_word = re.fullmatch(r"[A-Za-z][A-Za-z0-9 _-]*", text) and text.lower() not in ("true", "false", "null")
    return text if plain_word else json.dumps(text, ensure_ascii=False)
