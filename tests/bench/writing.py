"""How long cut files take to write, against ezdxf writing the same entities bare. Run by hand:

    python tests/bench/writing.py [--pieces 1000] [--profile]

One run gives both: a file of so many pieces as cut/dxf.py writes it (labels, layers, text beside it), then what stands
in that file put into a new drawing by ezdxf and written, entity for entity; and how much of ours goes into finding room
for labels.
"""

import argparse
import cProfile
import io
import pstats
import random
import tempfile
import time
from pathlib import Path

import ezdxf
from nesting import panels

from moldplan.cut import dxf
from moldplan.cut.label import label
from moldplan.cut.loop import bounds, on_sheet
from moldplan.cut.piece import Placed, Sheet
from moldplan.spec.model import Cutter, Stock


def laid(count):
    """So many pieces in rows on one great sheet, turned at random: nesting is not what is timed."""
    draw, pieces, placed = random.Random(1), list(panels(count)), []
    for number, piece in enumerate(pieces):
        low_x, low_y, _, _ = bounds(piece.cut.outer)
        x, y = 900 * (number % 40) + 450 - low_x, 900 * (number // 40) + 450 - low_y
        placed.append(Placed(piece=piece.id, copy=1, x=x, y=y, turn=draw.choice((0.0, 90.0, 180.0, 270.0))))
    size = (36_000, 900 * (count // 40 + 1))
    return pieces, Sheet(stock="board", number=1, size=size, placed=tuple(placed), used=0.2, file="bench.dxf")


def bare(read):
    """A function that puts what a drawing holds into a new one and gives its text."""
    rows = []
    for entity in read.modelspace():
        layer = {"layer": entity.dxf.layer}
        if entity.dxftype() == "CIRCLE":
            rows.append((None, (entity.dxf.center.x, entity.dxf.center.y), entity.dxf.radius, layer))
        else:
            rows.append((list(entity.get_points("xyb")), entity.closed, None, layer))
    layers = [layer.dxf.name for layer in read.layers]

    def write():
        drawing = ezdxf.new("R2010")
        for name in layers:
            if name not in drawing.layers:
                drawing.layers.add(name)
        space = drawing.modelspace()
        for points, one, radius, layer in rows:
            if points is None:
                space.add_circle(one, radius, dxfattribs=layer)
            else:
                space.add_lwpolyline(points, format="xyb", close=one, dxfattribs=layer)
        stream = io.StringIO()
        drawing.write(stream)
        return stream.getvalue().encode("utf-8")

    return write


def least(run, repeat=3):
    """Least processor time of a few runs [s]."""
    best = float("inf")
    for _ in range(repeat):
        start = time.process_time()
        run()
        best = min(best, time.process_time() - start)
    return best


def main():
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--pieces", type=int, default=1000)
    asked.add_argument("--profile", action="store_true")
    given = asked.parse_args()
    pieces, sheet = laid(given.pieces)
    stock, cutter, table = Stock(kind="plywood", thickness=18, size=(2440, 1220)), Cutter(), {p.id: p for p in pieces}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / sheet.file

        def ours():
            dxf.write_sheet(path, sheet, pieces, stock, cutter=cutter, title="bench", revision="A")

        ours()
        write = bare(ezdxf.readfile(path))
        write()
        mine, theirs = least(ours), least(write)
        words = least(lambda: [label(table[p.piece], p, on_sheet(table[p.piece], p)) for p in sheet.placed])
        size = path.stat().st_size / 1e6
        print(f"{given.pieces} pieces, {size:.1f} MB: ours {mine:.2f} s, ezdxf bare {theirs:.2f} s, "
              f"ratio {mine / theirs:.2f}; room for labels is {words / mine:.0%} of ours")
        if given.profile:
            with cProfile.Profile() as profile:
                ours()
            pstats.Stats(profile).sort_stats("cumulative").print_stats(35)


if __name__ == "__main__":
    main()
