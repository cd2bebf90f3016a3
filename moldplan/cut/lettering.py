"""Letters as single strokes, for marking pieces: drawn here, on a grid four wide and six high.

In       a text, a cap height [mm].
Out      open polylines of straight strokes [mm], the first letter's left foot at 0,0.
Not here where a label goes on a piece (label.py).

Figures that are misread in a dusty shop are kept apart: 3 has a flat top, 7 a bar, 0 a stroke, 1 a foot.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from moldplan.cut.piece import Point

# Strokes as pairs of digits: x to the right, y upward; the foot of a capital is at y 2, its head at y 8.
_STROKES = {
    "A": "0206284642 0444", "B": "02083847463505 3544433202", "C": "4738180703123243", "D": "02083847433202",
    "E": "48080242 0535", "F": "480802 0535", "G": "47381807031232434525", "H": "0208 4248 0545",
    "I": "1232 2228 1838", "J": "0312324348", "K": "0208 480542", "L": "080242", "M": "0208254842",
    "N": "02084248", "O": "180703123243473818", "P": "02083847463505", "Q": "180703123243473818 2442",
    "R": "02083847463505 2542", "S": "473818070615354443321203", "T": "0848 2228", "U": "080312324348",
    "V": "082248", "W": "0812253248", "X": "0248 0842", "Y": "082548 2522", "Z": "08480242",
    "a": "36160503122233 3632", "b": "0802 0516263533221203", "c": "3526160503122233",
    "d": "3832 3526160503122233", "e": "04343526160503122233", "f": "38281712 0626",
    "g": "3631201001 3526160503122233", "h": "0802 0516263532", "i": "0206 0708", "j": "161100 1718",
    "k": "0802 360432", "l": "080312", "m": "0206 05162522 25364542", "n": "0206 0516263532",
    "o": "160503122233352616", "p": "0600 0516263533221203", "q": "3630 3526160503122233",
    "r": "0206 05162635", "s": "35261605142433221203", "t": "18132232 0636", "u": "0603122233 3632",
    "v": "062246", "w": "0612243246", "x": "0236 0632", "y": "0603122233 3631201001", "z": "06360232",
    "0": "180703123243473818 0347", "1": "072822 1232", "2": "07183847460242", "3": "084825354443321203",
    "4": "32380444", "5": "480805354443321203", "6": "473818070312324344351504", "7": "084812 1535",
    "8": "180706153546473818 1504031232434435", "9": "031232434738180706153546",
    ".": "0203", ",": "1301", ":": "0304 0506", ";": "1301 1516", "-": "0535", "+": "0545 2327", "/": "0248",
    "(": "28171322", ")": "08171302", "'": "0807", '"': "0807 1817", "=": "0434 0636", "_": "0242",
    "#": "1218 3238 0444 0646", "%": "0248 0708181707 3233434232", "\u00b0": "1827160718",
    "\u00d7": "0347 0743", "\u00b1": "0646 2428 0242", "*": "1436 1634 0545", "&": "42171828270403122244",
    "?": "07183847462524 2223", "!": "0804 0203", "<": "470543", ">": "074503",
}  # fmt: skip

_SPACE, _GAP = 3.0, 1.8  # advance of a space, and between letters, in grid units


@lru_cache(maxsize=4096)  # a sheet's labels say the same words again and again
def strokes(text: str, height: float) -> tuple[tuple[Point, ...], ...]:
    """The text as open polylines [mm], its capitals `height` high, the foot line at y = 0.

    Accents are dropped; a character that is not drawn here becomes a question mark.
    """
    unit = height / 6
    drawn: list[tuple[Point, ...]] = []
    at = 0.0
    for letter in _plain(text):
        if letter == " ":
            at += _SPACE
            continue
        paths = [_pairs(path) for path in _STROKES[letter].split()]
        drawn += [tuple(((at + x) * unit, (y - 2) * unit) for x, y in path) for path in paths]
        at += max(x for path in paths for x, _ in path) + _GAP
    return tuple(drawn)


def width(text: str, height: float) -> float:
    """How wide the text is [mm]."""
    return max((x for path in strokes(text, height) for x, _ in path), default=0.0)


def _plain(text: str) -> str:
    plain = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    return "".join(c if c == " " or c in _STROKES else "?" for c in plain)


def _pairs(path: str) -> list[tuple[int, int]]:
    return [(int(path[i]), int(path[i + 1])) for i in range(0, len(path), 2)]
