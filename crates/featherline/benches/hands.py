"""How soon the workbench answers a hand: `make hands`.

Server's part: from a step of a drag to the bytes of the piece that follows it, over the line of a
window, on invented lasts of 100,000 triangles or more, smooth and with a scanner's noise; beside
one cold solve of 10,000 triangles in the same run. Page's part: in Chromium drawing by processor
(SwiftShader), from those bytes to the finished picture. Then a scan of 500,000 triangles: sent and
read, its mesh fetched, its first picture; and the longest time for which the page did not answer
meanwhile. Writes target/plots/hands.txt.
"""

import argparse
import json
import os
import pathlib
import re
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np
import trimesh
from playwright.sync_api import TimeoutError as PlaywrightTimeout
from playwright.sync_api import sync_playwright

ROOT = pathlib.Path(__file__).resolve().parents[3]
BUILT = ROOT / "target" / "release"
OUT = ROOT / "target" / "plots"
sys.path[:0] = [str(ROOT / "checks" / folder) for folder in ("", "workbench", "flatten")]

import surfaces  # noqa: E402
from chromium import CHROMIUM  # noqa: E402
from serving import Bench  # noqa: E402

# As in by_turns.py: a band of about 10,000 triangles, as strongly rounded as a heel can be.
SPACING, BULGE = 1.75, 4.0
# The first moves a limit of the edge, in steps of a millimetre; the others the end of a wing.
MARKS = {
    "an ankle": "marks.ankle_lateral",
    "the inside joint": "marks.joint_medial",
    "the outside joint": "marks.joint_lateral",
}
STEP = 0.4
LAPTOP = {"width": 1366, "height": 768}

