"""Plots time and memory of `featherline measure` against triangles: `make plots`.

Builds invented noisy scans of 10 thousand to a million triangles, measures each several times by
turns, and writes to target/plots/: time.png, memory.png, speed.txt and speed.json.
"""

import argparse
import json
import math
import os
import pathlib
import platform
import statistics
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parents[3]
BUILT = ROOT / "target" / "release"
OUT = ROOT / "target" / "plots"

SIZES = [10_000, 20_000, 50_000, 100_000, 200_000, 500_000, 1_000_000]
# No scan with fewer triangles is thinned: MANY in crates/shoe/src/last/mend.rs.
THINNED_FROM = 150_000
PARTS = ["read", "mend", "thin", "stand", "measure"]
# Okabe and Ito 2008, "Color universal design": told apart by the colour-blind too.
LOOKS = {
    "program": ("#000000", "o"),
    "read": ("#56B4E9", "v"),
    "mend": ("#D55E00", "s"),
    "thin": ("#CC79A7", "P"),
    "stand": ("#0072B2", "D"),
    "measure": ("#009E73", "^"),
}


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--rounds", type=int, default=5, help="how often each scan is measured")
    rounds = words.parse_args().rounds
    OUT.mkdir(parents=True, exist_ok=True)
    scans = [made(size) for size in SIZES]
    speed = {"machine": machine(), "rounds": rounds, "floor_mb": floor()}
    speed["scans"] = timed(scans, rounds)
    speed["growth"] = {
        "program": growth(speed["scans"], "program"),
        "program_from_100k": growth(speed["scans"][3:], "program"),
        "memory_from_100k": growth(speed["scans"][3:], "memory_mb"),
    }
    speed["machine"]["load_after"] = os.getloadavg()[0]
    (OUT / "speed.json").write_text(json.dumps(speed, indent=2) + "\n")
    text = table(speed)
    (OUT / "speed.txt").write_text(text)
    draw(speed)
    print(text)
    print(f"in {OUT.relative_to(ROOT)}: time.png, memory.png, speed.txt, speed.json")


def made(size):
    """A scan of about `size` triangles; made anew, lest it be of an older builder."""
    path = OUT / f"scan-{size}.stl"
    program = BUILT / "examples" / "noisy_scan"
    done = subprocess.run([program, str(size), path], check=True, capture_output=True, text=True)
    return path, int(done.stdout)


def run(*command):
    """Runs a program: (seconds, peak memory in MB, what it printed)."""
    with tempfile.TemporaryFile("w+") as said, tempfile.TemporaryFile("w+") as complained:
        begun = time.perf_counter()
        child = subprocess.Popen(command, stdout=said, stderr=complained)
        _, status, usage = os.wait4(child.pid, 0)
        seconds = time.perf_counter() - begun
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode != 0:
            complained.seek(0)
            sys.exit(f"{' '.join(map(str, command))}: {complained.read().strip()}")
        said.seek(0)
        # Kilobytes on Linux, bytes on macOS.
        unit = 1e6 if sys.platform == "darwin" else 1e6 / 1024
        return seconds, usage.ru_maxrss / unit, said.read()


def floor():
    """The least memory that can be told: a child is charged with its parent's until it starts."""
    return run("true")[1]


def timed(scans, rounds):
    """The median of each scan. The rounds go over all scans, so a busy minute hits them alike."""
    taken = [{name: [] for name in ["program", "memory_mb", *PARTS]} for _ in scans]
    rows = [{"triangles": triangles} for _, triangles in scans]
    for number in range(rounds):
        for (path, triangles), lists, row in zip(scans, taken, rows):
            print(f"round {number + 1} of {rounds}: {triangles} triangles", file=sys.stderr)
            seconds, memory, _ = run(BUILT / "featherline", "measure", path, "--json")
            lists["program"].append(seconds)
            lists["memory_mb"].append(memory)
            parts = json.loads(run(BUILT / "examples" / "scan_parts", path)[2])
            row["worked_on"] = parts["worked_on"]
            for part in PARTS:
                lists[part].append(parts["seconds"][part])
    for row, lists in zip(rows, taken):
        row.update({name: statistics.median(values) for name, values in lists.items()})
        row["program_least"] = min(lists["program"])
        row["program_most"] = max(lists["program"])
    return rows


def growth(rows, name):
    """The exponent p of the best fit of name ~ triangles^p (least squares of the logarithms)."""
    x = [math.log(row["triangles"]) for row in rows]
    y = [math.log(row[name]) for row in rows]
    return statistics.linear_regression(x, y).slope


