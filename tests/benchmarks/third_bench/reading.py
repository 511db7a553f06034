"""What a recorder would have written of a run: samples as records, and what the machine tells about itself."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import Record, Sample, SessionHeader, Setting
from benchmon.model.units import Unit
from tests.benchmarks.third_bench.limits import STEP_S
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.play import Played
from tests.benchmarks.third_bench.script import Script

_UNITS = {
    keys.CLOCK: Unit.MEGAHERTZ,
    keys.PACKAGE_POWER: Unit.WATT,
    keys.PROCESSOR_TEMP: Unit.CELSIUS,
    keys.LOAD: Unit.PERCENT,
    keys.WORK_RATE: Unit.PER_SECOND,
    keys.WORK_SHARE: Unit.PERCENT,
    keys.CLOCK_CAP: Unit.MEGAHERTZ,
    keys.CORE_THROTTLE_COUNT: Unit.COUNT,
    keys.TEMP_LIMIT: Unit.CELSIUS,
    keys.POWER_LIMIT_LONG: Unit.WATT,
    keys.POWER_WINDOW_LONG: Unit.SECOND,
    keys.HIGHEST_CLOCK: Unit.MEGAHERTZ,
    keys.RATED_CLOCK: Unit.MEGAHERTZ,
    keys.LOWEST_CLOCK: Unit.MEGAHERTZ,
}
_WITH_LIMITS = {keys.WORK_RATE, keys.WORK_SHARE, keys.CLOCK_CAP}
"""Channels that a table from elsewhere does not have."""


@dataclass(frozen=True)
class Seen:
    """All that could be read of a run; :meth:`records` hides what is not to be known."""

    period_s: float
    rows: tuple[tuple[float, dict[str, float | None]], ...]
    told: tuple[tuple[float, str, float], ...]
    """(from [s], key, value) of what the machine tells, but for its temperature limit."""
    lives_by_work: bool
    """No clock is read: the rate of work is all there is to judge by, and never hidden."""

    def records(self, knows: Collection[str], told_c: float | None) -> Iterator[Record]:
        """The session's records.

        Args:
            knows: ``limits`` and ``counter``, as the other benches take them.
            told_c: temperature limit that the machine tells [°C]; None = it tells none.
        """
        hidden = set() if "limits" in knows or self.lives_by_work else set(_WITH_LIMITS)
        columns = [key for key in self.rows[0][1] if key not in hidden]
        counts = "counter" in knows and told_c is not None and keys.PROCESSOR_TEMP in columns
        names = [*columns, keys.CORE_THROTTLE_COUNT] if counts else columns
        channels = tuple(Channel(key, key, _UNITS[key], "third bench") for key in names)
        yield SessionHeader("third", datetime(2026, 1, 1, tzinfo=UTC), self.period_s, channels)
        coming = list(self.told) if "limits" in knows else []
        if "limits" in knows and told_c is not None:
            yield Setting(0.0, keys.TEMP_LIMIT, round(told_c), Unit.CELSIUS, "third bench")
        count, was_above = 3.0, False
        for t_s, row in self.rows:
            while coming and coming[0][0] <= t_s:
                from_s, key, value = coming.pop(0)
                yield Setting(from_s, key, value, _UNITS[key], "third bench")
            values = [row[key] for key in columns]
            if counts and told_c is not None:
                temp_c = row[keys.PROCESSOR_TEMP]
                is_above = was_above if temp_c is None else temp_c >= round(told_c)
                count += is_above and not was_above
                was_above = is_above
                values.append(count)
            yield Sample(t_s, tuple(values))


def see(script: Script, played: Played, luck: Luck) -> Seen:
    """Read a run through its recorder's eyes."""
    eyes = script.eyes
    temp_c = _lagged(played.die_c, eyes.temp_lag_s)
    power_w = _lagged(played.power_w, eyes.power_lag_s)
    totals = {
        name: np.concatenate([[0.0], np.cumsum(values)])
        for name, values in (
            ("clock", played.clock_mhz),
            ("power", power_w),
            ("load", played.load_pct),
            ("work", played.work_rate),
            ("share", played.let_run_pct),
        )
    }
    holes = [(start_s, start_s + luck.even(4.0, 25.0)) for start_s in _starts(script, luck)]
    late = luck.pick(0.0, 0.01, 0.08)
    rows = []
    due_s, last = eyes.period_s, 0
    while due_s < script.length_s - 0.05:
        t_s = round(max(0.05, due_s + eyes.period_s * late * luck.even(-0.5, 0.5)), 3)
        here = min(played.steps - 1, int(t_s / STEP_S + 1e-6))
        if here > last:
            means = {name: float(total[here] - total[last]) / (here - last) for name, total in totals.items()}
            if eyes.at_once:
                means["clock"] = float(played.clock_mhz[here])
            if not any(start_s < t_s < end_s for start_s, end_s in holes):
                rows.append((t_s, _row(script, t_s, means, float(temp_c[here]), luck)))
            last = here
        due_s += eyes.period_s
    return Seen(eyes.period_s, tuple(rows), tuple(_told(script)), "clock" in eyes.hides)


