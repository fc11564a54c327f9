"""The page in German: no sentence of the program stays English, in many jobs and with bad scans.

The sentences are those that the running program tells; they are put into German by the page's own
catalogue, run by Node. A browser then shows that the page uses it wherever it shows one.
"""

import io
import json
import pathlib
import re
import subprocess
import urllib.error
import urllib.request

import numpy as np
import pytest
import trimesh
from playwright.sync_api import expect

from test_page import without_barriers

WEB = pathlib.Path(__file__).resolve().parent.parent.parent / "web"

# What is told and is no sentence: codes that the page has its own words for, names that people gave,
# and the piece's own drawing, which is told as it is cut. All else is a sentence.
NO_SENTENCE = {
    "tell", "job", "note", "undo", "redo", "key", "holds", "entered", "counts", "value", "mark",
    "by", "unit", "foot", "size", "mesh", "lines", "entry", "step", "verdict", "drawing", "file", "files",
    "paper", "sheets", "scan", "folder", "spent", "address", "code", "system", "own", "whole", "halves",
    "usual", "asked", "fitting", "fittings", "sizes",
}  # fmt: skip
KEY = re.compile(r"[a-z_]+(\.[a-z_]+)+")


def sentences(told):
    """Every sentence in something told."""
    if isinstance(told, str):
        if told and not KEY.fullmatch(told):
            yield told
    elif isinstance(told, list):
        for one in told:
            yield from sentences(one)
    elif isinstance(told, dict):
        # The name of a job is its maker's.
        own = {"name"} if told.get("tell") == "state" else set()
        # That of a size is how its files begin.
        own |= {"name"} if told.keys() & {"fitting", "failed", "drawing"} else set()
        for key in told.keys() - NO_SENTENCE - own:
            yield from sentences(told[key])


