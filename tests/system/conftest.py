"""Tests that record or load this machine run one at a time: they measure time and load all cores.

Those with a group of their own (terminals, bad input, campaigns) go one after another too, but beside the others. All of
them wait for most of their time, so there is one test process more than the two cores that are asked for.
"""

import pytest


@pytest.hookimpl(tryfirst=True)  # before pytest-xdist looks for groups
def pytest_collection_modifyitems(items):
    for item in items:
        if item.get_closest_marker("system") is not None and item.get_closest_marker("xdist_group") is None:
            item.add_marker(pytest.mark.xdist_group("machine"))
