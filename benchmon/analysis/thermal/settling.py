"""Whether something had settled, by criteria that are published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.analysis.fit.straight_line import RunningLine
from benchmon.analysis.intake.trace import Course
from benchmon.errors import UsageError
from benchmon.model.findings import Settling

STEADY_SHARE = 0.05
STEADY_S = 300.0
_LEAST_BINS = 8


@dataclass(frozen=True, slots=True)
class Criterion:
    """At most so much change within so much time."""

    change: float
    """In the quantity's unit."""
    window_s: float
    source: str
    unit: str = "K"

    @property
    def words(self) -> str:
        """``at most 3 K in 30 min (IEC 62368-1 B.1.6)``."""
        return f"at most {self.change:g} {self.unit} in {self.window_s / 60:g} min ({self.source})"


CRITERIA: Mapping[str, Criterion] = {
    "iec62368": Criterion(3.0, 1800.0, "IEC 62368-1 B.1.6"),
    "iec60034": Criterion(2.0, 3600.0, "IEC 60034-1"),
    "iec61010": Criterion(2.0, 3600.0, "IEC 61010-1, decision 23"),
    "iec61810": Criterion(1.0, 600.0, "IEC 61810-7"),
    "iec62282": Criterion(3.0, 900.0, "IEC 62282-2"),
    "iec60335": Criterion(1.0, 900.0, "IEC 60335-2-6"),
    "iec60598": Criterion(1.0, 3600.0, "IEC 60598"),
}
"""Name → criterion. The first is the default; well below the limit it has a second form."""
_BELOW_LIMIT = Criterion(1.0, 300.0, "IEC 62368-1 B.1.6")
_BELOW_SHARE = 0.9
SHORTEST_WINDOW_S = min(one.window_s for one in (_BELOW_LIMIT, *CRITERIA.values()))
"""No phase that is shorter has settled by any criterion [s]."""


def temperature_criterion(name: str, highest_c: float, limit_c: float | None) -> Criterion:
    """The criterion by name, in the form that fits.

    IEC 62368-1 lets 1 K in 5 min do where the temperature stays at least 10 % below its limit. That form is taken also
    where no limit is known: there is none to come near to.

    Raises:
        UsageError: if there is no criterion of that name.
    """
    if name == "iec62368" and (limit_c is None or highest_c <= _BELOW_SHARE * limit_c):
        return _BELOW_LIMIT
    if name not in CRITERIA:
        raise UsageError(f"there is no settling criterion called {name!r}", f"Choose one of {', '.join(CRITERIA)}.")
    return CRITERIA[name]


def steadiness_criterion(mean: float, unit: str) -> Criterion:
    """For power: less than 5 % of the mean within 5 min (IEC 62301); for a clock the same, by analogy."""
    return Criterion(round(STEADY_SHARE * mean, 3), STEADY_S, "5 %, IEC 62301", unit)


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
