"""The guide beside the work: its steps and pictures, by pointer, by keyboard and in German."""

import pathlib
import re

import pytest
from playwright.sync_api import expect

from test_page import settled, without_barriers

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
STEPS = 11

WINDOWS = [(1366, 768), (1280, 800), (800, 1280)]


def opened(browser, bench, size=(1366, 768), locale="en-GB"):
    """A window on the demo, that collects what goes wrong in it."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, locale=locale, reduced_motion="reduce"
    )
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on(
        "console", lambda said: page.faults.append(said.text) if said.type == "error" else None
    )
    page.goto(bench.address)
    return page


@pytest.fixture
def page(browser, still):
    page = opened(browser, still)
    settled(page)
    yield page
    page.context.close()
    assert not page.faults, page.faults


def guide_of(page):
    return page.get_by_role("complementary", name="Guide")


def open_guide(page):
    page.get_by_role("button", name="Guide", exact=True).click()
    guide = guide_of(page)
    expect(guide).to_be_visible()
    return guide


def step_to(guide, n):
    for _ in range(n - 1):
        guide.get_by_role("button", name="Next").click()
    expect(guide.get_by_role("status")).to_contain_text(f"Step {n} of {STEPS}:")


def picture_loads(guide):
    picture = guide.locator(".page img")
    expect(picture).to_be_visible()
    # Decoded, not only asked for: a wrong type or address would fail here.
    wide = picture.evaluate("img => img.decode().then(() => img.naturalWidth)")
    assert wide > 300
    assert len(picture.get_attribute("alt")) > 30
    return picture.get_attribute("src")


def test_eleven_steps_each_with_its_picture(page):
    guide = open_guide(page)
    titles, pictures = set(), set()
    for n in range(1, STEPS + 1):
        expect(guide.get_by_role("status")).to_contain_text(f"Step {n} of {STEPS}:")
        titles.add(guide.get_by_role("heading").inner_text())
        pictures.add(picture_loads(guide))
        if n < STEPS:
            guide.get_by_role("button", name="Next").click()
    assert len(titles) == len(pictures) == STEPS
    # At the end there is no step further; the focus stays all the same.
    onward = guide.get_by_role("button", name="Next")
    expect(onward).to_be_disabled()
    expect(onward).to_be_focused()
    guide.get_by_role("button", name="Back").click()
    expect(guide.get_by_role("status")).to_contain_text(f"Step {STEPS - 1} of {STEPS}:")


def test_by_keyboard_and_through_a_reload(page):
    button = page.get_by_role("button", name="Guide", exact=True)
    button.focus()
    page.keyboard.press("Enter")
    guide = guide_of(page)
    heading = guide.get_by_role("heading")
    expect(heading).to_be_focused()
    onward = guide.get_by_role("button", name="Next")
    for _ in range(12):
        if onward.evaluate("button => button === document.activeElement"):
            break
        page.keyboard.press("Tab")
    expect(onward).to_be_focused()
    first = heading.inner_text()
    for _ in range(3):
        page.keyboard.press("Enter")
    expect(onward).to_be_focused()
    assert heading.inner_text() != first
    said = guide.get_by_role("status").inner_text()
    assert said == f"Step 4 of {STEPS}: {heading.inner_text()}"
    page.reload()
    settled(page)
    expect(guide.get_by_role("status")).to_have_text(said)
    # Nothing is taken from the work by a guide that was open already.
    expect(heading).not_to_be_focused()
    guide.get_by_role("button", name="Back").focus()
    page.keyboard.press("Escape")
    expect(guide).to_have_count(0)
    expect(button).to_be_focused()
    page.keyboard.press("Enter")
    expect(guide.get_by_role("status")).to_have_text(said)
    guide.get_by_role("button", name="Close the guide").click()
    expect(guide).to_have_count(0)
    expect(button).to_be_focused()


def test_the_large_picture_closes_before_the_guide(page):
    guide = open_guide(page)
    guide.get_by_role("button", name="See the picture larger").click()
    large = page.get_by_role("dialog")
    expect(large).to_be_visible()
    page.keyboard.press("Escape")
    expect(large).to_have_count(0)
    expect(guide).to_be_visible()


@pytest.mark.parametrize(
    ("step", "station", "focused"),
    [
        (3, "Last", ("textbox", "Heel height")),
        (4, "Marks", ("button", re.compile("^Outside ankle"))),
        (5, "Stiffener", ("radio", "cemented")),
        (6, "Stiffener", ("textbox", "Topline at the centre back")),
        (7, "Stiffener", ("button", re.compile("^Outside wing ends behind the joint.*The last"))),
        (8, "Stiffener", ("button", re.compile("^(failed|open|holds):"))),
        (9, "Paper", None),
        (10, "Stiffener", ("textbox", "Back height")),
        (11, "Sizes", None),
    ],
)
def test_show_me_leads_to_the_place(page, step, station, focused):
    page.get_by_role("link", name="Marks" if station != "Marks" else "Paper").click()
    guide = open_guide(page)
    step_to(guide, step)
    guide.get_by_role("button", name="Show me").click()
    link = page.get_by_role("link", name=station, exact=True)
    expect(link).to_have_attribute("aria-current", "step")
    if focused:
        role, name = focused
        expect(page.get_by_role(role, name=name).and_(page.locator(":focus"))).to_have_count(1)
    elif station == "Paper":
        expect(page.locator("#slip").get_by_role("radio", name="A4")).to_be_checked()
    else:
        expect(page.locator("#slip").get_by_role("button", name="Make 14 pieces")).to_be_visible()
    expect(guide).to_be_visible()


def test_on_the_shelf_it_leads_to_the_demo(page):
    guide = open_guide(page)
    step_to(guide, 2)
    guide.get_by_role("button", name="Show me").click()
    expect(page.get_by_role("heading", name="Begin with a scan")).to_be_visible()
    expect(guide.get_by_role("heading")).to_be_focused()
    guide.get_by_role("button", name="Next").click()
    guide.get_by_role("button", name="Show me in the demo").click()
    settled(page)
    expect(page.get_by_role("link", name="Last", exact=True)).to_have_attribute(
        "aria-current", "step"
    )
    expect(guide.get_by_role("status")).to_contain_text(f"Step 3 of {STEPS}:")


def test_it_is_offered_once(page):
    line = page.get_by_text("New here?")
    expect(line).to_be_visible()
    page.get_by_role("button", name="Open the guide").click()
    guide = guide_of(page)
    expect(guide.get_by_role("heading")).to_be_focused()
    expect(line).to_have_count(0)
    page.keyboard.press("Escape")
    # The line that opened it is gone: the button in the header gets the focus.
    expect(page.get_by_role("button", name="Guide", exact=True)).to_be_focused()
    page.reload()
    settled(page)
    expect(line).to_have_count(0)


def test_the_offer_can_be_put_away(page):
    page.get_by_role("button", name="Put this line away").click()
    expect(page.get_by_text("New here?")).to_have_count(0)
    page.reload()
    settled(page)
    expect(page.get_by_text("New here?")).to_have_count(0)
    expect(guide_of(page)).to_have_count(0)


def test_german_shows_german(browser, still):
    page = opened(browser, still, locale="de-DE")
    page.get_by_role("button", name="Anleitung", exact=True).click()
    guide = page.get_by_role("complementary", name="Anleitung")
    expect(guide.get_by_role("heading")).to_have_text("Den Leisten scannen")
    # The picture of the first step shows a bare last, alike in every language.
    guide.get_by_role("button", name="Weiter").click()
    expect(guide.get_by_role("status")).to_contain_text("2")
    german = picture_loads(guide)
    page.get_by_role("button", name=re.compile("English")).click()
    expect(guide_of(page).get_by_role("heading")).to_have_text("Drop the scan on the window")
    assert picture_loads(guide_of(page)) != german, "each language has its own pictures"
    page.context.close()
    assert not page.faults, page.faults


@pytest.mark.parametrize("size", WINDOWS, ids=lambda size: f"{size[0]}x{size[1]}")
def test_no_barriers_beside_the_work(browser, still, size):
    page = opened(browser, still, size)
    settled(page)
    guide = open_guide(page)
    step_to(guide, 4)
    settled(page)
    without_barriers(page)
    # The text stays in the guide, and under its head.
    frame = guide.locator(".page").bounding_box()
    for text in guide.locator(".page p, .page li").all():
        box = text.bounding_box()
        assert box["y"] > frame["y"], text.inner_text()
        assert frame["x"] <= box["x"] and box["x"] + box["width"] <= frame["x"] + frame["width"]
    # The header has room for all its controls, and the last is still seen.
    outside = page.locator("header .button").evaluate_all(
        "(all, wide) => all.filter(one => one.getBoundingClientRect().right > wide).length", size[0]
    )
    assert outside == 0
    for pane in [".first .room", ".second .stage"]:
        box = page.locator(pane).bounding_box()
        assert box["width"] >= 240 and box["height"] >= 120, (pane, box)
    page.context.close()
    assert not page.faults, page.faults


def test_the_written_guide_shows_the_same_pictures():
    written = (ROOT / "docs" / "guide.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^\]]{30,}\]\(([^)]+)\)", written)
    assert len(shown) == STEPS
    readme = re.findall(r"!\[[^\]]+\]\((docs/pictures/[^)]+)\)", (ROOT / "README.md").read_text())
    assert len(readme) == 3
    files = [ROOT / "docs" / name for name in shown] + [ROOT / name for name in readme]
    for file in files:
        head = file.read_bytes()[:12]
        assert head[:4] == b"RIFF" and head[8:] == b"WEBP", file
    folders = {file.resolve().parent for file in files}
    folders |= {file.parent for file in (ROOT / "web/src/guide/pictures").glob("*/*.webp")}
    sizes = [file.stat().st_size for folder in folders for file in folder.glob("*.webp")]
    assert max(sizes) < 60_000 and sum(sizes) < 770_000
