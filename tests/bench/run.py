"""Speed and size, by hand: `python tests/bench/run.py [--large]`. All figures of one run, as ratios where they can be.

Nothing here passes or fails. A ratio is against a bare `import cadquery` in the same run on the same machine, each in
its own process: that import is the floor under any command that needs solids. Layout time is left out (nest_seconds).
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SEAT = "{{cylinder: gas, at: [{x}, 200], depth: 36, clearance_per_side: 4}}"
HATCH = ("{{centre: [{x}, 0], clear_opening: [300, 300], gutter: {{width: 40, depth: 22, fall: 1:50}}, "
         "lid: {{thickness: 22}}}}")


def timed(*command: str, repeat: int = 1) -> tuple[float, float]:
    """Least wall time of a command [s] and the greatest memory of any child so far [MB]."""
    best = float("inf")
    for _ in range(repeat):
        start = time.perf_counter()
        subprocess.run([sys.executable, *command], cwd=ROOT, check=False, capture_output=True)
        best = min(best, time.perf_counter() - start)
    return best, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def seats(count: int) -> str:
    """A spec of `count` seats in one long block."""
    rows = "\n".join(f"      s{k}: " + SEAT.format(x=200 + 320 * k) for k in range(count))
    return ("moldplan: 1\ntitle: bench\ncylinders: {gas: {diameter: 267, height: 430, knuckle_radius: 25}}\n"
            f"stock: {{foam: {{kind: pvc foam, thickness: 20, size: [20000, 1220]}}}}\n"
            f"cradles:\n  b:\n    block: [{min(400 + 320 * (count - 1), 20000)}, 400, 80]\n    seats:\n{rows}\n")


def hatches(count: int) -> str:
    """A spec of `count` hatches in one long sole."""
    rows = "\n".join(f"      h{k}: " + HATCH.format(x=300 + 600 * k) for k in range(count))
    long = min(600 * count, 20000)
    return (f"moldplan: 1\ntitle: bench\nstock: {{foam: {{kind: pvc foam, thickness: 20, size: [20000, 1220]}}}}\n"
            f"soles:\n  s:\n    outline: [[0, -400], [{long}, -400], [{long}, 400], [0, 400]]\n    hatches:\n{rows}\n")


def told(took: float, bare: float, peak: float) -> str:
    """One measurement in words."""
    return f"{took:7.2f} s   {took / bare:5.2f} times the import, {peak:.0f} MB at most"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--large", action="store_true", help="also the largest counts")
    large = parser.parse_args().large
    bare, _ = timed("-c", "import cadquery", repeat=3)
    print(f"import cadquery                    {bare:7.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        for name in ("--help", "--version"):
            print(f"moldplan {name:<24} {timed('-m', 'moldplan', name, repeat=3)[0]:7.2f} s")
        print(f"moldplan schema                   {timed('-m', 'moldplan', 'schema', repeat=3)[0]:7.2f} s")
        for spec in sorted((ROOT / "specs").glob("*.yaml")):
            for command, extra in (("check", []), ("build", ["--out", folder])):
                took, peak = timed("-m", "moldplan", command, str(spec), *extra, repeat=2)
                print(f"{command} {spec.stem:<28} {told(took, bare, peak)}")
        for kind, make, counts in (("seats", seats, (1, 10, 50)), ("hatches", hatches, (1, 5, 20))):
            for count in counts[: 3 if large else 2]:
                path = Path(folder) / f"{kind}-{count}.yaml"
                path.write_text(make(count), encoding="utf-8")
                took, peak = timed("-m", "moldplan", "check", str(path))
                print(f"check {count:>3} {kind:<24} {told(took, bare, peak)}")


if __name__ == "__main__":
    main()
