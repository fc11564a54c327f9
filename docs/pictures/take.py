"""Takes the pictures of the guide and of the README, by `make screenshots`.

The built program serves a fresh workshop with the invented demo; Debian's Chromium goes through
the job, and what it shows is cropped to what a step of the guide speaks of. These pictures are the
one generated thing that is committed: neither the README nor the guide in the program can show
them otherwise.
"""

import io
import pathlib
import re
import sys
import tempfile

import numpy as np
import pymupdf
from PIL import Image, ImageDraw
from playwright.sync_api import expect, sync_playwright

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT / "checks" / "workbench"))

from chromium import CHROMIUM  # noqa: E402
from serving import Bench  # noqa: E402

GUIDE = ROOT / "web" / "src" / "guide" / "pictures"
README = pathlib.Path(__file__).resolve().parent

PATIENCE_MS = 60_000
# Windows, CSS px: upright, the views are wide and low, and so is the list of entries.
LAPTOP = {"width": 1366, "height": 768}
SMALL = {"width": 1060, "height": 720}
UPRIGHT = {"width": 800, "height": 1120}
LONG = {"width": 800, "height": 1900}
NEW = {"width": 920, "height": 640}
# No picture is wider, and none may weigh more, px and bytes.
WIDEST = 1000
HEAVIEST = 60_000
# The colour in which the page itself marks what is chosen.
MARKED = "#0b5cad"


class Session:
    """One window in one language, and the pictures taken of it."""

    def __init__(self, browser, bench, language):
        self.bench = bench
        self.language = language
        self.catalogue = (ROOT / "web" / "src" / "words" / f"{language}.ts").read_text()
        context = browser.new_context(
            viewport=LAPTOP, reduced_motion="reduce", device_scale_factor=1.25
        )
        context.add_init_script(
            f"localStorage.setItem('featherline.language', '{language}');"
            "localStorage.setItem('featherline.guide.offered', 'no more')"
        )
        self.page = context.new_page()
        self.page.set_default_timeout(PATIENCE_MS)
        self.page.goto(bench.address)

    def label(self, key):
        """What the page calls an entry or a mark."""
        return re.search(rf'"{re.escape(key)}": {{ label: "([^"]*)"', self.catalogue).group(1)

    def settled(self):
        """Waits until the piece is worked out and saved, and the picture has come to rest."""
        expect(self.page.locator(".saved .lucide-check")).to_be_visible(timeout=PATIENCE_MS)
        expect(self.page.locator(".checks li").first).to_be_visible(timeout=PATIENCE_MS)
        expect(self.page.locator(".notice.steps")).to_have_count(0, timeout=PATIENCE_MS)
        self.at_rest()

    def at_rest(self):
        # The pointer must not light anything up.
        self.page.mouse.move(1, 1)
        before = None
        while before != (before := self.page.screenshot()):
            self.page.wait_for_timeout(400)

    def station(self, job, name, size=LAPTOP):
        self.page.set_viewport_size(size)
        self.page.evaluate(
            f"location.hash = '#job/' + encodeURIComponent('{job}') + '/{name}'"
        )
        self.settled()

    def look(self, side):
        """Turns the last: 1 heel, 2 inside, 3 outside, 4 below, 5 whole."""
        self.page.locator(f".first .view-tools button:nth-child({side})").click()
        self.at_rest()

    def pin(self, pane, key):
        """A mark or a handle on `.first`, the last, or `.second`, the flat piece."""
        return self.page.locator(f'{pane} .pin[aria-label^="{self.label(key)}"]')

    def box(self, *places):
        """The room that all these take, a locator or a box each: left, top, right, bottom."""
        boxes = []
        for place in places:
            if not isinstance(place, tuple):
                found = place.bounding_box()
                x, y = found["x"], found["y"]
                place = (x, y, x + found["width"], y + found["height"])
            boxes.append(place)
        low, high = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
        return tuple(float(edge) for edge in (*low, *high))

    def ring(self, *places, wider=6, round_corners=14):
        """Marks the place to look at."""
        left, top, right, bottom = self.box(*places)
        self.page.evaluate(
            """([left, top, width, height, colour, corners]) => {
                const ring = document.createElement("div");
                ring.className = "taken-ring";
                ring.style.cssText = `position: fixed; z-index: 99; pointer-events: none;
                    left: ${left}px; top: ${top}px; width: ${width}px; height: ${height}px;
                    border: 4px solid ${colour}; border-radius: ${corners}px;
                    box-shadow: 0 0 0 2px #fff, inset 0 0 0 2px #fff`;
                document.body.append(ring);
            }""",
            [
                left - wider,
                top - wider,
                right - left + 2 * wider,
                bottom - top + 2 * wider,
                MARKED,
                round_corners,
            ],
        )

    def take(self, file, *places):
        """Writes what lies within these places, or the whole window."""
        clip = None
        if places:
            left, top, right, bottom = self.box(*places)
            clip = {"x": left, "y": top, "width": right - left, "height": bottom - top}
        picture = Image.open(io.BytesIO(self.page.screenshot(clip=clip)))
        write(picture, file)
        self.page.evaluate("document.querySelectorAll('.taken-ring').forEach(r => r.remove())")

    def take_step(self, name, *places):
        self.take(GUIDE / self.language / f"{name}.webp", *places)


