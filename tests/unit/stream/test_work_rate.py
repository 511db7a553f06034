"""Units a second, and nothing where nothing is counted."""

import pytest

from benchmon.stream.work_rate import WorkRate


class Counting:
    def __init__(self):
        self.count = 0

    def work_count(self):
        return self.count


def test_rate_between_samples():
    load = Counting()
    rate = WorkRate(lambda: load)
    assert rate.read(10.0) == (None,)
    load.count = 150
    assert rate.read(10.5) == (pytest.approx(300.0),)
    assert rate.read(11.0) == (0.0,)


def test_another_load_starts_anew():
    loads = [Counting()]
    loads[0].count = 1000
    rate = WorkRate(lambda: loads[0])
    rate.read(0.0)
    loads[0] = Counting()
    assert rate.read(1.0) == (None,)


def test_no_load_no_rate():
    rate = WorkRate(lambda: None)
    assert rate.read(0.0) == (None,)
    assert rate.why_not() == ("",)
