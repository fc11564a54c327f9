"""Plots time and memory of `featherline flatten` against triangles: part of `make plots`.

Invented heel bands of 2 to 200 thousand triangles, regular and irregular, laid flat by turns;
time without reading and writing, memory of the whole program. Also how long laying flat again
takes after a small edit of the edge. Writes flatten.png and flatten.txt to target/plots/.
"""

import argparse
import json
import math
import pathlib
import statistics
import subprocess
import sys
import tempfile

import matplotlib

matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[3]
OUT = ROOT / "target" / "plots"
sys.path[:0] = [str(ROOT / "checks" / "flatten")]

import surfaces  # noqa: E402
from by_turns import ours, write_obj  # noqa: E402

SPACINGS = [3.9, 2.5, 1.75, 1.24, 0.78, 0.55, 0.39]


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--rounds", type=int, default=5)
    rounds = words.parse_args().rounds
    OUT.mkdir(parents=True, exist_ok=True)
    rows = []
    for spacing in SPACINGS:
        for kind, seed in (("regular", None), ("irregular", 1)):
            rows.append(measured(kind, spacing * (1.0 if seed is None else 1.06), seed, rounds))
            print(line(rows[-1]), flush=True)
    growth = {kind: power([r for r in rows if r["kind"] == kind]) for kind in ("regular", "irregular")}
    said = [f"{kind}: time grows as triangles to the power {g:.2f}" for kind, g in growth.items()]
    (OUT / "flatten.txt").write_text("\n".join([*map(line, rows), *said]) + "\n")
    print("\n".join(said))
    draw(rows)


def measured(kind, spacing, seed, rounds):
    vertices, triangles, _ = surfaces.heel_band(spacing, seed)
    with tempfile.TemporaryDirectory() as folder:
        source, out = pathlib.Path(folder) / "band.obj", pathlib.Path(folder) / "flat.obj"
        write_obj(source, vertices, triangles)
        reports = [ours(source, out)[0] for _ in range(rounds)]
        program = ROOT / "target/release/examples/again"
        done = subprocess.run([program, source, str(rounds)], check=True, capture_output=True)
    return {
        "kind": kind,
        "triangles": len(triangles),
        "seconds": statistics.median(r["seconds"] for r in reports),
        "memory_mb": max(r["memory_mb"] for r in reports),
        "steps": reports[0]["iterations"],
        "again": json.loads(done.stdout),
    }


def line(row):
    return (
        f"{row['kind']:>9} {row['triangles']:>7} triangles: {row['seconds']:.3f} s, "
        f"{row['memory_mb']:.0f} MB, {row['steps']} steps; again after an edit "
        f"{row['again']['ratio']:.2f} of the first time"
    )


def power(rows):
    """The slope of log time over log triangles, by least squares."""
    x = [math.log(r["triangles"]) for r in rows]
    y = [math.log(r["seconds"]) for r in rows]
    return statistics.linear_regression(x, y).slope


def draw(rows):
    figure, axes = plt.subplots(figsize=(7, 4.5), layout="constrained")
    for kind, colour, mark in (("regular", "#0072B2", "o"), ("irregular", "#D55E00", "s")):
        own = [r for r in rows if r["kind"] == kind]
        n = [r["triangles"] for r in own]
        axes.loglog(n, [r["seconds"] for r in own], color=colour, marker=mark, label=f"{kind} band")
        again = [r["again"]["again"] for r in own]
        axes.loglog(n, again, color=colour, marker=mark, ls="--", mfc="white", label=f"{kind}, again")
    axes.set(xlabel="triangles", ylabel="seconds", title="Laying a heel band flat")
    axes.grid(True, which="both", alpha=0.3)
    axes.legend()
    figure.savefig(OUT / "flatten.png", dpi=150)


if __name__ == "__main__":
    main()
