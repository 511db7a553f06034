"""Tests that start whole processes run one at a time: they measure time, load all cores and own terminals."""

import pytest


def pytest_collection_modifyitems(items):
    for item in items:
        if item.get_closest_marker("system") is not None:
            item.add_marker(pytest.mark.xdist_group("machine"))
