"""Evidence for and against a power limit, and for a hand from outside."""

from __future__ import annotations

from benchmon.analysis.throttle.case import Case, Clue
from benchmon.analysis.throttle.rules import CERTAIN, FAIR, FIRM, GOOD, STRONG
from benchmon.analysis.throttle.trail import mean_power, mean_speed, mean_temp
from benchmon.analysis.throttle.watch import CapWatch, time_at_higher_power_s
from benchmon.model.events import Cause


def power_clues(case: Case) -> list[Clue]:
    """All clues about a power limit that the case gives now."""
    known = case.watch.known
    power = case.power_now_w()
    if power is None:
        return []
    if known.power_limit_w is not None:
        clues = _known_limit(case, power, known.power_limit_w)
    else:
        clues = _unknown_limit(case, power)
    return [Clue(Cause.POWER_LIMIT, weight, sentence) for weight, sentence in clues]


def _known_limit(case: Case, power: float, limit: float) -> list[tuple[float, str]]:
    rules, onset = case.rules, case.onset
    clues: list[tuple[float, str]] = []
    apart, short = power / limit - 1.0, case.watch.known.power_limit_short_w
    if _has_left(case, power, limit):
        clues.append((-CERTAIN, f"power is {power:.1f} W, no longer at the {limit:.1f} W limit where it had been"))
    elif abs(apart) <= rules.at_power_limit:
        clues.append((STRONG, f"power is {power:.1f} W, at the {limit:.1f} W limit"))
        if case.spread(8) <= rules.flat_power and case.age_s >= 8.0:
            clues.append((FAIR, f"power has been flat at the {limit:.1f} W limit"))
    elif short is not None and abs(power / short - 1.0) <= rules.at_power_limit:
        clues.append((STRONG, f"power is {power:.1f} W, at the short-term limit of {short:.1f} W"))
    elif apart < 0.0:
        clues.append((-CERTAIN, f"power is {power:.1f} W, below the {limit:.1f} W limit"))
    before = onset.power_before_w
    if before is not None and before < limit * (1.0 - rules.at_power_limit) and power < before:
        clues.append((-CERTAIN, f"power was {before:.1f} W before, below the {limit:.1f} W limit"))
    elif onset.average_w is not None and before is not None:
        clues.extend(_budget(case, onset.average_w, limit, before))
    return clues


def _has_left(case: Case, power: float, limit: float) -> bool:
    """True if power had been at the limit before this fall and is clearly below that now: nothing holds it there."""
    before = case.episode.before.power
    if before is None or abs(before / limit - 1.0) > case.rules.at_power_limit:
        return False
    return 1.0 - power / before > max(case.rules.left_limit, case.rules.left_limit_sigmas * case.power_sigma)


def _budget(case: Case, average: float, limit: float, before: float) -> list[tuple[float, str]]:
    window = case.watch.budget.window_s
    if window is None:
        return []
    apart = average / limit - 1.0
    if abs(apart) <= case.rules.budget_share:
        words = f"the running average of power over {window:.0f} s had reached the {limit:.1f} W limit"
        idle = case.memory.idle_power_w
        lasts = time_at_higher_power_s(before, limit, idle, window) if idle is not None else None
        if lasts is not None:
            words += f"; from idle, {before:.1f} W can last {lasts:.0f} s"
        return [(GOOD, words)]
    if apart > 2.0 * case.rules.budget_share:
        return [
            (-GOOD, f"the running average of power over {window:.0f} s had long been above the {limit:.1f} W limit")
        ]
    if apart < -3.0 * case.rules.budget_share:
        return [(-FAIR, f"the running average of power over {window:.0f} s was only {average:.1f} W")]
    return []


