"""A workbench for each check, and a browser for all."""

import shutil

import pytest
from playwright.sync_api import sync_playwright

from serving import Bench


@pytest.fixture
def bench(tmp_path):
    """A workbench on a workshop that holds the demo."""
    started = Bench(tmp_path / "workshop")
    yield started
    started.kill()


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium, drawing in software, so that it needs no graphics card."""
    program = shutil.which("chromium")
    assert program, "install Chromium: apt-get install chromium"
    words = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader"]
    words += ["--enable-unsafe-swiftshader"]
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=words)
        yield browser
        browser.close()
