"""One scripted run of a virtual machine, and what a recorder would have sampled of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from benchmon.model import keys
from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.meters import BoxReadings
from benchmon.virtual_bench.seeded import seeded
from benchmon.virtual_bench.truth import TruthInterval

Row = tuple[float, dict[str, float | None]]
"""Time [s], and value by canonical key (channels and settings); None = not read."""

ALWAYS_KNOWN = frozenset({keys.RATED_CLOCK, keys.HIGHEST_CLOCK, keys.LOWEST_CLOCK})
BASIC_CHANNELS = frozenset({keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP, keys.LOAD})
COUNTERS = frozenset({keys.CORE_THROTTLE_COUNT})
LIMITS = frozenset(
    {
        keys.TEMP_LIMIT,
        keys.TEMP_CRITICAL,
        keys.POWER_LIMIT_LONG,
        keys.POWER_WINDOW_LONG,
        keys.POWER_LIMIT_SHORT,
        keys.CLOCK_CAP,
        keys.PLATFORM_CAP,
        keys.COOLING_STEP,
    }
)
"""What is hidden from a recorder that knows no limits: told limits, caps and the kernel's cooling state."""


class LoadStep(NamedTuple):
    """From this moment on, so much load."""

    t_s: float
    busy_cores: float
    activity: float = 1.0
    share: float = 1.0
    """Share of its time each busy core is asked to work."""


@dataclass(frozen=True, slots=True)
class Faults:
    """What goes wrong between the machine and the file."""

    blanks_per_min: float = 0.0
    """How often a channel is not read for a while."""
    longest_blank_s: float = 6.0
    holes_per_min: float = 0.0
    """How often there are no samples at all for a while."""
    longest_hole_s: float = 12.0
    nonsense_per_min: float = 0.0
    """How often one temperature is nonsense."""
    counter_resets_s: tuple[float, ...] = ()
    """When the energy counter starts again from zero."""


@dataclass(slots=True)
class Run:
    """A machine and its script. It is simulated once, when something is asked about it."""

    kind: str
    seed: int
    box: VirtualBox
    script: tuple[LoadStep, ...]
    duration_s: float
    period_s: float
    reads: frozenset[str]
    """Channels its recorder has."""
    faults: Faults = field(default_factory=Faults)
    _rows: list[Row] | None = field(default=None, repr=False)

    @property
    def rows(self) -> list[Row]:
        """Every sample with everything that could be known."""
        if self._rows is None:
            self._rows = list(_simulate(self))
        return self._rows

    @property
    def truth(self) -> list[TruthInterval]:
        """What really limited it, over the whole run."""
        assert self.rows is not None  # noqa: S101  # simulates it
        return self.box.truth


def observe(run: Run, knows: Collection[str] = ("limits", "counter")) -> Iterator[Row]:
    """What a recorder would have sampled.

    Args:
        run: it is simulated once; another ``knows`` only hides columns.
        knows: ``limits``: told limits, caps and cooling state; ``counter``: the kernel's count of heat events.
    """
    hidden = (frozenset() if "limits" in knows else LIMITS) | (frozenset() if "counter" in knows else COUNTERS)
    for t_s, values in run.rows:
        yield t_s, {key: value for key, value in values.items() if key not in hidden}


def _simulate(run: Run) -> Iterator[Row]:
    box, spoiler = run.box, _Spoiler(run)
    settings = _settings(box)
    eye = _Eye(box)
    steps = list(run.script)
    resets = list(run.faults.counter_resets_s)
    count = int(run.duration_s / run.period_s)
    for number in range(1, count + 1):
        until_s = number * run.period_s
        while steps and steps[0].t_s < until_s - 1e-9:
            step = steps.pop(0)
            _move_to(box, step.t_s)
            box.set_load(step.busy_cores, step.activity, share=step.share)
        while resets and resets[0] < until_s:
            resets.pop(0)
            box.energy.reset()
        _move_to(box, until_s)
        values = eye.look()
        kept = {key: value for key, value in values.items() if key in run.reads}
        if spoiler.spoil(until_s, kept):
            yield until_s, kept | settings


