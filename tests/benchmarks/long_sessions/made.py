"""Long sessions of an invented machine, written as a recorder writes them: load steps, heat that holds it back, noise.

A box of two heat stores under a firmware that defends a temperature. Numbers of the demo's story; nobody's machine.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from benchmon.session.encode import encode
from benchmon.session.rounding import decimals_kept

CORES = 4
CHANNELS = (
    Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, "made", 1.0),
    Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, "made", 0.01),
    Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, "made", 1.0),
    Channel(keys.LOAD, "load", Unit.PERCENT, "made", 0.1),
    Channel(keys.WORK_RATE, "work rate", Unit.PER_SECOND, "made", 0.1),
    Channel("board_temp_c", "board temperature", Unit.CELSIUS, "made", 0.5),
    Channel("drive_temp_c", "drive temperature", Unit.CELSIUS, "made", 1.0),
    Channel("fan_rpm", "fan", Unit.RPM, "made", 1.0),
    *(Channel(keys.core_clock_key(cpu), f"clock of {cpu}", Unit.MEGAHERTZ, "made", 1.0) for cpu in range(CORES)),
    *(Channel(keys.core_load_key(cpu), f"load of {cpu}", Unit.PERCENT, "made", 0.1) for cpu in range(CORES)),
)
PROBES = tuple(Channel(f"probe_{place}_c", f"probe {place}", Unit.CELSIUS, "made", 0.1) for place in range(1, 17))
"""Further channels, for boards with many sensors: temperatures that follow the heatsink."""
CYCLE = (("idle", 900.0, 0), ("one core", 900.0, 1), ("all cores", 4500.0, CORES), ("cool-down", 900.0, 0))
"""Name, length [s] and busy cores of the steps that come round."""
DEFENDED_C, ROOM_C = 86.0, 21.0
FREE_MHZ = {0: 1100.0, 1: 4200.0, CORES: 3600.0}
FREE_W = {0: 4.9, 1: 18.3, CORES: 52.4}
STARTED_AT = datetime(2026, 11, 25, 13, 10, tzinfo=UTC)


@dataclass(frozen=True)
class Long:
    """How long, how often, and which of the channels."""

    hours: float
    period_s: float
    channels: int = len(CHANNELS)
    seed: int = 5
    session_id: str = "long"

    @property
    def samples(self) -> int:
        """How many samples there are."""
        return int(self.hours * 3600.0 / self.period_s)


def described_by(long: Long) -> tuple[Channel, ...]:
    """The channels of a session."""
    return (*CHANNELS, *PROBES)[: long.channels]


def records(long: Long) -> Iterator[Record]:
    """All records, the header first."""
    described = described_by(long)
    yield SessionHeader(long.session_id, STARTED_AT, long.period_s, described, {"duct": "none"}, 1.0, "made", "")
    yield Machine(0.0, "Saltmarsh Six", "", "small box", "", CORES, CORES, 8.0)
    for key, value, unit in (
        (keys.CORE_COUNT, float(CORES), Unit.COUNT),
        (keys.RATED_CLOCK, 3000.0, Unit.MEGAHERTZ),
        (keys.HIGHEST_CLOCK, 4200.0, Unit.MEGAHERTZ),
        (keys.LOWEST_CLOCK, 1100.0, Unit.MEGAHERTZ),
        (keys.TEMP_LIMIT, 97.0, Unit.CELSIUS),
        (keys.POWER_LIMIT_LONG, 62.0, Unit.WATT),
    ):
        yield Setting(0.0, key, value, unit, "made")
    yield Mark(1, 0.0, 0.0, MarkKind.ROOM, "", ROOM_C)
    yield from _course(long)
    yield SessionEnd(long.samples * long.period_s, "asked to")


def _course(long: Long) -> Iterator[Record]:
    noise = random.Random(long.seed)
    gauss, dt_s = noise.gauss, long.period_s
    die_c = sink_c = ROOM_C + 8.0
    clock, number, step, step_end_s = FREE_MHZ[0], 1, -1, 0.0
    cores = 0
    for index in range(long.samples):
        t_s = index * dt_s
        if t_s >= step_end_s:
            step = (step + 1) % len(CYCLE)
            name, length_s, cores = CYCLE[step]
            step_end_s += length_s
            number += 1
            yield Mark(number, t_s, t_s, MarkKind.PHASE, name)
            action = LoadAction.STARTED if cores else LoadAction.STOPPED
            yield LoadChange(t_s, action, f"matrix work on {cores or CORES} of {CORES} cores", cores)
            clock = FREE_MHZ[cores]
        if cores == CORES:  # firmware: takes the clock down above what it defends, gives some back below
            clock += (-180.0 if die_c >= DEFENDED_C else 60.0) * min(dt_s, 1.0)
            clock = min(max(clock, 2000.0), FREE_MHZ[CORES])
        power = FREE_W[cores] * (clock / FREE_MHZ[cores]) ** 1.8
        sink_c += (ROOM_C + 0.95 * power - sink_c) * dt_s / (240.0 + dt_s)
        die_c += (sink_c + 0.45 * power - die_c) * dt_s / (3.0 + dt_s)
        yield _sample(long, index, noise, gauss, (clock, power, die_c, sink_c, float(cores)))


def _sample(long: Long, index: int, noise, gauss, state) -> Sample:
    clock, power, die_c, sink_c, cores = state
    load = max(100.0 * cores / CORES + abs(gauss(0, 0.4)), 0.0) if cores < CORES else 100.0
    values = (
        float(round(clock + gauss(0, 4))),
        round(power + gauss(0, 0.15), 2),
        float(round(die_c + gauss(0, 0.3))),
        round(load, 1),
        round(cores * clock / 100.0 + gauss(0, 0.2), 1) if cores else 0.0,
        round(2.0 * (sink_c * 0.5 + 14.0)) / 2.0,
        float(round(0.3 * sink_c + 24.0)),
        float(round(900.0 + 20.0 * (sink_c - ROOM_C) + gauss(0, 3))),
        *(float(round(clock + gauss(0, 6))) for _ in range(CORES)),
        *(100.0 if cpu < cores else round(abs(gauss(0, 1.0)), 1) for cpu in range(CORES)),
    )
    probes = (round(0.02 * place * sink_c + 20.0 + gauss(0, 0.05), 1) for place in range(long.channels - len(CHANNELS)))
    return Sample(index * long.period_s + noise.random() / 1000.0, (*values, *probes)[: long.channels], 0.0011)


def write(long: Long, path: Path) -> Path:
    """The session as a file; what is there already is left."""
    if path.exists():
        return path
    decimals = [decimals_kept(channel) for channel in described_by(long)]
    part = path.with_suffix(".part")
    with part.open("w", encoding="ascii") as file:
        for record in records(long):
            file.write(encode(record, decimals) + "\n")
    return part.rename(path)
