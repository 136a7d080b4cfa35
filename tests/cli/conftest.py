"""One plan for each request, however many runs of a verb ask for it."""

import pytest

from tests.shared_plans import MADE, plans_made_once


@pytest.fixture(scope="module", autouse=True)
def shared_plans(request):
    """Files whose subject is the making of plans say `PLANS_ANEW = True`: there every run makes its own."""
    if getattr(request.module, "PLANS_ANEW", False):
        yield
        return
    with plans_made_once(MADE):
        yield
