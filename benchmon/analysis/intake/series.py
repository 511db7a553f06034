"""Records → observations: one flat row per sample with the few quantities the analysis knows by name.

Whether the records come from a running recorder, a file or an imported table makes no difference here, and neither
does the order of the channels: everything is looked up by key.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from operator import itemgetter
from typing import Any, NamedTuple

from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Record, Sample, SessionHeader, Setting
from benchmon.model.work_kinds import kind_named_in, work_words


class Observation(NamedTuple):
    """What was known at one moment. Every value is None where it was not read or is not known."""

    t_s: float
    """Time on the session's axis [s]."""
    clock_mhz: float | None = None
    """Clock of the busy cores [MHz]."""
    power_w: float | None = None
    """Package power [W]."""
    temp_c: float | None = None
    """Processor temperature [°C]."""
    load_pct: float | None = None
    """Share of all cores' time that was not idle [%]."""
    work_rate: float | None = None
    """Finished units of work per second [1/s]."""
    temp_limit_c: float | None = None
    """Temperature at which the processor is limited, as the machine says it [°C]."""
    power_limit_w: float | None = None
    """Sustained package power limit [W]."""
    power_window_s: float | None = None
    """Averaging window of the sustained limit [s]."""
    power_limit_short_w: float | None = None
    """Short-term package power limit [W]."""
    clock_cap_mhz: float | None = None
    """Highest clock the kernel's policy allows now [MHz]."""
    platform_cap_mhz: float | None = None
    """Highest clock the platform allows now [MHz]."""
    highest_clock_mhz: float | None = None
    """Highest clock of the hardware, turbo included [MHz]."""
    lowest_clock_mhz: float | None = None
    """Lowest clock of the hardware [MHz]."""
    rated_clock_mhz: float | None = None
    """Rated (base) clock [MHz]."""
    cooling_step: float | None = None
    """Greatest state of the kernel's processor cooling devices; 0 = no cooling asked for."""
    throttle_count: float | None = None
    """Heat events counted by the kernel; may start anywhere, only rises matter."""
    busy_cores: float | None = None
    """Cores that are meant to be busy, as far as somebody said so."""
    work: str = ""
    """Kind of built-in work, with its share of the time, as the session records it; empty: other code, or not known."""


_make_observation = partial(tuple.__new__, Observation)
"""As ``Observation._make``, in half its time."""
_PLACES = {name: place for place, name in enumerate(Observation._fields)}
_CHANNEL_FIELDS = {
    keys.CLOCK: "clock_mhz",
    keys.PACKAGE_POWER: "power_w",
    keys.PROCESSOR_TEMP: "temp_c",
    keys.LOAD: "load_pct",
    keys.WORK_RATE: "work_rate",
    keys.CLOCK_CAP: "clock_cap_mhz",
    keys.PLATFORM_CAP: "platform_cap_mhz",
    keys.COOLING_STEP: "cooling_step",
}
_SETTING_FIELDS = {
    keys.TEMP_LIMIT: "temp_limit_c",
    keys.POWER_LIMIT_LONG: "power_limit_w",
    keys.POWER_WINDOW_LONG: "power_window_s",
    keys.POWER_LIMIT_SHORT: "power_limit_short_w",
    keys.HIGHEST_CLOCK: "highest_clock_mhz",
    keys.LOWEST_CLOCK: "lowest_clock_mhz",
    keys.RATED_CLOCK: "rated_clock_mhz",
}
_LEAST_SHARE_PCT = 10.0
"""Workers that were let run less say nothing about the processor's speed."""
_COUNTERS = (keys.CORE_THROTTLE_COUNT, keys.PACKAGE_THROTTLE_COUNT)


class RisingCount:
    """Rises of a counter since it was first seen; a counter that steps back was reset and counts on from there."""

    def __init__(self) -> None:
        """Start with nothing seen."""
        self.rises: float | None = None
        self._last = 0.0

    def feed(self, value: float | None) -> None:
        """Take the next reading; None is no reading and changes nothing."""
        if value is None:
            return
        if self.rises is None:
            self.rises = 0.0
        elif value > self._last:
            self.rises += value - self._last
        self._last = value


