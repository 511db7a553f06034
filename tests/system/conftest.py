"""Tests that start whole processes run one at a time: they measure time, load all cores and own terminals."""

import pytest


def pytest_collection_modifyitems(items):
    for item in items:
        # Those with a group of their own neither start a recorder nor look for one, so they need not wait for the rest.
        if item.get_closest_marker("system") is not None and item.get_closest_marker("xdist_group") is None:
            item.add_marker(pytest.mark.xdist_group("machine"))
