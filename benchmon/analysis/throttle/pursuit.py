"""An episode being followed: which samples are limited, when it has recovered, and the case that is judged."""

from __future__ import annotations

from enum import Enum
from math import sqrt
from statistics import fmean
from typing import NamedTuple

from benchmon.analysis.throttle.case import Case
from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.episode import Before, Episode
from benchmon.analysis.throttle.heat_track import HeatTrack
from benchmon.analysis.throttle.memory import Memory
from benchmon.analysis.throttle.onset import look_at_onset
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.trail import Second, Trail
from benchmon.analysis.throttle.watch import MachineWatch
from benchmon.model.events import Cause

_ONSET_KNOWN_AFTER_S = 3.0
_RECENT = 30


class Fell(Enum):
    """Which reading fell."""

    CLOCK = "clock"
    WORK = "work rate"
    POWER = "power"


class Found(NamedTuple):
    """A drop: since when, of what, from what, the samples since, the noise (relative)."""

    onset_s: float
    fell: Fell
    before: Before
    since: list[tuple[float, Reading]]
    sigma: float
    power_sigma: float
    heat_gave_up: bool = False
    """Heat held it until then, at a higher clock than the one it is held at now."""


class Pursuit:
    """Follows one episode from the moment the drop test fired."""

    __slots__ = (
        "_free_samples",
        "_held_deficit",
        "_held_power_deficit",
        "_previous_s",
        "_rules",
        "_smooth",
        "case",
        "ended_s",
        "episode",
        "fell",
        "judge_next_s",
        "last_clear_s",
        "onset_fixed",
        "sigma",
        "superseded_s",
        "unlike",
    )  # fmt: skip

    def __init__(self, rules: Rules, memory: Memory, watch: MachineWatch, found: Found, now_s: float) -> None:
        """Begin with a drop that has just been found."""
        self._rules = rules
        self.episode = episode = Episode(found.onset_s, now_s, found.before)
        self.fell = found.fell
        before = found.before
        track = HeatTrack(rules, memory, before.power, before.speed)
        self.case = Case(rules, memory, watch, episode, track)
        self.case.fell_is_power = found.fell is Fell.POWER
        self.case.onset.hottest_before_c = memory.hottest_c
        self.case.onset.free_high_c = memory.free_high_c
        self.case.speed_sigma, self.case.power_sigma = found.sigma, found.power_sigma
        self.case.heat_gave_up = found.heat_gave_up
        self.case.onset.average_w = watch.budget.average_w
        self.onset_fixed = False
        self.sigma = found.sigma
        self.unlike = 0
        """Judgements in a row that contradict what was announced."""
        self.last_clear_s: float | None = None
        """When the evidence last named the announced cause."""
        self.superseded_s: float | None = None
        """Since when another cause holds it; set once that is certain."""
        self.ended_s: float | None = None
        """When it ended; set once that is certain."""
        self.judge_next_s = float("-inf")
        self._held_deficit = 0.0
        self._held_power_deficit = 0.0
        self._smooth = 2.0 * found.sigma
        self._free_samples = 0
        self._previous_s = episode.onset_s
        for dt_s, reading in found.since:
            self.add(reading, dt_s)

    def deficit(self, reading: Reading) -> float | None:
        """Relative deficit of the reading that fell, against what held before; None if it is not there now."""
        before = self.episode.before
        if self.fell is Fell.CLOCK:
            return 1.0 - reading.clock / before.speed if reading.clock is not None else None
        if self.fell is Fell.WORK:
            return 1.0 - reading.work / before.speed if reading.work is not None else None
        if reading.power is None or not before.power:
            return None
        return 1.0 - reading.power / before.power

    def add(self, reading: Reading, dt_s: float) -> None:
        """Take a sample of steady load."""
        deficit = self.deficit(reading)
        if deficit is None:
            return
        rules, episode = self._rules, self.episode
        if self.sigma > rules.noisy_sigma and self._held_deficit < rules.threshold_sigmas * self.sigma:
            self._smooth += rules.noisy_share * (deficit - self._smooth)
            sample, noise = self._smooth, self.sigma
        else:
            sample, noise = deficit, 2.0 * self.sigma
        share = rules.recovered_share if episode.recovering_since_s is None else rules.relapsed_share
        limited = sample > max(rules.recovered_deficit, noise, share * self._held_deficit)
        if self.fell is Fell.CLOCK and reading.power is not None and episode.before.power:
            limited = self._power_says(self._power_lost(reading.power, episode.before.power, reading.temp), limited)
        episode.add(dt_s, reading, deficit, limited=limited, loss=self._loss(reading, deficit))
        if limited:
            self._held_deficit += 0.1 * (deficit - self._held_deficit) if self._held_deficit else deficit
            self._relapse(reading)
            episode.last_limited_s = reading.t_s
        else:
            self._free_samples += 1
            if episode.recovering_since_s is None:
                episode.recovering_since_s = (self._previous_s + reading.t_s) / 2.0
            elif self._free_samples >= rules.recovery_samples and self._is_over(reading.t_s):
                self.ended_s = episode.recovering_since_s
        self._previous_s = reading.t_s

    def _power_lost(self, power_w: float, before_w: float, temp_c: float | None) -> float:
        """Relative fall of power, less what a cooler chip leaks less."""
        cooler_k = max((self.episode.temp_onset or 0.0) - temp_c, 0.0) if temp_c is not None else 0.0
        return 1.0 - power_w / before_w - self._rules.leakage_per_k * cooler_k

    def _power_says(self, power_deficit: float, limited: bool) -> bool:
        """Limited by the clock, or else by a power that has not come back with it."""
        if limited:
            self._held_power_deficit += 0.1 * (power_deficit - self._held_power_deficit)
            return True
        least = self._rules.power_recovered_share * self._held_power_deficit
        return power_deficit > max(least, self._rules.power_threshold)

    def _is_over(self, now_s: float) -> bool:
        since = self.episode.recovering_since_s
        return since is not None and now_s - since >= self._rules.recovery_s

    def _relapse(self, reading: Reading) -> None:
        episode = self.episode
        if episode.recovering_since_s is None:
            return
        if self._free_samples >= 2:
            episode.recoveries += 1
            self.note_further_drop(reading)
        episode.recovering_since_s = None
        self._free_samples = 0

    def note_further_drop(self, reading: Reading) -> None:
        """The clock fell again: remember how warm it was, and how much cooler it had been since the last fall."""
        hot = [second.temp for second in self.case.recent_all(2) if second.temp is not None]
        if reading.temp is not None:
            hot.append(reading.temp)
        low = self.case.track.cycle_low
        if hot and low is not None:
            self.episode.relapses = [*self.episode.relapses[-31:], (max(hot), max(hot) - low)]
        self.case.track.cycle_low = None

    def _loss(self, reading: Reading, deficit: float) -> float:
        before = self.episode.before
        if reading.work is not None and before.work:
            return 1.0 - reading.work / before.work
        return deficit

    def see(self, second: Second, trail: Trail, load_is_known: bool, load_pct: float) -> None:
        """Take a second of steady load and bring the case up to date."""
        case, episode = self.case, self.episode
        case.now_s = second.t_s
        case.load_is_known = load_is_known
        case.load_is_full = load_pct >= self._rules.full_load_pct
        if not self.onset_fixed:
            look_at_onset(case.onset, episode, trail, self._rules)
            episode.temp_onset = case.onset.temp_c
            if case.onset.temp_c is not None:
                case.track.reseed(
                    episode.onset_s, case.onset.temp_c, trail.since(episode.onset_s), episode.before.speed
                )
            self.onset_fixed = case.age_s >= _ONSET_KNOWN_AFTER_S
        else:
            before = episode.before.speed
            deficit = 1.0 - second.speed / before if second.speed is not None and before > 0.0 else 0.0
            case.track.feed(second, deficit)
        case.trailing.append(second)
        if episode.recovering_since_s is None:
            case.recent.append(second)
            if len(case.recent) > 2 * _RECENT:
                del case.recent[:_RECENT]
            case.deficit = self._held_deficit
        best, rules = case.track.best, self._rules
        if best is not None:
            known_k = rules.held_k if best.length_s < rules.long_held_s else 0.5 * rules.held_k
            episode.temp_is_held |= best.moved_k >= known_k
        episode.temp_is_held |= len(episode.relapses) >= 2
        if self.fell is Fell.POWER:
            case.lighter_work_possible = not self._work_fell(second)

    def _work_fell(self, second: Second) -> bool:
        """Less work came out of the same clock: its pulses were held back."""
        before = self.episode.before.work
        if second.work is None or not before:
            return False
        return 1.0 - second.work / before > self._rules.modulation_drop

    def is_harmless(self) -> bool:
        """True if other code explains what was seen: nothing limits more than before."""
        rules, case = self._rules, self.case
        if self.fell is Fell.POWER:
            clock, now = self.episode.before.clock, case.speed_now()
            fell_too = clock is not None and now is not None and now < clock * (1.0 - rules.threshold)
            moved = not case.track.is_held_so_far
            return fell_too or case.age_s > rules.lighter_work_s * (1.0 if moved else 3.0)
        known = self._power_since()
        if case.age_s < rules.code_known_after_s or len(known) < 2 or len(set(known[-3:])) < 2:
            return False  # a reading that is bridged says nothing about now
        doubt = rules.same_code_sigmas * case.power_sigma * sqrt(1.0 / len(known) + 1.0 / rules.same_code_readings)
        return not self._fell_enough(known, doubt)

    def power_fell_too(self) -> bool:
        """True if power fell as it does with the clock at the same code, as far as it was read."""
        latest = [second.power for second in self.case.recent[-1:] if second.power is not None]
        return self._fell_enough(self._power_since() or latest, 0.0)

    def _power_since(self) -> list[float]:
        """Power of the limited seconds, without the first: it mixes what was before with what came after [W]."""
        return [second.power for second in self.case.recent[1:] if second.power is not None]

    def _fell_enough(self, known: list[float], doubt: float) -> bool:
        before = self.episode.before.power
        if self.fell is Fell.POWER or not before or not known:
            return True
        return bool(1.0 - fmean(known) / before + doubt >= self._rules.other_code_share * self.case.deficit)

    def is_a_real_loss(self) -> bool:
        """True if the mean deficit since the onset, recoveries included, is more than variation and noise."""
        sums, tail = self.episode.sums, self.episode.tail
        mean = (sums.deficit + tail.deficit) / max(sums.total_s + tail.total_s, 1e-9)
        total_s = max(sums.total_s + tail.total_s, self._rules.real_loss_s)
        noise = self._rules.real_loss_sigmas * self.sigma * sqrt(self._rules.real_loss_s / total_s)
        return mean >= max(self._rules.least_loss, noise)

    def is_same_heat(self, earlier: Pursuit) -> bool:
        """True if what began earlier, unexplained or hot, began at the same temperature: one cause for both."""
        if earlier.episode.cause is Cause.THERMAL:
            return True
        mine, other = self.case.onset.temp_c, earlier.case.onset.temp_c
        if earlier.episode.cause is not Cause.UNEXPLAINED or mine is None or other is None:
            return False
        return mine - other <= self._rules.same_onset_k

    def cap_took_over_s(self) -> float | None:
        """When a cap, seen or not, began to hold a processor that heat had held until then; None if none did."""
        case, episode, rules = self.case, self.episode, self._rules
        watch, best, now_c, clock = case.watch, case.track.best, case.temp_now_c(), case.speed_now()
        if episode.cause is not Cause.THERMAL or clock is None or now_c is None:
            return None
        if watch.heat.step_is_read and watch.heat.step > 0:
            return None
        if case.track.given_up_s is not None:
            return case.track.given_up_s
        held_c = best.temp if best is not None else episode.temp_onset
        for cap in (watch.platform, watch.cap):
            if not cap.is_down or cap.now_mhz is None or cap.fell_s <= episode.onset_s + rules.cap_near_s:
                continue
            at_cap = abs(clock / cap.now_mhz - 1.0) <= rules.at_cap
            if at_cap and held_c is not None and now_c < held_c - rules.swing_k:
                return cap.fell_s
        return None

    def go_on_from(self, at_s: float) -> Found:
        """What is still limited from ``at_s`` on, when what held it until then no longer does."""
        before, sums = self.episode.before, self.episode.sums
        clock = sums.clock / sums.clock_s if sums.clock_s else before.clock
        power = sums.power / sums.power_s if sums.power_s else before.power
        held = Before(before.speed, clock, power, before.work)
        gave_up = self.case.track.given_up_s is not None
        return Found(at_s, self.fell, held, [], self.sigma, self.case.power_sigma, gave_up)
