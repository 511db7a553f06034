"""How honest the thermal verdict is: its 95 % intervals held against the truth of many virtual benches.

    python -m tests.benchmarks.verdict_coverage [COUNT] [FIRST_SEED]

Each bench is another cooler, room, sensor (1 °C or 0.125 °C), noise and length of phases. What a person and a meter add
is drawn here: the room is entered with an error of 0.5 K (standard deviation), the power is read with a scale error of
1 %: the doubts that ``docs/method.md`` states. The truth is that of the network of heat stores alone, nothing simulated.

A figure counts as due (the rule for the rates) where a careful person would give one:

* settled temperature and resistance: the phase lasted 5 min or more and heat did not limit it;
* capacity, measured: heat limited all cores for 3 min or more;
* capacity, predicted: an all-core phase of 5 min or more that heat did not limit.
"""

from __future__ import annotations

import os
import random
import sys
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from statistics import median

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.thermal.steady import SteadyState
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.findings import Figure
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Mark,
    MarkKind,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from tests.benchmarks.first_bench.reference import Reference
from tests.benchmarks.first_bench.run import observe
from tests.benchmarks.first_bench.soak import Soak, soak_run

UNITS = {
    keys.CLOCK: Unit.MEGAHERTZ,
    keys.PACKAGE_POWER: Unit.WATT,
    keys.PROCESSOR_TEMP: Unit.CELSIUS,
    keys.LOAD: Unit.PERCENT,
    keys.CORE_THROTTLE_COUNT: Unit.COUNT,
}
SEEN_AT_S = (60.0, 120.0, 180.0, 300.0)
DUE_S, DUE_HELD_S = 300.0, 180.0


class Tally:
    """One line of the table."""

    def __init__(self) -> None:
        self.due = self.given = self.covered = 0
        self.errors: list[float] = []
        self.halves: list[float] = []

    def add(self, figure: Figure, truth: float, *, is_due: bool) -> None:
        self.due += is_due
        if figure.value is None or figure.low is None or figure.high is None:
            return
        self.given += is_due
        if is_due:
            self.covered += figure.low <= truth <= figure.high
            self.errors.append(abs(figure.value - truth))
            self.halves.append((figure.high - figure.low) / 2)

    def join(self, other: Tally) -> None:
        self.due, self.given, self.covered = (
            self.due + other.due,
            self.given + other.given,
            self.covered + other.covered,
        )
        self.errors += other.errors
        self.halves += other.halves

    def line(self, name: str) -> str:
        if not self.given:
            return f"{name:34} {self.due:5d}     0"
        share, cover = self.given / self.due, self.covered / self.given
        return (
            f"{name:34} {self.due:5d} {self.given:5d} {share:6.1%} {cover:8.1%} {median(self.errors):12.2f}"
            f" {sorted(self.errors)[int(0.9 * len(self.errors))]:10.2f} {median(self.halves):12.2f}"
        )


def records(soak: Soak, rows: list, rng: random.Random) -> Iterator[Record]:
    """The session that a recorder would have written, with the room entered at the start of each phase."""
    scale = rng.gauss(1.0, 0.01)
    room_error = rng.gauss(0.0, 0.5)
    step = soak.run.box.spec.meters.temp_step_c
    channels = tuple(
        Channel(key, key, unit, "virtual", step if key == keys.PROCESSOR_TEMP else None) for key, unit in UNITS.items()
    )
    yield SessionHeader("coverage", datetime(2026, 1, 1, tzinfo=UTC), soak.run.period_s, channels, virtual="soak")
    cores = soak.run.box.spec.chip.cores
    yield Setting(0.0, keys.CORE_COUNT, float(cores), Unit.COUNT, "virtual")
    yield Setting(0.0, keys.TEMP_LIMIT, rows[0][1].get(keys.TEMP_LIMIT), Unit.CELSIUS, "virtual")
    number, phases = 0, list(soak.phases)
    for t_s, values in rows:
        while phases and phases[0].start_s < t_s:
            phase = phases.pop(0)
            room = soak.room_c + soak.room_drift_k_per_h * phase.start_s / 3600 + room_error
            yield Mark(number + 1, phase.start_s, t_s, MarkKind.PHASE, phase.name)
            yield Mark(number + 2, phase.start_s, t_s, MarkKind.ROOM, value=round(room, 1))
            number += 2
            action = LoadAction.STARTED if phase.busy_cores else LoadAction.STOPPED
            yield LoadChange(phase.start_s, action, phase.name, phase.busy_cores)
        read = dict(values)
        if read.get(keys.PACKAGE_POWER) is not None:
            read[keys.PACKAGE_POWER] *= scale
        yield Sample(t_s, tuple(read.get(key) for key in UNITS))
    yield SessionEnd(rows[-1][0], "done")


