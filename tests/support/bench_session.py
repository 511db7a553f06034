"""A run on an invented small box, made by a few lines of thermal arithmetic: for tests of the screen and its pictures.

The machine is that of the demo's story (``virtual_bench/demo.py``), as it was bought unless said otherwise.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timezone

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import Cause, Evidence, EvidenceKind, Level, ThrottleEvent
from benchmon.model.findings import Figure, Forecast, PhaseFindings, Settling, Spread, Summary, Sustains
from benchmon.model.records import (
    Gap,
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    Record,
    Sample,
    Session,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from benchmon.virtual_bench.demo import (
    BOUGHT,
    CHAPTERS,
    CHIP,
    DEFENDED_C,
    NAME,
    POWER_LIMIT_W,
    TOLD_LIMIT_C,
    wall_w,
)
from tests.support.summaries import full_summary

CHANNELS = (
    Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, "scripted", 1.0),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, "scripted", 0.1),
    Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, "scripted", 1.0),
    Channel(keys.LOAD, "load", Unit.PERCENT, "scripted", 1.0),
    Channel(keys.WORK_RATE, "work rate", Unit.PER_SECOND, "scripted", 0.1),
    Channel(keys.RECORDER_COST, "recorder's own cost", Unit.PERCENT, "scripted", 0.1),
)
CORES = CHIP.cores
STEPS = (("idle", 60.0, 0), ("one core", 120.0, 1), ("all cores", 300.0, CORES), ("cool-down", 120.0, 0))
IDLE_MHZ, ONE_MHZ, ALL_MHZ = CHIP.lowest_mhz, CHIP.highest_mhz, CHIP.bins_mhz[-1]
IDLE_W, ONE_W, ALL_W = 4.9, 18.3, 52.4
"""Package power, round figures of the same machine [W] ..."""
HELD_MHZ, HELD_W = 2750.0, 38.9
"""... and what is left while heat holds it back."""
AS_BOUGHT_K_PER_W, WITH_DUCT_K_PER_W = 1.3, 0.88
ROOM_C = CHAPTERS[BOUGHT].room_c


@dataclass
class Bench:
    """What to script: everything a test or a picture wants to be different."""

    until_s: float = 600.0
    period_s: float = 0.5
    seed: int = 3
    resistance_k_per_w: float = AS_BOUGHT_K_PER_W
    power_limit_w: float | None = None
    """A sustained power limit that bites 28 s into the all-core phase; None for none."""
    tags: dict[str, str] = field(default_factory=lambda: dict(CHAPTERS[BOUGHT].tags))
    gap: tuple[float, float] | None = None
    channels: tuple[Channel, ...] = CHANNELS
    ended: bool = False
    virtual: str = ""
    time_scale: float = 1.0
    entries: bool = True


def header_of(bench: Bench) -> SessionHeader:
    return SessionHeader(
        "scripted",
        datetime(2026, 11, 25, 13, 10, tzinfo=timezone.utc),
        bench.period_s,
        bench.channels,
        bench.tags,
        bench.time_scale,
        "tests",
        bench.virtual,
    )


def step_at(t_s: float) -> tuple[str, float, int]:
    start_s = 0.0
    for name, length_s, cores in STEPS:
        if t_s < start_s + length_s:
            return name, start_s, cores
        start_s += length_s
    return STEPS[-1][0], start_s - STEPS[-1][1], 0


def values(bench: Bench) -> Iterator[tuple[float, dict[str, float]]]:
    """Time and reading of each key, sample by sample."""
    noise = random.Random(bench.seed)
    die_c = sink_c = ROOM_C + 7.0
    held = False
    clock = IDLE_MHZ
    for index in range(int(bench.until_s / bench.period_s) + 1):
        t_s = index * bench.period_s
        _, start_s, cores = step_at(t_s)
        wanted = {0: IDLE_MHZ, 1: ONE_MHZ, CORES: ALL_MHZ}[cores]
        if cores == CORES and die_c >= DEFENDED_C:
            held = True
        if cores != CORES:
            held = False
        if held:
            clock += (-260.0 if die_c >= DEFENDED_C else 90.0) * bench.period_s
            clock = min(max(clock, HELD_MHZ - 250.0), HELD_MHZ + 250.0)
        elif bench.power_limit_w is not None and cores == CORES and t_s > start_s + 28:
            clock = 3050.0 + noise.choice((-50.0, 0.0, 50.0))
        else:
            clock = wanted
        power = {0: IDLE_W, 1: ONE_W, CORES: ALL_W * (clock / ALL_MHZ) ** 1.25}[cores]
        if bench.power_limit_w is not None and cores == CORES and t_s > start_s + 28:
            power = bench.power_limit_w
        rises = bench.resistance_k_per_w * power
        sink_c += (ROOM_C + 0.8 * rises - sink_c) * bench.period_s / 60.0
        die_c += (sink_c + 0.45 * rises - die_c) * bench.period_s / 3.0
        yield (
            t_s,
            {
                keys.CLOCK: round(clock + noise.gauss(0, 4)),
                keys.PACKAGE_POWER: round(power + noise.gauss(0, 0.15), 1),
                keys.PROCESSOR_TEMP: float(round(die_c + noise.gauss(0, 0.3))),
                keys.LOAD: {0: 2.0, 1: 17.0, CORES: 100.0}[cores],
                keys.WORK_RATE: round(cores * clock / 100.0 + noise.gauss(0, 0.2), 1) if cores else 0.0,
                keys.RECORDER_COST: 0.3,
            },
        )


def bench_records(bench: Bench | None = None) -> list[Record]:
    """All records of the run, the header first."""
    bench = bench or Bench()
    records: list[Record] = [header_of(bench)]
    for key, value, unit in (
        (keys.RATED_CLOCK, CHIP.rated_mhz, Unit.MEGAHERTZ),
        (keys.HIGHEST_CLOCK, CHIP.highest_mhz, Unit.MEGAHERTZ),
        (keys.TEMP_LIMIT, TOLD_LIMIT_C, Unit.CELSIUS),
        (keys.POWER_LIMIT_LONG, bench.power_limit_w or POWER_LIMIT_W, Unit.WATT),
    ):
        records.append(Setting(0.0, key, value, unit, "scripted"))
    records.append(Machine(0.0, NAME, "", "small box", "", CORES, CORES, 8.0, virtual=True))
    number = 0
    current = ""
    if bench.entries:
        number += 1
        records.append(Mark(number, 0.0, 0.0, MarkKind.ROOM, "", ROOM_C))
    for t_s, reading in values(bench):
        name, start_s, cores = step_at(t_s)
        if name != current:
            current = name
            if bench.entries:
                number += 1
                records.append(Mark(number, t_s, t_s, MarkKind.PHASE, name))
            action = LoadAction.STARTED if cores else LoadAction.STOPPED
            records.append(LoadChange(t_s, action, f"widest arithmetic on {cores or CORES} of {CORES} cores", cores))
        if bench.entries and name == "all cores" and t_s == start_s + 60:
            number += 1
            records.append(Mark(number, t_s, t_s, MarkKind.WALL, "", round(wall_w(reading[keys.PACKAGE_POWER]), 1)))
        if bench.gap is not None and bench.gap[0] < t_s < bench.gap[1]:
            continue
        if bench.gap is not None and t_s == bench.gap[1]:
            records.append(Gap(*bench.gap, "suspend"))
        records.append(Sample(t_s, tuple(reading.get(channel.key) for channel in bench.channels), 0.0002))
    if bench.ended:
        records.append(SessionEnd(bench.until_s, "stopped by user"))
    return records


def bench_session(bench: Bench | None = None) -> Session:
    header, *rest = bench_records(bench)
    assert isinstance(header, SessionHeader)
    return Session(header, tuple(rest))


class ScriptedAnalyst:
    """Phases from marks, and one event where the script holds the clock down. No detector: tests of the screen need none."""

    def __init__(self) -> None:
        self.forecast: Forecast | None = None
        self.sustains: Sustains | None = None
        self._phases: list[PhaseFindings] = []
        self._sums: dict[str, list[float]] = {}
        self._keys: tuple[str, ...] = ()
        self._room_c: float | None = None
        self._power_limit_w = POWER_LIMIT_W
        self._event: ThrottleEvent | None = None
        self._phase_marks: dict[int, Mark] = {}

    def progress(self) -> None:
        return None

    def phases(self) -> tuple[PhaseFindings, ...]:
        if self._phases:
            last = self._phases[-1]
            means = {key: Spread(sum(v) / len(v), min(v), max(v), v[-1], len(v)) for key, v in self._sums.items() if v}
            events = (1,) if self._event is not None and last.name == "all cores" else ()
            resistance = Figure(why_not="not settled")
            settling = {keys.PROCESSOR_TEMP: Settling(False, None, 24.0, "at most 3 K in 30 min", window_s=1800.0)}
            if last.end_s is None and "package_power_w" in means and last.name != "all cores":
                settling = {keys.PROCESSOR_TEMP: Settling(None, None, None, "at most 3 K in 30 min")}
            before, sustained = self._levels(last) if events else (None, None)
            self._phases[-1] = replace(
                last,
                before=before,
                sustained=sustained,
                means=means,
                room_c=self._room_c,
                events=events,
                resistance_k_per_w=resistance,
                settling=settling,
            )
        return tuple(self._phases)

    def _levels(self, phase: PhaseFindings) -> tuple[Level, Level]:
        event = self._event
        assert event is not None
        before = Level(phase.start_s, event.start_s, event.clock_before_mhz, event.power_before_w)
        temps = self._sums[keys.PROCESSOR_TEMP]
        level = Level(event.start_s, event.start_s + 60.0, event.clock_held_mhz, event.power_held_w)
        work = self._sums.get(keys.WORK_RATE, [None])[-1]
        return before, replace(level, work_per_s=work, temp_last_c=temps[-1], temp_highest_c=max(temps))

    def work_on(self) -> None:
        pass

    def conclusion(self) -> Summary:
        events = () if self._event is None else (self._event,)
        return replace(full_summary(), phases=self.phases(), events=events)

    def feed(self, record: Record) -> tuple[ThrottleEvent, ...]:
        if isinstance(record, SessionHeader):
            self._keys = tuple(channel.key for channel in record.channels)
        elif isinstance(record, Setting) and record.key == keys.POWER_LIMIT_LONG and isinstance(record.value, float):
            self._power_limit_w = record.value
        elif isinstance(record, Mark):
            self._mark(record)
        elif isinstance(record, SessionEnd) and self._phases:
            self._phases[-1] = replace(self.phases()[-1], end_s=record.t_s)
        elif isinstance(record, Sample):
            return self._sample(record)
        return ()

    def _mark(self, mark: Mark) -> None:
        if mark.kind is MarkKind.ROOM:
            self._room_c = mark.value
        elif mark.kind is MarkKind.WALL and self._phases:
            self._phases[-1] = replace(self._phases[-1], wall_w=mark.value)
        elif mark.kind is MarkKind.PHASE and mark.replaces is not None and self._phases:
            self._phases[-1] = replace(self._phases[-1], name=mark.text, start_s=mark.t_s)
        elif mark.kind is MarkKind.PHASE:
            if self._phases:
                self._phases[-1] = replace(self.phases()[-1], end_s=mark.t_s)
            self._sums = {}
            self._phases.append(PhaseFindings(mark.text, mark.t_s, None, {}))

    def _sample(self, sample: Sample) -> tuple[ThrottleEvent, ...]:
        reading = {key: value for key, value in zip(self._keys, sample.values, strict=True) if value is not None}
        for key, value in reading.items():
            self._sums.setdefault(key, []).append(value)
        name = self._phases[-1].name if self._phases else ""
        by_power = self._power_limit_w < POWER_LIMIT_W
        down = name == "all cores" and reading.get(keys.CLOCK, 9999) < 0.92 * ALL_MHZ
        if name == "all cores" and self._event is None:
            start_s = sample.t_s
            self.forecast = Forecast(
                start_s,
                name,
                Figure(104.3, 102.5, 106.2),
                Figure(start_s + 290, start_s + 240, start_s + 330),
                Figure(start_s + 61, start_s + 50, start_s + 70),
                TOLD_LIMIT_C,
            )
        if self._event is None and down:
            self._event = ThrottleEvent(
                1,
                Cause.POWER_LIMIT if by_power else Cause.THERMAL,
                Cause.POWER_LIMIT if by_power else Cause.THERMAL,
                sample.t_s - 1.0,
                None,
                sample.t_s,
                {Cause.POWER_LIMIT if by_power else Cause.THERMAL: 0.93, Cause.UNEXPLAINED: 0.07},
                (
                    Evidence(
                        EvidenceKind.AT_POWER_LIMIT,
                        6.0,
                        {"power_w": self._power_limit_w, "limit_w": self._power_limit_w},
                    )
                    if by_power
                    else Evidence(
                        EvidenceKind.HELD_SINCE_POWER_FELL,
                        2.8,
                        {"temp_c": DEFENDED_C, "length_s": 20.0, "first_w": ALL_W, "last_w": HELD_W},
                    ),
                ),
                clock_before_mhz=ALL_MHZ,
                clock_held_mhz=HELD_MHZ,
                power_before_w=ALL_W,
                power_held_w=self._power_limit_w if by_power else HELD_W,
                temp_plateau_c=None if by_power else DEFENDED_C,
            )
            return (self._event,)
        if self._event is not None and self._event.is_open and name != "all cores":
            self._event = replace(self._event, end_s=sample.t_s)
            return (self._event,)
        return ()
