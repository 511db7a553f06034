"""Are two runs alike enough? Asked first, and never passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from benchmon.analysis.compare.bench_run import OTHER_SIZE, BenchRun, Group, RunPhase
from benchmon.analysis.compare.matching import main_phase
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
LENGTHS_APART = 1.25
"""Phases may differ in length by this factor to be seen alike."""
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


def caveats(before: Group, after: Group) -> Iterator[Caveat]:
    """What must be borne in mind when the second side is compared with the first: of all runs, each reason once."""
    runs = (*before.runs, *after.runs)
    phases = [main_phase(run, runs) for run in runs]
    first = runs[0]
    seen: dict[Caveat, None] = {}
    for run, phase in zip(runs[1:], phases[1:], strict=True):
        for caveat in (*_machines(first, run), *_sensors(first, run), *_settings(first, run), *_work(phases[0], phase)):
            seen.setdefault(caveat)
    simulated = [run.name for run in runs if _is_simulated(run)]
    if 0 < len(simulated) < len(runs):
        yield Caveat(Doubt.SIMULATED, what=", ".join(simulated))
    yield from seen
    yield from _held(runs, phases)
    yield from _apart(
        Doubt.LIMIT, LIMIT_K, [None if isinstance(run.plateau, str) else run.plateau.temp_c for run in runs]
    )
    yield from _lengths(runs, phases)
    yield from _named_runs(runs, phases)
    yield from _apart(Doubt.ROOM, ROOM_K, [run.summary.thermal.room_c.value for run in runs])


def _machines(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    machines = [run.summary.machine for run in (before, after)]
    if _is_simulated(before) != _is_simulated(after):
        return  # that is said by itself
    if not is_same_machine(before, after):
        yield Caveat(Doubt.MACHINE, _words(machines[0]), _words(machines[1]))
    elif not all(_named(machine) for machine in machines):
        yield Caveat(Doubt.MACHINE_UNKNOWN)


def _sensors(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    channels = [{channel.key: channel for channel in run.summary.header.channels} for run in (before, after)]
    for key in (keys.PROCESSOR_TEMP, keys.PACKAGE_POWER, keys.WALL_POWER, keys.ROOM_TEMP):
        one, other = (known.get(key) for known in channels)
        if one is not None and other is not None and _reading(one) != _reading(other):
            yield Caveat(Doubt.SENSOR, _way(one), _way(other), key)
    periods = [run.summary.header.period_s for run in (before, after)]
    if max(periods) > SAMPLING * min(periods):
        yield Caveat(Doubt.SAMPLING, f"{periods[0]:g} s", f"{periods[1]:g} s")


def _reading(channel: Channel) -> tuple[str, float | None]:
    """What must be the same; of a table, the column and not the file."""
    source, is_of_table = channel.source, channel.source.startswith("column ")
    return source.partition(" of ")[0] if is_of_table else source, channel.resolution


def _lengths(runs: Sequence[BenchRun], phases: Sequence[RunPhase | None]) -> Iterator[Caveat]:
    """The phase that counts is longer in some: of two runs each, of more the shortest and the longest."""
    known = [(run.length_s(phase), phase.name) for run, phase in zip(runs, phases, strict=True) if phase is not None]
    lengths = [length_s for length_s, _ in known]
    if known and max(lengths) > LENGTHS_APART * min(lengths):
        first, last = lengths if len(lengths) == 2 else (min(lengths), max(lengths))
        yield Caveat(Doubt.LENGTH, _minutes(first), _minutes(last), known[0][1])


def _minutes(length_s: float) -> str:
    minutes, seconds = divmod(round(length_s), 60)
    return f"{minutes}:{seconds:02d}"


def _way(channel: Channel) -> str:
    """``hwmon: package, steps of 1``: how a channel is read."""
    return channel.source if channel.resolution is None else f"{channel.source}, steps of {channel.resolution:g}"


def _settings(before: BenchRun, after: BenchRun) -> Iterator[Caveat]:
    for key in _SETTINGS:
        one, other = (run.summary.settings.get(key) for run in (before, after))
        if one is not None and other is not None and one.value != other.value:
            yield Caveat(Doubt.SETTING, _value(one.value), _value(other.value), key)


def _work(one: RunPhase | None, other: RunPhase | None) -> Iterator[Caveat]:
    why = "" if one is None or other is None else one.load.other_work(other.load)
    if one is not None and other is not None and why:
        yield Caveat(Doubt.WORK, one.load.work, other.load.work, "units" if why == OTHER_SIZE else "")


def _held(runs: Sequence[BenchRun], phases: Sequence[RunPhase | None]) -> Iterator[Caveat]:
    """Heat throttled some of them, and others not."""
    names: tuple[list[str], list[str]] = ([], [])
    for run, phase in zip(runs, phases, strict=True):
        if phase is not None:
            names[0 if _is_held(phase) else 1].append(run.name)
    if all(names):
        phase_name = next(phase.name for phase in phases if phase is not None)
        yield Caveat(Doubt.HELD, ", ".join(names[0]), ", ".join(names[1]), phase_name)


def _apart(doubt: Doubt, most: float, values: Sequence[float | None]) -> Iterator[Caveat]:
    """Temperatures too far from one another: of two runs each, of more the lowest and the highest."""
    known = [value for value in values if value is not None]
    if len(known) > 1 and max(known) - min(known) > most:
        shown = known if len(known) == 2 else [min(known), max(known)]
        yield Caveat(doubt, f"{shown[0]:.0f}", f"{shown[1]:.0f}")


def _named_runs(runs: Sequence[BenchRun], phases: Sequence[RunPhase | None]) -> Iterator[Caveat]:
    """What is wrong with single runs: all that it is wrong with in one sentence."""
    found: dict[Doubt, list[str]] = {Doubt.UNSETTLED: [], Doubt.STILL_MOVING: [], Doubt.INCOMPLETE: []}
    for run, phase in zip(runs, phases, strict=True):
        settling = None if phase is None else phase.row.settling.get(keys.PROCESSOR_TEMP)
        sustained = None if phase is None else phase.row.sustained
        if phase is not None and not _is_held(phase) and settling is not None and settling.settled is False:
            found[Doubt.UNSETTLED].append(f"{phase.name} of {run.name}")
        if phase is not None and sustained is not None and sustained.is_settled is False:
            found[Doubt.STILL_MOVING].append(f"{phase.name} of {run.name}")
        if not run.summary.is_complete:
            found[Doubt.INCOMPLETE].append(run.name)
    for doubt, names in found.items():
        if names:
            yield Caveat(doubt, what=", ".join(names))


def _is_simulated(run: BenchRun) -> bool:
    return bool(run.summary.header.virtual)


def _is_held(phase: RunPhase) -> bool:
    return phase.held_s.get(Cause.THERMAL, 0.0) > 0


def _named(machine: Machine | None) -> tuple[str, ...]:
    words = () if machine is None else (machine.processor, machine.board, machine.product)
    return tuple(word for word in words if word)


def _words(machine: Machine | None) -> str:
    return ", ".join(_named(machine)) or "not recorded"


def _value(value: float | str | None) -> str:
    return "not known" if value is None else value if isinstance(value, str) else f"{value:g}"
