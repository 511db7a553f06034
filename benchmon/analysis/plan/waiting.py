"""How long until the present phase settles, from how its temperature has slowed down so far."""

from __future__ import annotations

from math import exp, log

from benchmon.analysis.fit.straight_line import RunningLine
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.thermal.criteria import temperature_criterion
from benchmon.model import keys

_LEAST_S = 45.0
_LONGEST_TAU_S, _SHORTEST_TAU_S = 3600.0, 10.0


def settles_at_s(notebook: Notebook, began_s: float) -> float | None:
    """When the criterion of settling is expected to hold [s]; None if that cannot be said yet.

    The temperature is taken to go on as one exponential; its time constant follows from how much slower it moves in the
    second half of the last stretch than in the first. A rough figure for people who wait: nothing is decided by it.
    """
    now_s = notebook.now_s
    stretch_s = min(now_s - began_s, 300.0)
    if stretch_s < _LEAST_S:
        return None
    course = notebook.trace.course("temp_c", now_s - 0.8 * stretch_s, now_s)
    if len(course) < 12:
        return None
    criterion = temperature_criterion("iec62368", course.values[-1], notebook.number(keys.TEMP_LIMIT))
    line, half = RunningLine(course.times_s, course.values), len(course) // 2
    early, late = line.slope(0, half), line.slope(half, len(course))
    half_s = 0.4 * stretch_s
    earliest_s = began_s + criterion.window_s
    if abs(late) * criterion.window_s <= criterion.change:
        return max(earliest_s, now_s)
    if early * late <= 0.0 or abs(late) >= abs(early):
        return None
    tau_s = min(max(half_s / log(early / late), _SHORTEST_TAU_S), _LONGEST_TAU_S)
    # Mean slope over the window that begins now, if it goes on like this; it falls by e in each time constant.
    window = criterion.window_s / tau_s
    change = abs(late) * exp(-0.2 * stretch_s / tau_s) * tau_s * (1.0 - exp(-window))
    return max(earliest_s, now_s + criterion.window_s + tau_s * log(max(change / criterion.change, 1e-3)))
