"""One stretch of limitation while it is followed, a sample and a second at a time: limited, recovered, held or over."""

from __future__ import annotations

from collections import deque
from math import sqrt
from statistics import fmean

from benchmon.analysis.throttle.figures import CODE_KNOWN_AFTER_S, ONSET_KNOWN_AFTER_S, Figures, Onset
from benchmon.analysis.throttle.held import SWING_K, Following, HeldTemperature
from benchmon.analysis.throttle.load import FULL_LOAD_PCT, LoadFollower
from benchmon.analysis.throttle.memory import SAME_ONSET_K, Memory
from benchmon.analysis.throttle.readings import Reading, Second, Seconds, mean_power, mean_speed, mean_temp
from benchmon.analysis.throttle.seeker import POWER_THRESHOLD, THRESHOLD, THRESHOLD_SIGMAS, Before, Fell, Found
from benchmon.analysis.throttle.steadiness import LEAKAGE_PER_K, Regulation
from benchmon.analysis.throttle.told import CAP_NEAR_S, Told

RECOVERED_DEFICIT, RECOVERED_SHARE, RELAPSED_SHARE = 0.02, 0.3, 0.5
"""Recovered: within this of the reference, or less than this share of the deficit left; limited again only beyond a
greater share of it: noise in a recovery is no tooth."""
POWER_RECOVERED_SHARE = 0.5
"""Recovered in clock but not in power: the clock was read between two pulses. Half of the fall decides."""
NOISY_SIGMA, NOISY_SHARE = 0.012, 0.3
"""Above this noise single samples say little: the deficit is smoothed, each sample entering with this share."""
RECOVERY_SAMPLES, RECOVERY_S = 3, 20.0
"""A recovery shorter than this is a tooth of the same event: the parts that store the heat take longer to cool."""
SAME_CODE_SHARE, SAME_CODE_SIGMAS, SAME_CODE_READINGS = 0.25, 2.0, 12
"""Power must fall by at least this share of the clock's fall if the code is the same, unless its mean may be wrong by
so many standard errors: dynamic power is at least a quarter of a busy package's; voltage comes down with the clock."""
MODULATION_DROP = 0.04
"""Clock modulation works in steps of an eighth; four per cent is less than half a step."""
LIGHTER_WORK_S = 60.0
"""Power that fell without the clock is lighter work unless something else is shown within this time."""
REAL_LOSS, REAL_LOSS_SIGMAS, REAL_LOSS_S, PICKED_SIGMAS = 0.025, 1.2, 10.0, 1.5
"""An event without a cause, or in a noisy reading, must cost more on the whole than run-to-run variation and noise
that was picked for being low."""
AT_CAP = 0.03
"""The clock sits at a cap or at the floor if it is within this share of it."""
LEFT_LIMIT, LEFT_FOR_S = 0.05, 5.0
"""Limited from the start by power: over once power has been so far from where it was held for so long."""
_RECENT = 30


