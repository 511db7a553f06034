"""What is measured of an event for its cause: each a strength, mostly 0 … 1, and the figures that a sentence needs.

A measure that cannot be taken is left out: what was not looked at speaks for nothing. Weights stand in ``evidence``.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import exp, log
from typing import NamedTuple

from benchmon.analysis.throttle.episode import AT_CAP, Episode
from benchmon.analysis.throttle.held import EXPECTED_MOVE_K, LONG_HELD_S, SWING_K
from benchmon.analysis.throttle.memory import SAME_ONSET_K
from benchmon.analysis.throttle.reference import AT_TOLD_LIMIT_K
from benchmon.analysis.throttle.seeker import Fell
from benchmon.analysis.throttle.told import CAP_NEAR_S, CapWatch, time_at_higher_power_s
from benchmon.model.events import EvidenceKind as Kind

EARLY_LIMIT_K, NEAR_LIMIT_K = 6.0, 8.0
"""Firmware is known to act 3 to 8 K before the limit it tells."""
FLAT_POWER, AT_POWER_LIMIT, METER_SIGMA = 0.02, 0.035, 0.025
"""Spread of a power that is held; distance from a told limit that control ripple and a counter's own error explain."""
COLD_C = 58.0
"""Below this hardly any processor or case is protected from heat; ten kelvin further down none is."""
STEEP_K = 4.0
"""Rising this much in ten seconds before the onset, a temperature may stand still by chance when power falls."""
USUAL_BUDGET_S, LONGEST_BUDGET_S = 30.0, 200.0
"""Averaging windows are 1 to 56 s; a budget is used up after 3.5 of them even if power is only 3 % too high."""
AT_ONCE_S = 6.0
CONTROL_S = 15.0
"""Power and clock wander while the temperature stays: told after this long."""
UNDEFENDED_S = 30.0
"""Whoever defends a temperature lets go when it is far below it, after this long at the latest."""
COUNTED_NEAR_S = 4.0
"""A heat event counted this near to the onset belongs to it."""
GIVES_WAY_K, MISSING_DIP_K = 3.0, 4.0
"""Temperature that falls with the power; a dip that should have come within ten seconds and did not."""
BUDGET_SHARE = 0.06
"""The running average at the onset agrees with the limit within this share."""


class Measured(NamedTuple):
    """One row of evidence as it is now."""

    kind: Kind
    strength: float
    figures: dict[str, float]


def measures(episode: Episode) -> list[Measured]:
    """Everything that can be measured of the event now, with a strength other than 0."""
    found = [*_holding(episode), *_limits(episode), *_regulation(episode), *_kernel(episode), *_caps(episode)]
    if episode.onset.temp_c is None:
        found.append(Measured(Kind.NO_TEMPERATURE, 1.0, {}))
    else:
        found += [*_onset(episode, episode.onset.temp_c), *_repetition(episode, episode.onset.temp_c)]
        found += _aftermath(episode, episode.onset.temp_c)
    return [one for one in found if one.strength]


def _clip(value: float, least: float, greatest: float) -> float:
    return min(max(value, least), greatest)


# --- is a temperature held? -------------------------------------------------------------------------------------------


