"""A run in the making: a kind of run sketches load, limits and faults on a drawn machine."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from benchmon.model import keys
from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.firmware import Limit, PowerLimit
from benchmon.virtual_bench.seeded import seeded
from benchmon.virtual_bench.spec import HEATSINK, BoxSpec
from tests.benchmarks.first_bench.machines import draw_machine, draw_period_s
from tests.benchmarks.first_bench.reference import Reference
from tests.benchmarks.first_bench.run import BASIC_CHANNELS, COUNTERS, LIMITS, Faults, LoadStep, Run

LONGEST_S = 1200.0
PILOT_STEP_S = 0.5
"""Long for the firmware, short enough for a cooler: pilots only look for temperatures."""

MakeLimit = Callable[[], Limit]


@dataclass(frozen=True, slots=True)
class PilotPoint:
    """One moment of the run as it would go without the limits that are still to be chosen."""

    t_s: float
    hot_c: float
    case_c: float
    power_w: float
    busy: float


class Sketch:
    """What a kind of run draws on.

    Args:
        kind: name of the kind.
        seed: another seed is another machine.
    """

    def __init__(self, kind: str, seed: int) -> None:
        self.kind, self.seed = kind, seed
        self.rng: random.Random = seeded(f"{kind} {seed}")
        self.spec: BoxSpec = draw_machine(self.rng)
        self.period_s = draw_period_s(self.rng)
        self.steps: list[LoadStep] = []
        self.duration_s = 600.0
        self.faults = Faults()
        self.hides: frozenset[str] = frozenset() if self.rng.random() < 0.6 else frozenset({keys.WORK_RATE})
        self._makers: list[MakeLimit] = []

    @property
    def cores(self) -> int:
        """Cores of the machine."""
        return self.spec.chip.cores

    def change(self, **fields: object) -> None:
        """Replace fields of the machine."""
        self.spec = replace(self.spec, **fields)  # type: ignore[arg-type]  # the names are checked by replace

    def between(self, low: float, high: float) -> float:
        """A number by chance."""
        return self.rng.uniform(low, high)

    def load(self, *steps: tuple[float, ...]) -> None:
        """Load as (from [s], busy cores, activity, share)."""
        self.steps += [LoadStep(*step) for step in steps]

    def idle_then_all(
        self, lead_s: tuple[float, float] = (8.0, 40.0), then_s: tuple[float, float] = (240.0, 900.0)
    ) -> float:
        """Idle for a while, then all cores until the end; returns when the load starts [s]."""
        start_s = self.between(*lead_s)
        self.load((0.0, 0), (start_s, self.cores))
        self.duration_s = min(LONGEST_S, start_s + self.between(*then_s))
        return start_s

    def limit(self, make: MakeLimit) -> None:
        """Add a limit; it is made anew for each box, because it has a state."""
        self._makers.append(make)

    def high_power_limit(self) -> None:
        """A power limit as most machines have, out of reach here."""
        top_w = 1.35 * max(point.power_w for point in self.pilot())
        long_w, window_s = top_w * self.between(1.0, 1.5), self.rng.choice((8.0, 28.0, 56.0))
        self.limit(lambda: PowerLimit(long_w, 1.25 * long_w, window_s))

    def pilot(self) -> list[PilotPoint]:
        """The run with the limits chosen so far, in coarse steps and without noise."""
        quiet = replace(self.spec, meters=replace(self.spec.meters, power_noise=0.0))
        box = VirtualBox(quiet, 0, [make() for make in self._makers])
        steps, points = list(self.steps), []
        while box.t_s < self.duration_s:
            while steps and steps[0].t_s <= box.t_s + PILOT_STEP_S / 2:
                step = steps.pop(0)
                box.set_load(step.busy_cores, step.activity, share=step.share)
                busy = step.busy_cores
            box.leap(PILOT_STEP_S)
            points.append(PilotPoint(box.t_s, box.hot_c, box.cooler.temps_c[-1], box.power_w, busy))
        return points

    def trip_within(
        self, low: float, high: float, after_s: float | None = None, tail_s: float = 90.0, least_share: float = 0.12
    ) -> float:
        """A trip temperature that this load reaches: so far up from just after ``after_s`` to the hottest moment.

        The run is made long enough to go on for ``tail_s`` after it. ``after_s`` None = the first load. At least
        ``least_share`` of the highest rise above the room is left for the firmware to take away.
        """
        points = self.pilot()
        start_s = after_s if after_s is not None else next(step.t_s for step in self.steps if step.busy_cores)
        early = next(point.hot_c for point in points if point.t_s >= start_s + 4.0)
        top = max(point.hot_c for point in points if point.t_s >= start_s)
        trip_c = early + (top - early) * self.between(low, high)
        trip_c = min(trip_c, top - least_share * (top - self.spec.room_c))
        reached_s = next(point.t_s for point in points if point.t_s >= start_s and point.hot_c >= trip_c)
        self.duration_s = min(LONGEST_S + tail_s, max(self.duration_s, reached_s + tail_s))
        return trip_c

    def tell_limit(self, trip_c: float) -> None:
        """The machine tells a limit; firmware acts there or, on one machine in three, a few kelvin early."""
        early_k = self.between(1.0, 6.0) if self.rng.random() < 0.35 else 0.0
        self.change(announced_limit_c=float(round(trip_c + early_k)))

    def low_mhz(self, trip_c: float, spare_k: float) -> float:
        """A clock at which this load would settle at least ``spare_k`` below the trip, as high as possible."""
        chip, reference = self.spec.chip, Reference(self.spec)
        top = chip.free_mhz(self.cores, 1.0)
        steps = [top * share for share in (0.8, 0.7, 0.6, 0.5, 0.4, 0.3)]
        for mhz in steps:
            if mhz > chip.lowest_mhz and reference.settled_temp_c(self.cores, 1.0, mhz) < trip_c - spare_k:
                return 100.0 * round(mhz / 100.0)
        return chip.lowest_mhz

    def stretch_sink(self, factor: float) -> None:
        """Make the way from heatsink to air so many times worse."""
        stages = list(self.spec.stages)
        sink = stages[HEATSINK]
        stages[HEATSINK] = replace(sink, resistance_k_per_w=sink.resistance_k_per_w * factor)
        self.change(stages=tuple(stages))

    def finish(self) -> Run:
        """The run."""
        box = VirtualBox(self.spec, self.seed, [make() for make in self._makers])
        script: Sequence[LoadStep] = sorted(self.steps)
        reads = (BASIC_CHANNELS | COUNTERS | LIMITS | {keys.WORK_RATE}) - self.hides
        return Run(self.kind, self.seed, box, tuple(script), self.duration_s, self.period_s, reads, self.faults)
