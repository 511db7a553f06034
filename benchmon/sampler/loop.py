"""Readings to timed records: a fixed grid of deadlines, one round at most for each, and a gap where none was met."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import floor

from benchmon.model.channel import Channel
from benchmon.model.records import ChannelState, Gap, Record, Sample, Setting
from benchmon.sampler.clock import Clock, Wait
from benchmon.sampler.rounds import PlainRounds, RoundsBeside
from benchmon.sensors.protocol import Sensor
from benchmon.sensors.settings import SettingValue

SETTINGS_EVERY_S = 5.0
_ASLEEP_AT_LEAST_S = 0.05
_EPSILON = 1e-6


class Sampler:
    """Reads all sensors once each period.

    The grid starts when the sampler is made, and never moves: a round that comes late does not delay the next one. A
    deadline that was missed altogether is skipped, never made up for by a burst, and a ``Gap`` says so.

    Args:
        sensors: in the order of the channels.
        clock: the time; the session's axis starts now.
        period_s: time between deadlines [s].
        read_settings: called every few seconds; what changed is recorded. None: nothing new is known yet.
        prepare: called with the session time before each round, to bring a virtual machine up to date.
        beside: read on a thread, so that a sensor that does not answer holds up nothing.
    """

    def __init__(
        self,
        sensors: Sequence[Sensor],
        clock: Clock,
        period_s: float,
        read_settings: Callable[[], Sequence[SettingValue] | None] | None = None,
        prepare: Callable[[float], None] | None = None,
        *,
        beside: bool = False,
    ) -> None:
        self.channels: tuple[Channel, ...] = tuple(channel for sensor in sensors for channel in sensor.channels)
        self._sensors = tuple(sensors)
        self._clock = clock
        self._period_s = period_s
        self._start_s = clock.now_s()
        self._asleep_s = clock.asleep_s()
        self._round = -1
        self._last_t_s: float | None = None
        self._readable: list[bool] | None = None
        self._lost: set[str] = set()
        self._moment_s = 0.0
        self._rounds = RoundsBeside(sensors, self._moment, period_s) if beside else PlainRounds(sensors, self._moment)
        self._prepare = prepare
        self._read_settings = read_settings
        self._settings_due_s = 0.0
        self._settings_missed = 0
        self._settings_said = False
        self.settings: dict[str, SettingValue] = {}

    @property
    def now_s(self) -> float:
        """Session time [s]."""
        return self._clock.now_s() - self._start_s

    @property
    def due_s(self) -> float:
        """Session time of the next deadline [s]."""
        return (self._round + 1) * self._period_s

    def sleep_until_s(self, t_s: float, wait: Wait) -> None:
        """Wait until session time ``t_s``, or until ``wait`` returns True."""
        self._clock.sleep_until_s(self._start_s + t_s, wait)

    def one_round(self) -> tuple[Record, ...]:
        """Read everything now.

        Returns:
            In this order: a gap if deadlines were missed, channels that became (un)readable, the sample, and settings
            that changed. Reading those takes many times as long as a sample, so it must not come between a sample's
            time and its values; only the first ones come first, since limits are needed to judge a sample.
        """
        first_settings = self._changed_settings(self.now_s) if self._round < 0 else ()
        t_s = self.now_s
        if self._prepare is not None:
            self._prepare(t_s)
        gap = self._gap(t_s)
        begun_s = self._clock.real_s()
        values = self._read(t_s)
        sample = Sample(t_s, values, self._clock.real_s() - begun_s)
        self._round = max(self._round + 1, floor(t_s / self._period_s + _EPSILON))
        self._last_t_s = t_s
        return (*first_settings, *gap, *self._states(t_s, values), sample, *self._changed_settings(self.now_s))

    def peek(self, key: str) -> float | None:
        """Read the sensor of one channel between rounds, at no cost to the others; None = not read, or no such."""
        for index, sensor in enumerate(self._sensors):
            for at, channel in enumerate(sensor.channels):
                if channel.key == key:
                    self._moment_s = self.now_s
                    if self._prepare is not None:
                        self._prepare(self._moment_s)
                    return self._rounds.one(index)[at]
        return None

    def _moment(self) -> float:
        """Powers come from counters: each needs the moment of its own reading, not of the round.

        A virtual machine stands still during a round, so there the round's time is the true one.
        """
        return self._moment_s if self._prepare is not None else self.now_s

    def _read(self, t_s: float) -> tuple[float | None, ...]:
        self._moment_s = t_s
        return tuple(value for values in self._rounds.read() for value in values)

    def _gap(self, t_s: float) -> tuple[Gap, ...]:
        asleep_s = self._clock.asleep_s()
        slept = asleep_s - self._asleep_s > _ASLEEP_AT_LEAST_S
        self._asleep_s = asleep_s
        missed = floor(t_s / self._period_s + _EPSILON) - self._round - 1
        if self._last_t_s is None or (missed < 1 and not slept):
            return ()
        return (Gap(self._last_t_s, t_s, "suspend" if slept else "late"),)

    def _states(self, t_s: float, values: tuple[float | None, ...]) -> tuple[ChannelState, ...]:
        """Records for channels that stopped or resumed being readable.

        The first round only takes note: what comes from a counter has no value before its second reading. A channel
        that has no value for no particular reason (the rate of work that nobody does) is no news either.
        """
        readable = [value is not None for value in values]
        if self._readable is None:
            self._readable = [True] * len(values)
            return ()
        if readable == self._readable:
            return ()
        states = []
        for channel, now, before, why in zip(self.channels, readable, self._readable, self._reasons(), strict=True):
            if before and not now and why:
                self._lost.add(channel.key)
                states.append(ChannelState(t_s, channel.key, readable=False, reason=why))
            elif now and channel.key in self._lost:
                self._lost.remove(channel.key)
                states.append(ChannelState(t_s, channel.key, readable=True))
        self._readable = readable
        return tuple(states)

    def _reasons(self) -> list[str]:
        reasons: list[str] = []
        for index, sensor in enumerate(self._sensors):
            fault = self._rounds.faults.get(index)
            reasons += sensor.why_not() if fault is None else (fault,) * len(sensor.channels)
        return reasons

    def _held_up(self, t_s: float) -> tuple[Setting, ...]:
        """Nothing was read: say it once, if it is not just that the last reading was taken already."""
        self._settings_missed += 1
        self._settings_due_s = t_s + self._period_s
        if self._settings_missed * self._period_s < SETTINGS_EVERY_S or self._settings_said:
            return ()
        self._settings_said = True
        return (Setting(t_s, "settings_reading", "held up: a file does not answer", None, ""),)

    def _changed_settings(self, t_s: float) -> tuple[Setting, ...]:
        if self._read_settings is None or t_s < self._settings_due_s:
            return ()
        self._settings_due_s = t_s + SETTINGS_EVERY_S
        found = self._read_settings()
        if found is None:
            return self._held_up(t_s)
        self._settings_missed = 0
        changed = tuple(value for value in found if self.settings.get(value.key) != value)
        self.settings.update((value.key, value) for value in changed)
        return tuple(Setting(t_s, one.key, one.value, one.unit, one.source) for one in changed)
