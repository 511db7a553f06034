"""Everything a cause is judged on, gathered once a second while an episode lasts."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.heat_track import HeatTrack
from benchmon.analysis.throttle.memory import Memory
from benchmon.analysis.throttle.onset import Onset
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.trail import Second, mean_power, mean_speed, mean_temp
from benchmon.analysis.throttle.watch import MachineWatch
from benchmon.model.events import Cause


@dataclass(frozen=True, slots=True)
class Clue:
    """One piece of evidence for or against a cause."""

    cause: Cause
    weight: float
    """In e-folds of odds; negative = against."""
    sentence: str


class Case:
    """The judged episode with everything around it."""

    __slots__ = (
        "deficit",
        "episode",
        "fell_is_power",
        "heat_gave_up",
        "lighter_work_possible",
        "load_is_full",
        "load_is_known",
        "memory",
        "now_s",
        "onset",
        "power_sigma",
        "recent",
        "rules",
        "speed_sigma",
        "track",
        "trailing",
        "watch",
    )

    def __init__(self, rules: Rules, memory: Memory, watch: MachineWatch, episode: Episode, track: HeatTrack) -> None:
        """Put the parts together; ``recent`` and ``now_s`` are set before each judgement."""
        self.rules = rules
        self.memory = memory
        self.watch = watch
        self.episode = episode
        self.onset = Onset()
        self.track = track
        self.now_s = episode.detected_s
        self.recent: list[Second] = []
        """Limited seconds since the onset, the last of them at most."""
        self.trailing: deque[Second] = deque(maxlen=4)
        """The last seconds, limited or not."""
        self.load_is_known = True
        self.load_is_full = False
        """All cores are busy all the time."""
        self.fell_is_power = False
        self.heat_gave_up = False
        """Heat held it before, at a higher clock than now, and the temperature has left what it held."""
        self.lighter_work_possible = False
        """Power fell while the clock stayed, and no count of work speaks against lighter work."""
        self.speed_sigma = self.power_sigma = 0.0
        """Relative noise of speed and power before the onset."""
        self.deficit = 0.0
        """Mean relative deficit of the recent seconds."""

    @property
    def is_blind(self) -> bool:
        """True if neither a limit nor the kernel's count is known."""
        known = self.watch.known
        return known.temp_limit_c is None and known.power_limit_w is None and not self.watch.heat.is_read

    @property
    def floor_mhz(self) -> float | None:
        """The lowest clock there is: told, or else the lowest that was seen without load [MHz]."""
        return self.watch.known.lowest_clock_mhz or self.memory.idle_clock_mhz

    @property
    def load_since_s(self) -> float:
        """When this load began [s]."""
        return self.episode.onset_s - (self.onset.loaded_s or 0.0)

    @property
    def age_s(self) -> float:
        """Time since the onset [s]."""
        return self.now_s - self.episode.onset_s

    def spread(self, count: int, of_speed: bool = False) -> float:
        """Spread of the last limited seconds' power (or speed), relative, without a tenth of them at either end.

        1 where fewer than four were read.
        """
        seconds = self.recent[1:][-count:]  # the first mixes what was before with what came after
        values = sorted(v for s in seconds if (v := s.speed if of_speed else s.power) is not None)
        if len(values) < 4:
            return 1.0
        cut = max(len(values) // 10, 1)
        inner = values[cut:-cut]
        return (inner[-1] - inner[0]) / inner[len(inner) // 2] if inner[0] > 0.0 else 1.0

    def moves(self, count: int, least: float, of_speed: bool = False) -> bool:
        """True if power (or speed) moved by that much in the last limited seconds, and went on moving in their half."""
        if len(self.recent) < 8:
            return False
        half = self.spread(count // 2, of_speed)
        return self.spread(count, of_speed) > least and half > least / 2.0

    def recent_all(self, count: int) -> list[Second]:
        """The last seconds, limited or not."""
        return list(self.trailing)[-count:]

    def power_now_w(self) -> float | None:
        """Mean power of the last five limited seconds [W]."""
        return mean_power(self.recent[-5:])

    def temp_now_c(self) -> float | None:
        """Mean temperature of the last three limited seconds [°C]."""
        return mean_temp(self.recent[-3:])

    def speed_now(self) -> float | None:
        """Mean speed of the last five limited seconds."""
        return mean_speed(self.recent[-5:])