# Notes when the bytes of a piece came, and when the picture that shows it was finished: reading a
# pixel waits for all that was drawn before.
WATCH = """
(() => {
    window.drawn = [];
    window.stuck = [];
    new PerformanceObserver(list => list.getEntries().forEach(e => window.stuck.push(e.duration)))
        .observe({ type: "longtask", buffered: true });
    const get = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (kind, ...rest) {
        const context = get.call(this, kind, ...rest);
        if (kind === "webgl2" && this.isConnected) window.gl = context;
        else if (kind === "webgl2") window.latest = context;
        return context;
    };
    const finished = () => {
        const gl = window.gl ?? window.latest;
        gl?.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
        return performance.now();
    };
    window.finished = finished;
    const Plain = WebSocket;
    window.WebSocket = class extends Plain {
        constructor(...words) {
            super(...words);
            this.addEventListener("message", told => {
                if (typeof told.data === "string") return;
                const came = performance.now();
                requestAnimationFrame(() => setTimeout(() => window.drawn.push(finished() - came)));
            });
        }
    };
})();
"""


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--steps", type=int, default=60, help="steps of the drag")
    asked = words.parse_args()
    OUT.mkdir(parents=True, exist_ok=True)
    lines = [f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"]
    with tempfile.TemporaryDirectory() as place, sync_playwright() as play:
        place = pathlib.Path(place)
        bench = Bench(place / "workshop")
        browser = play.chromium.launch(**CHROMIUM)
        try:
            smooth, rough = place / "smooth.stl", place / "rough.stl"
            divided(bench.workshop / "demo-job" / "last.stl", smooth)
            noisy(100_000, rough)
            for name, scan in (("smooth", smooth), ("with 0.1 mm of noise", rough)):
                lines += dragged(bench, browser, name, scan, asked.steps, place)
            large = place / "large.stl"
            triangles = noisy(500_000, large)
            lines += first_seen(bench, browser, large, triangles)
        finally:
            browser.close()
            bench.kill()
    lines.append(f"load after: {os.getloadavg()[0]:.1f}")
    (OUT / "hands.txt").write_text("\n".join(lines) + "\n")
    print("\n".join(lines))


def divided(source, out):
    """The demo's last with each triangle cut in four until there are 100,000 or more."""
    last = trimesh.load_mesh(source)
    while len(last.faces) < 100_000:
        last = last.subdivide_loop(1)
    last.export(out)


def noisy(triangles, out):
    program = BUILT / "examples" / "noisy_scan"
    subprocess.run([program, str(triangles), out], check=True, stdout=subprocess.DEVNULL)
    # The count, as binary STL has it.
    return int(np.fromfile(out, "<u4", 1, offset=80)[0])


def job_of(bench, scan):
    """A job of a scan, and how many triangles it has."""
    read = bench.post(f"/api/scans?file={scan.name}", scan.read_bytes())
    wanted = {"scan": read["scan"], "name": scan.stem, "size": "EU 39", "heel_height": "25"}
    made = bench.post("/api/jobs", {**wanted, "unit": None, "foot": "right"})
    return made["job"], read["triangles"]


def cold(place):
    """Seconds of one cold solve at 10,000 triangles, the median of five."""
    vertices, triangles = surfaces.heel_band(SPACING, bulge=BULGE)[:2]
    source = place / "band.obj"
    trimesh.Trimesh(vertices, triangles, process=False).export(source)
    command = [BUILT / "featherline", "flatten", source, "--json", "--out", place / "flat.obj"]

    def once():
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        return json.loads(done.stdout)["seconds"]

    return statistics.median(once() for _ in range(5)), len(triangles)


def dragged(bench, browser, name, scan, steps, place):
    job, triangles = job_of(bench, scan)
    solve, of = cold(place)
    lines = []
    with bench.window(job) as window:
        window.settled()
        wall = len(window.piece["triangles"])
        lines.append(f"dragging on a last of {triangles} triangles, {name} ({wall} in the wall):")
        for words, mark in MARKS.items():
            times = to_and_fro(window, mark, steps)
            median, p95 = statistics.median(times), float(np.percentile(times, 95))
            lines.append(
                f"  server, to the bytes of the piece, {words}: median {ms(median)}, "
                f"p95 {ms(p95)} ({steps} steps); of a cold solve {median / solve:.2f} "
                f"and {p95 / solve:.2f}"
            )
    lines.append(f"  one cold solve of {of} triangles: {ms(solve)}")
    drawn, stuck = in_page(bench, browser, job, steps)
    return lines + [
        f"  page, from the bytes to the finished picture, drawn by processor: median "
        f"{statistics.median(drawn):.0f} ms, p95 {np.percentile(drawn, 95):.0f} ms "
        f"({len(drawn)} pictures)",
        f"  longest the page did not answer: {max(stuck, default=0):.0f} ms",
    ]


def to_and_fro(window, mark, steps):
    """Seconds of each step of a drag 4 mm to both sides."""
    x, y, z = window.mark(mark)["at"]
    times = []
    for step in range(-10, steps):
        # The first ten wait until all is made ready, and do not count.
        to = [x + STEP * (abs((step + 10) % 40 - 20) - 10), y, z]
        begun = time.perf_counter()
        window.say(say="drag", drag=step + 11, mark=mark, to=to)
        while isinstance(window.line.recv(timeout=120), str):
            pass
        if step >= 0:
            times.append(time.perf_counter() - begun)
    window.say(say="leave", drag=steps + 10)
    return times


def watched(bench, browser, place):
    """A window on a place of the page, whose pictures are timed."""
    page = browser.new_context(viewport=LAPTOP).new_page()
    page.add_init_script(WATCH)
    # The key first; then the place from outside the page, so that it is opened with it.
    page.goto(bench.address)
    page.goto("about:blank")
    page.goto(f"{bench.origin}/#{place}")
    return page


def in_page(bench, browser, job, steps):
    """Milliseconds from the bytes of each piece to its finished picture, and the long tasks."""
    page = watched(bench, browser, f"job/{job}/marks")
    pin = page.get_by_role("button", name=re.compile("^Outside ankle")).last
    try:
        pin.wait_for(timeout=60_000)
    except PlaywrightTimeout:
        # Seen now and then after many windows; what the page showed is kept to be looked at.
        page.screenshot(path=OUT / "hands.png")
        print(f"no mark on the last; {OUT / 'hands.png'} has what was seen; once more", flush=True)
        page.reload()
        pin.wait_for(timeout=60_000)
    page.get_by_text("saved", exact=True).wait_for(timeout=120_000)
    page.wait_for_timeout(4000)
    box = pin.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.evaluate("window.drawn = []; window.stuck = []")
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(steps):
        page.mouse.move(x + (step % 20) - 10, y)
        page.wait_for_timeout(120)
    page.wait_for_timeout(1500)
    drawn, stuck = page.evaluate("[window.drawn, window.stuck]")
    page.keyboard.press("Escape")
    page.mouse.up()
    page.context.close()
    return drawn, stuck


def first_seen(bench, browser, scan, triangles):
    page = watched(bench, browser, "shelf")
    page.locator("input[type=file]").first.wait_for(state="attached")
    page.evaluate("window.stuck = []; performance.clearResourceTimings()")
    begun = page.evaluate("performance.now()")
    page.locator("input[type=file]").first.set_input_files(scan)
    page.get_by_text("The scan as it was read").wait_for(timeout=120_000)
    shown = page.evaluate(
        "new Promise(r => requestAnimationFrame(() => setTimeout(() => r(window.finished()))))"
    )
    loads = page.evaluate(
        "performance.getEntriesByType('resource').map(e => [e.name, e.startTime, e.responseEnd])"
    )
    page.wait_for_timeout(4000)
    stuck = page.evaluate("window.stuck")
    page.context.close()
    read = next(load for load in loads if "/api/scans?" in load[0])
    mesh = next(load for load in loads if load[0].endswith("/mesh"))
    return [
        f"a scan of {triangles} triangles, picked in the page:",
        f"  sent and read: {ms((read[2] - read[1]) / 1e3)}",
        f"  its mesh fetched: {ms((mesh[2] - mesh[1]) / 1e3)}",
        f"  first picture finished: {ms((shown - mesh[2]) / 1e3)} after that, drawn by processor",
        f"  all, from the choice of the file: {ms((shown - begun) / 1e3)}",
        f"  longest the page did not answer: {max(stuck, default=0):.0f} ms",
    ]


def ms(seconds):
    return f"{1000 * seconds:.0f} ms"


if __name__ == "__main__":
    main()