class ObservationMaker:
    """Follows the records of one session and turns each sample into an observation.

    Time, what settings say and the sample's values stand in one row; an observation is picked out of it by place.
    """

    def __init__(self) -> None:
        """Start before the header."""
        self._known: list[Any] = list(Observation(0.0)[1:])
        self._columns: dict[str, int] = {}
        self._pick = itemgetter(*range(len(_PLACES)))
        self._counters: tuple[tuple[int, RisingCount], ...] = ()
        self._core_clocks: Callable[[tuple[float | None, ...]], float | None] | None = None
        self._core_loads: tuple[int, ...] = ()
        self._work_share: int | None = None
        self._is_derived = False

    def feed(self, record: Record) -> Observation | None:
        """Take the next record; a sample gives an observation, everything else None.

        Values of settings hold from their record on. Without a header before it, a sample has no named values.
        """
        if isinstance(record, Sample):
            return self.observe(record)
        if isinstance(record, Setting):
            field = _SETTING_FIELDS.get(record.key)
            if field is not None:
                self._know(field, None if isinstance(record.value, str) else record.value)
        elif isinstance(record, LoadChange):
            is_started = record.action is LoadAction.STARTED
            self._know("busy_cores", record.busy_cores if is_started else 0)
            work = work_words(record.work or kind_named_in(record.what), record.duty) if is_started else ""
            self._know("work", work)
        elif isinstance(record, SessionHeader):
            self._read_header(record)
        return None

    def _know(self, field: str, value: float | str | None) -> None:
        self._known[_PLACES[field] - 1] = value

    def _read_header(self, header: SessionHeader) -> None:
        index = {channel.key: place for place, channel in enumerate(header.channels)}
        self._columns = {name: index[key] for key, name in _CHANNEL_FIELDS.items() if key in index}
        first = len(_PLACES)
        self._pick = itemgetter(
            *(first + self._columns[name] if name in self._columns else place for name, place in _PLACES.items())
        )
        self._work_share = index.get(keys.WORK_SHARE)
        self._counters = tuple((index[key], RisingCount()) for key in _COUNTERS if key in index)
        cpus = [cpu for cpu in range(len(index)) if keys.core_load_key(cpu) in index]
        loads = tuple(index[keys.core_load_key(cpu)] for cpu in cpus)
        self._core_loads = loads if keys.LOAD not in index else ()
        with_clock = [cpu for cpu in cpus if keys.core_clock_key(cpu) in index]
        if keys.CLOCK not in index and with_clock:
            self._core_clocks = _busy_clock(
                tuple(index[keys.core_clock_key(cpu)] for cpu in with_clock),
                tuple(index[keys.core_load_key(cpu)] for cpu in with_clock),
            )
        derived = (self._counters, self._core_loads, self._core_clocks)
        self._is_derived = any(derived) or self._work_share is not None

    def observe(self, sample: Sample) -> Observation:
        """The observation that a sample is."""
        seen: Observation = _make_observation(self._pick((sample.t_s, *self._known, *sample.values)))
        return self._derived(seen, sample.values) if self._is_derived else seen

    def _derived(self, seen: Observation, values: tuple[float | None, ...]) -> Observation:
        """With what takes more than one channel, or what came before."""
        fields: dict[str, Any] = {}
        if self._counters:
            for place, counter in self._counters:
                counter.feed(values[place])
            rises = [counter.rises for _, counter in self._counters if counter.rises is not None]
            fields["throttle_count"] = max(rises) if rises else None
        if self._core_clocks is not None:
            fields["clock_mhz"] = self._core_clocks(values)
        if self._core_loads:
            loads = [load for place in self._core_loads if (load := values[place]) is not None]
            fields["load_pct"] = sum(loads) / len(loads) if loads else None
        share, rate = None if self._work_share is None else values[self._work_share], seen.work_rate
        if share is not None and share > _LEAST_SHARE_PCT and rate is not None:
            fields["work_rate"] = rate * 100.0 / share  # what others took from the workers is no lost speed
        return seen._replace(**fields)


def _busy_clock(clocks: tuple[int, ...], loads: tuple[int, ...]) -> Callable[[tuple[float | None, ...]], float | None]:
    """Mean of the cores' clocks weighted by their load, for sessions without a clock channel of their own."""
    take_clocks = itemgetter(*clocks, clocks[0])
    take_loads = itemgetter(*loads, loads[0])

    def clock(values: tuple[float | None, ...]) -> float | None:
        weighed = weight = 0.0
        for mhz, load in zip(take_clocks(values)[:-1], take_loads(values)[:-1], strict=True):
            if mhz is not None and load is not None:
                weighed += mhz * load
                weight += load
        return weighed / weight if weight > 0.0 else None

    return clock
