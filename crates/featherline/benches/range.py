"""How long a range takes, in cold solves of the same run, and whether that grows: `make range`.

Drafts 1 to 14 sizes for both feet of an invented last, several times by turns, and by turns with
these lays the wall of one piece flat from scratch (`flatten`). Writes to target/plots/: range.png,
range.txt and range.json.
"""

import argparse
import json
import pathlib
import statistics
import sys
import tempfile

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2] / "shoe" / "benches"))
from plots import BUILT, OUT, ROOT, machine, run  # noqa: E402

PROGRAM = BUILT / "featherline"
# Sizes of the range: the pieces are twice as many.
RANGES = [("EU 39", 1), ("EU 39..40", 2), ("EU 38..41", 4), ("EU 36..42", 7), ("EU 35..48", 14)]


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--rounds", type=int, default=5, help="how often each range is drafted")
    rounds = words.parse_args().rounds
    OUT.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        told = {"machine": machine(), "rounds": rounds, **timed(pathlib.Path(place), rounds)}
    (OUT / "range.json").write_text(json.dumps(told, indent=2) + "\n")
    text = table(told)
    (OUT / "range.txt").write_text(text)
    draw(told)
    print(text)
    print(f"in {OUT.relative_to(ROOT)}: range.png, range.txt, range.json")


def timed(place, rounds):
    job = place / "job"
    run(PROGRAM, "demo", job)
    last = job / "last.stl"
    wall = job / "patterns" / "surfaces" / "where-it-lies.obj"
    cold, rows = [], [{"pieces": 2 * sizes, "seconds": [], "memory_mb": []} for _, sizes in RANGES]
    for number in range(rounds):
        for (sizes, _), row in zip(RANGES, rows):
            print(f"round {number + 1} of {rounds}: {sizes}", file=sys.stderr)
            flat = run(PROGRAM, "flatten", wall, "--out", place / "flat.obj", "--json")
            solved = json.loads(flat[2])
            cold.append(solved["seconds"])
            out = place / "out"
            seconds, memory, _ = run(PROGRAM, "draft", job, "--sizes", sizes, "--out", out)
            row["seconds"].append(seconds)
            row["memory_mb"].append(memory)
    for row in rows:
        row["memory_mb"] = max(row["memory_mb"])
        row["least"] = min(row["seconds"])
        row["seconds"] = statistics.median(row["seconds"])
        row["each"] = row["seconds"] / row["pieces"]
    whole = rows[-1]
    once = statistics.median(cold)
    return {
        "last_triangles": (last.stat().st_size - 84) // 50,
        "wall_triangles": solved["triangles"],
        "cold_solve": once,
        "ranges": rows,
        "cold_solves": whole["seconds"] / once,
        # What one size more costs, without what is done once: standing the last, starting.
        "per_piece": statistics.linear_regression(
            [row["pieces"] for row in rows], [row["seconds"] for row in rows]
        ).slope,
    }


def table(told):
    whole = told["ranges"][-1]
    lines = [
        f"last of {told['last_triangles']} triangles, walls of about {told['wall_triangles']}",
        "  pieces   seconds    least   a piece   memory MB",
    ]
    lines += [
        f"{row['pieces']:>8}{row['seconds']:>10.2f}{row['least']:>9.2f}{row['each']:>10.2f}{row['memory_mb']:>12.0f}"
        for row in told["ranges"]
    ]
    host = told["machine"]
    lines += [
        f"one piece more: {told['per_piece']:.2f} s",
        f"one cold solve: {told['cold_solve']:.3f} s (median, by turns with these)",
        f"{whole['pieces']} pieces take {told['cold_solves']:.0f} cold solves (bar: {whole['pieces']})",
        f"{host['processor']}, {host['cores']} cores, load {host['load_before']:.1f} before; medians of "
        f"{told['rounds']} rounds",
    ]
    return "\n".join(lines) + "\n"


def draw(told):
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plot

    figure, (left, right) = plot.subplots(1, 2, figsize=(10, 4), layout="constrained")
    pieces = [row["pieces"] for row in told["ranges"]]
    left.plot(pieces, [row["seconds"] for row in told["ranges"]], "o-", color="#0072B2")
    left.plot(pieces, [n * told["cold_solve"] for n in pieces], "--", color="#000000")
    left.annotate("a cold solve each", (pieces[-1], pieces[-1] * told["cold_solve"]),
                  ha="right", va="bottom")
    left.set(xlabel="pieces", ylabel="seconds", title="Drafting a range", ylim=(0, None))
    right.plot(pieces, [row["each"] for row in told["ranges"]], "o-", color="#D55E00")
    right.set(xlabel="pieces", ylabel="seconds a piece", title="A piece, standing the last included",
              ylim=(0, None))
    figure.savefig(OUT / "range.png", dpi=120)


if __name__ == "__main__":
    main()
