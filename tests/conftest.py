"""Settings for all tests (the same examples every time, without limits on time), and one browser for all.

Compiled modules are kept, as any installation does: else every process that a test starts would compile the planner.
"""

import base64
import datetime as dt
import gc
import os
import sys
import threading
from functools import cache
from unittest.mock import patch

import pytest
from hypothesis import Phase, settings

from tests.app.conftest import CHROMIUM, CHROMIUM_ARGUMENTS

settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
)
settings.load_profile("steady")
sys.dont_write_bytecode = False
# Most of what tests make goes by itself; looking for the rest took half of the time of collecting them.
gc.set_threshold(20_000, 20, 20)
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
os.environ.pop("COLUMNS", None)  # the runner's own, which would make tables narrow
DOT = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg=="
)
"""The smallest picture: one black pixel, as PNG."""


@pytest.fixture(scope="session")
def chromium():
    """One for all folders: a process can drive no second one beside it."""
    if CHROMIUM is None:
        pytest.skip("no chromium is installed: the browser tests need Debian's package of that name")
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=CHROMIUM_ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="session", autouse=True)
def before_all_seasons():
    """The command line's clock stands before the seasons of all samples and tests, whenever these run."""
    with patch("planner.cli.progress.now_option.clock", lambda: dt.datetime(2026, 12, 1, 12, tzinfo=dt.UTC)):
        yield


@pytest.fixture(scope="session", autouse=True)
def components_looked_for_once():
    """The framework looks through all that is installed each time a page is opened in a test; once is enough."""
    from streamlit.components.v2 import manifest_scanner as scanner

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(scanner, "scan_component_manifests", cache(scanner.scan_component_manifests))
        yield


@pytest.fixture(scope="session", autouse=True)
def pages_waited_for_by_their_thread():
    """The framework asks a thousand times a second whether a page's script has ended; its thread's end tells it."""
    from streamlit.testing.v1 import local_script_runner as running

    ask = running.require_widgets_deltas

    def wait(runner, timeout):
        runner._script_thread.join(timeout)
        ask(runner, 0 if runner._script_thread.is_alive() else timeout)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(running, "require_widgets_deltas", wait)
        yield


@pytest.fixture(autouse=True)
def nothing_goes_on_behind():
    """What pages have begun behind, for somebody who looks at them, is given up with the test."""
    yield
    if making := sys.modules.get("planner.session.making"):
        for thread in threading.enumerate():
            if isinstance(thread, making.Work):
                thread.give_up()


@pytest.fixture(scope="module")
def made_once():
    """One plan, one survey and one timetable for each request, however many tests of a file ask for it."""
    from tests.shared_plans import plans_made_once

    with plans_made_once():
        yield


def pytest_collection_finish():
    """What has been loaded stays till the end: no search for what can be let go need look at it again."""
    gc.collect()
    gc.freeze()


@pytest.fixture
def no_year_drawn(monkeypatch):
    """A dot stands for the picture of the year, where a test is about what stands around it."""
    from planner.draw.pictures import year_picture

    monkeypatch.setattr(year_picture, "year_png", lambda nights, progress=None, **_: DOT)
