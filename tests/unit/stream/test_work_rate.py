"""Units a second, and nothing where nothing is counted."""

import pytest

from benchmon.stream.work_rate import WorkRate


class Counting:
    def __init__(self):
        self.count = 0
        self.time_s = None
        self.busy_cores = 2
        self.duty = 1.0
        self.words = "counting"

    def work_count(self):
        return self.count

    def work_time_s(self):
        return self.time_s


def test_rate_between_samples():
    load = Counting()
    load.count = 30
    rate = WorkRate(lambda: load)
    assert rate.read(10.0) == (None, None)
    load.count = 180
    assert rate.read(10.5) == (pytest.approx(300.0), None)
    assert rate.read(11.0) == (0.0, None)


def test_another_load_starts_anew():
    loads = [Counting()]
    loads[0].count = 1000
    rate = WorkRate(lambda: loads[0])
    rate.read(0.0)
    loads[0] = Counting()
    assert rate.read(1.0) == (None, None)


def test_no_load_no_rate():
    rate = WorkRate(lambda: None)
    assert rate.read(0.0) == (None, None)
    assert rate.why_not() == ("", "")


def test_the_share_is_of_the_time_all_busy_cores_had():
    load = Counting()
    load.count, load.time_s = 10, 5.0
    rate = WorkRate(lambda: load)
    rate.read(10.0)
    load.count, load.time_s = 100, 5.9
    assert rate.read(10.5) == (pytest.approx(180.0), pytest.approx(90.0))


def test_the_share_is_of_the_time_they_meant_to_work():
    load = Counting()
    load.count, load.time_s, load.duty = 10, 5.0, 0.5
    rate = WorkRate(lambda: load)
    rate.read(10.0)
    load.count, load.time_s = 100, 5.45
    assert rate.read(10.5) == (pytest.approx(180.0), pytest.approx(90.0))


def test_units_of_other_work_are_not_mixed_with_those_before():
    load = Counting()
    load.count = 10
    rate = WorkRate(lambda: load)
    rate.read(0.0)
    load.count, load.words = 5000, "other work"
    assert rate.read(1.0) == (None, None)
    load.count = 5100
    assert rate.read(2.0)[0] == pytest.approx(100.0)


def test_workers_that_get_ready_have_no_rate_yet():
    """Loading numpy takes a moment; a 0 would stand in the mean of the phase, and look like a stop."""
    load = Counting()
    rate = WorkRate(lambda: load)
    assert rate.read(0.0) == rate.read(0.1) == (None, None)
    load.count = 10  # in a part of this sample only
    assert rate.read(0.2) == (None, None)
    load.count = 110
    assert rate.read(0.3)[0] == pytest.approx(1000.0)
