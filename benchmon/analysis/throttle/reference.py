"""What the processor does under a load when nothing limits it, learned while nothing does."""

from __future__ import annotations

from statistics import NormalDist, fmean, median

from benchmon.analysis.throttle.rules import Rules


class Reference:
    """Speed, power and work under one load: from the three fastest blocks, so a slow decline cannot drag it along."""

    __slots__ = (
        "_best",
        "_blocks",
        "_guessed",
        "_open",
        "_open_s",
        "_rules",
        "cores",
        "level",
        "power",
        "speed",
        "work",
    )

    def __init__(self, rules: Rules, level: float, cores: float | None) -> None:
        """Start with nothing learned for a load [%] and a number of busy cores."""
        self._rules = rules
        self.level = level
        self.cores = cores
        self.speed = 0.0
        """Clock [MHz], or the work rate where there is no clock; 0 = not known yet."""
        self.power: float | None = None
        self.work: float | None = None
        self._best: list[tuple[float, float | None, float | None]] = []
        self._blocks = 0
        self._guessed = False
        self._open: list[tuple[float, float | None, float | None]] = []
        self._open_s = 0.0

    @property
    def is_young(self) -> bool:
        """True before the first whole block."""
        return self._blocks == 0

    def doubt(self, sigma: float) -> float:
        """How far off it may still be (relative), the younger the more, at a noise of ``sigma``."""
        if self._blocks == 0:
            return max(self._rules.young_reference_doubt, sigma)
        return 0.6 * sigma if self._blocks <= 3 else 0.0

    def feed(self, t_s: float, speed: float, power: float | None, work: float | None, sigma: float) -> None:
        """Take a sample that nothing limits."""
        samples = self._open
        if not samples:
            self._open_s = t_s
        samples.append((speed, power, work))
        if t_s - self._open_s >= self._rules.block_s and len(samples) >= 2:
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
        block = (
            median([speed for speed, _, _ in samples]),
            _mean([power for _, power, _ in samples]),
            _mean([work for _, _, work in samples]),
        )
        self._blocks += 1
        self._best = sorted([*self._best, block], reverse=True, key=_speed)[:3]
        middle = self._best[len(self._best) // 2]
        luck = _luck(self._blocks) * 1.25 * sigma / len(samples) ** 0.5  # sigma of a median is 1.25 sigma / √n
        self.speed = middle[0] * (1.0 - luck)
        self.power, self.work = middle[1], middle[2]

    def drop_open_block(self) -> None:
        """Forget samples that may already have been limited, or that belong to another load."""
        self._open = []

    def restart(self, speed: float, power: float | None, work: float | None) -> None:
        """Other code runs now: what was learned no longer holds."""
        self._best, self._open, self._blocks = [], [], 0
        self.speed, self.power, self.work = speed, power, work
        self._guessed = False


def _luck(blocks: int) -> float:
    """How many sigmas the second highest of so many normal values lies above their mean (Blom 1958)."""
    return NormalDist().inv_cdf((blocks - 1.375) / (blocks + 0.25)) if blocks >= 4 else 0.0


def _speed(sample: tuple[float, float | None, float | None]) -> float:
    return sample[0]


def _mean(values: list[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return fmean(known) if known else None


class References:
    """One reference for each load that was met."""

    def __init__(self, rules: Rules) -> None:
        """Start with none."""
        self._rules = rules
        self._all: list[Reference] = []

    def pick(self, level: float, cores: float | None) -> Reference:
        """The reference of the nearest load met before, or a new one."""
        near = [
            known
            for known in self._all
            if known.cores == cores and abs(known.level - level) <= self._rules.load_step_pct
        ]
        if near:
            return min(near, key=lambda known: abs(known.level - level))
        fresh = Reference(self._rules, level, cores)
        self._all = [*self._all[-23:], fresh]
        return fresh
