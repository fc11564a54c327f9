"""A tablet at the bench: switched on in the page, paired by its code, worked with, cut off.

The tablet is a second browser context, which comes by the address that the page shows. Where this
machine is in no network, that address leads to the same door by the machine's own number.
"""

import json
import re
import socket
import urllib.error
import urllib.request

import pytest
from playwright.sync_api import Error, expect
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from test_page import TOUCH, eventually, settled, without_barriers

TITLE = "A tablet at the bench"

# A tablet lying, and standing.
LYING = {"width": 1280, "height": 800}
STANDING = {"width": 800, "height": 1280}


@pytest.fixture
def page(browser, bench):
    """A window at the bench, without a fault on its console."""
    context = browser.new_context(viewport={"width": 1366, "height": 768}, locale="en-GB")
    page = context.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.goto(bench.address)
    settled(page)
    yield page
    context.close()
    assert not faults, faults


@pytest.fixture
def tablet(browser):
    """A page on a tablet."""
    context = browser.new_context(viewport=LYING, has_touch=True, locale="en-GB")
    yield context.new_page()
    context.close()


def button_of(page):
    return page.get_by_role("button", name=re.compile(f"^{TITLE}"))


def panel_of(page):
    return page.get_by_role("dialog", name=TITLE)


def shown(panel, name):
    """What the panel shows under a name, without its spaces."""
    term = panel.get_by_role("term").filter(has_text=name)
    return re.sub(r"\s", "", term.locator("+ dd").inner_text())


def switched_on(page):
    """Switches on by the panel: the panel, and the address and the code that it shows."""
    button_of(page).click()
    panel = panel_of(page)
    expect(panel.get_by_role("switch")).not_to_be_checked()
    panel.get_by_role("switch").click()
    expect(panel.get_by_role("switch")).to_be_checked()
    address, code = shown(panel, "Open on the tablet"), shown(panel, "Code to enter there")
    assert re.fullmatch(r"http://[0-9.]+:[0-9]+", address), address
    assert re.fullmatch("[0-9]{6}", code), code
    return panel, address, code


def pair(tablet, address, code):
    tablet.goto(address)
    tablet.get_by_label("Code").fill(f"{code[:3]} {code[3:]}")
    tablet.get_by_role("button", name="Pair").tap()


def test_a_tablet_is_paired_works_and_is_cut_off(page, tablet, bench):
    panel, address, code = switched_on(page)
    expect(panel).to_contain_text("No device is paired yet.")
    expect(button_of(page)).to_contain_text("Network open")
    # Without the code it is shown nothing, with a wrong one neither.
    with pytest.raises(urllib.error.HTTPError, match="401"):
        urllib.request.urlopen(address + "/api/jobs")
    wrong = "000000" if code != "000000" else "000001"
    pair(tablet, address, wrong)
    expect(tablet.get_by_role("alert")).to_have_text(re.compile("not the code"))
    without_barriers(tablet)
    # Back at the page that asks, and now with the right one.
    pair(tablet, address, code)
    expect(tablet.get_by_role("link", name=re.compile("Demo, invented"))).to_be_visible()
    settled(tablet)
    expect(panel).to_contain_text("1 device is paired.")
    expect(panel).to_contain_text("used up")
    # A tablet switches nothing.
    expect(button_of(tablet)).to_have_count(0)
    # A number changed there arrives here.
    tablet.get_by_role("link", name="Stiffener").tap()
    page.get_by_role("link", name="Stiffener").click()
    field = tablet.get_by_role("textbox", name="Back height")
    field.fill("50")
    field.press("Enter")
    settled(tablet)
    expect(page.get_by_role("textbox", name="Back height")).to_have_value(re.compile("^50"))
    job = bench.workshop / "demo-job" / "job.toml"
    eventually(lambda: "back_height = 50" in job.read_text())
    # Switched off, its open page is told that it is cut off, and it gets nothing any more.
    button_of(page).click()
    panel.get_by_role("button", name="Switch off").click()
    expect(panel.get_by_role("switch")).not_to_be_checked()
    expect(panel.get_by_role("switch")).to_be_focused()
    expect(button_of(page)).not_to_contain_text("Network open")
    expect(tablet.get_by_role("alert").filter(has_text="cut off")).to_be_visible()
    with pytest.raises(Error, match="ERR_CONNECTION_REFUSED"):
        tablet.reload()
    # Switched on again it must pair anew, at the same address.
    panel.get_by_role("switch").click()
    expect(panel.get_by_role("switch")).to_be_checked()
    assert shown(panel, "Open on the tablet") == address
    tablet.goto(address)
    expect(tablet.get_by_role("heading", name="Pair this device")).to_be_visible()