def _holding(episode: Episode) -> Iterator[Measured]:
    held = episode.held
    best = held.best
    if best is not None:
        expected_k = EXPECTED_MOVE_K if best.length_s < LONG_HELD_S else 0.5 * EXPECTED_MOVE_K
        strength = _clip((best.moved_k / expected_k - 0.5) / 1.5, 0.0, 1.0)
        figures = {"temp_c": best.temp_c, "length_s": best.length_s}
        if held.is_power_read and best.first_w is not None and best.last_w is not None:
            figures |= {"first_w": best.first_w, "last_w": best.last_w}
        by_speed = not held.is_power_read
        noise = episode.sigma if by_speed else episode.power_sigma
        if best.wandered > max(0.03, 1.2 * noise) or episode.moves(max(FLAT_POWER, 4.0 * noise), of_speed=by_speed):
            yield Measured(Kind.HELD_WHILE_POWER_MOVED, strength, figures)
        else:
            proven = 0.0
            cooler_k = episode.onset.cooler_before_k
            if best.from_onset and cooler_k is not None and cooler_k <= STEEP_K:
                proven = _clip(held.dip_missing_k(10.0) / MISSING_DIP_K, 0.0, 1.0)
            yield Measured(Kind.HELD_SINCE_POWER_FELL, strength * (0.5 + 0.5 * proven), figures)
    yield from _wandering(episode)
    if episode.following is not None:
        apart = episode.following.held_not_following
        temp_c = {"temp_c": held.last_c or 0.0}
        yield Measured(Kind.STAYS, _clip(apart, 0.0, 5.0) / 5.0, temp_c)
        yield Measured(Kind.FOLLOWS_POWER, -log(0.02 + 0.98 * exp(-_clip(-apart, 0.0, 12.0))) / 4.0, temp_c)


def _wandering(episode: Episode) -> Iterator[Measured]:
    """What holds neither power nor clock, while the temperature stays about where it was, holds the temperature."""
    run, now_c, onset_c = episode.held.run, episode.temp_now_c(), episode.onset.temp_c
    if run is None or now_c is None or onset_c is None or len(episode.recent) < 15 or run.length_s < CONTROL_S:
        return
    by_power = episode.fell is Fell.POWER
    if abs(now_c - onset_c) > GIVES_WAY_K and not by_power:
        return
    if not episode.moves(max(2.0 * FLAT_POWER, 6.0 * episode.power_sigma)):
        return
    if by_power or episode.moves(max(FLAT_POWER, 6.0 * episode.sigma), of_speed=True):
        strength = 1.0 if run.length_s >= LONG_HELD_S else 0.6
        yield Measured(Kind.NOTHING_ELSE_HELD, strength, {"temp_c": run.temp_c, "length_s": run.length_s})


# --- where it was when it began, and before ---------------------------------------------------------------------------


def _onset(episode: Episode, onset_c: float) -> Iterator[Measured]:
    onset = episode.onset
    at = {"temp_c": onset_c}
    if onset.free_high_c is not None:
        strength = _clip((onset.free_high_c - onset_c - 0.7) / 3.0, 0.0, 1.0)
        yield Measured(Kind.RAN_FREE_HOTTER, strength, at | {"free_c": onset.free_high_c})
    rising = onset.cooler_before_k is not None and onset.cooler_before_k >= 0.8
    crept = onset.crept_k is not None and onset.crept_k >= 1.0
    if (rising or crept) and (onset.hottest_before_c is None or onset_c >= onset.hottest_before_c - 1.0):
        yield Measured(Kind.FRESH_PEAK, 1.0, at)
    if onset.cooler_before_k is not None:
        yield Measured(Kind.RISING, _clip(onset.cooler_before_k, -2.0, 6.0) / 6.0, at | {"k": onset.cooler_before_k})
    near, figures = _near_told(episode, onset_c)
    yield Measured(Kind.AT_TOLD_LIMIT, near, figures)
    if not near:
        yield Measured(Kind.COLD, _clip((COLD_C - onset_c) / 10.0, 0.0, 1.0), at)


def _longer_than_budgets(loaded_s: float | None) -> float:
    return 0.0 if loaded_s is None else _clip((loaded_s - 0.75 * LONGEST_BUDGET_S) / (0.5 * LONGEST_BUDGET_S), 0.0, 1.0)


