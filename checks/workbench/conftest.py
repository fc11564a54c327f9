"""A workbench for each check, and a browser for all."""

import shutil

import pytest
from playwright.sync_api import sync_playwright

from chromium import CHROMIUM
from serving import Bench


@pytest.fixture(scope="session")
def workshop(tmp_path_factory):
    """A workshop in which the program has made the demo; to be copied, not worked in."""
    folder = tmp_path_factory.mktemp("made") / "workshop"
    Bench(folder).kill()
    return folder


@pytest.fixture
def bench(tmp_path, workshop):
    """A workbench on a workshop that holds the demo."""
    shutil.copytree(workshop, tmp_path / "workshop")
    started = Bench(tmp_path / "workshop")
    yield started
    started.kill()


@pytest.fixture(scope="session")
def still(tmp_path_factory, workshop):
    """One workbench for all that only look at the demo: what it worked out stays worked out."""
    folder = tmp_path_factory.mktemp("still") / "workshop"
    shutil.copytree(workshop, folder)
    started = Bench(folder)
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
