"""The units of built-in work do what they are named for, and are short enough to count finely."""

import math
import time

import pytest

from benchmon.loads.work import WORK
from benchmon.stream.options import WORK_KINDS


def test_options_and_work_name_the_same_kinds():
    assert set(WORK_KINDS) == set(WORK)


@pytest.mark.parametrize("kind", sorted(WORK))
def test_a_unit_is_short_and_of_one_size(kind):
    unit = WORK[kind]()
    unit()
    took_s = []
    for _ in range(15):
        before_s = time.thread_time()
        unit()
        took_s.append(time.thread_time() - before_s)
    assert 0.0003 < sorted(took_s)[7] < 0.02


def test_matrix_work_is_what_it_says(monkeypatch):
    """Every ordered pair of 40 points in 256 dimensions, 1600 distances."""
    asked = []
    monkeypatch.setattr(math, "dist", lambda a, b: asked.append((len(a), len(b))))
    WORK["matrix"]()()
    assert asked == [(256, 256)] * 1600
