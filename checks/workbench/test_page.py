"""The page in a browser: the whole job by clicks and drags, by keyboard alone, and what stands by it.

The browser is Debian's Chromium, driven by Playwright, with its own software WebGL; axe-core by
axe-playwright-python looks for barriers.
"""

import json
import re
import time

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

# What a finger needs, CSS pixels.
TOUCH = 44

# Machines that run checks are slow and shared: how long something may take is no matter here.
PATIENCE = 60
expect.set_options(timeout=PATIENCE * 1000)


def settled(page):
    """Waits until the piece is worked out and saved."""
    expect(page.get_by_text("saved", exact=True)).to_be_visible()
    expect(page.get_by_role("region", name="Checks")).to_contain_text("hold")


def eventually(holds):
    """Waits until something outside the page holds."""
    end = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < end, "it never came to hold"
        time.sleep(0.1)


def without_barriers(page):
    """Nothing that bars the way, and what is meant to be touched is as large as a fingertip."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    small = page.evaluate(
        """least => [...document.querySelectorAll("button, input, select, a, summary")]
            .filter(one => one.checkVisibility({ visibilityProperty: true }))
            .map(one => one.matches("input[type=radio], input[type=checkbox]") ? one.closest("label") ?? one : one)
            .map(one => [one.getAttribute("aria-label") ?? one.textContent ?? "", one.getBoundingClientRect()])
            .filter(([, box]) => box.width > 1 && (box.height < least - 0.5 || box.width < least - 0.5))
            .map(([name, box]) => `${name.trim()}: ${box.width.toFixed(0)} x ${box.height.toFixed(0)}`)""",
        TOUCH,
    )
    assert not small, small


def watched(browser, bench):
    """A window of a small laptop on the workbench, without a fault on its console."""
    context = browser.new_context(viewport={"width": 1366, "height": 768}, accept_downloads=True)
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.goto(bench.address)
    yield page
    context.close()
    assert not faults, faults


@pytest.fixture
def page(browser, bench):
    yield from watched(browser, bench)


@pytest.fixture
def still_page(browser, still):
    """A window in which the job is only looked at."""
    yield from watched(browser, still)


def test_the_demo_opens_at_first_and_stands(page):
    settled(page)
    expect(page.get_by_role("link", name=re.compile("Demo, invented"))).to_be_visible()
    for station in ["Last", "Marks", "Stiffener", "Sizes", "Paper"]:
        expect(page.get_by_role("link", name=station)).to_be_visible()


def test_from_a_dropped_scan_to_paper(page, bench, featherline, tmp_path):
    settled(page)
    scan = (bench.workshop / "demo-job" / "last.stl").read_bytes()
    # Dropped as from a folder of the desktop.
    handed = page.evaluate_handle(
        """bytes => {
            const carried = new DataTransfer();
            carried.items.add(new File([new Uint8Array(bytes)], "boot.stl"));
            return carried;
        }""",
        list(scan),
    )
    for event in ["dragenter", "dragover", "drop"]:
        page.dispatch_event("body", event, {"dataTransfer": handed})
    page.get_by_label(re.compile("^Size")).fill("EU 39")
    page.get_by_label(re.compile("Heel height")).fill("2,5 cm")
    page.get_by_label("Name of the job").fill("Boot")
    page.get_by_role("button", name="Stand the last").click()
    settled(page)
    page.get_by_role("link", name="Marks").click()
    pin = page.get_by_role("button", name=re.compile("^Outside ankle"))
    # Waits until the picture has come to rest and nothing lies over the mark.
    pin.last.hover()
    box = pin.last.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 6, y + 2, steps=4)
    page.mouse.move(x + 12, y + 4, steps=4)
    page.mouse.up()
    expect(page.get_by_role("button", name=re.compile("^Take back"))).to_be_enabled()
    settled(page)
    job = bench.workshop / "Boot" / "job.toml"
    eventually(lambda: "ankle_lateral = [" in job.read_text())
    assert "heel_height = 25.0" in job.read_text()
    page.get_by_role("link", name="Paper").click()
    with page.expect_download() as caught:
        page.get_by_role("button", name="Download stiffener-a4.pdf").or_(
            page.get_by_role("link", name="Download stiffener-a4.pdf")
        ).click()
    kept = tmp_path / "kept.pdf"
    caught.value.save_as(kept)
    done = featherline("draft", bench.workshop / "Boot", "--out", tmp_path / "out")
    assert done.returncode in (0, 1), done.stderr
    assert kept.read_bytes() == (tmp_path / "out" / "stiffener-a4.pdf").read_bytes()


def test_the_whole_way_by_keyboard(page, bench):
    """A mark chosen and moved, a number typed, taken back, a paper fetched: no pointer is used."""
    settled(page)
    job = bench.workshop / "demo-job" / "job.toml"
    first = job.read_bytes()
    page.get_by_role("link", name="Marks").focus()
    page.keyboard.press("Enter")
    pin = page.get_by_role("button", name=re.compile("^Outside joint")).last
    pin.focus()
    for _ in range(4):
        page.keyboard.press("ArrowLeft")
    expect(page.get_by_role("button", name=re.compile("^Take back"))).to_be_enabled()
    settled(page)
    eventually(lambda: b"joint_lateral = [" in job.read_bytes())
    page.get_by_role("link", name="Stiffener").focus()
    page.keyboard.press("Enter")
    field = page.get_by_role("textbox", name="Back height")
    field.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("2 in")
    expect(page.get_by_text(re.compile(r"50\.8"))).to_be_visible()
    page.keyboard.press("Enter")
    settled(page)
    eventually(lambda: b"back_height = 50.8" in job.read_bytes())
    page.keyboard.press("Escape")
    page.get_by_role("button", name=re.compile("^Take back")).focus()
    page.keyboard.press("Enter")
    settled(page)
    page.get_by_role("button", name=re.compile("^Take back")).focus()
    page.keyboard.press("Enter")
    settled(page)
    eventually(lambda: job.read_bytes() == first)
    page.get_by_role("link", name="Paper").focus()
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Download stiffener.pdf").focus()
    with page.expect_download() as caught:
        page.keyboard.press("Enter")
    assert caught.value.suggested_filename == "stiffener.pdf"


@pytest.mark.parametrize("station", ["Last", "Marks", "Stiffener", "Sizes", "Paper"])
def test_no_barriers(still_page, station):
    page = still_page
    settled(page)
    page.get_by_role("link", name=station).click()
    settled(page)
    without_barriers(page)


def test_without_webgl_the_rest_still_works(browser, bench):
    context = browser.new_context()
    page = context.new_page()
    # As on a machine whose graphics are barred.
    page.add_init_script(
        "HTMLCanvasElement.prototype.getContext = (get => function (kind, ...rest) {"
        " return kind.startsWith('webgl') ? null : get.call(this, kind, ...rest); })"
        "(HTMLCanvasElement.prototype.getContext)"
    )
    page.goto(bench.address)
    settled(page)
    expect(page.get_by_text(re.compile("no WebGL")).first).to_be_visible()
    page.get_by_role("link", name="Stiffener").click()
    field = page.get_by_role("textbox", name="Back height")
    field.fill("50")
    field.press("Enter")
    settled(page)
    job = bench.workshop / "demo-job" / "job.toml"
    eventually(lambda: "back_height = 50" in job.read_text())
    context.close()