def _near_told(episode: Episode, onset_c: float) -> tuple[float, dict[str, float]]:
    """How near the told limit it was: near is a hint; far below is none against heat, firmware may defend less."""
    limit, now_c, free_c = episode.told.known.temp_limit_c, episode.temp_now_c(), episode.onset.free_high_c
    if limit is None or (free_c is not None and free_c > limit + AT_TOLD_LIMIT_K):
        return 0.0, {}  # not told, or it ran free above that limit: nobody enforces it
    below = limit - onset_c
    figures = {"temp_c": onset_c, "limit_c": limit}
    if -NEAR_LIMIT_K < below <= AT_TOLD_LIMIT_K:
        return 1.0, figures
    if now_c is not None and -NEAR_LIMIT_K < limit - now_c <= AT_TOLD_LIMIT_K:
        return 0.5, {"temp_c": now_c, "limit_c": limit}
    return (0.55 if below <= EARLY_LIMIT_K else 0.25 if below <= NEAR_LIMIT_K else 0.0), figures


def _repetition(episode: Episode, onset_c: float) -> Iterator[Measured]:
    swings = [(temp_c, swing_k) for temp_c, swing_k in episode.relapses if swing_k >= SWING_K]
    near = [temp_c for temp_c, swing_k in swings if abs(temp_c - onset_c) <= max(SAME_ONSET_K, 0.25 * swing_k)]
    if swings:
        strength = min(len(near), 3) / 3.0 * max(2.0 * len(near) / len(swings) - 1.0, 0.0)
        kind = Kind.TEETH_TO_FLOOR if _reached_floor(episode) else Kind.TEETH
        yield Measured(kind, strength, {"count": len(near) + 1, "temp_c": onset_c})
        elsewhere = len(swings) - len(near)
        yield Measured(Kind.TEETH_ELSEWHERE, min(elsewhere, 3) / 3.0, {"count": elsewhere, "temp_c": onset_c})
    memory = episode.memory
    if any(abs(temp_c - onset_c) <= SAME_ONSET_K for temp_c in memory.heat_temps):
        yield Measured(Kind.HEAT_HERE_BEFORE, 1.0, {"temp_c": onset_c})
    apart_k = [abs(past.temp_c - onset_c) for past in memory.onsets]
    same, other = sum(k <= 1.0 for k in apart_k), sum(k > 3.0 for k in apart_k)
    yield Measured(Kind.SAME_ONSET, 1.0 - 0.5**same, {"count": same, "temp_c": onset_c})
    yield Measured(Kind.OTHER_ONSETS, min(other, 3) / 3.0, {"count": other, "temp_c": onset_c})


# --- what came after --------------------------------------------------------------------------------------------------


def _aftermath(episode: Episode, onset_c: float) -> Iterator[Measured]:
    held, now_c = episode.held, episode.temp_now_c()
    at = {"temp_c": onset_c}
    climbed = held.climbed_since_s is not None and episode.now_s - held.climbed_since_s >= COUNTED_NEAR_S
    if climbed and episode.spread(8, of_speed=True) <= max(FLAT_POWER, 4.0 * episode.sigma):
        yield Measured(Kind.CLIMBED_ON, 1.0, at)
    if held.chased_k > 0.0:
        yield Measured(Kind.TAKEN_DOWN_WHILE_COOLING, 1.0, {"k": held.chased_k})
    if episode.heat_gave_up:
        yield Measured(Kind.HEAT_GAVE_UP, 1.0, at)
    cools = now_c is not None and onset_c - now_c >= GIVES_WAY_K
    if episode.lighter_work_possible:
        as_lighter = (cools and episode.recoveries < 2) or not episode.load_is_read
        yield Measured(Kind.LIGHTER_WORK, 1.0 if as_lighter else 0.5, {})
    if cools and not episode.load_is_known:
        yield Measured(Kind.LOAD_MAY_HAVE_ENDED, 1.0, {"temp_c": now_c or 0.0})


# --- limits of power --------------------------------------------------------------------------------------------------