def _starts(script: Script, luck: Luck) -> list[float]:
    return [luck.even(0.0, script.length_s) for _ in range(script.eyes.holes)]


def _lagged(values: NDArray[np.float64], lag_s: float) -> NDArray[np.float64]:
    if not lag_s:
        return values
    share, now = STEP_S / max(lag_s, STEP_S), float(values[0])
    lagged = np.empty_like(values)
    for place, value in enumerate(values):
        now += (value - now) * share
        lagged[place] = now
    return lagged


def _row(script: Script, t_s: float, means: dict[str, float], temp_c: float, luck: Luck) -> dict[str, float | None]:
    eyes = script.eyes
    if eyes.host_load_pct is None:
        load = means["load"] + luck.normal(0.0, 0.5)
    else:
        load = eyes.host_load_pct * luck.even(0.3, 1.6)
    row: dict[str, float | None] = {}
    if "clock" not in eyes.hides:
        row[keys.CLOCK] = round(means["clock"] * (1.0 + luck.normal(0.0, eyes.clock_noise)), 1)
    if "power" not in eyes.hides:
        row[keys.PACKAGE_POWER] = round(max(0.0, means["power"] * (1.0 + luck.normal(0.0, eyes.power_noise))), 3)
    if "temp" not in eyes.hides:
        row[keys.PROCESSOR_TEMP] = math.floor(temp_c / eyes.temp_grain_k) * eyes.temp_grain_k
    if "load" not in eyes.hides:
        row[keys.LOAD] = round(max(0.0, min(100.0, load)), 1)
    if eyes.tells_work:
        row[keys.WORK_RATE] = round(max(0.0, means["work"] * (1.0 + luck.normal(0.0, 0.008))), 4)
    if eyes.tells_share:
        row[keys.WORK_SHARE] = round(max(0.0, min(100.0, means["share"] + luck.normal(0.0, 0.4))), 1)
    if script.told_cap is not None:
        row[keys.CLOCK_CAP] = min(script.told_cap.at(t_s), script.silicon.bins_mhz[0])
    return {key: None if eyes.lost and luck.chance(eyes.lost) else value for key, value in row.items()}


def _told(script: Script) -> Iterator[tuple[float, str, float]]:
    silicon, budget = script.silicon, script.told_power
    if script.tells_clocks:
        yield 0.0, keys.HIGHEST_CLOCK, silicon.bins_mhz[0]
        yield 0.0, keys.RATED_CLOCK, silicon.rated_mhz
        yield 0.0, keys.LOWEST_CLOCK, silicon.lowest_mhz
    if budget is not None:
        for from_s, limit_w in budget.limits_w:
            yield from_s, keys.POWER_LIMIT_LONG, round(limit_w, 3)
            if from_s == 0.0 and script.tells_window and budget.window_s:
                yield 0.0, keys.POWER_WINDOW_LONG, round(budget.window_s, 1)
    elif script.told_power_w is not None:
        yield 0.0, keys.POWER_LIMIT_LONG, round(script.told_power_w, 1)