def test_of_handles_that_lie_close_the_finger_takes_the_nearest(tablet, bench):
    tablet.goto(bench.address)
    settled(tablet)
    flat = tablet.get_by_role("region", name="The flat piece")
    # Waits until the picture has come to rest.
    flat.get_by_role("button", name=re.compile("^Back height")).hover()
    ends = re.compile("^(Inside|Outside) wing(,| ends)")
    pins = flat.get_by_role("button", name=ends).all()
    places = [(pin, pin.bounding_box()) for pin in pins]
    middle = [(pin, box["x"] + box["width"] / 2, box["y"] + box["height"] / 2) for pin, box in places]
    covered = 0
    for pin, x, y in middle:
        for other, x2, y2 in middle:
            far = ((x2 - x) ** 2 + (y2 - y) ** 2) ** 0.5
            # A place nearer to this pin that lies within the other's fingertip, too.
            if other is pin or 0.6 * far > TOUCH / 2 - 1:
                continue
            covered += 1
            tablet.touchscreen.tap(x + 0.4 * (x2 - x), y + 0.4 * (y2 - y))
            expect(pin).to_be_focused()
    assert covered == 4, "two at each end of the piece lie so close"


def test_an_open_line_ends_and_the_next_request_is_refused(bench):
    told = bench.post("/api/tablet", {"on": True})
    address = told["address"]
    place = address.removeprefix("http://")
    entered = urllib.request.Request(
        f"{address}/pair", f"code={told['code']}".encode(), {"Origin": address}
    )

    class Stay(urllib.request.HTTPRedirectHandler):
        def redirect_request(self, *_):
            return None

    with pytest.raises(urllib.error.HTTPError, match="303") as led:
        urllib.request.build_opener(Stay).open(entered)
    cookie = {"Cookie": led.value.headers["Set-Cookie"].split(";")[0]}
    jobs = urllib.request.Request(f"{address}/api/jobs", headers=cookie)
    assert json.loads(urllib.request.urlopen(jobs).read())["jobs"][0]["job"] == "demo-job"
    line = f"ws://{place}/api/jobs/demo-job/live"
    with (
        connect(line, additional_headers=cookie, origin=address, max_size=None) as window,
        bench.window("demo-job") as own,
    ):
        assert json.loads(window.recv(timeout=60))["tell"] == "state"
        own.settled()
        assert bench.post("/api/tablet", {"on": False})["on"] is False
        with pytest.raises(ConnectionClosed):
            while True:
                window.recv(timeout=60)
        with pytest.raises(urllib.error.URLError, match="refused"):
            urllib.request.urlopen(jobs)
        # The window at the bench goes on.
        assert own.set("stiffener.margin", 12)["tell"] == "done"
    # On again at the same place, the device is forgotten.
    assert bench.post("/api/tablet", {"on": True})["address"] == address
    with pytest.raises(urllib.error.HTTPError, match="401"):
        urllib.request.urlopen(jobs)


def test_a_stranger_holds_no_line(bench):
    """One that says nothing, one that never ends its request, one that never ends its code."""
    told = bench.post("/api/tablet", {"on": True})
    host = told["address"].removeprefix("http://")
    name, port = host.split(":")
    begun = f"POST /pair HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
    lines = []
    for sent in ["", begun, begun + "Content-Length: 11\r\n\r\ncode="]:
        line = socket.create_connection((name, int(port)), timeout=120)
        line.sendall(sent.encode())
        lines.append(line)
    for line in lines:
        # Ends, with or without an answer; a line that is held open ends the wait instead.
        while line.recv(4096):
            pass
        line.close()


def test_the_panel_by_keyboard_and_without_chatter(page):
    button = button_of(page)
    button.focus()
    page.keyboard.press("Enter")
    panel = panel_of(page)
    toggle = panel.get_by_role("switch")
    expect(toggle).to_be_focused()
    expect(panel.get_by_role("definition")).to_have_count(0)
    without_barriers(page)
    page.keyboard.press("Space")
    expect(toggle).to_be_checked()
    without_barriers(page)
    # The code is counted down for the eye alone.
    timer = panel.get_by_role("timer")
    before = timer.inner_text()
    page.evaluate(
        """() => {
            window.chatter = [];
            const watch = new MutationObserver(all => window.chatter.push(...all.map(m => m.target.textContent)));
            for (const live of document.querySelectorAll("[popover] :is([role=status], [role=alert], [aria-live])"))
                watch.observe(live, { subtree: true, childList: true, characterData: true });
        }"""
    )
    expect(timer).not_to_have_text(before)
    expect(timer).not_to_have_text(timer.inner_text())
    assert page.evaluate("window.chatter") == []
    code = shown(panel, "Code to enter there")
    panel.get_by_role("button", name="New code").press("Enter")
    eventually(lambda: shown(panel, "Code to enter there") != code)
    page.keyboard.press("Escape")
    expect(panel).to_be_hidden()
    expect(button).to_be_focused()
    # Closed, it still is on, and says so; on the shelf too.
    expect(button).to_contain_text("Network open")
    page.get_by_role("link", name=re.compile("to the shelf")).click()
    expect(button_of(page)).to_contain_text("Network open")
    without_barriers(page)
    # It asks while it is open, and not when it is shut.
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.wait_for_timeout(2500)
    assert not [url for url in asked if url.endswith("/api/tablet")]