def _limits(episode: Episode) -> Iterator[Measured]:
    onset, power = episode.onset, episode.power_lately_w()
    if episode.fell is Fell.POWER:
        yield Measured(Kind.POWER_ALONE_FELL, 1.0, {})
    if episode.from_start:
        yield Measured(Kind.SINCE_LOAD_BEGAN, 1.0, {})
    if onset.loaded_s is not None:
        loaded_s = max(onset.loaded_s, 1.0)
        figures = {"loaded_s": onset.loaded_s}
        yield Measured(Kind.AFTER_USUAL_BUDGET, exp(-0.5 * (log(loaded_s / USUAL_BUDGET_S) / 0.7) ** 2), figures)
        yield Measured(Kind.AT_ONCE, exp(-((loaded_s / AT_ONCE_S) ** 2)), figures)
        yield Measured(Kind.LONGER_THAN_BUDGETS, _longer_than_budgets(onset.loaded_s), figures)
    limit, short = episode.told.known.power_limit_w, episode.told.known.power_limit_short_w
    if power is None or limit is None:
        return
    figures = {"power_w": power, "limit_w": limit}
    apart, before, then = power / limit - 1.0, onset.power_before_w, episode.before.power
    # as closely as control holds it, it was there: any less now and nothing holds it there
    has_left = then is not None and abs(then / limit - 1.0) <= AT_POWER_LIMIT
    has_left &= then is not None and 1.0 - power / then > max(0.012, 2.5 * episode.power_sigma)
    was_below = before is not None and before < limit * (1.0 - AT_POWER_LIMIT) and power < before
    if short is not None and abs(power / short - 1.0) <= AT_POWER_LIMIT:
        yield Measured(Kind.AT_POWER_LIMIT, 1.0, figures | {"limit_w": short})
    elif has_left or was_below:
        yield Measured(Kind.BELOW_POWER_LIMIT, 1.0, figures)
    else:
        is_flat = episode.age_s >= 8.0 and episode.spread(8) <= FLAT_POWER
        strength = (1.0 if is_flat else 0.8) * exp(-0.5 * (apart / METER_SIGMA) ** 2)
        yield Measured(Kind.AT_POWER_LIMIT, strength if strength > 0.05 else 0.0, figures)
        yield Measured(Kind.BELOW_POWER_LIMIT, _clip((-apart - AT_POWER_LIMIT) / AT_POWER_LIMIT, 0.0, 1.0), figures)
    if not was_below and before is not None:
        yield from _budget(episode, limit, before)


def _budget(episode: Episode, limit_w: float, before_w: float) -> Iterator[Measured]:
    """Had the running average of power reached the limit when the clock fell?"""
    average, window_s, idle_w = episode.onset.average_w, episode.told.budget.window_s, episode.memory.idle_power_w
    if average is None or window_s is None:
        return
    apart = average / limit_w - 1.0
    strength = 1.0 if abs(apart) <= BUDGET_SHARE else 0.0
    if not -3.0 * BUDGET_SHARE <= apart <= 2.0 * BUDGET_SHARE:
        strength = -1.0
    figures = {"window_s": window_s, "average_w": average, "limit_w": limit_w}
    lasts_s = None if idle_w is None else time_at_higher_power_s(before_w, limit_w, idle_w, window_s)
    if lasts_s is not None:
        figures |= {"before_w": before_w, "lasts_s": lasts_s}
    yield Measured(Kind.BUDGET_USED_UP, strength, figures)


def _regulation(episode: Episode) -> Iterator[Measured]:
    """Which of power and clock stays put, and which follows the leakage of the cooling chip."""
    noise = episode.memory.power_wander.noise, episode.memory.clock_wander.noise
    steadier = episode.regulation.power_is_steadier(*noise) / 6.0
    power = {"power_w": episode.power_now_w() or 0.0}
    yield Measured(Kind.POWER_HELD, max(steadier, 0.0), power)
    yield Measured(Kind.CLOCK_HELD, max(-steadier, 0.0), {"clock_mhz": episode.speed_now() or 0.0})
    leaks = episode.regulation.clock_follows_leakage(*noise) / 6.0
    yield Measured(Kind.CLOCK_FOLLOWS_LEAKAGE, max(leaks, 0.0), power)
    yield Measured(Kind.POWER_FOLLOWS_LEAKAGE, max(-leaks, 0.0), power)


