"""Settings for all tests (the same examples every time, without limits on time), and one browser for all."""

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
