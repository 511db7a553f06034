"""The trace that fits look at: bins that double in a long session, each at its time."""

from itertools import pairwise

import pytest

from benchmon.analysis.intake.trace import QUANTITIES, Trace


@pytest.mark.parametrize(("seconds", "bin_s"), [(300, 1.0), (20_100, 2.0), (90_000, 8.0)])
def test_every_bin_stands_at_its_time_however_often_bins_have_doubled(seconds, bin_s):
    trace = Trace(1.0)
    for t in range(seconds):  # what was read is the time itself, so a mean over a bin is the bin's middle
        trace.add(float(t), (float(t),) * len(QUANTITIES))
    assert trace.bin_s == bin_s
    course = trace.course("temp_c", 0.0, None, most=1_000_000)
    assert all(before < after for before, after in pairwise(course.times_s))
    assert course.times_s[-1] == pytest.approx(seconds, abs=2 * bin_s)
    assert all(abs(t_s - value) <= 1.0 for t_s, value in zip(course.times_s, course.values, strict=True))