def in_german(told):
    """Each sentence with the parts in which the page shows it."""
    told = sorted(told)
    done = subprocess.run(
        ["node", "test/say.mjs"],
        cwd=WEB,
        input=json.dumps(told),
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    return dict(zip(told, json.loads(done.stdout), strict=True))


class Heard:
    """Whatever windows were told, as sentences."""

    def __init__(self):
        self.told = set()

    def hear(self, told):
        self.told.update(sentences(told))

    def window(self, bench, job):
        """A window of which everything is heard."""
        window = bench.window(job)
        tell = window.hear

        def hear(*how):
            told = tell(*how)
            self.hear(told)
            return told

        window.hear = hear
        return window

    def ask(self, bench, path, body=None):
        """What is answered over HTTP, a refusal too."""
        try:
            answer = json.loads(bench.get(path)) if body is None else bench.post(path, body)
        except urllib.error.HTTPError as refusal:
            answer = json.loads(refusal.read())
        self.hear(answer)
        return answer

    def must_have(self, *patterns):
        """Guards against hearing nothing: these were to be said."""
        for pattern in patterns:
            said = any(re.search(pattern, one) for one in self.told)
            assert said, f"never heard: {pattern}"

    def all_german(self):
        said = in_german(self.told)
        left = [one for one, parts in said.items() if any(part["foreign"] for part in parts)]
        assert not left, "English on a German page:\n" + "\n".join(left)


@pytest.fixture
def heard():
    return Heard()


def new_job(scan, name):
    """A job of a scan on the table, of which only the size is known."""
    known = {"scan": scan, "name": name, "size": "EU 39", "heel_height": ""}
    return {**known, "unit": None, "foot": None}


# Several things at once where they do not speak of the same: each job takes its time to work out.
VARIATIONS = {
    "as it is": {},
    "board, strobel, cut into": {
        "stiffener.kind": "fibreboard",
        "stiffener.wall_cuts": 5,
        "stiffener.wall_cut_depth": 20,
        "stiffener.construction": "strobel",
        "stiffener.medial.ceiling": 47,
        "wearer.ankle_lateral": 60,
    },
    "thermoplastic, welted, short wings": {
        "stiffener.kind": "thermoplastic",
        "stiffener.wall_cuts": 4,
        "stiffener.construction": "welted",
        "stiffener.insole_on_last": True,
        "stiffener.medial.length": "short",
        "stiffener.lateral.length": "short",
    },
    "moulded, stitched outward, mid wings, low topline": {
        "stiffener.kind": "moulded",
        "stiffener.wall_cuts": 3,
        "stiffener.construction": "stitched_outward",
        "stiffener.medial.length": "mid_waist",
        "stiffener.lateral.length": "mid_waist",
        "topline.back": 50,
        "topline.heights": [{"along": 40, "medial": 48, "lateral": 47}],
    },
    "a child's": {"last.size": "UK child 10"},
    "a child's, measured, long for its size": {
        "last.size": "UK child 10",
        "wearer.ankle_medial": 40,
        "wearer.ankle_lateral": 36,
    },
    "in centimetres": {"last.pose": None, "last.unit": "cm"},
    "found anew": dict.fromkeys(["last.pose", "last.unit", "last.foot", "last.heel_height"]),
    "other foot, heel far off": {
        "last.pose": None,
        "last.foot": "left",
        "last.heel_height": 70,
    },
    "too high at the back": {"stiffener.back_height": 75, "topline.back": 60},
    "high wing end": {"stiffener.medial.end_height": 55},
    "falls too steeply": {"stiffener.back_height": 90, "stiffener.medial.ceiling": 12},
    "no room for nicks": {"stiffener.margin": 0},
    "higher than the last": {"stiffener.back_height": 118},
    "no wing": {"stiffener.medial.length": "short", "marks.breast": "back"},
    "mark far off": {"marks.joint_medial": [900.0, 900.0, 900.0]},
}


def test_jobs_of_every_kind(bench, heard):
    with heard.window(bench, "demo-job") as window:
        at_first = window.settled()
        seat = window.mark("marks.seat")["at"]
        for name, changes in VARIATIONS.items():
            commands = [
                {"set": key, "to": seat if to == "back" else to} for key, to in changes.items()
            ]
            if commands:
                answer = window.ask(say="edit", commands=commands)
                assert answer["tell"] == "done", (name, answer)
                window.settled()
            papers = heard.ask(bench, "/api/jobs/demo-job/papers")
            if "files" in papers:
                heard.hear([paper["what"] for paper in papers["files"]])
            if commands:
                assert window.ask(say="undo")["tell"] == "done", name
        window.settled()
        assert window.state["report"]["checks"] == at_first["report"]["checks"]
    heard.must_have(
        "cuts in the wall|deepest cut in the wall",
        "bought in shape",
        "gets no cuts",
        "edge below the topline",
        "is a child's",
        "when read in",
        "looks like a left last|its shape is that of a right one",
        "cannot both be met",
        "leaves no room for the nicks",
        "sheets of A4",
        "ceiling under the inside ankle",
        "drawing the stiffener",
    )
    heard.all_german()


def test_what_is_typed_and_refused(bench, heard):
    with heard.window(bench, "demo-job") as window:
        window.settled()
        typed = ["1,250", "thick", "900", "-1", "2 ft", "", "2,5", "1/2 in"]
        for key, texts in {
            "stiffener.thickness": typed,
            "stiffener.wall_cuts": ["3", "99", "some", "1.5"],
            "last.size": ["39", "US 8", "400", "EU 39.3", "XY 4", "EU 99", "JP 245", "EU 40", "UK child 10"],
            "last.heel_height": ["", "1000"],
            "name": [""],
            "marks.seat": ["there"],
            "last.pose": ["there"],
            "last.file": ["elsewhere/last.stl"],
            "topline.heights": ["high"],
            "marks.feather_line": ["round"],
            "stiffener.kind": ["paper"],
            "stiffener.insole_on_last": ["maybe"],
            "stiffener.colour": ["red"],
            "schema": ["2"],
        }.items():
            for text in texts:
                answer = window.ask(say="typed", key=key, text=text, keep=False)
                # What a line of text was understood as are the words of who typed it.
                if answer["tell"] == "understood" and key in ("name", "last.size"):
                    heard.told.discard(answer["words"])
        for edit in [
            [{"set": "stiffener.thickness", "to": 90.5}],
            [{"set": "stiffener.wall_cuts", "to": 99}],
            [{"set": "topline.heights", "to": []}],
            [{"set": "topline.heights", "to": [{"along": 10, "medial": 900, "lateral": 50}]}],
            [{"set": "last.unit", "to": "in"}],
        ]:
            window.ask(say="edit", commands=edit)
        window.ask(say="undo")
        window.ask(say="redo")
        window.ask(say="drop", drag=77)
        window.say(say="drag", drag=5)
        window.until(lambda told: told["tell"] == "dragged")
    for path, body in [
        ("/api/jobs/no-such-job/papers", None),
        ("/api/jobs/demo-job/mesh/half", None),
        ("/api/jobs/demo-job/papers/no-such.pdf", None),
        ("/api/jobs", new_job("9", "a")),
        ("/api/jobs/demo-job/copy", {"job": "  "}),
        ("/api/nothing", None),
    ]:
        heard.ask(bench, path, body)
    heard.must_have("may mean", "is no length", "no unit of length", "allowed is")
    heard.must_have('can be one of several', "nothing was dragged", "no job", "not on the table")
    heard.all_german()


def without(mesh, gone):
    """The mesh without the triangles whose middles are `gone`."""
    return trimesh.Trimesh(mesh.vertices, mesh.faces[~gone(mesh.triangles_center)], process=False)


def bad_scans(demo):
    """Scans of the demo's last with the faults that scans have, as files."""
    at = demo.triangles_center
    low, high = demo.bounds
    size = high - low
    near = lambda point, radius: lambda c: np.linalg.norm(c - point, axis=1) < radius  # noqa: E731
    rng = np.random.default_rng(4)

    def stl(mesh):
        return mesh.export(file_type="stl")

    side = at[np.argmax(at[:, 1])]
    front, back = at[np.argmax(at[:, 0])], at[np.argmin(at[:, 0])]
    # Small faults, all at once.
    faulty = without(without(demo, near(side, 6)), near(front, 4)).copy()
    faulty.faces[::97] = faulty.faces[::97, ::-1]
    crumb = trimesh.creation.box([3, 3, 3]).apply_translation(high + 20)
    inner = trimesh.creation.box(size * 0.1).apply_translation(demo.center_mass)
    faulty = trimesh.util.concatenate([faulty, crumb, inner])
    mirrored = demo.copy()
    mirrored.vertices = demo.vertices * [1, -1, 1]
    mirrored.invert()
    shaken = demo.copy()
    shaken.vertices = demo.vertices + rng.normal(0, 1.2, demo.vertices.shape)
    beside = demo.copy()
    beside.apply_translation([0, 3 * size[1], 0])
    scaled = lambda by: trimesh.Trimesh(demo.vertices * by, demo.faces, process=False)  # noqa: E731
    coarse = trimesh.Trimesh(np.round(demo.vertices / 9) * 9, demo.faces, process=True)
    coarse.update_faces(coarse.nondegenerate_faces())
    plate = trimesh.creation.box([size[0] * 1.4, size[1] * 2, 4])
    plate.apply_translation([*((low + high) / 2)[:2], low[2] - 1.9])
    yield "faulty.stl", stl(faulty)
    yield "hole-at-the-back.stl", stl(without(mirrored, near(back, 5)))
    yield "large-hole.stl", stl(without(demo, near(side, 45)))
    yield "no-bottom.stl", stl(without(demo, lambda c: c[:, 2] < low[2] + 0.12 * size[2]))
    yield "no-heel.stl", stl(without(demo, lambda c: c[:, 0] < low[0] + 0.12 * size[0]))
    yield "half.stl", stl(without(demo, lambda c: c[:, 1] < (low + high)[1] / 2))
    yield "no-top.stl", stl(without(scaled(1 / 25.4), lambda c: c[:, 2] > high[2] / 25.4 - 0.3))
    yield "shaken.stl", stl(shaken)
    yield "two.stl", stl(trimesh.util.concatenate([demo, beside]))
    yield "plate.stl", stl(trimesh.util.concatenate([demo, plate]))
    yield "giant.stl", stl(scaled(77))
    yield "ball.stl", stl(trimesh.creation.icosphere(3, 130))
    yield "sheet.stl", stl(trimesh.creation.box([260, 90, 2]))
    yield "brick.stl", stl(trimesh.creation.box([260, 90, 80]))
    yield "coarse.stl", stl(coarse)
    whole = stl(demo)
    yield "cut-short.stl", whole[: len(whole) // 2]
    yield "tail.stl", whole + b"tail"
    yield "empty.stl", b""
    yield "tiny.stl", b"solid"
    yield "letter.stl", b"Dear last maker, " * 40
    yield "wrong-ending.obj", whole
    yield "half-text.stl", trimesh.exchange.stl.export_stl_ascii(demo)[:20000].encode()
    yield "facet.stl", b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 1 b 3\n" + b" " * 100
    yield "comma.obj", b"v 1,5 2,5 3,5\n" * 40 + b"f 1 2 3\n"
    yield "no-face.obj", b"v 1 2 3\n" * 40
    yield "far-vertex.obj", b"v 1 2 3\nv 2 3 4\nv 1 0 0\nf 1 2 9\n"
    yield "quads.obj", quads(demo)
    yield "cut.ply", demo.export(file_type="ply")[:3000]
    yield "header.ply", b"ply\nformat ascii 1.0\nelement vertex 3\n"
    yield "points.ply", trimesh.PointCloud(demo.vertices[:50]).export(file_type="ply")
    yield "letter.3mf", b"PK\x03\x04 no zip at all"
    yield "not-finite.obj", b"v nan 2 3\nv 1 2 3\nv 2 3 4\nf 1 2 3\n"


# Sound last all the same: only the reader has something to say.
ONLY_READ = {"tail.stl", "wrong-ending.obj", "quads.obj"}


def quads(demo):
    """As an OBJ with a face of four corners."""
    box = trimesh.creation.box([260, 90, 80])
    text = io.StringIO()
    for v in [*demo.vertices, *box.vertices[:4]]:
        text.write("v {} {} {}\n".format(*v))
    for f in demo.faces + 1:
        text.write("f {} {} {}\n".format(*f))
    n = len(demo.vertices)
    text.write(f"f {n + 1} {n + 2} {n + 4} {n + 3}\nf 1 2\n")
    return text.getvalue().encode()


def test_scans_with_faults(bench, heard):
    demo = trimesh.load(bench.workshop / "demo-job" / "last.stl", process=True)
    for name, content in bad_scans(demo):
        read = heard.ask(bench, f"/api/scans?file={name}", content)
        # Its name is the user's own.
        heard.told.discard(name)
        if "scan" not in read or name in ONLY_READ:
            continue
        made = heard.ask(bench, "/api/jobs", new_job(read["scan"], name))
        if "job" in made:
            # Found again, with all that there is to say of it.
            with heard.window(bench, made["job"]) as window:
                window.settled()
                if name in ("faulty.stl", "no-top.stl"):
                    window.set("last.pose", None)
                    window.settled()
    # What the reader of packages says of one is not ours, and is shown as English.
    parts = in_german(heard.told)
    package = [one for one in heard.told if one.startswith("letter.3mf: meant to be a 3MF")]
    assert [part["foreign"] for part in parts[package[0]]] == [False, True, False]
    heard.told.difference_update(package)
    heard.must_have("a hole filled", "is open", "not shaped like a last", "cut short")
    heard.must_have("no triangles", "two lasts in one file", "in front of the seat")
    heard.all_german()


def sizes_made(heard, bench, window, start, end, *fittings):
    """Derives a run for the right foot and hears all that is told of it."""
    run = {"from": start, "to": end, "halves": False, "feet": ["right"], "fittings": fittings}
    path = "/api/jobs/demo-job/sizes"
    request_answered(bench, path, run)
    made = window.until(
        lambda told: told["tell"] == "sizes" and told["doing"] is None and told["made"]
    )["made"]
    heard.ask(bench, path)
    for piece in made["pieces"]:
        if not piece["trouble"]:
            heard.ask(bench, f"{path}/report/{piece['name']}")
    return made


def request_answered(bench, path, body):
    """Asks for what is answered without words."""
    headers = {"Cookie": bench.cookie, "Origin": bench.origin, "Content-Type": "application/json"}
    request = urllib.request.Request(bench.origin + path, json.dumps(body).encode(), headers)
    with urllib.request.urlopen(request) as answer:
        assert answer.status == 202


def test_sizes_of_a_range(bench, heard):
    path = "/api/jobs/demo-job/sizes"
    run = {"from": "EU 39", "to": "EU 38", "halves": False, "feet": ["right"], "fittings": []}
    with heard.window(bench, "demo-job") as window:
        window.settled()
        heard.ask(bench, path)
        heard.ask(bench, path, run)
        heard.ask(bench, path, {**run, "to": "EU 39.5"})
        heard.ask(bench, path, {**run, "to": "EU 39", "fittings": ["7"]})
        heard.ask(bench, path, {**run, "to": "EU 39", "fittings": ["seven"]})
        # A child's size; then one above the reach of a rule, with an ankle that was measured.
        sizes_made(heard, bench, window, "EU 34", "EU 35")
        heard.ask(bench, f"{path}/write", {})
        heard.ask(bench, f"{path}/piece/EU-50-right")
        window.set("wearer.ankle_lateral", 60)
        window.settled()
        sizes_made(heard, bench, window, "EU 45", "EU 46")
        written = heard.ask(bench, f"{path}/write", {})
        heard.hear([file["what"] for file in written["files"]])
        window.set("last.fitting", "8")
        window.settled()
        heard.ask(bench, f"{path}/write", {})
        # So short and narrow is no last any more.
        sizes_made(heard, bench, window, "EU 15", "EU 15", "0")
    heard.must_have("a child's", "stays level above", "was measured on a wearer", "changed since")
    heard.must_have("could not be derived", "cannot be reached on a last", "grade table")
    heard.must_have("which one it has", "the narrowest", "no size is left", "in no run")
    heard.all_german()


# What a reader hears or sees on the page, names of controls and of pictures too.
SHOWN = """() => {
    const texts = [];
    // What is drawn on the piece is drawn as it is cut.
    const walker = document.createTreeWalker(
        document.body,
        NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT,
        node => ["svg", "NOSCRIPT"].includes(node.nodeName)
            ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        if (node.nodeType === Node.TEXT_NODE) texts.push(node.data);
        else for (const name of ["aria-label", "title", "alt", "placeholder"])
            if (node.getAttribute(name)) texts.push(node.getAttribute(name));
    }
    return texts.map(text => text.replace(/\\s+/g, " ").trim()).filter(text => text);
}"""


def test_the_page_shows_it_in_german(browser, bench, heard):
    with heard.window(bench, "demo-job") as window:
        window.settled()
        # With a warning, a repair-free last, and a check that is open.
        window.set("stiffener.wall_cuts", 3)
        window.set("topline.back", 60)
        window.settled()
    heard.ask(bench, "/api/jobs/demo-job/papers")
    papers = json.loads(bench.get("/api/jobs/demo-job/papers"))
    heard.hear([paper["what"] for paper in papers["files"]])
    said = in_german(heard.told)
    changed = {
        one: "".join(part["text"] for part in parts)
        for one, parts in said.items()
        if "".join(part["text"] for part in parts) != one
    }
    context = browser.new_context(viewport={"width": 1366, "height": 768}, locale="de-DE")
    page = context.new_page()
    seen = set()

    def look():
        seen.update(page.evaluate(SHOWN))

    page.goto(bench.address)
    checks = page.get_by_role("region", name="Prüfungen")
    expect(checks).to_contain_text("halten", timeout=60_000)
    assert page.locator("html").get_attribute("lang") == "de"
    for station in ["Leisten", "Punkte", "Hinterkappe", "Größen", "Papier"]:
        page.get_by_role("link", name=station, exact=False).last.click()
        page.wait_for_timeout(300)
        look()
        without_barriers(page)
        for term in page.locator("button.term").all():
            term.click()
            look()
            page.keyboard.press("Escape")
    page.get_by_role("radio", name="A4").click()
    look()
    page.get_by_role("link", name="Größen", exact=False).last.click()
    page.get_by_label("Von", exact=True).select_option("EU 45")
    page.get_by_label("Bis", exact=True).select_option("EU 46")
    page.get_by_role("button", name="4 Teile anfertigen").click()
    expect(page.get_by_text("4 Teile sind fertig.")).to_be_visible(timeout=120_000)
    for view in ["Eine Größe", "Übereinander", "Gradiertabelle"]:
        page.get_by_role("radio", name=view).check(force=True)
        page.wait_for_timeout(300)
        look()
    page.get_by_role("button", name="Dateien schreiben").click()
    expect(page.get_by_text("Dateien liegen im Ordner")).to_be_visible()
    look()
    page.get_by_role("link", name="Papier", exact=False).last.click()
    for tag in checks.locator("button.tag").all():
        tag.click()
        look()
        tag.click()
    page.get_by_role("button", name="In Worten").click()
    look()
    page.get_by_role("region", name="Der Leisten in Worten").get_by_role("button").click()
    # A sentence with a hint that the program refuses.
    page.get_by_role("link", name="Hinterkappe", exact=False).last.click()
    field = page.get_by_label("Dicke der Hinterkappe", exact=True).last
    field.fill("1,250")
    expect(page.get_by_text("kann 1,25 oder 1250 heißen").first).to_be_visible()
    look()
    context.close()

    left = [one for one in changed if one in seen]
    assert not left, "shown in English:\n" + "\n".join(left)
    # What is told in this job is shown somewhere, in German.
    state = window.state
    report = state["report"]
    must = {one for check in report["checks"] for one in sentences(check)}
    must |= {one for dimension in report["dimensions"] for one in (dimension["name"],)}
    must |= {one for found in state["last"]["found"] for one in sentences(found)}
    must |= set(report["cautions"]) | {measure["name"] for measure in state["last"]["measures"]}
    must |= set(sentences(report["warnings"])) | {paper["what"] for paper in papers["files"]}
    everything = "\n".join(seen)
    missing = {one for one in must if changed.get(one, one) not in everything}
    assert not missing, missing
    # Where the files were written is no word of ours.
    seen = {one for one in seen if str(bench.workshop) not in one}
    english = [one for one in seen if re.search(r"\b(the|of|and|with|is|are)\b", one)]
    assert not english, "English words on the page:\n" + "\n".join(english)
