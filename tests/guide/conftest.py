"""One plan for each request, however many examples ask for it."""

import pytest

from tests.guide.example_folder import fill, plans_made_once


@pytest.fixture(scope="session")
def shared_plans():
    with plans_made_once():
        yield


@pytest.fixture(scope="session")
def folder(tmp_path_factory, shared_plans):
    """The folder in which the examples run, with the samples in it."""
    return fill(tmp_path_factory.mktemp("examples"))


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory, shared_plans):
    """The folder in which the first page's commands run, one after the other."""
    return tmp_path_factory.mktemp("empty")
