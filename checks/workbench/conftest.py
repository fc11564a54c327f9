"""A workbench for each check, and a browser for all."""

import pytest
from playwright.sync_api import sync_playwright

from chromium import CHROMIUM
from serving import Bench


@pytest.fixture
def bench(tmp_path):
    """A workbench on a workshop that holds the demo."""
    started = Bench(tmp_path / "workshop")
    yield started
    started.kill()


@pytest.fixture(scope="session")
def browser():
    """Debian's Chromium."""
    assert CHROMIUM["executable_path"], "install Chromium: apt-get install chromium"
    with sync_playwright() as play:
        browser = play.chromium.launch(**CHROMIUM)
        yield browser
        browser.close()