def _unknown_limit(case: Case, power: float) -> list[tuple[float, str]]:
    """A limit of power lets the clock follow the leakage; a cap lets power follow it."""
    rules, clues = case.rules, []
    if case.onset.loaded_s is not None and case.onset.loaded_s > rules.longest_budget_s:
        clues.append(
            (-FIRM, f"the load had run for {case.onset.loaded_s:.0f} s, longer than any budget of power lasts")
        )
    elif is_below_rated(case):
        clues.append((-GOOD, "the clock is below the rated one, which the rated power sustains"))
    seconds = case.recent[-24:]
    if len(seconds) < 12 or case.age_s < 12.0:
        return clues
    early, late = seconds[: len(seconds) // 3], seconds[-(len(seconds) // 3) :]
    powers, speeds = _change(mean_power(early), mean_power(late)), _change(mean_speed(early), mean_speed(late))
    before_c, now_c = mean_temp(early), mean_temp(late)
    if powers is None or speeds is None or before_c is None or now_c is None:
        return clues
    if speeds >= rules.clock_drift and powers <= 0.3 * speeds and abs(now_c - before_c) >= rules.swing_k:
        words = f"power flat at {power:.1f} W while temperature went from {before_c:.0f} to {now_c:.0f} °C"
        clues.append((FIRM, words + " and the clock followed"))
    return clues


def _change(early: float | None, late: float | None) -> float | None:
    return abs(late / early - 1.0) if early and late is not None else None


def outside_clues(case: Case) -> list[Clue]:
    """All clues about a hand from outside that the case gives now."""
    clues: list[tuple[float, str]] = []
    fallen = cap_that_holds(case)
    if fallen is not None:
        cap, whose = fallen
        clues.append((CERTAIN, f"{whose} lowered its cap from {cap.before_mhz:.0f} to {cap.now_mhz:.0f} MHz"))
    clues.extend(_floor(case))
    return [Clue(Cause.OUTSIDE, weight, sentence) for weight, sentence in clues]


def cap_that_holds(case: Case) -> tuple[CapWatch, str] | None:
    """A cap that fell at the onset and that the clock obeys, and whose it is; None where the kernel cools by it."""
    rules, watch, episode = case.rules, case.watch, case.episode
    clock = case.speed_now() if episode.before.clock is not None else None
    if clock is None or (watch.heat.step_is_read and watch.heat.step > 0):
        return None
    for cap, whose in ((watch.platform, "the platform"), (watch.cap, "the clock policy")):
        if not cap.is_down or cap.now_mhz is None or cap.before_mhz is None:
            continue
        near = abs(cap.fell_s - episode.onset_s) <= rules.cap_near_s
        if near and clock <= cap.now_mhz * (1.0 + rules.at_cap):
            return cap, whose
    return None


def is_at_power_limit(case: Case) -> bool:
    """True while power sits at a known limit as closely as control holds it."""
    power, limit = case.power_now_w(), case.watch.known.power_limit_w
    return power is not None and limit is not None and abs(power / limit - 1.0) <= case.rules.left_limit


def power_is_excluded(case: Case) -> bool:
    """True if no power limit can have acted: power is below a known one, or the load had run for too long."""
    rules, onset, limit = case.rules, case.onset, case.watch.known.power_limit_w
    power, before = case.power_now_w(), onset.power_before_w
    if limit is not None and power is not None:
        least = limit * (1.0 - rules.at_power_limit)
        return power < least or (before is not None and before < least)
    return onset.loaded_s is not None and onset.loaded_s > rules.longest_budget_s


def is_below_rated(case: Case) -> bool:
    """True if it runs clearly below the rated clock, which is what the rated power sustains."""
    rated, clock = case.watch.known.rated_clock_mhz, case.speed_now()
    before = case.episode.before.clock
    if rated is None or clock is None or before is None:
        return False
    if not case.load_is_full and before < rated:
        return False  # a demand that was met below the rated clock
    return clock < rated * (1.0 - case.rules.below_rated)


def is_at_floor(case: Case) -> bool:
    """True if the clock is held at the lowest there is, well below what it was."""
    floor = case.floor_mhz
    before, clock = case.episode.before.clock, case.speed_now()
    if floor is None or before is None or clock is None or floor > 0.7 * before:
        return False
    return clock <= floor * (1.0 + case.rules.at_cap)


def is_cold_at_floor(case: Case) -> bool:
    """True if it fell before a known limit, has been far below that for long, and still gets the lowest clock.

    At the limit itself a drop that latches looks the same, and is heat.
    """
    limit, temp, rules = case.watch.known.temp_limit_c, case.onset.temp_c, case.rules
    if limit is None or temp is None or temp >= limit - rules.at_limit_k:
        return False
    return case.track.cold_s >= rules.undefended_s and is_at_floor(case)


def reaches_floor(case: Case) -> bool:
    """True if the clock touched the lowest there is at least once, well below what it was."""
    floor, lowest = case.floor_mhz, case.episode.lowest_clock
    before = case.episode.before.clock
    if floor is None or before is None or lowest is None or floor > 0.7 * before:
        return False
    return lowest <= floor * (1.0 + case.rules.at_cap)


def _floor(case: Case) -> list[tuple[float, str]]:
    floor, temp, limit = case.floor_mhz, case.onset.temp_c, case.watch.known.temp_limit_c
    if floor is None or not is_at_floor(case):
        return []
    cool = temp is not None and (
        (limit is None and temp < case.rules.cold_c)
        or (limit is not None and temp < limit - case.rules.near_limit_k)
        or (case.onset.free_high_c is not None and temp < case.onset.free_high_c - case.rules.free_hotter_k)
    )
    if case.heat_gave_up or is_cold_at_floor(case):
        return [(STRONG, f"the clock is clamped to its floor of {floor:.0f} MHz though it has become cold")]
    if cool:
        return [(STRONG, f"the clock was clamped to its floor of {floor:.0f} MHz at only {temp:.0f} °C")]
    return [(GOOD, f"the clock was clamped to its floor of {floor:.0f} MHz")]