def machine():
    name = platform.processor() or platform.machine()
    info = pathlib.Path("/proc/cpuinfo")
    if info.exists():
        lines = [line for line in info.read_text().splitlines() if line.startswith("model name")]
        name = lines[0].split(":", 1)[1].strip() if lines else name
    return {"processor": name, "cores": os.cpu_count(), "load_before": os.getloadavg()[0]}


def on_what(speed):
    host = speed["machine"]
    return (
        f"{host['processor']}, {host['cores']} cores, load {host['load_before']:.1f} to "
        f"{host['load_after']:.1f} (shared with other work, so noisy); medians of "
        f"{speed['rounds']} rounds"
    )


def table(speed):
    heads = ["triangles", "program s", "least", "most", *(f"{p} s" for p in PARTS), "memory MB"]
    names = ["program", "program_least", "program_most", *PARTS]
    lines = ["".join(f"{head:>11}" for head in heads)]
    for row in speed["scans"]:
        cells = [f"{row[name]:11.3f}" for name in names]
        lines.append(f"{row['triangles']:11}" + "".join(cells) + f"{row['memory_mb']:11.0f}")
    fits = speed["growth"]
    lines += [
        "",
        f"time grows with triangles to the {fits['program']:.2f}, from 100k on to the "
        f"{fits['program_from_100k']:.2f}; memory from 100k on to the "
        f"{fits['memory_from_100k']:.2f}",
        f"memory below {speed['floor_mb']:.0f} MB cannot be told",
        on_what(speed),
    ]
    return "\n".join(lines) + "\n"


def draw(speed):
    # Only now: what this process holds is charged to its children.
    import matplotlib

    matplotlib.use("Agg")
    import matplotlib.pyplot as plt
    from matplotlib.ticker import LogLocator

    rows = speed["scans"]
    triangles = [row["triangles"] for row in rows]

    def page(title, unit, steps):
        figure, axes = plt.subplots(figsize=(8, 6), dpi=150, layout="constrained")
        axes.set(xscale="log", yscale="log", xlabel="triangles of the scan", ylabel=unit)
        axes.set_xticks(SIZES, ["10k", "20k", "50k", "100k", "200k", "500k", "1M"])
        axes.minorticks_off()
        axes.yaxis.set_major_locator(LogLocator(subs=steps))
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.grid(color="#dddddd", linewidth=0.6)
        axes.set_axisbelow(True)
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_title(title, loc="left")
        figure.supxlabel(on_what(speed), fontsize=8, color="#555555")
        return figure, axes

    def line(axes, name, label, width=1.6):
        colour, marker = LOOKS["program" if name == "memory_mb" else name]
        drawn = [row for row in rows if name != "thin" or row["triangles"] > THINNED_FROM]
        counts, values = ([row[key] for row in drawn] for key in ("triangles", name))
        axes.plot(
            counts, values, color=colour, marker=marker, markersize=5, linewidth=width, label=label
        )

    def slope(axes, through):
        straight = [through * n / triangles[-1] for n in triangles]
        axes.plot(
            triangles, straight, color="#999999", linestyle="--", linewidth=1.2,
            label="in step with triangles (slope 1)",
        )

    figure, axes = page("featherline measure: time against triangles", "seconds", [1])
    line(axes, "program", "the whole program", 2.4)
    notes = {"thin": " (only above 150k)"}
    for part in sorted(PARTS, key=lambda part: -rows[-1][part]):
        line(axes, part, part + notes.get(part, ""))
    slope(axes, 2.5 * rows[-1]["program"])
    axes.set_ylim(bottom=1e-3)
    axes.legend(frameon=False, loc="upper left", fontsize=9)
    figure.savefig(OUT / "time.png")

    figure, axes = page("featherline measure: peak memory against triangles", "MB", [1, 2, 5])
    line(axes, "memory_mb", "the whole program", 2.4)
    slope(axes, 0.6 * rows[-1]["memory_mb"])
    axes.axhline(speed["floor_mb"], color="#E69F00", linestyle=":", linewidth=1.2,
                 label="less than this cannot be told")
    axes.set_ylim(bottom=min(10, 0.8 * speed["floor_mb"]))
    axes.legend(frameon=False, loc="upper left", fontsize=9)
    figure.savefig(OUT / "memory.png")


if __name__ == "__main__":
    main()