# --- what the machine itself says -------------------------------------------------------------------------------------


def _kernel(episode: Episode) -> Iterator[Measured]:
    heat, onset_s = episode.told.heat, episode.onset_s
    rose_s = heat.step_rose_since(onset_s - CAP_NEAR_S) if heat.step > 0 else None
    if rose_s is not None:
        yield Measured(Kind.COOLING_STEP, 1.0, {"step": heat.step, "after_s": rose_s - onset_s})
    if not heat.is_read:
        return
    near = heat.counted_between(onset_s - COUNTED_NEAR_S, onset_s + COUNTED_NEAR_S)
    total = heat.counted_between(onset_s - COUNTED_NEAR_S, episode.now_s)
    before_s = heat.last_between(onset_s - (episode.onset.loaded_s or 0.0), onset_s)
    if total > 0:
        yield Measured(Kind.HEAT_COUNTED, 1.0 if near > 0 or total >= 3 else 0.6, {"count": total})
    elif before_s is not None:
        # who holds a temperature steadily crosses it once, and that may be before the fall is large enough to be seen
        yield Measured(Kind.HEAT_COUNTED, 0.5, {"before_s": onset_s - before_s})
    elif episode.age_s >= COUNTED_NEAR_S:
        # the counter is set to the told limit: who defends less does not make it count
        onset_c = episode.onset.temp_c
        is_at_told = onset_c is not None and _near_told(episode, onset_c)[0] == 1.0
        yield Measured(Kind.NO_HEAT_COUNTED, 1.0 if is_at_told else 0.2, {})


def _caps(episode: Episode) -> Iterator[Measured]:
    told = episode.told
    cap = cap_that_holds(episode)
    if cap is not None and cap.before_mhz is not None and cap.now_mhz is not None:
        figures = {"before_mhz": cap.before_mhz, "cap_mhz": cap.now_mhz, "is_platform": float(cap is told.platform)}
        yield Measured(Kind.CAP_FELL, 1.0, figures)
    elif not (told.cap.now_mhz is None and told.platform.now_mhz is None) and not (
        told.cap.is_down or told.platform.is_down
    ):
        yield Measured(Kind.NO_CAP, 1.0, {})
    if is_at_floor(episode):
        figures = {"clock_mhz": episode.floor_mhz or 0.0, "temp_c": episode.held.last_c or 0.0}
        yield Measured(Kind.AT_FLOOR, 1.0, figures)
        onset_c = episode.onset.temp_c
        at_told = onset_c is not None and _near_told(episode, onset_c)[0] == 1.0  # a drop that latches there is heat
        if (episode.held.cold_s >= UNDEFENDED_S and not at_told) or episode.heat_gave_up:
            yield Measured(Kind.COLD_AT_FLOOR, 1.0, figures)


def cap_that_holds(episode: Episode) -> CapWatch | None:
    """A cap that fell at the onset and that the clock obeys; None where the kernel cools by it."""
    told = episode.told
    clock = episode.speed_now() if episode.before.clock is not None else None
    if clock is None or (told.heat.step_is_read and told.heat.step > 0):
        return None
    for cap in (told.platform, told.cap):
        near = abs(cap.fell_s - episode.onset_s) <= CAP_NEAR_S
        if cap.is_down and cap.now_mhz is not None and near and clock <= cap.now_mhz * (1.0 + AT_CAP):
            return cap
    return None


def is_at_floor(episode: Episode) -> bool:
    """True if the clock is held at the lowest there is, well below what it was."""
    return _is_floor(episode, episode.speed_now())


def _reached_floor(episode: Episode) -> bool:
    return _is_floor(episode, episode.figures.least_clock)


def _is_floor(episode: Episode, clock_mhz: float | None) -> bool:
    floor, before = episode.floor_mhz, episode.before.clock
    if floor is None or before is None or clock_mhz is None or floor > 0.7 * before:
        return False
    return clock_mhz <= floor * (1.0 + 2.0 * AT_CAP)
