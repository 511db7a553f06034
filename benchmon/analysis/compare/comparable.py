"""Are two runs alike enough? Asked first, and never passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator

from benchmon.analysis.compare.bench_run import BenchRun, RunPhase
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.comparison import Caveat, Doubt
from benchmon.model.events import Cause
from benchmon.model.records import Machine

SAMPLING = 2.0
"""Periods further apart than this factor are said."""
ROOM_K = 3.0
"""Rooms further apart than this are said: the rise is corrected, a fan curve that follows the temperature is not."""
LIMIT_K = 2.0
_SETTINGS = (
    keys.TURBO,
    keys.GOVERNOR,
    keys.POWER_LIMIT_LONG,
    keys.POWER_LIMIT_SHORT,
    keys.POWER_WINDOW_LONG,
    keys.HIGHEST_CLOCK,
    keys.TEMP_LIMIT,
)


def is_same_machine(before: BenchRun, after: BenchRun) -> bool:
    """Whether the same counters and sensors were read, as far as that is known: sessions hold no serial numbers."""
    one, other = before.summary, after.summary
    if one.header.virtual != other.header.virtual:
        return False
    return is_one_machine(one.machine, other.machine)


def is_one_machine(one: Machine | None, other: Machine | None) -> bool:
    """Whether two machines bear the same names; what is not recorded is taken to be the same one."""
    names = _named(one), _named(other)
    return not all(names) or names[0] == names[1]


def caveats(before: BenchRun, after: BenchRun, main: tuple[RunPhase | None, RunPhase | None]) -> Iterator[Caveat]:
    """What must be borne in mind when the second is held against the first."""
    yield from _machines(before, after)
    yield from _sensors(before, after)
    yield from _settings(before, after)
    if main[0] is not None and main[1] is not None:
        yield from _main_phases(before, after, main[0], main[1])
    rooms = [run.summary.thermal.room_c.value for run in (before, after)]
    if rooms[0] is not None and rooms[1] is not None and abs(rooms[1] - rooms[0]) > ROOM_K:
        yield Caveat(Doubt.ROOM, f"{rooms[0]:.0f}", f"{rooms[1]:.0f}")
    for run in (before, after):
        if not run.summary.is_complete:
            yield Caveat(Doubt.INCOMPLETE, what=run.name)


def _machines(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    machines = [run.summary.machine for run in (before, after)]
    if not is_same_machine(before, after):
        yield Caveat(Doubt.MACHINE, _words(machines[0]), _words(machines[1]))
    elif not all(_named(machine) for machine in machines):
        yield Caveat(Doubt.MACHINE_UNKNOWN)


def _sensors(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    channels = [{channel.key: channel for channel in run.summary.header.channels} for run in (before, after)]
    for key in (keys.PROCESSOR_TEMP, keys.PACKAGE_POWER, keys.WALL_POWER, keys.ROOM_TEMP):
        one, other = (known.get(key) for known in channels)
        if one is not None and other is not None and (one.source, one.resolution) != (other.source, other.resolution):
            yield Caveat(Doubt.SENSOR, _way(one), _way(other), key)
    periods = [run.summary.header.period_s for run in (before, after)]
    if max(periods) > SAMPLING * min(periods):
        yield Caveat(Doubt.SAMPLING, f"{periods[0]:g} s", f"{periods[1]:g} s")


def _way(channel: Channel) -> str:
    """``hwmon: package, steps of 1``: how a channel is read."""
    return channel.source if channel.resolution is None else f"{channel.source}, steps of {channel.resolution:g}"


def _settings(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    for key in _SETTINGS:
        one, other = (run.summary.settings.get(key) for run in (before, after))
        if one is not None and other is not None and one.value != other.value:
            yield Caveat(Doubt.SETTING, _value(one.value), _value(other.value), key)


def _main_phases(before: BenchRun, after: BenchRun, one: RunPhase, other: RunPhase) -> Iterator[Caveat]:
    if one.load.counts != other.load.counts:
        yield Caveat(Doubt.WORK, one.load.work, other.load.work)
    held = [phase.held_s.get(Cause.THERMAL, 0.0) > 0 for phase in (one, other)]
    if held[0] != held[1]:
        words = ["held" if was else "free" for was in held]
        yield Caveat(Doubt.HELD, words[0], words[1], one.name)
    temps = [run.plateau.temp_c for run in (before, after) if not isinstance(run.plateau, str)]
    if len(temps) == 2 and abs(temps[1] - temps[0]) > LIMIT_K:
        yield Caveat(Doubt.LIMIT, f"{temps[0]:.0f}", f"{temps[1]:.0f}")
    for run, phase, was_held in ((before, one, held[0]), (after, other, held[1])):
        settling = phase.row.settling.get(keys.PROCESSOR_TEMP)
        if not was_held and settling is not None and settling.settled is False:
            yield Caveat(Doubt.UNSETTLED, what=f"{phase.name} of {run.name}")
        if phase.row.sustained is not None and phase.row.sustained.is_settled is False:
            yield Caveat(Doubt.STILL_MOVING, what=f"{phase.name} of {run.name}")


def _named(machine: Machine | None) -> tuple[str, ...]:
    words = () if machine is None else (machine.processor, machine.board, machine.product)
    return tuple(word for word in words if word)


def _words(machine: Machine | None) -> str:
    return ", ".join(_named(machine)) or "not recorded"


def _value(value: float | str | None) -> str:
    return "not known" if value is None else value if isinstance(value, str) else f"{value:g}"