def write(picture, file):
    """A WebP, made narrower where it is too wide, and paler where it is too heavy."""
    picture = picture.convert("RGB")
    if picture.width > WIDEST:
        height = round(picture.height * WIDEST / picture.width)
        picture = picture.resize((WIDEST, height), Image.Resampling.LANCZOS)
    file.parent.mkdir(parents=True, exist_ok=True)
    for quality in range(76, 40, -6):
        picture.save(file, "WEBP", quality=quality, method=6)
        if file.stat().st_size <= HEAVIEST:
            break
    size = file.stat().st_size
    assert size <= HEAVIEST, f"{file}: {size} bytes"
    print(f"{file.relative_to(ROOT)}: {picture.width} x {picture.height}, {size // 1024} kB")


def with_holes(stl):
    """The scan with two holes, as scans of lasts have them: on the instep, and on the side."""
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("of", "<u2")])
    triangles = np.frombuffer(stl, kind, offset=84)
    middles = triangles["corners"].mean(axis=1)
    keep = np.ones(len(triangles), bool)
    for x, z, across in [(112, 30, 5), (60, 42, 4)]:
        side = middles[:, 1] < 0
        near = np.hypot(middles[:, 0] - x, middles[:, 2] - z) < across
        keep &= ~(near & side)
    left = triangles[keep]
    return stl[:80] + np.uint32(len(left)).tobytes() + left.tobytes()


def lay_on_the_table(session, scan):
    """Hands a scan to the page that makes a job of it."""
    page = session.page
    page.evaluate("location.hash = '#shelf'")
    page.locator("input[type=file]").set_input_files(scan)
    page.locator(".picture .caption").wait_for()


# Strokes of the arrow key until the last of the demo is seen from below and behind, and where the
# edge of its heel lies then.
UNTIL_BELOW = 5
HEEL_FROM_BELOW = (62, 172, 330, 262)


def scan_and_stand(session, folder):
    """From a scan to a last that stands; the second scan has holes."""
    page = session.page
    demo = session.bench.workshop / "demo-job" / "last.stl"
    page.set_viewport_size({"width": 1060, "height": 560})
    lay_on_the_table(session, demo)
    page.locator(".picture .view-stage").focus()
    for _ in range(UNTIL_BELOW):
        page.keyboard.press("ArrowUp")
    page.locator("form input").first.focus()
    session.at_rest()
    session.ring(HEEL_FROM_BELOW, wider=0, round_corners=45)
    session.take_step("01-scan", (0, 0, 600, 480))
    page.locator("form .row .button").last.click()

    scan = folder / {"de": "probe.stl"}.get(session.language, "trial.stl")
    scan.write_bytes(with_holes(demo.read_bytes()))
    page.set_viewport_size(NEW)
    lay_on_the_table(session, scan)
    page.locator("form input").nth(1).fill("EU 39")
    page.locator("form input").nth(2).fill("25")
    page.evaluate("document.activeElement.blur()")
    session.at_rest()
    fields = page.locator("form > label")
    session.ring(fields.nth(1), fields.nth(2))
    session.take_step("02-drop")

    page.locator("form .button.main").click()
    page.wait_for_url("**/last")
    page.set_viewport_size(SMALL)
    session.settled()
    page.locator("#slip h2").nth(1).evaluate("heading => heading.scrollIntoView()")
    session.look(3)
    session.take_step("03-stand", page.locator("#slip"), page.locator(".first .room"))


