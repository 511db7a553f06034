"""What really happened, from the limiters themselves: one convention for every bench of these folders.

* Limited means: while there is load, a limiter holds the effective clock more than 3 % down, at once and on the mean
  of five seconds. The one that holds it lowest is the cause.
* Another cause for less than 3 s within a stretch of one cause does not divide it.
* Recoveries shorter than 20 s under load belong to the event; a pause of the load of more than 5 s ends it.
* What was limited for less than 3 s in all is no event.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from benchmon.model.events import Cause
from tests.benchmarks.matching import Span

STEP_S = 0.1
"""Step of every simulation that is judged here [s]."""
LEAST_LOST = 0.03
"""Limited means: more than this share of the effective clock is lost against nothing in the way."""
MEAN_STEPS = round(5.0 / STEP_S)
SHORT_OTHER_STEPS = round(3.0 / STEP_S)
AROUND_OTHER_STEPS = round(5.0 / STEP_S)
RECOVERY_STEPS = round(20.0 / STEP_S)
PAUSE_STEPS = round(5.0 / STEP_S)
LEAST_STEPS = round(3.0 / STEP_S)
SETTLING_STEPS = round(10.0 / STEP_S)
"""The plateau is the median of what follows."""


class Course(Protocol):
    """What really was, one value a step."""

    die_c: NDArray[np.float64]
    got_share: NDArray[np.float64]
    """Effective clock as a share of the clock with nothing in the way."""
    is_loaded: NDArray[np.bool_]
    held_by: list[Cause | None]
    """What holds the clock lowest, where it is limited at all."""


@dataclass
class _Stretch:
    cause: Cause
    start: int
    """First step ..."""
    end: int
    """... and the one after the last."""
    limited: int = 0
    """Steps in which it really was limited."""


def true_spans(course: Course) -> list[Span]:
    """True events in order; one that lasts to the end of the run ends with it."""
    events = _joined(_without_flicker(_stretches(course)), course.is_loaded)
    return [_span(event, course) for event in events if event.limited >= LEAST_STEPS]


def _span(event: _Stretch, course: Course) -> Span:
    settled = min(event.end - 1, event.start + SETTLING_STEPS)
    plateau_c = float(np.median(course.die_c[settled : event.end]))
    return Span(event.start * STEP_S, event.end * STEP_S, event.cause.value, plateau_c)


def _stretches(course: Course) -> list[_Stretch]:
    is_held = np.array([cause is not None for cause in course.held_by])
    lost = np.where(is_held, 1.0 - course.got_share, 0.0)
    is_down = np.convolve(lost, np.ones(MEAN_STEPS) / MEAN_STEPS, "same") > LEAST_LOST
    stretches: list[_Stretch] = []
    for number, held_by in enumerate(course.held_by):
        if held_by is None or not is_down[number]:
            continue
        if stretches and stretches[-1].cause is held_by and stretches[-1].end == number:
            stretches[-1].end += 1
        else:
            stretches.append(_Stretch(held_by, number, number + 1))
    return stretches


def _without_flicker(stretches: list[_Stretch]) -> list[_Stretch]:
    kept = list(stretches)
    middle = 1
    while middle < len(kept) - 1:
        before, other, after = kept[middle - 1 : middle + 2]
        is_between = before.cause is after.cause is not other.cause
        is_short = other.end - other.start < SHORT_OTHER_STEPS and after.start - before.end < AROUND_OTHER_STEPS
        if is_between and is_short:
            kept[middle - 1 : middle + 2] = [_Stretch(before.cause, before.start, after.end)]
            middle = max(1, middle - 1)
        else:
            middle += 1
    return kept


def _joined(stretches: list[_Stretch], is_loaded: NDArray[np.bool_]) -> list[_Stretch]:
    events: list[_Stretch] = []
    for stretch in stretches:
        limited = stretch.end - stretch.start
        last = events[-1] if events else None
        if (
            last is not None
            and last.cause is stretch.cause
            and stretch.start - last.end < RECOVERY_STEPS
            and _longest_pause(is_loaded[last.end : stretch.start]) <= PAUSE_STEPS
        ):
            last.end = stretch.end
            last.limited += limited
        else:
            events.append(_Stretch(stretch.cause, stretch.start, stretch.end, limited))
    return events


def _longest_pause(is_loaded: NDArray[np.bool_]) -> int:
    longest = current = 0
    for loaded in is_loaded:
        current = 0 if loaded else current + 1
        longest = max(longest, current)
    return longest
