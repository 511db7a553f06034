"""Try out every sensor for a moment: what it gives, how often it changes, what it costs to read."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from time import perf_counter

from benchmon.model.survey import ChannelSurvey
from benchmon.sampler.clock import Clock
from benchmon.sensors.protocol import Sensor

ROUNDS_APART_S = 0.05
"""Fast enough to see a value that is refreshed ten times a second, slow enough not to heat the machine."""


def survey_channels(sensors: Sequence[Sensor], clock: Clock, tried_s: float) -> tuple[tuple[ChannelSurvey, ...], float]:
    """Read every sensor again and again for a while.

    Args:
        sensors: what ``discover`` found.
        clock: the time.
        tried_s: how long to try [s].

    Returns:
        A row for each channel, and the median cost of a whole round [µs].
    """
    trials = [_Trial(sensor) for sensor in sensors]
    start_s = clock.now_s()
    due_s = start_s
    rounds_us: list[float] = []
    while due_s <= start_s + tried_s:
        clock.sleep_until_s(due_s)
        rounds_us.append(sum(trial.read(clock.now_s()) for trial in trials))
        due_s += ROUNDS_APART_S
    return tuple(row for trial in trials for row in trial.rows(tried_s)), median(rounds_us)


class _Trial:
    """One sensor on trial."""

    def __init__(self, sensor: Sensor) -> None:
        self._sensor = sensor
        self._costs_us: list[float] = []
        self._last: tuple[float | None, ...] = (None,) * len(sensor.channels)
        self._changes = [0] * len(sensor.channels)

    def read(self, now_s: float) -> float:
        before = perf_counter()
        values = self._sensor.read(now_s)
        cost_us = (perf_counter() - before) * 1e6
        for i, (new, old) in enumerate(zip(values, self._last, strict=True)):
            if new is not None and old is not None and new != old:
                self._changes[i] += 1
        self._last = tuple(old if new is None else new for new, old in zip(values, self._last, strict=True))
        self._costs_us.append(cost_us)
        return cost_us

    def rows(self, tried_s: float) -> tuple[ChannelSurvey, ...]:
        cost_us = median(self._costs_us)
        return tuple(
            ChannelSurvey(
                channel=channel,
                value=None if why else value,
                why_not=why,
                changed_every_s=tried_s / changes if changes else None,
                read_cost_us=cost_us,
                sensor=type(self._sensor).__name__,
            )
            for channel, value, why, changes in zip(
                self._sensor.channels, self._last, self._sensor.why_not(), self._changes, strict=True
            )
        )