class Episode:
    """Follows one event from the moment a drop was found; holds everything its cause is judged on."""

    __slots__ = (
        "_away_since_s", "_free_samples", "_held_deficit", "_held_power_deficit", "_is_onset_fixed", "_last_limited",
        "_previous_s", "_smooth", "_trailing_c", "before", "ended_s", "fell", "figures", "following", "from_start",
        "heat_gave_up", "held", "is_noisy", "load_is_full", "load_is_known", "load_is_read", "memory", "now_s", "onset",
        "onset_s", "power_sigma", "recent", "recoveries", "recovering_since_s", "regulation", "relapses", "sigma",
        "temp_is_held", "told", "work_fell",
    )  # fmt: skip

    def __init__(self, memory: Memory, told: Told, found: Found, now_s: float) -> None:
        """Begin with a drop that has just been found."""
        self.memory, self.told = memory, told
        self.fell, self.before = found.fell, found.before
        self.sigma, self.power_sigma = found.sigma, found.power_sigma
        self.is_noisy = found.sigma > NOISY_SIGMA
        """Single samples of what fell say little."""
        self.from_start, self.heat_gave_up = found.from_start, found.heat_gave_up
        self.onset_s, self.now_s = found.onset_s, now_s
        self.onset = Onset(
            hottest_before_c=memory.hottest_c, free_high_c=memory.free_high_c, average_w=told.budget.average_w
        )
        self.figures = Figures()
        self.held = HeldTemperature(memory, found.before.power, found.before.speed)
        self.regulation = Regulation()
        self.following: Following | None = None
        self.recent: list[Second] = []
        """Limited seconds since the onset, the last of them at most."""
        self.recoveries = 0
        self.relapses: deque[tuple[float, float]] = deque(maxlen=32)
        """(temperature at a further drop, how much cooler it had been since the last) [°C, K]."""
        self.recovering_since_s: float | None = None
        self.ended_s: float | None = None
        """When it ended; set once that is certain."""
        self.temp_is_held = False
        """The temperature was held or came back again and again: its mean is a plateau."""
        self.load_is_known = self.load_is_read = True
        self.load_is_full = False
        self.work_fell = False
        """Less work came out of the same clock: its pulses were held back."""
        self._is_onset_fixed = False
        self._held_deficit = self._held_power_deficit = 0.0
        self._smooth = 2.0 * found.sigma
        self._free_samples = 0
        self._last_limited: Second | None = None
        self._trailing_c: deque[float | None] = deque(maxlen=2)
        self._away_since_s: float | None = None
        self._previous_s = found.onset_s
        for dt_s, reading in found.since:
            self.add(reading, dt_s)

    # --- samples ------------------------------------------------------------------------------------------------------

    def add(self, reading: Reading, dt_s: float) -> None:
        """Take a sample of steady load."""
        deficit = self._deficit(reading)
        if deficit is None:
            return
        held = self._held_deficit
        sample, noise = deficit, 2.0 * self.sigma
        if self.is_noisy and held < THRESHOLD_SIGMAS * self.sigma:
            self._smooth += NOISY_SHARE * (deficit - self._smooth)
            sample, noise = self._smooth, self.sigma
        least = held * (RECOVERED_SHARE if self.recovering_since_s is None else RELAPSED_SHARE)
        limited = sample > least and sample > noise and sample > RECOVERED_DEFICIT
        if self.fell is Fell.CLOCK and reading.power is not None and self.before.power:
            limited = self._power_says(self._power_lost(reading.power, self.before.power, reading.temp), limited)
        self.figures.add(dt_s, reading, deficit, limited=limited, loss=self._loss(reading, deficit))
        if limited:
            self._held_deficit = held + 0.1 * (deficit - held) if held else deficit
            if self.recovering_since_s is not None:
                self._relapse(reading)
        else:
            self._free_samples += 1
            if self.recovering_since_s is None:
                self.recovering_since_s = (self._previous_s + reading.t_s) / 2.0
            elif self._free_samples >= RECOVERY_SAMPLES and reading.t_s - self.recovering_since_s >= RECOVERY_S:
                self.ended_s = self.recovering_since_s
        self._previous_s = reading.t_s

    def _deficit(self, reading: Reading) -> float | None:
        """Relative deficit of the reading that fell, against what held before; None if it is not there now."""
        before = self.before
        if self.fell is Fell.CLOCK:
            return 1.0 - reading.clock / before.speed if reading.clock is not None else None
        if self.fell is Fell.WORK:
            return 1.0 - reading.work / before.speed if reading.work is not None else None
        return None if reading.power is None or not before.power else 1.0 - reading.power / before.power

    def _power_lost(self, power_w: float, before_w: float, temp_c: float | None) -> float:
        """Relative fall of power, less what a cooler chip leaks less."""
        lost = 1.0 - power_w / before_w
        cooler_k = 0.0 if temp_c is None else (self.onset.temp_c or 0.0) - temp_c
        return lost - LEAKAGE_PER_K * cooler_k if cooler_k > 0.0 else lost

    def _power_says(self, power_deficit: float, limited: bool) -> bool:
        """Limited by the clock, or else by a power that has not come back with it."""
        if limited:
            self._held_power_deficit += 0.1 * (power_deficit - self._held_power_deficit)
            return True
        return power_deficit > max(POWER_RECOVERED_SHARE * self._held_power_deficit, POWER_THRESHOLD)

    def _relapse(self, reading: Reading) -> None:
        if self._free_samples >= 2:
            self.recoveries += 1
            self.note_further_drop(reading)
        self.recovering_since_s = None
        self._free_samples = 0

    def note_further_drop(self, reading: Reading) -> None:
        """The clock fell again: remember how warm it was, and how much cooler it had been since the last fall."""
        hot = [temp for temp in (*self._trailing_c, reading.temp) if temp is not None]
        low = self.held.least_c
        if hot and low is not None:
            self.relapses.append((max(hot), max(hot) - low))
        self.held.least_c = None

    def _loss(self, reading: Reading, deficit: float) -> float:
        before = self.before.work
        return 1.0 - reading.work / before if reading.work is not None and before else deficit

    # --- seconds ------------------------------------------------------------------------------------------------------

    def step(self, second: Second, seconds: Seconds, load: LoadFollower) -> None:
        """Take a second of steady load and bring everything up to date."""
        self.now_s = second.t_s
        self.load_is_known, self.load_is_read = load.is_known, load.is_read
        self.load_is_full = load.level >= FULL_LOAD_PCT
        if not self._is_onset_fixed:
            self.onset.look(self.onset_s, seconds)
            if self.onset.temp_c is not None:
                self.held.restart(self.onset_s, self.onset.temp_c, seconds.since(self.onset_s))
            self._is_onset_fixed = self.age_s >= ONSET_KNOWN_AFTER_S
        else:
            self.held.feed(second)
        self._trailing_c.append(second.temp)
        is_limited = self.recovering_since_s is None
        self._regulate(second, is_limited=is_limited)
        if is_limited:
            self.recent.append(second)
            if len(self.recent) > 2 * _RECENT:
                del self.recent[:_RECENT]
        self.temp_is_held = self.temp_is_held or self._is_held_now()
        if self.fell is Fell.POWER and self.before.work and second.work is not None:
            self.work_fell = 1.0 - second.work / self.before.work > MODULATION_DROP
        if self.from_start:
            self._watch_start_limit(second)

    def _regulate(self, second: Second, *, is_limited: bool) -> None:
        last = self._last_limited
        if last is not None and is_limited and last.t_s - self.onset_s >= CODE_KNOWN_AFTER_S:
            self.regulation.feed(last.power, last.speed, last.temp)  # now that it was not the last before a recovery
        self._last_limited = second if is_limited else None
        if second.power is None or second.temp is None or self.onset.temp_c is None:
            return
        if self.following is None and self.age_s >= 1.0:
            states = self.memory.states_at(self.onset_s)
            self.following = Following(self.memory.answer, states, self.onset_s, self.onset.temp_c)
        if self.following is not None:
            self.following.feed(second.t_s, second.power, second.temp)

    def _is_held_now(self) -> bool:
        best = self.held.best
        if best is not None and best.moved_k >= (1.3 if best.length_s < 60.0 else 0.65):
            return True
        return len(self.relapses) >= 2

    def _watch_start_limit(self, second: Second) -> None:
        """Where nothing was seen before, the clock alone cannot tell that it became free: power leaves what held it."""
        held = mean_power(self.recent[-_RECENT:-1])
        if held is None or second.power is None or abs(second.power / held - 1.0) <= LEFT_LIMIT:
            self._away_since_s = None
        elif self._away_since_s is None:
            self._away_since_s = second.t_s
        elif second.t_s - self._away_since_s >= LEFT_FOR_S:
            self.ended_s = self._away_since_s

    # --- what can be asked --------------------------------------------------------------------------------------------

    @property
    def age_s(self) -> float:
        """Time since the onset [s]."""
        return self.now_s - self.onset_s

    @property
    def is_blind(self) -> bool:
        """True if neither a limit nor the kernel's count is known."""
        known = self.told.known
        return known.temp_limit_c is None and known.power_limit_w is None and not self.told.heat.is_read

    @property
    def lighter_work_possible(self) -> bool:
        """Power fell while the clock stayed, and no count of work speaks against lighter work."""
        return self.fell is Fell.POWER and not self.work_fell

    @property
    def floor_mhz(self) -> float | None:
        """The lowest clock there is: told, or else the lowest that was seen without load [MHz]."""
        return self.told.known.lowest_clock_mhz or self.memory.idle_clock_mhz

    def spread(self, count: int, *, of_speed: bool = False) -> float:
        """Spread of the last limited seconds' power (or speed), relative, without a tenth of them at either end.

        1 where fewer than four were read.
        """
        seconds = self.recent[1:][-count:]  # the first mixes what was before with what came after
        values = sorted([v for s in seconds if (v := s.speed if of_speed else s.power) is not None])
        if len(values) < 4:
            return 1.0
        cut = max(len(values) // 10, 1)
        inner = values[cut:-cut]
        return (inner[-1] - inner[0]) / inner[len(inner) // 2] if inner[0] > 0.0 else 1.0

    def moves(self, least: float, *, of_speed: bool = False) -> bool:
        """True if power (or speed) moved by that much in the last limited seconds, and went on moving in their half."""
        if len(self.recent) < 8:
            return False
        half = self.spread(_RECENT // 2, of_speed=of_speed)
        return self.spread(_RECENT, of_speed=of_speed) > least and half > least / 2.0

    def power_now_w(self) -> float | None:
        """Mean power of the last five limited seconds [W]."""
        return mean_power(self.recent[-5:])

    def power_lately_w(self) -> float | None:
        """The same over as many seconds as its noise asks for, twenty at most [W]."""
        return mean_power(self.recent[-20 if self.memory.power_wander.noise > NOISY_SIGMA else -5 :])

    def temp_now_c(self) -> float | None:
        """Mean temperature of the last three limited seconds [°C]."""
        return mean_temp(self.recent[-3:])

    def speed_now(self) -> float | None:
        """Mean speed of the last five limited seconds."""
        return mean_speed(self.recent[-5:])

    def is_harmless(self) -> bool:
        """True if other code explains what was seen: nothing limits more than before."""
        if self.fell is Fell.POWER:
            clock, now = self.before.clock, self.speed_now()
            fell_too = clock is not None and now is not None and now < clock * (1.0 - THRESHOLD)
            return fell_too or self.age_s > LIGHTER_WORK_S * (3.0 if self.held.is_held_so_far else 1.0)
        known = self._power_since()
        if self.age_s < CODE_KNOWN_AFTER_S or len(known) < 2 or len(set(known[-3:])) < 2:
            return False  # a reading that is bridged says nothing about now
        doubt = SAME_CODE_SIGMAS * self.power_sigma * sqrt(1.0 / len(known) + 1.0 / SAME_CODE_READINGS)
        return not self._fell_enough(known, doubt)

    def power_fell_too(self) -> bool:
        """True if power fell as it does with the clock at the same code, as far as it was read."""
        latest = [second.power for second in self.recent[-1:] if second.power is not None]
        return self._fell_enough(self._power_since() or latest, 0.0)

    def _power_since(self) -> list[float]:
        """Power of the limited seconds, without the first: it mixes what was before with what came after [W]."""
        return [second.power for second in self.recent[1:] if second.power is not None]

    def _fell_enough(self, known: list[float], doubt: float) -> bool:
        before = self.before.power
        if self.fell is Fell.POWER or not before or not known:
            return True
        return bool(1.0 - fmean(known) / before + doubt >= SAME_CODE_SHARE * self._held_deficit)

    def is_a_real_loss(self) -> bool:
        """True if the mean deficit since the onset, recoveries included, is more than variation and noise."""
        mean, total_s = self.figures.mean_deficit()
        noise = REAL_LOSS_SIGMAS * self.sigma * sqrt(REAL_LOSS_S / max(total_s, REAL_LOSS_S))
        return mean >= max(REAL_LOSS, noise, PICKED_SIGMAS * self.sigma if self.is_noisy else 0.0)

    def began_as_hot_as(self, other: Episode) -> bool:
        """True if it began at the temperature at which the other did, or at a lower one."""
        mine, others = self.onset.temp_c, other.onset.temp_c
        return mine is not None and others is not None and mine - others <= SAME_ONSET_K

    def heat_ended_s(self) -> float | None:
        """When heat, which held it until then, was relieved by a cap, seen or not [s]; None if it was not."""
        told, best = self.told, self.held.best
        if self.held.given_up_s is None and not (told.platform.is_down or told.cap.is_down):
            return None
        now_c, clock = self.temp_now_c(), self.speed_now()
        if clock is None or now_c is None or (told.heat.step_is_read and told.heat.step > 0):
            return None
        if self.held.given_up_s is not None:
            return self.held.given_up_s
        held_c = best.temp_c if best is not None else self.onset.temp_c
        for cap in (told.platform, told.cap):
            if not cap.is_down or cap.now_mhz is None or cap.fell_s <= self.onset_s + CAP_NEAR_S:
                continue
            at_cap = abs(clock / cap.now_mhz - 1.0) <= AT_CAP
            if at_cap and held_c is not None and now_c < held_c - SWING_K:
                return cap.fell_s
        return None

    def go_on_from(self, at_s: float) -> Found:
        """What is still limited from ``at_s`` on, when what held it until then no longer does."""
        before, figures = self.before, self.figures
        clock, power = figures.held_clock or before.clock, figures.held_power or before.power
        then = Before(before.speed, clock, power, before.work)
        gave_up = self.held.given_up_s is not None
        return Found(at_s, self.fell, then, [], self.sigma, self.power_sigma, heat_gave_up=gave_up)
