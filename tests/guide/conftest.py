"""One plan for each request, however many examples ask for it."""

import pytest

from tests.guide.example_folder import fill
from tests.shared_plans import plans_made_once


@pytest.fixture(scope="session")
def made():
    """Plans that the examples of any page have asked for."""
    return {}


@pytest.fixture(scope="module", autouse=True)
def shared_plans(made):
    """While the tests of one file run: other folders' tests in the same process want plans of their own."""
    with plans_made_once(made):
        yield


@pytest.fixture(scope="session")
def folder(tmp_path_factory, made):
    """The folder in which the examples run, with the samples in it."""
    with plans_made_once(made):
        return fill(tmp_path_factory.mktemp("examples"))


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory):
    """The folder in which the first page's commands run, one after the other."""
    return tmp_path_factory.mktemp("empty")
