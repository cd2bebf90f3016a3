"""Writes a Drawing as PNG, for a phone or a mail: the same marks as in its SVG, in greys.

In       a Drawing of Curves and Texts.
Out      one PNG; the same bytes for the same drawing.
Not here what is drawn, SVG and PDF (ink.py), hatches: a Region is left out.

Drawn twice as fine as it is written and averaged: edges come out smooth.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from moldplan.report.drawing import GREYS, PENS, Curve, Drawing, Point, Text, flattened, printable
from moldplan.report.ink import in_order, runs_of

DPI = 200.0  # of the file, where it is no larger than MOST
MOST = 8000  # dots along a side of the file
FINER = 2  # drawn so many times as fine
BOLD = 0.025  # how much thicker bold letters are drawn, of their size


def png(drawing: Drawing, path: Path) -> None:
    """The drawing into `path`. Raises OSError from the disk."""
    from PIL import Image, ImageDraw

    scale = min(DPI / 25.4, MOST / max(drawing.width, drawing.height))
    fine = scale * FINER
    size = (max(1, round(drawing.width * scale)) * FINER, max(1, round(drawing.height * scale)) * FINER)
    image = Image.new("L", size, 255)
    draw = ImageDraw.Draw(image)
    for mark in in_order(drawing):
        if isinstance(mark, Text):
            _text(image, mark, drawing.height, fine)
        else:
            _curve(draw, mark, drawing.height, fine)
    image.reduce(FINER).save(path, format="PNG", dpi=(scale * 25.4, scale * 25.4), optimize=False)


def _curve(draw: Any, curve: Curve, height: float, fine: float) -> None:
    pen = PENS[curve.pen]
    for run in runs_of(curve):
        walk = [(x, height - y) for x, y in flattened(run, closed=curve.closed, sagitta=0.5 / fine)]
        if curve.fill != "none" and len(walk) > 2:
            draw.polygon([(x * fine, y * fine) for x, y in walk], fill=GREYS[curve.fill])
        if curve.closed:
            walk.append(walk[0])
        for part in _dashed(walk, pen.dashes) if pen.width else ():
            draw.line([(x * fine, y * fine) for x, y in part], fill=0, width=max(1, round(pen.width * fine)),
                      joint="curve")


def _dashed(walk: Sequence[Point], dashes: Sequence[float]) -> Iterator[list[Point]]:
    """A chain of points as the parts of it that are drawn [mm]."""
    if not dashes:
        yield list(walk)
        return
    part, index, left = [walk[0]], 0, dashes[0]
    for a, b in zip(walk, walk[1:], strict=False):
        long = math.dist(a, b)
        gone = 0.0
        while long - gone > left:
            gone += left
            spot = (a[0] + (b[0] - a[0]) * gone / long, a[1] + (b[1] - a[1]) * gone / long)
            if index % 2 == 0:
                yield [*part, spot]
            index += 1
            part, left = [spot], dashes[index % len(dashes)]
        left -= long - gone
        part.append(b)
    if index % 2 == 0 and len(part) > 1:
        yield part


def _text(image: Any, text: Text, height: float, fine: float) -> None:
    """One line of words, as long as Helvetica would make it, turned about its place."""
    from PIL import Image, ImageDraw, ImageFont

    words = printable(text.words)
    if not words.strip():
        return
    font = ImageFont.load_default(text.size * fine)
    long, tall = max(1, round(text.width * fine)), math.ceil(text.size * fine * 1.4)
    base = round(text.size * fine * 1.05)
    drawn = Image.new("L", (math.ceil(font.getlength(words)) + 2, tall), 0)
    ImageDraw.Draw(drawn).text((1, base), words, fill=255, font=font, anchor="ls",
                               stroke_width=text.size * fine * BOLD if text.bold else 0)
    drawn = drawn.resize((long, tall), Image.Resampling.BILINEAR)
    back = {"start": 0.0, "middle": long / 2, "end": float(long)}[text.anchor]
    reach = math.ceil(math.hypot(long, tall))  # room to turn about the middle of a square
    square = Image.new("L", (2 * reach, 2 * reach), 0)
    square.paste(drawn, (reach - round(back), reach - base))
    if text.turn:
        square = square.rotate(text.turn, Image.Resampling.BICUBIC)
    corner = (round(text.at[0] * fine) - reach, round((height - text.at[1]) * fine) - reach)
    image.paste(0, (*corner, corner[0] + 2 * reach, corner[1] + 2 * reach), square)
