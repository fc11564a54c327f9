"""What hands do beyond the straight way: dragging, hovering, rows of numbers, refusals, no pointer at all."""

import re
import tomllib

import pytest
from playwright.sync_api import expect

from test_page import eventually, settled, without_barriers

SIZES = {"lying": (1280, 800), "upright": (800, 1280)}

# A small laptop at 200 %.
LOW = (683, 384)


def opened(browser, bench, size=(1366, 768), **options):
    """A window on the demo in which nothing moves by itself, that collects what goes wrong in it."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, reduced_motion="reduce", **options
    )
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.goto(bench.address)
    settled(page)
    return page


def watched(browser, bench):
    page = opened(browser, bench)
    yield page
    page.context.close()
    assert not page.faults, page.faults


@pytest.fixture
def page(browser, bench):
    yield from watched(browser, bench)


@pytest.fixture
def still_page(browser, still):
    """A window in which the job is only looked at."""
    yield from watched(browser, still)


def job_of(bench, name="demo-job"):
    return bench.workshop / name / "job.toml"


def told(bench, name="demo-job"):
    return tomllib.loads(job_of(bench, name).read_text())


def station(page, name):
    page.get_by_role("link", name=name, exact=True).click()
    settled(page)


def view(page, name):
    return page.get_by_role("region", name=name, exact=True)


def field(page, name):
    return page.get_by_role("textbox", name=name, exact=True)


def alert(page):
    """What is said over the work, in the way of a refusal."""
    return page.locator(".notices [role=alert]")


def middle(what):
    box = what.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, pin, dx, dy):
    # Waits until the picture has come to rest and nothing lies over the pin.
    pin.hover()
    x, y = middle(pin)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx / 2, y + dy / 2, steps=4)
    page.mouse.move(x + dx, y + dy, steps=4)
    page.mouse.up()


def pick_scan(page, scan):
    """On the shelf, to a scan handed over."""
    page.get_by_role("link", name=re.compile("to the shelf of jobs")).click()
    with page.expect_file_chooser() as chosen:
        page.get_by_role("button", name="Pick a scan …").click()
    chosen.value.set_files(scan)
    expect(page.get_by_label("Name of the job")).to_be_visible()


@pytest.mark.parametrize("where", ["The last", "The flat piece"])
def test_a_point_of_the_edge_is_dragged(page, bench, where):
    station(page, "Stiffener")
    page.get_by_role("button", name="Look from: Outside").click()
    pin = view(page, where).get_by_role("button", name=re.compile("^Limit under the outside ankle"))
    before = float(field(page, "Limit under the outside ankle").input_value())
    drag(page, pin, 0, 12)
    eventually(lambda: "ceiling" in told(bench)["stiffener"]["lateral"])
    ceiling = told(bench)["stiffener"]["lateral"]["ceiling"]
    assert before - 30 < ceiling < before - 1, "downward it becomes less"
    settled(page)
    expect(field(page, "Limit under the outside ankle")).to_have_value(f"{ceiling:.1f}")
    # Both views show the number that is kept.
    for name in ["The last", "The flat piece"]:
        shown = view(page, name).get_by_role("button", name=re.compile(f"^Limit under the outside.*{ceiling:.1f} mm"))
        expect(shown).to_be_attached()


def test_wings_by_hand(page, bench):
    """Each wing gets its own length, and the end of a long one goes where it is pulled."""
    station(page, "Stiffener")
    end = view(page, "The flat piece").get_by_role("button", name=re.compile("^Inside wing ends"))
    before = float(field(page, "Inside wing ends behind the joint").input_value())
    inward = 1 if middle(end)[0] < middle(view(page, "The flat piece"))[0] else -1
    drag(page, end, 20 * inward, 0)
    eventually(lambda: "behind_joint" in told(bench)["stiffener"]["medial"])
    assert told(bench)["stiffener"]["medial"]["behind_joint"] > before + 1, "inward it is shorter"
    group = page.get_by_role("radiogroup", name="Length of the outside wing")
    for length in ["short", "mid-waist"]:
        group.get_by_role("radio", name=length).click()
        eventually(lambda: told(bench)["stiffener"]["lateral"]["length"] == length.replace("-", "_"))
        settled(page)
        # Only the end of a long wing is measured from the joint.
        expect(view(page, "The flat piece").get_by_role("button", name=re.compile("^Outside wing ends"))).to_have_count(0)
    assert told(bench)["stiffener"]["medial"]["length"] == "long"
    expect(end).to_be_attached()


def test_a_mark_on_the_outline_goes_along_it(page, bench):
    """The joint lies on the feather line: seen from the side, the hand leaves the last at once."""
    station(page, "Marks")
    page.get_by_role("button", name="Look from: Outside").click()
    pin = view(page, "The last").get_by_role("button", name=re.compile("^Outside joint"))
    pin.hover()
    x = middle(pin)[0]
    drag(page, pin, 10, 14)
    eventually(lambda: "joint_lateral" in told(bench).get("marks", {}))
    settled(page)
    expect(alert(page)).to_have_text("")
    assert middle(pin)[0] - x == pytest.approx(10, abs=5), "it follows the hand, and stays there"


def test_a_typed_place_stays_in_its_field(page, bench):
    station(page, "Marks")
    page.get_by_role("button", name="Choose Outside ankle").click()
    forward = page.get_by_role("textbox", name="Outside ankle, mm forward of the seat")
    forward.fill("6,05 cm")
    forward.press("Enter")
    expect(forward).to_have_value("60.50")
    eventually(lambda: "ankle_lateral" in told(bench).get("marks", {}))
    assert forward.input_value() == "60.50"
    settled(page)
    page.get_by_role("button", name="Set back Outside ankle to where it was found").click()
    eventually(lambda: "ankle_lateral" not in told(bench).get("marks", {}))


def test_a_point_shows_on_both_views(still_page):
    page = still_page
    station(page, "Stiffener")
    page.get_by_role("button", name="Look from: Outside").click()
    last, flat = view(page, "The last"), view(page, "The flat piece")
    points = [shown.locator(".note.point") for shown in (last, flat)]

    def hovered(start, dx, dy):
        x, y = middle(start)
        page.mouse.move(x + dx, y + dy)
        for point in points:
            expect(point).to_have_count(1)
        return [middle(point) for point in points]

    # From below the limit towards the back, on the last.
    start = last.get_by_role("button", name=re.compile("^Limit under the outside"))
    on_last, on_flat = hovered(start, -60, 20)
    further_last, further_flat = hovered(start, -40, 20)
    assert further_last[0] > on_last[0], "forward on the last"
    assert further_flat[0] > on_flat[0], "is towards the end of the outside wing"
    # Taken up again on the flat piece, it is the same point of the last.
    page.mouse.move(*further_flat)
    page.mouse.move(further_flat[0] + 1, further_flat[1])
    page.mouse.move(*further_flat)
    expect(points[0]).to_have_count(1)
    back = middle(points[0])
    assert back == pytest.approx(further_last, abs=6)
    page.mouse.move(5, 5)
    for point in points:
        expect(point).to_have_count(0)


def add_place(page, *numbers):
    page.get_by_role("button", name="Add a place").click()
    row = page.locator(".heights").last
    for name, number in zip(["forward of the seat", "inside", "outside"], numbers, strict=True):
        row.get_by_label(name).fill(number)


def keep(page):
    page.get_by_role("button", name="Keep these heights").click()


def heights(bench):
    return told(bench).get("topline", {}).get("heights", [])


def test_places_of_the_topline_by_hand(page, bench):
    first = job_of(bench).read_bytes()
    station(page, "Stiffener")
    add_place(page, "60", "65", "62.25")
    keep(page)
    eventually(lambda: len(heights(bench)) == 1)
    add_place(page, "20", "64,5", "64")
    keep(page)
    eventually(lambda: len(heights(bench)) == 2)
    # In order from the back, and to the last digit as typed, though kept twice.
    assert heights(bench) == [
        {"along": 20.0, "medial": 64.5, "lateral": 64.0},
        {"along": 60.0, "medial": 65.0, "lateral": 62.25},
    ]
    two = job_of(bench).read_bytes()
    page.get_by_role("button", name="Take place 1 away").click()
    keep(page)
    eventually(lambda: [row["along"] for row in heights(bench)] == [60.0])
    undo = page.get_by_role("button", name="Take back: Topline along the sides")
    undo.click()
    eventually(lambda: job_of(bench).read_bytes() == two)
    expect(page.locator(".heights")).to_have_count(2)
    undo.click()
    eventually(lambda: len(heights(bench)) == 1)
    undo.click()
    eventually(lambda: job_of(bench).read_bytes() == first)
    expect(page.locator(".heights")).to_have_count(0)
    page.get_by_role("button", name="Do again: Topline along the sides").click()
    eventually(lambda: len(heights(bench)) == 1)
    settled(page)


def test_places_are_typed_in_any_unit_and_wait(page, bench):
    station(page, "Stiffener")
    add_place(page, "6 cm", "2 1/2 in", "62,25 mm")
    # Not kept yet: another station, and even a new page, do not lose it.
    station(page, "Last")
    page.reload()
    settled(page)
    station(page, "Stiffener")
    expect(page.locator(".heights").get_by_label("inside")).to_have_value("2 1/2 in")
    keep(page)
    eventually(lambda: heights(bench) == [{"along": 60.0, "medial": 63.5, "lateral": 62.25}])
    expect(page.locator(".heights").get_by_label("forward of the seat")).to_have_value("60.0")
    first = job_of(bench).read_bytes()
    for text, why in [("1,250", "1.25 or 1250"), ("2 ft", "use mm, cm, m or in"), ("", "still empty")]:
        page.locator(".heights").get_by_label("inside").fill(text)
        keep(page)
        expect(page.get_by_text(why)).to_be_visible()
    page.get_by_role("button", name="Leave them as they were").click()
    expect(page.locator(".heights").get_by_label("inside")).to_have_value("63.5")
    assert job_of(bench).read_bytes() == first


def test_refused_places_stay_as_typed(page, bench):
    first = job_of(bench).read_bytes()
    station(page, "Stiffener")
    add_place(page, "60", "65", "62")
    add_place(page, "60", "64", "61")
    keep(page)
    expect(alert(page)).to_contain_text("Topline along the sides: ")
    expect(alert(page)).to_contain_text("each place may stand in one row only")
    expect(page.locator(".heights")).to_have_count(2)
    assert job_of(bench).read_bytes() == first
    page.locator(".heights").last.get_by_label("forward of the seat").fill("80")
    keep(page)
    eventually(lambda: [row["along"] for row in heights(bench)] == [60.0, 80.0])
    expect(alert(page)).to_have_text("")


def test_a_refused_number_is_told_and_not_lost(page, bench):
    first = job_of(bench).read_bytes()
    station(page, "Stiffener")
    back = field(page, "Back height")
    was = back.input_value()
    for text, why in [("abc", "type a number"), ("1,250", "1.25 or 1250"), ("900", "from 15 to 120 mm")]:
        back.fill(text)
        back.press("Enter")
        expect(back).to_have_accessible_description(re.compile(re.escape(why)))
        expect(back).to_have_attribute("aria-invalid", "true")
    station(page, "Last")
    station(page, "Stiffener")
    expect(back).to_have_value("900")
    page.reload()
    settled(page)
    expect(back).to_have_value("900")
    assert job_of(bench).read_bytes() == first
    back.press("Escape")
    expect(back).to_have_value(was)


def test_an_emptied_size_is_refused_in_words(page, bench):
    first = job_of(bench).read_bytes()
    station(page, "Last")
    size = field(page, "Size")
    size.fill("")
    size.press("Enter")
    expect(size).to_have_accessible_description(re.compile("EU 39"))
    expect(alert(page)).to_have_text("")
    assert job_of(bench).read_bytes() == first
    size.press("Escape")
    expect(size).to_have_value("EU 39")


def test_a_refusal_goes_when_something_is_kept(page, bench):
    station(page, "Stiffener")
    add_place(page, "60", "1", "1")
    keep(page)
    expect(alert(page)).to_contain_text("Topline along the sides: ")
    back = field(page, "Back height")
    back.fill("52")
    back.press("Enter")
    eventually(lambda: told(bench)["stiffener"].get("back_height") == 52.0)
    expect(alert(page)).to_have_text("")


def test_a_duplicate_goes_its_own_way(page, bench):
    first = job_of(bench).read_bytes()
    page.get_by_role("link", name=re.compile("to the shelf of jobs")).click()
    page.get_by_role("button", name="Duplicate Demo, invented").click()
    name = page.get_by_label("Name of the new job")
    name.fill("   ")
    name.press("Enter")
    expect(page.get_by_text("the new job has no name")).to_be_visible()
    name.fill("Half boot / 2")
    name.press("Enter")
    settled(page)
    expect(page.get_by_role("link", name="Half boot / 2: to the shelf of jobs")).to_be_visible()
    made = [folder.name for folder in bench.workshop.iterdir() if folder.is_dir()]
    made.remove("demo-job")
    assert len(made) == 1 and told(bench, made[0])["name"] == "Half boot / 2"
    back = field(page, "Back height")
    back.fill("51")
    back.press("Enter")
    eventually(lambda: told(bench, made[0])["stiffener"].get("back_height") == 51.0)
    assert job_of(bench).read_bytes() == first, "the first stays as it is"


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_the_seam_between_the_views(browser, still, size):
    page = opened(browser, still, size)
    seam = page.get_by_role("separator", name="Divide the room between last and flat piece")
    last = view(page, "The last")
    stacked = seam.get_attribute("aria-orientation") == "horizontal"
    side = "height" if stacked else "width"
    extent = lambda: last.bounding_box()[side]
    before, share = extent(), int(seam.get_attribute("aria-valuenow"))
    seam.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(seam).to_have_attribute("aria-valuenow", str(share + 10))
    eventually(lambda: extent() > before)
    page.keyboard.press("ArrowLeft")
    expect(seam).to_have_attribute("aria-valuenow", str(share + 5))
    before = extent()
    x, y = middle(seam)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(*((x, y - 60) if stacked else (x - 60, y)), steps=4)
    page.mouse.up()
    eventually(lambda: abs(before - extent() - 60) < 2)
    page.context.close()


def stroke(page, what, dx, dy):
    """A finger laid on `what` and drawn over the screen."""
    what.hover()
    x, y = middle(what)
    screen = page.context.new_cdp_session(page)

    def touch(kind, *points):
        told = [{"x": x, "y": y} for x, y in points]
        screen.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    touch("touchStart", (x, y))
    for part in range(1, 9):
        touch("touchMove", (x + dx * part / 8, y + dy * part / 8))
    touch("touchEnd")


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_drawn_with_a_finger(browser, bench, size):
    """Marks, points of the edge and the seam follow a finger, and the page does not scroll away."""
    page = opened(browser, bench, size, has_touch=True)
    station(page, "Marks")
    page.get_by_role("button", name="Look from: Outside").click()
    last, flat = view(page, "The last"), view(page, "The flat piece")
    ankle = last.get_by_role("button", name=re.compile("^Outside ankle"))
    ankle.hover()
    x, y = middle(ankle)
    stroke(page, ankle, 14, -6)
    eventually(lambda: "ankle_lateral" in told(bench).get("marks", {}))
    settled(page)
    assert middle(ankle) == pytest.approx((x + 14, y - 6), abs=3), "it stays under the finger"
    station(page, "Stiffener")
    stroke(page, flat.get_by_role("button", name=re.compile("^Back height")), 0, 15)
    eventually(lambda: told(bench)["stiffener"].get("back_height", 55) < 54)
    settled(page)
    seam = page.get_by_role("separator", name="Divide the room between last and flat piece")
    side, way = ("height", (0, 40)) if size[0] < size[1] else ("width", (40, 0))
    before = last.bounding_box()[side]
    stroke(page, seam, *way)
    eventually(lambda: abs(last.bounding_box()[side] - before - 40) < 2)
    assert page.evaluate("[scrollX, scrollY]") == [0, 0]
    page.context.close()
    assert not page.faults, page.faults


def tab_to(page, wanted):
    """Goes on by the tab key alone until `wanted` has the keys, once it is there."""
    expect(wanted).to_be_visible()
    for _ in range(150):
        if wanted.evaluate("one => one === document.activeElement"):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the tab key never comes to {wanted}")


def test_from_scan_to_paper_by_keyboard_alone(page, bench, tmp_path):
    scan = bench.workshop / "demo-job" / "last.stl"
    # Listening from here on: a key is faster than what begins to listen with it.
    page.on("filechooser", lambda chosen: None)
    tab_to(page, page.get_by_role("link", name=re.compile("to the shelf of jobs")))
    page.keyboard.press("Enter")
    pick = page.get_by_role("button", name="Pick a scan …")
    tab_to(page, pick)
    with page.expect_file_chooser() as chosen:
        page.keyboard.press("Enter")
    chosen.value.set_files(scan)
    name = page.get_by_label("Name of the job")
    tab_to(page, name)
    page.keyboard.press("Control+A")
    page.keyboard.type("By keys")
    page.keyboard.press("Tab")
    page.keyboard.type("EU 39")
    page.keyboard.press("Tab")
    page.keyboard.type("1 in")
    # Of radio buttons the tab key comes to the chosen one; the arrows choose.
    tab_to(page, page.get_by_role("group", name="Foot").or_(page.get_by_role("radiogroup", name="Foot")).get_by_role("radio").first)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    tab_to(page, page.get_by_role("button", name="Stand the last"))
    page.keyboard.press("Enter")
    settled(page)
    eventually(lambda: told(bench, "By-keys")["last"]["heel_height"] == 25.4)
    tab_to(page, page.get_by_role("link", name="Stiffener", exact=True))
    page.keyboard.press("Enter")
    tab_to(page, field(page, "Back height"))
    page.keyboard.type("51")
    page.keyboard.press("Enter")
    eventually(lambda: told(bench, "By-keys")["stiffener"].get("back_height") == 51.0)
    settled(page)
    page.keyboard.press("Shift+Tab")
    page.evaluate("document.activeElement.blur()")
    tab_to(page, page.get_by_role("link", name="Paper", exact=True))
    page.keyboard.press("Enter")
    paper = page.get_by_role("link", name="Download stiffener-a4.pdf")
    tab_to(page, paper)
    with page.expect_download() as caught:
        page.keyboard.press("Enter")
    kept = tmp_path / "kept.pdf"
    caught.value.save_as(kept)
    assert kept.read_bytes().startswith(b"%PDF-")


def test_the_form_names_what_it_refuses(still_page, still):
    page = still_page
    pick_scan(page, still.workshop / "demo-job" / "last.stl")
    page.get_by_label(re.compile("^Size")).fill("39")
    make = page.get_by_role("button", name="Stand the last")
    make.click()
    refused = page.get_by_role("alert")
    expect(refused).to_contain_text("Size: ")
    page.get_by_label(re.compile("^Size")).fill("EU 39")
    page.get_by_label(re.compile("^Heel height")).fill("abc")
    make.click()
    expect(refused).to_contain_text("Heel height: ")
    expect(page.get_by_label("Name of the job")).to_have_value("last")


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_no_barriers_to_a_finger(browser, still, size):
    page = opened(browser, still, size, has_touch=True)
    for name in ["Last", "Marks", "Stiffener", "Paper"]:
        station(page, name)
        if name == "Stiffener":
            add_place(page, "60", "65", "62")
        if name == "Paper":
            expect(page.get_by_role("link", name="Download stiffener.pdf")).to_be_visible()
        without_barriers(page)
    pick_scan(page, still.workshop / "demo-job" / "last.stl")
    without_barriers(page)
    page.get_by_role("button", name="Cancel").click()
    page.get_by_role("button", name="Duplicate Demo, invented").click()
    without_barriers(page)
    page.context.close()


def test_a_low_window_squeezes_nothing_away(browser, bench):
    page = opened(browser, bench, LOW)
    station(page, "Stiffener")
    for name in ["The last", "The flat piece"]:
        stage = view(page, name).get_by_role("application")
        assert stage.bounding_box()["height"] > 100, name
    back = field(page, "Back height")
    back.click()
    back.fill("51")
    back.press("Enter")
    eventually(lambda: told(bench)["stiffener"].get("back_height") == 51.0)
    page.context.close()


def test_a_very_long_name_stays_on_its_shelf(page):
    station(page, "Last")
    name = field(page, "Name of the job")
    name.fill("x" * 200)
    name.press("Enter")
    link = page.get_by_role("link", name=re.compile("^xxx.*to the shelf of jobs"))
    link.click()
    title = page.get_by_role("heading", name=re.compile("^xxx"))
    expect(title).to_be_visible()
    box = title.bounding_box()
    assert box["x"] + box["width"] <= page.viewport_size["width"]
    assert title.evaluate("one => one.scrollWidth <= one.clientWidth")