def _move_to(box: VirtualBox, t_s: float) -> None:
    if t_s > box.t_s + 1e-9:
        box.step(t_s - box.t_s)


class _Eye:
    """Turns readings of counters into rates between two looks, as the real sensors do."""

    def __init__(self, box: VirtualBox) -> None:
        self._box, self._last = box, box.readings()

    def look(self) -> dict[str, float | None]:
        last, now = self._last, self._box.readings()
        self._last = now
        passed_s = now.t_s - last.t_s
        loads = [min(1.0, (new - old) / passed_s) for new, old in zip(now.busy_s, last.busy_s, strict=True)]
        joules = ((now.energy_uj - last.energy_uj) % now.energy_range_uj) * 1e-6
        return {
            keys.CLOCK: _busy_clock(now, loads),
            keys.PACKAGE_POWER: joules / passed_s,
            keys.PROCESSOR_TEMP: now.temp_c,
            keys.LOAD: 100.0 * sum(loads) / len(loads),
            keys.WORK_RATE: (int(now.work_units) - int(last.work_units)) / passed_s,
            keys.CLOCK_CAP: now.clock_cap_mhz,
            keys.PLATFORM_CAP: now.platform_cap_mhz,
            keys.COOLING_STEP: float(now.cooling_step),
            keys.CORE_THROTTLE_COUNT: float(now.throttle_count),
        }


def _busy_clock(now: BoxReadings, loads: list[float]) -> float:
    weight = sum(loads)
    if weight <= 0.0:
        return sum(now.clock_mhz) / len(now.clock_mhz)
    return sum(mhz * load for mhz, load in zip(now.clock_mhz, loads, strict=True)) / weight


def _settings(box: VirtualBox) -> dict[str, float | None]:
    chip, power = box.spec.chip, box.power_limit
    known: dict[str, float | None] = {
        keys.RATED_CLOCK: chip.rated_mhz,
        keys.HIGHEST_CLOCK: chip.highest_mhz,
        keys.LOWEST_CLOCK: chip.lowest_mhz,
        keys.TEMP_LIMIT: box.temp_limit_c,
        keys.TEMP_CRITICAL: box.critical_c,
    }
    if power is not None:
        known |= {
            keys.POWER_LIMIT_LONG: power.long_w,
            keys.POWER_WINDOW_LONG: power.window_s,
            keys.POWER_LIMIT_SHORT: power.short_w,
        }
    return known


class _Spoiler:
    """Lets channels, whole samples or single temperatures go wrong, by chance of its own."""

    def __init__(self, run: Run) -> None:
        self._faults, self._period_s = run.faults, run.period_s
        self._rng = seeded(f"{run.kind} {run.seed} faults")
        self._blank_until_s: dict[str, float] = {}
        self._hole_until_s = 0.0

    def spoil(self, t_s: float, values: dict[str, float | None]) -> bool:
        """Spoil one sample in place; false if it is missing altogether."""
        faults = self._faults
        if self._happens(faults.holes_per_min):
            self._hole_until_s = t_s + self._rng.uniform(1.0, faults.longest_hole_s)
        if faults.blanks_per_min:
            for key in sorted(values):
                if self._happens(faults.blanks_per_min):
                    self._blank_until_s[key] = t_s + self._rng.uniform(0.0, faults.longest_blank_s)
                if t_s <= self._blank_until_s.get(key, -1.0):
                    values[key] = None
        if keys.PROCESSOR_TEMP in values and self._happens(faults.nonsense_per_min):
            values[keys.PROCESSOR_TEMP] = self._rng.choice((0.0, -60.0, 127.0, 255.0))
        return t_s > self._hole_until_s

    def _happens(self, per_min: float) -> bool:
        return per_min > 0.0 and self._rng.random() < per_min * self._period_s / 60.0
