"""What the processor does under a load when nothing limits it: learned while nothing does, or known beforehand."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from statistics import NormalDist, median
from typing import NamedTuple

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.load import FULL_LOAD_PCT, LOAD_STEP_PCT
from benchmon.analysis.throttle.readings import Reading, Second, mean
from benchmon.analysis.throttle.steadiness import LEAST_CLOCK_NOISE, LEAST_POWER_NOISE, Regulation

BLOCK_S = 4.0
"""The reference is made of medians over blocks of this length: longer than a scheduler's or governor's hiccup."""
YOUNG_DOUBT = 0.01
"""Added slack while the reference rests on less than one block."""
AT_TOLD_LIMIT_K = 2.4
"""One step of a 1 °C sensor, one of overshoot, and sampling: this near a told limit is at the limit."""
BELOW_RATED = 0.05
"""The rated clock is guaranteed within the rated power and temperature; below it something limits."""
WIDE_BELOW_RATED = 0.6
"""Neither rated nor idle clock holds for wide instructions: makers publish lower ones for them, down to about this
share (processor makers' specification updates, from memory)."""
BELOW_IDLE = 0.3
"""Fewer busy cores may clock higher, but not by this much: bins span a fifth at most."""
START_FROM_S, START_UNTIL_S = 3.0, 120.0
"""What has limited a load since it began is looked for in these seconds of it."""
AT_START_LIMIT, BELOW_SHOWN = 0.03, 0.97
"""Power is regulated at its told limit if it is this near, and the clock below what the machine has shown or tells."""
CLOCK_FOLLOWS, HELD_BLIND, BELOW_STEADY = 4.0, 1.5, 0.9
"""Without a told limit: far below a steady clock, power stays while the clock follows the leakage, by so many e-folds,
or is steadier than the clock by this factor, which was steady when nothing was asked of it."""
_IDLE_KEPT = 8


class Sampled(NamedTuple):
    """One sample that nothing limits."""

    speed: float
    power: float | None
    work: float | None


class Reference:
    """Speed, power and work under one load: from the three fastest blocks, so a slow decline cannot drag it along."""

    __slots__ = ("_best", "_blocks", "_guessed", "_open", "_open_s", "cores", "level", "power", "speed", "what", "work")

    def __init__(self, level: float = 0.0, cores: float | None = None, what: str = "") -> None:
        """Start with nothing learned for a load [%], a number of busy cores, and what work they do."""
        self.level = level
        self.cores = cores
        self.what = what
        self.speed = 0.0
        """Clock [MHz], or the work rate where there is no clock; 0 = not known yet."""
        self.power: float | None = None
        self.work: float | None = None
        self._best: list[Sampled] = []
        self._blocks = 0
        self._guessed = False
        self._open: list[Sampled] = []
        self._open_s = 0.0

    @property
    def is_young(self) -> bool:
        """True before the first whole block."""
        return self._blocks == 0

    def doubt(self, sigma: float) -> float:
        """How far off it may still be (relative), the younger the more, at a noise of ``sigma``."""
        if self._blocks == 0:
            return max(YOUNG_DOUBT, sigma)
        return 0.6 * sigma if self._blocks <= 3 else 0.0

    def feed(self, t_s: float, sample: Sampled, sigma: float) -> None:
        """Take a sample that nothing limits."""
        samples = self._open
        if not samples:
            self._open_s = t_s
        samples.append(sample)
        if t_s - self._open_s >= BLOCK_S and len(samples) >= 2:
            self._close_block(sigma)
        elif self._blocks == 0:
            self._guess(sigma)

    def _guess(self, sigma: float) -> None:
        """Before the first block: the second fastest sample, which one spike cannot be."""
        fastest = sorted(self._open, reverse=True, key=_speed)
        speed, power, work = fastest[min(1, len(fastest) - 1)]
        speed *= 1.0 - _luck(len(fastest)) * sigma
        if speed >= self.speed or self._guessed:
            self._guessed = True
            self.speed, self.power, self.work = speed, power, work

    def _close_block(self, sigma: float) -> None:
        samples, self._open = self._open, []
        block = Sampled(
            median([sample.speed for sample in samples]),
            mean(sample.power for sample in samples),
            mean(sample.work for sample in samples),
        )
        self._blocks += 1
        self._best = sorted([*self._best, block], reverse=True, key=_speed)[:3]
        middle = self._best[len(self._best) // 2]
        luck = _luck(self._blocks) * 1.25 * sigma / len(samples) ** 0.5  # sigma of a median is 1.25 sigma / √n
        self.speed = middle.speed * (1.0 - luck)
        self.power, self.work = middle.power, middle.work

    def drop_open_block(self) -> None:
        """Forget samples that may already have been limited, or that belong to another load."""
        self._open = []

    def restart(self, speed: float = 0.0) -> None:
        """Other code runs now: what was learned no longer holds; ``speed`` is what should be there, if known."""
        self._best, self._open, self._blocks = [], [], 0
        self.speed, self.power, self.work = speed, None, None
        self._guessed = False


def _luck(blocks: int) -> float:
    """How many sigmas the second highest of so many normal values lies above their mean (Blom 1958)."""
    return NormalDist().inv_cdf((blocks - 1.375) / (blocks + 0.25)) if blocks >= 4 else 0.0


def _speed(sample: Sampled) -> float:
    return sample.speed


class References:
    """One reference for each load that was met."""

    def __init__(self) -> None:
        """Start with none."""
        self._all: list[Reference] = []

    def pick(self, level: float, cores: float | None, what: str = "") -> Reference:
        """The reference of the nearest load met before with the same work, or a new one."""
        same = [known for known in self._all if (known.cores, known.what) == (cores, what)]
        near = [known for known in same if abs(known.level - level) <= LOAD_STEP_PCT]
        if near:
            return min(near, key=lambda known: abs(known.level - level))
        fresh = Reference(level, cores, what)
        self._all = [*self._all[-23:], fresh]
        return fresh


class StartWatch:
    """Limited from the first second: no reference can be learned, but the machine showed or tells what it can do."""

    __slots__ = (
        "_begin_s",
        "_idle",
        "_is_wide",
        "_kept",
        "_regulation",
        "_seconds",
        "_steady_spread",
        "steady_mhz",
        "wide_mhz",
    )

    def __init__(self) -> None:
        """Start with nothing seen."""
        self.steady_mhz: float | None = None
        """Highest clock that was seen to stand still, idle or not."""
        self.wide_mhz: float | None = None
        """The same under work with wide instructions."""
        self._is_wide = False
        self._steady_spread = 0.0
        self._idle: deque[float] = deque(maxlen=_IDLE_KEPT)
        self._begin_s: float | None = None
        self._seconds: list[Second] = []
        self._kept: list[tuple[float, Reading]] = []
        self._regulation = Regulation()

    def take_work(self, *, is_wide: bool) -> None:
        """What work the load does that begins now."""
        self._is_wide = is_wide

    def see_idle(self, reading: Reading) -> None:
        """Take a reading without load."""
        if reading.clock is None:
            return
        self._idle.append(reading.clock)
        steady = self._steady_idle()
        if steady is not None and len(self._idle) == _IDLE_KEPT and steady > (self.steady_mhz or 0.0):
            self.steady_mhz, self._steady_spread = steady, _spread(self._idle)

    def _steady_idle(self) -> float | None:
        if len(self._idle) < _IDLE_KEPT // 2:
            return None
        ordered = sorted(self._idle)
        middle = len(ordered) // 2
        idle = ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2
        return idle if ordered[-1] - ordered[0] <= 0.05 * idle else None

    def expected_mhz(self, clock_mhz: float, known: Observation, level: float) -> float | None:
        """The clock that should be there under a new load, if the one seen is clearly below it; else None."""
        rated = known.rated_clock_mhz
        if rated is not None and self._is_wide:
            rated *= WIDE_BELOW_RATED
        if rated is not None and level >= FULL_LOAD_PCT and clock_mhz < rated * (1.0 - BELOW_RATED):
            return rated
        idle = self._steady_idle()
        if idle is not None and self._is_wide:
            idle *= WIDE_BELOW_RATED
        return idle if idle is not None and clock_mhz < idle * (1.0 - BELOW_IDLE) else None

    def begin(self, now_s: float) -> None:
        """A load begins, or other code."""
        self._begin_s = now_s
        self._seconds, self._kept = [], []
        self._regulation = Regulation()

    def keep(self, reading: Reading, since_s: float) -> None:
        """Take every reading of the load's first minutes."""
        if self._begin_s is not None:
            self._kept.append((since_s, reading))

    def see_free(self, second: Second, *, is_young: bool) -> None:
        """Take a second of steady load that nothing was found to limit."""
        if second.speed and not is_young and self._begin_s is None:
            self.steady_mhz = max(self.steady_mhz or 0.0, second.speed)
            if self._is_wide:
                self.wide_mhz = max(self.wide_mhz or 0.0, second.speed)

    def feed(self, second: Second, known: Observation) -> tuple[float, float, list[tuple[float, Reading]]] | None:
        """Take a second of steady load.

        Returns:
            The clock that should be there [MHz], since when it is not [s], and the readings since; None while nothing
            is found.
        """
        begin_s = self._begin_s
        if begin_s is None:
            return None
        if second.t_s - begin_s > START_UNTIL_S:
            self._begin_s = None
            self._kept = []
            return None
        if second.t_s - begin_s >= START_FROM_S and second.power and second.speed:
            self._seconds.append(second)
            self._regulation.feed(second.power, second.speed, second.temp)
        expected = self._held_back(known)
        if expected is None:
            return None
        self._begin_s = None
        return expected, begin_s, self._kept

    def _held_back(self, known: Observation) -> float | None:
        count = len(self._seconds)
        if count < 8:
            return None
        clock = median([second.speed or 0.0 for second in self._seconds[-16:]])
        power = median([second.power or 0.0 for second in self._seconds[-16:]])
        shown = (self.wide_mhz or 0.0) if self._is_wide else max(self.steady_mhz or 0.0, known.rated_clock_mhz or 0.0)
        limit = known.power_limit_w
        if limit is not None:
            if clock >= BELOW_SHOWN * shown:
                shown = known.highest_clock_mhz or 0.0
            return shown if abs(power / limit - 1.0) < AT_START_LIMIT and clock < BELOW_SHOWN * shown else None
        if count < 16 or clock >= BELOW_STEADY * shown:
            return None
        clock_spread = _spread([second.speed or 0.0 for second in self._seconds])
        power_spread = _spread([second.power or 0.0 for second in self._seconds])
        power_is_held = clock_spread > HELD_BLIND * power_spread and clock_spread > 2.0 * self._steady_spread + 0.004
        follows = self._regulation.clock_follows_leakage(LEAST_POWER_NOISE, LEAST_CLOCK_NOISE)
        return shown if power_is_held or follows >= CLOCK_FOLLOWS else None


def _spread(values: Iterable[float]) -> float:
    """Relative distance of the tenth from the ninetieth of a hundred."""
    ordered = sorted(values)
    return (ordered[int(0.9 * (len(ordered) - 1))] - ordered[len(ordered) // 10]) / ordered[len(ordered) // 2]
