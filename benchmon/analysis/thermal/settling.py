"""Whether something had settled, by criteria that are published."""

from __future__ import annotations

from benchmon.analysis.fit.straight_line import RunningLine
from benchmon.analysis.intake.trace import Course
from benchmon.analysis.thermal.criteria import Criterion
from benchmon.model.findings import Settling

_LEAST_BINS = 8


def judge(course: Course, start_s: float, criterion: Criterion) -> Settling:
    """Whether a course had settled at its end, and since when.

    The change within a window is that of the straight line through its readings: a sensor that steps by 1 °C does not
    fail the criterion by flickering, nor pass it by standing still on one step for a moment.

    Args:
        course: means over equal bins.
        start_s: when the phase began [s].
        criterion: how much change is allowed within how much time.
    """
    words = criterion.words
    if len(course) < _LEAST_BINS:
        return Settling(None, None, None, words, "there are too few readings in this phase")
    line = RunningLine(course.times_s, course.values)
    count = len(course)
    lasted_s = course.times_s[-1] - start_s
    half_bin_s = (course.times_s[-1] - course.times_s[0]) / (count - 1) / 2
    if lasted_s + 2 * half_bin_s < criterion.window_s:
        late = line.slope(count // 2, count) * criterion.window_s
        seen = abs(late) * (lasted_s / 2) / criterion.window_s
        if seen > criterion.change:
            return Settling(False, None, late, words, window_s=criterion.window_s)
        why = f"the phase lasted {lasted_s / 60:.1f} min, the criterion looks at {criterion.window_s / 60:g} min"
        return Settling(None, None, late, words, why, criterion.window_s)
    first = 0
    settled_at: float | None = None
    change = 0.0
    for last in range(count):
        end_s = course.times_s[last]
        if end_s + 2 * half_bin_s - start_s < criterion.window_s:
            continue
        while course.times_s[first] < end_s - criterion.window_s:
            first += 1
        if last + 1 - first < 3:
            continue
        change = line.slope(first, last + 1) * criterion.window_s
        if abs(change) > criterion.change:
            settled_at = None
        elif settled_at is None:
            settled_at = end_s
    return Settling(settled_at is not None, settled_at, change, words, window_s=criterion.window_s)
