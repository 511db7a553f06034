"""The two runs of bench practice say what they are meant to say (common practice, no source)."""

from statistics import mean

import pytest

from benchmon.model import keys
from tests.support.practice_traces import (
    ALL_CORES_S,
    IDLE_S,
    ONE_CORE_S,
    ROOM_C,
    cool_enough,
    too_hot,
    too_hot_since_s,
)


def means(rows, start_s, end_s):
    part = [values for t_s, values in rows if start_s <= t_s < end_s]
    return [mean(values[key] for values in part) for key in (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP)]


def test_the_cool_one():
    rows, one_core_ends = list(cool_enough()), IDLE_S + ONE_CORE_S
    assert means(rows, one_core_ends - 60, one_core_ends) == pytest.approx([2900.0, 10.0, 60.0], rel=0.01)
    end = one_core_ends + ALL_CORES_S
    assert means(rows, end - 60, end) == pytest.approx([2900.0, 15.0, 71.0], rel=0.01)
    # (71 - 24) K / 15 W, by hand
    assert (71.0 - ROOM_C) / 15.0 == pytest.approx(3.13, abs=0.01)


def test_the_hot_one():
    rows, since_s = list(too_hot()), too_hot_since_s()
    assert means(rows, IDLE_S + 5, since_s - 5)[:2] == pytest.approx([2400.0, 35.0], rel=0.01)
    assert means(rows, since_s + 30, IDLE_S + ALL_CORES_S) == pytest.approx([1400.0, 22.0, 73.0], rel=0.01)


def test_the_same_seed_is_the_same_trace():
    assert list(too_hot(3)) == list(too_hot(3)) != list(too_hot(4))