@pytest.mark.parametrize("viewport", [LYING, STANDING])
def test_the_panel_fits_where_it_opens(page, viewport):
    page.set_viewport_size(viewport)
    panel, _, _ = switched_on(page)
    box = panel.bounding_box()
    assert box["x"] >= 0 and box["x"] + box["width"] <= viewport["width"], box
    assert box["y"] >= 0 and box["y"] + box["height"] <= viewport["height"], box
    # Nothing of it has to be scrolled to, and the code can be read from afar: 15 mm high.
    assert panel.evaluate("all => all.scrollHeight <= all.clientHeight + 1")
    sizes = panel.get_by_role("definition").evaluate_all(
        "all => all.map(one => parseFloat(getComputedStyle(one).fontSize))"
    )
    assert sizes[0] >= 36 and sizes[1] >= 57, sizes
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Deutsch").click()
    page.get_by_role("button", name=re.compile("^Ein Tablet an der Werkbank")).click()
    panel = page.get_by_role("dialog", name="Ein Tablet an der Werkbank")
    expect(panel.get_by_role("timer")).to_be_visible()
    assert panel.evaluate("all => all.scrollHeight <= all.clientHeight + 1")


def test_the_pairing_page_speaks_the_language_of_the_tablet(page, browser):
    _, address, _ = switched_on(page)
    context = browser.new_context(viewport=STANDING, has_touch=True, locale="de-AT")
    tablet = context.new_page()
    tablet.goto(address)
    expect(tablet.get_by_role("heading", name="Dieses Gerät anmelden")).to_be_visible()
    assert tablet.evaluate("document.documentElement.lang") == "de"
    without_barriers(tablet)
    tablet.get_by_label("Code").fill("12345")
    tablet.get_by_role("button", name="Anmelden").tap()
    expect(tablet.get_by_role("alert")).to_have_text("Ein Code hat sechs Ziffern.")
    context.close()


def test_what_the_program_finds_wrong_is_told(page):
    """States that this machine cannot be brought into: the program's answer is put in its place."""
    told = {
        "on": True,
        "address": "http://127.0.0.1:4711",
        "network": False,
        "code": None,
        "spent": "old",
        "seconds": 0,
        "paired": 0,
    }
    page.route("**/api/tablet", lambda route: route.fulfill(json=told))
    button_of(page).click()
    panel = panel_of(page)
    expect(panel.get_by_role("alert")).to_contain_text("No network was found")
    expect(panel.get_by_role("status")).to_contain_text("too old")
    expect(panel.get_by_role("timer")).to_have_count(0)
    told["spent"] = "wrong"
    expect(panel.get_by_role("status")).to_contain_text("Five wrong codes")
    without_barriers(page)
    told |= {"on": False, "address": None, "spent": None}
    expect(panel.get_by_role("switch")).not_to_be_checked()


def test_why_it_cannot_be_switched_on_is_told(tablet, bench):
    """A machine that forbids listening: its answer is put in place of this one's."""
    tablet.goto(bench.address)
    settled(tablet)
    button_of(tablet).click()
    panel = panel_of(tablet)
    expect(panel.get_by_role("switch")).not_to_be_checked()
    trouble = {"message": "this machine does not let it answer", "hint": "let it through there"}

    def refuse(route):
        if route.request.method == "POST":
            route.fulfill(status=500, json=trouble)
        else:
            route.continue_()

    tablet.route("**/api/tablet", refuse)
    panel.get_by_role("switch").click()
    for said in trouble.values():
        expect(panel.get_by_role("alert")).to_contain_text(said)
    expect(panel.get_by_role("switch")).not_to_be_checked()
    # It stays to be read while the panel goes on asking.
    tablet.wait_for_timeout(2500)
    expect(panel.get_by_role("alert")).to_contain_text(trouble["hint"])
