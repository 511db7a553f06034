"""What was seen around an onset."""

from __future__ import annotations

from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.trail import Trail, mean_power


class Onset:
    """What was seen around the onset; fixed once a few seconds have passed."""

    __slots__ = (
        "average_w",
        "cooler_before_k",
        "crept_k",
        "free_high_c",
        "hottest_before_c",
        "loaded_s",
        "power_before_w",
        "settled_s",
        "start_temp_c",
        "temp_c",
    )

    def __init__(self) -> None:
        """Nothing known yet."""
        self.temp_c: float | None = None
        """Highest temperature around the onset [°C]."""
        self.cooler_before_k: float | None = None
        """How much cooler it was ten seconds before [K]."""
        self.crept_k: float | None = None
        """How much cooler it was about a minute before, at its warmest then [K]."""
        self.loaded_s: float | None = None
        """How long this load had run [s]."""
        self.start_temp_c: float | None = None
        """Temperature when this load started [°C]."""
        self.settled_s: float | None = None
        """How long the temperature had been settled before [s]."""
        self.hottest_before_c: float | None = None
        self.free_high_c: float | None = None
        self.average_w: float | None = None
        """Running average of power over the limit's window [W]."""
        self.power_before_w: float | None = None
        """Mean power of the last seconds before [W]."""


def look_at_onset(onset: Onset, episode: Episode, trail: Trail, rules: Rules) -> None:
    """Fill in what the trail shows around the onset."""
    start = episode.onset_s
    before = [second for second in trail.since(start - 60.0, start - 0.01) if second.temp is not None]
    around = [s.temp for s in trail.since(start - 2.5, start + 3.0) if s.temp is not None]
    if before and before[-1].temp is not None and start - before[-1].t_s <= rules.hold_reading_s:
        around.append(before[-1].temp)  # with slow sampling, the last sample before is the one nearest to the peak
    if around:
        onset.temp_c = max(around)
    last = trail.since(start - 6.0, start - 0.01)
    if onset.loaded_s is not None and onset.loaded_s >= rules.code_known_after_s:
        onset.power_before_w = mean_power(last[-4:])
    if onset.temp_c is None:
        return
    early = [s for s in before if s.t_s <= start - rules.rising_over_s]
    if early and early[-1].temp is not None:
        onset.cooler_before_k = onset.temp_c - early[-1].temp
    elif before and before[0].temp is not None:
        onset.cooler_before_k = onset.temp_c - before[0].temp
    settled_from = start
    for second in reversed(before):
        if second.temp is None or abs(second.temp - onset.temp_c) > rules.held_k:
            break
        settled_from = second.t_s
    onset.settled_s = start - settled_from
    if before and before[0].temp is not None and start - before[0].t_s >= 30.0:
        onset.crept_k = onset.temp_c - max(s.temp for s in before[: max(len(before) // 6, 1)] if s.temp is not None)