def judge(soak: Soak, rows: list, tallies: dict[str, Tally], seed: int) -> None:
    analysis = LiveAnalysis(look_every_s=float("inf"))  # looked at when asked, below
    looks = [(phase, at_s) for phase in soak.phases for at_s in SEEN_AT_S if phase.busy_cores]
    truth_end = {phase.name: _truth_at(soak, phase.end_s) for phase in soak.phases}
    for record in records(soak, rows, random.Random(seed)):
        analysis.feed(record)
        while isinstance(record, Sample) and looks and record.t_s >= looks[0][0].start_s + looks[0][1]:
            phase, at_s = looks.pop(0)
            if phase.end_s - phase.start_s > at_s:
                _look(analysis, soak, phase, at_s, tallies)
    summary = analysis.summary()
    for phase, row in zip(soak.phases, summary.phases, strict=False):
        is_due = phase.end_s - phase.start_s >= DUE_S and not phase.is_limited
        state = next((s for p, s in analysis.states().items() if p.start_s == row.start_s), "")
        if isinstance(state, SteadyState):
            figure = state.temp
        else:
            figure = Figure(why_not=str(state))
        tallies["settled temperature [K]"].add(figure, phase.settles_at_c + truth_end[phase.name], is_due=is_due)
        relative = row.resistance_k_per_w
        tallies["resistance [% of truth]"].add(
            _over(relative, phase.resistance_k_per_w), 100.0, is_due=is_due and phase.settled_power_w > 1.0
        )
    _capacities(soak, summary.thermal.capacity, tallies)


def _truth_at(soak: Soak, t_s: float) -> float:
    """How far the room has moved by then: what the settled temperature follows [K]."""
    return soak.room_drift_k_per_h * t_s / 3600.0


def _over(figure: Figure, truth: float) -> Figure:
    if figure.value is None or figure.low is None or figure.high is None:
        return figure
    return Figure(*(100.0 * value / truth for value in (figure.value, figure.low, figure.high)))


def _look(analysis: LiveAnalysis, soak: Soak, phase, at_s: float, tallies: dict[str, Tally]) -> None:
    """What the forecast says so long into a phase; due unless heat limits it already."""
    forecast = analysis.look()
    limited = any(
        event.start_s < analysis.notebook.now_s for event in analysis.events if event.start_s >= phase.start_s
    )
    if limited or phase.is_limited:
        return
    name = f"forecast after {at_s / 60:.0f} min [K]"
    truth = phase.settles_at_c + _truth_at(soak, phase.end_s)
    tallies[name].add(forecast.settles_at_c, truth, is_due=True)


def _capacities(soak: Soak, capacity, tallies: dict[str, Tally]) -> None:
    heat_s = 0.0
    for event in soak.run.truth:
        if event.cause == "thermal":
            heat_s = max(heat_s, (event.end_s or soak.run.duration_s) - event.start_s)
    free = any(p.name == "all cores" and not p.is_limited and p.end_s - p.start_s >= DUE_S for p in soak.phases)
    room_c = soak.room_c + _truth_at(soak, soak.phases[-1].start_s)  # where it was entered last
    truth_w = Reference(soak.run.box.spec, room_c).capacity_w(soak.limit_c)
    tallies["capacity, measured [% of truth]"].add(
        _over(capacity.measured_w, truth_w), 100.0, is_due=heat_s >= DUE_HELD_S
    )
    tallies["capacity, predicted [% of truth]"].add(_over(capacity.predicted_w, truth_w), 100.0, is_due=free)


def table(tallies: dict[str, Tally]) -> str:
    head = f"{'':34} {'due':>5} {'given':>5} {'rate':>6} {'covered':>8} {'median error':>12} {'90 % below':>10} {'half width':>12}"
    return "\n".join([head, *(tallies[name].line(name) for name in sorted(tallies, key=str.strip))])


def judged(seed: int) -> dict[str, Tally]:
    tallies: dict[str, Tally] = defaultdict(Tally)
    soak = soak_run(seed)
    judge(soak, list(observe(soak.run)), tallies, seed)
    return dict(tallies)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    os.nice(5)
    total: dict[str, Tally] = defaultdict(Tally)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for tallies in pool.map(judged, range(first, first + count), chunksize=5):
            for name, tally in tallies.items():
                total[name].join(tally)
    print(f"{count} virtual benches from seed {first} on")
    print(table(total))


if __name__ == "__main__":
    main()
