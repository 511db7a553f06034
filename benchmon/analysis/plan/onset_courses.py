"""Each load of a session until holding back set in: temperature, power, and where they came from."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import exp

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import LoadStep
from benchmon.model.events import ThrottleEvent
from benchmon.model.plan_findings import Onset

_LEAST_LOAD_S = 5.0
_NEAR_S = 3.0
"""The temperature of an onset is the highest so near to it [s]."""
_HELD_FROM_S, _HELD_TO_S = 4.0, 30.0
"""What is held is looked at so long after an onset [s]."""
_SLOPE_S = 8.0
_SLOWEST_K_PER_S = 0.02
"""A temperature that hardly rises is reached at no particular moment [K/s]."""
_MOST_BINS = 1_000_000
_LONGEST_BIN_S = 2.0
"""The moment of an onset is to be known to a second or so; bins are longer in sessions beyond eleven hours [s]."""
_LEAST_W = 0.01
"""A load that draws no power says nothing of budgets."""


@dataclass(frozen=True)
class LoadCourse:
    """One load, all courses from the session's start on; its figures are asked for again and again, and found once."""

    begins: int
    """Place of the load's first bin."""
    ends: int
    """Place after the last bin that is looked at: that of the onset, else of the load's end."""
    load_s: float
    onset_at: float | None
    """When holding back set in [s]."""
    event: int | None
    times_s: Sequence[float] = field(repr=False)
    temps_c: Sequence[float] = field(repr=False)
    powers_w: Sequence[float] = field(repr=False)
    bin_s: float = 1.0

    @property
    def onset_after_s(self) -> float:
        """How long the load had run then [s]."""
        return (self.times_s[self.ends - 1] if self.onset_at is None else self.onset_at) - self.load_s

    @property
    def start_c(self) -> float:
        """Temperature before the load [°C]."""
        return self.temps_c[max(0, self.begins - 1)]

    @cached_property
    def peak_c(self) -> float:
        """Temperature when holding back set in; the highest, if it did not [°C]."""
        if self.onset_at is None:
            return max(self.temps_c[self.begins : self.ends])
        first = bisect_left(self.times_s, max(self.onset_at - _NEAR_S, self.load_s))
        last = bisect_right(self.times_s, self.onset_at + _NEAR_S)
        return max(self.temps_c[first:last], default=self.temps_c[self.ends - 1])

    @cached_property
    def hottest_before_c(self) -> float:
        """The highest it had been while free, but for the last seconds [°C]."""
        last = max(self.begins + 1, self.ends - int(_NEAR_S / self.bin_s))
        return max(self.temps_c[self.begins : last])

    @cached_property
    def rate_k_per_s(self) -> float:
        """How fast the temperature was rising then [K/s]."""
        first = max(self.begins, self.ends - 1 - int(_SLOPE_S / self.bin_s))
        span_s = self.times_s[self.ends - 1] - self.times_s[first]
        rise_k = self.temps_c[self.ends - 1] - self.temps_c[first]
        return max(rise_k / span_s if span_s > 0.0 else 0.0, _SLOWEST_K_PER_S)

    @cached_property
    def free_w(self) -> float:
        """Power that the load draws freely [W]: its median until then."""
        ordered = sorted(self.powers_w[self.begins : self.ends])
        return ordered[len(ordered) // 2]

    @cached_property
    def held_w(self) -> float | None:
        """Mean power while held back [W]; None if that was too short to say."""
        if self.onset_at is None:
            return None
        first = bisect_left(self.times_s, self.onset_at + _HELD_FROM_S)
        last = bisect_left(self.times_s, self.onset_at + _HELD_TO_S)
        held = [watts for watts in self.powers_w[first:last] if watts > 0.5 * self.powers_w[first]]
        return sum(held) / len(held) if len(held) * self.bin_s >= _LEAST_LOAD_S else None

    def told(self) -> Onset:
        """What a reader is told of it."""
        energy_j = sum(self.powers_w[self.begins : self.ends]) * self.bin_s
        return Onset(self.load_s, self.onset_at, self.event, self.start_c, self.peak_c, energy_j)


def load_courses(notebook: Notebook, events: Sequence[ThrottleEvent]) -> list[LoadCourse]:
    """The loads of the kind that comes most often, in order; none without temperature or power, read often enough."""
    trace = notebook.trace
    if trace.bin_s > _LONGEST_BIN_S:
        return []
    temp = trace.course("temp_c", 0.0, None, _MOST_BINS)
    read = trace.course("power_w", 0.0, None, _MOST_BINS)
    power = dict(zip(read.times_s, read.values, strict=True))
    rows = [(t_s, temp_c, power[t_s]) for t_s, temp_c in zip(temp.times_s, temp.values, strict=True) if t_s in power]
    if not rows:
        return []
    times_s, temps_c, powers_w = (list(column) for column in zip(*rows, strict=True))
    courses = []
    for start_s, end_s in _same_loads(notebook.tracker.loads, notebook.now_s):
        event = next((one for one in events if start_s - 1.0 <= one.start_s < end_s), None)
        onset_s = None if event is None else max(event.start_s, start_s)
        begins = bisect_left(times_s, start_s)
        ends = bisect_left(times_s, end_s if onset_s is None else onset_s)
        ends = min(max(ends, begins + 1), len(times_s))
        if begins < ends:
            number = None if event is None else event.number
            course = LoadCourse(begins, ends, start_s, onset_s, number, times_s, temps_c, powers_w, trace.bin_s)
            courses += [course] if course.free_w >= _LEAST_W else []
    return courses


def averages_w(loads: Sequence[LoadCourse], window_s: float) -> list[float]:
    """For each load the running average with this window when holding back set in, else the highest of the load [W].

    Args:
        loads: of one session, in order.
        window_s: time constant of the average.
    """
    powers_w = loads[0].powers_w
    follows = 1.0 - exp(-loads[0].bin_s / window_s)
    average, place, found = powers_w[0], 0, []
    for load in loads:
        highest = 0.0
        for at in range(place, load.ends):
            average += (powers_w[at] - average) * follows
            if at >= load.begins:
                highest = max(highest, average)
        place = max(place, load.ends)
        found.append(average if load.onset_at is not None else highest)
    return found


def _same_loads(steps: Sequence[LoadStep], now_s: float) -> list[tuple[float, float]]:
    """Start and end [s] of the loads on as many cores as most of them."""
    loads = []
    for step, after in zip(steps, [*steps[1:], None], strict=False):
        end_s = now_s if after is None else after.at_s
        if step.busy_cores != 0 and end_s - step.at_s >= _LEAST_LOAD_S:
            loads.append((step.busy_cores, step.at_s, end_s))
    if not loads:
        return []
    cores = [busy for busy, _, _ in loads]
    usual = max(cores, key=cores.count)
    return [(start_s, end_s) for busy, start_s, end_s in loads if busy == usual]