def marks_and_answers(session):
    page = session.page
    session.station("demo-job", "marks", UPRIGHT)
    session.look(3)
    ankle = session.pin(".first", "marks.ankle_lateral")
    ankle.focus()
    for key in ["ArrowLeft", "ArrowLeft", "ArrowUp"]:
        page.keyboard.press(key)
    page.locator("#slip").focus()
    session.settled()
    session.ring(ankle, wider=2, round_corners=40)
    session.take_step("04-marks", page.locator(".first .room"))

    session.station("demo-job", "stiffener", LONG)
    page.locator("#slip").evaluate("slip => (slip.scrollTop = 0)")
    asked = page.locator("#slip .group").first
    session.take_step("05-asked", (0, session.box(asked)[1] - 8, LONG["width"], session.box(asked)[3]))

    with session.bench.window("demo-job") as window:
        window.settled()
        window.set("topline.back", 58)
        rows = [(30, 52, 50), (70, 47, 44), (130, 52, 50), (180, 60, 58)]
        names = ("along", "medial", "lateral")
        window.set("topline.heights", [dict(zip(names, row)) for row in rows])
        session.station("demo-job", "stiffener", LONG)
        session.look(3)
        session.take_step("06-topline", page.locator(".first .room"))
        for _ in range(2):
            window.ask(say="undo")


def piece_and_paper(session):
    page = session.page
    session.station("demo-job", "stiffener", UPRIGHT)
    session.look(3)
    key = "stiffener.lateral.behind_joint"
    for pane in [".first", ".second"]:
        session.ring(session.pin(pane, key), wider=2, round_corners=40)
    session.take_step("07-wings", page.locator(".first .room"), page.locator(".second .stage"))

    session.station("demo-job", "stiffener", SMALL)
    page.locator(".checks .tag.unsure").last.click()
    session.at_rest()
    session.take_step("08-strain", page.locator("#slip"), page.locator(".checks"))
    page.keyboard.press("Escape")

    session.station("demo-job", "paper", UPRIGHT)
    page.locator("#slip .choice label").nth(1).click()
    session.at_rest()
    session.ring(page.locator("#slip .button.main").first)
    shown = page.locator("#slip .choice + p").bounding_box()
    end = (0, 0, UPRIGHT["width"], shown["y"] + shown["height"] + 6)
    session.take_step("09-print", page.locator(".second .stage"), (0, end[3] - 1, *end[2:]))


def printed_sheet(session):
    """The first sheet as it leaves the printer, with its check line marked."""
    paper = session.bench.get("/api/jobs/demo-job/papers/stiffener-a4.pdf")
    sheet = pymupdf.open(stream=paper)[1]
    (words,) = sheet.search_for("check line: 100 mm")
    scale = 1.3
    drawn = sheet.get_pixmap(matrix=pymupdf.Matrix(scale, scale))
    picture = Image.frombytes("RGB", (drawn.width, drawn.height), drawn.samples)
    middle = (words.x0 + words.x1) / 2
    half = 50 / 25.4 * 72
    line = [middle - half - 8, words.y0 - 6, middle + half + 8, words.y1 + 14]
    pen = ImageDraw.Draw(picture)
    pen.rounded_rectangle([scale * at for at in line], 14, outline=MARKED, width=5)
    foot = picture.crop((0, round(picture.height * 0.28), *picture.size))
    write(foot, GUIDE / session.language / "10-measure.webp")


def sizes(session):
    """The sizes of the range over each other."""
    page = session.page
    session.station("demo-job", "sizes", SMALL)
    page.locator("#slip .next .button.main").click()
    page.locator(".views .bar").wait_for(timeout=4 * PATIENCE_MS)
    tags = page.locator(".views .bar .tags")
    tags.last.locator("label").nth(1).click()
    session.settled()
    session.ring(page.locator(".views .bar .flip"), wider=0)
    session.take_step("11-sizes", page.locator(".views .bar"), page.locator(".second .stage"))


def for_the_readme(session):
    page = session.page
    session.station("demo-job", "stiffener")
    session.look(5)
    session.take(README / "workbench.webp")
    session.look(1)
    session.take(README / "strain.webp", page.locator(".views"))
    session.station("demo-job", "paper")
    page.locator("#slip .choice label").nth(1).click()
    session.at_rest()
    session.take(README / "sheets.webp")


def main():
    assert CHROMIUM["executable_path"], "install Chromium: apt-get install chromium"
    languages = sorted(p.name.split(".")[1] for p in (ROOT / "web/src/words").glob("guide.*.ts"))
    with sync_playwright() as play:
        browser = play.chromium.launch(**CHROMIUM)
        for language in languages:
            with tempfile.TemporaryDirectory() as folder:
                folder = pathlib.Path(folder)
                bench = Bench(folder / "workshop")
                try:
                    session = Session(browser, bench, language)
                    session.settled()
                    if language == "en":
                        for_the_readme(session)
                    scan_and_stand(session, folder)
                    marks_and_answers(session)
                    piece_and_paper(session)
                    printed_sheet(session)
                    sizes(session)
                finally:
                    bench.kill()
        browser.close()


if __name__ == "__main__":
    main()
