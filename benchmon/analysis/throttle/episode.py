"""One stretch of limitation while it is followed: its figures, its recoveries, and what was announced of it."""

from __future__ import annotations

from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.reference import Reference
from benchmon.model.events import Cause, ThrottleEvent


class Sums:
    """Time integrals over an episode."""

    __slots__ = (
        "clock", "clock_s",
        "deficit", "energy_j", "limited_s", "power", "power_s",
        "temp",
        "temp_s", "total_s", "work_lost", "work_s",
    )  # fmt: skip

    def __init__(self) -> None:
        """All zero."""
        self.total_s = self.limited_s = self.deficit = 0.0
        self.clock = self.clock_s = 0.0
        self.power = self.power_s = 0.0
        self.temp = self.temp_s = 0.0
        self.work_lost = self.work_s = 0.0
        self.energy_j = 0.0

    def add(self, dt_s: float, reading: Reading, deficit: float, *, limited: bool, loss: float) -> None:
        """Add a sample that stands for ``dt_s`` seconds, with its relative deficit and loss of work."""
        is_first = self.total_s == 0.0
        self.total_s += dt_s
        self.deficit += deficit * dt_s
        self.work_lost += max(loss, 0.0) * dt_s
        self.work_s += dt_s
        power = reading.power
        if power is not None:
            self.energy_j += power * dt_s
        if not limited:
            return
        self.limited_s += dt_s
        if reading.clock is not None:
            self.clock += reading.clock * dt_s
            self.clock_s += dt_s
        if power is not None and not is_first:  # the first was counted partly before the fall
            self.power += power * dt_s
            self.power_s += dt_s
        if reading.temp is not None:
            self.temp += reading.temp * dt_s
            self.temp_s += dt_s

    def merge(self, other: Sums) -> None:
        """Add all of another's."""
        for name in Sums.__slots__:
            setattr(self, name, getattr(self, name) + getattr(other, name))


class Before:
    """What held before the onset; each None where it is not known."""

    __slots__ = ("clock", "power", "speed", "work")

    def __init__(self, speed: float, clock: float | None, power: float | None, work: float | None) -> None:
        """``speed`` is the clock [MHz], or the work rate where there is no clock."""
        self.speed = speed
        self.clock = clock
        self.power = power
        self.work = work

    @classmethod
    def of(cls, reference: Reference, *, is_clock: bool) -> Before:
        """Copy of a reference whose speed is a clock, or else a work rate."""
        speed = reference.speed
        return (
            cls(speed, speed, reference.power, reference.work) if is_clock else cls(speed, None, reference.power, speed)
        )


class Episode:
    """Collects one stretch of limitation, announced or not."""

    __slots__ = (
        "announced_s",
        "before",
        "cause",
        "confidence",
        "detected_s",
        "down_since_s",
        "evidence",
        "first_cause",
        "given_s",
        "last_limited_s",
        "lowest_clock",
        "lowest_power",
        "number",
        "onset_s",
        "recoveries",
        "recovering_since_s",
        "relapses",
        "revision",
        "sums",
        "tail",
        "temp_is_held",
        "temp_onset",
        "would_settle",
    )  # fmt: skip

    def __init__(self, onset_s: float, detected_s: float, before: Before) -> None:
        """Start following."""
        self.onset_s = onset_s
        self.detected_s = detected_s
        self.before = before
        self.sums = Sums()
        self.tail = Sums()
        self.lowest_clock: float | None = None
        self.lowest_power: float | None = None
        self.temp_onset: float | None = None
        self.temp_is_held = False
        """The temperature was held or came back again and again: its mean is a plateau."""
        self.recoveries = 0
        self.relapses: list[tuple[float, float]] = []
        """(temperature at a further drop, how much cooler it had been since the last) [°C, K]."""
        self.last_limited_s = detected_s
        self.recovering_since_s: float | None = None
        self.down_since_s = onset_s
        self.number = 0
        self.announced_s = 0.0
        self.given_s = 0.0
        self.cause = Cause.UNEXPLAINED
        self.first_cause = Cause.UNEXPLAINED
        self.confidence = 0.0
        self.evidence: tuple[str, ...] = ()
        self.would_settle = ""
        self.revision = 0

    def add(self, dt_s: float, reading: Reading, deficit: float, *, limited: bool, loss: float) -> None:
        """Take a sample of the episode; a recovery counts only if it is followed by limitation again."""
        if not limited:
            self.tail.add(dt_s, reading, deficit, limited=False, loss=loss)
            return
        if self.tail.total_s:
            self.sums.merge(self.tail)
            self.tail = Sums()
        self.sums.add(dt_s, reading, deficit, limited=True, loss=loss)
        clock, power = reading.clock, reading.power
        if clock is not None and (self.lowest_clock is None or clock < self.lowest_clock):
            self.lowest_clock = clock
        if power is not None and (self.lowest_power is None or power < self.lowest_power):
            self.lowest_power = power

    def mean_clock(self) -> float | None:
        """Mean clock while limited [MHz]; None if none was read."""
        return _share(self.sums.clock, self.sums.clock_s)

    def event(self, end_s: float | None) -> ThrottleEvent:
        """The episode as it can be told now."""
        sums = self.sums
        return ThrottleEvent(
            number=self.number,
            cause=self.cause,
            first_cause=self.first_cause,
            start_s=self.onset_s,
            end_s=end_s,
            announced_s=self.announced_s,
            confidence=round(self.confidence, 3),
            evidence=self.evidence,
            would_settle=self.would_settle,
            clock_before_mhz=self.before.clock,
            clock_held_mhz=self.mean_clock(),
            clock_lowest_mhz=self.lowest_clock,
            power_before_w=self.before.power,
            power_held_w=_share(sums.power, sums.power_s),
            power_lowest_w=self.lowest_power,
            temp_onset_c=self.temp_onset,
            temp_plateau_c=_share(sums.temp, sums.temp_s) if self.temp_is_held else None,
            limited_share=_share(sums.limited_s, sums.total_s),
            recoveries=self.recoveries,
            work_lost=_share(sums.work_lost, sums.work_s),
            energy_j=sums.energy_j if self.lowest_power is not None else None,
            revision=self.revision,
        )


def _share(part: float, whole: float) -> float | None:
    return part / whole if whole > 0.0 else None
