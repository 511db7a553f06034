"""Evidence that a temperature was held although the power moved."""

from __future__ import annotations

from benchmon.analysis.throttle.case import Case
from benchmon.analysis.throttle.held import Held
from benchmon.analysis.throttle.other_clues import power_is_excluded
from benchmon.analysis.throttle.rules import FIRM, GOOD, SLIGHT, STRONG


def clues_from_holding(case: Case) -> list[tuple[float, str]]:
    """Weight for heat and sentence of what the temperature did while power and clock moved."""
    return [*_from_holding(case), *_from_control(case)]


def _from_holding(case: Case) -> list[tuple[float, str]]:
    track, rules = case.track, case.rules
    best = track.best
    if best is None:
        return []
    expected_k = rules.expected_move_k if best.length_s < rules.long_held_s else rules.expected_move_in_long_k
    if best.moved_k < 0.5 * expected_k:
        return []
    weight = min(STRONG, SLIGHT + 2.0 * FIRM * (best.moved_k / expected_k - 0.5))
    track.held_weight = max(min(weight, _most_for_holding(case)), track.held_weight)  # it may come to rest later
    if track.power_before is not None and best.first_w is not None and best.last_w is not None:
        fell = best.last_w < best.first_w
        fall = f"power fell from {best.first_w:.1f} to {best.last_w:.1f} W" if fell else "power went down and up again"
    else:
        fall = "the clock fell"
    return [(track.held_weight, f"temperature held at {best.temp:.0f} °C for {best.length_s:.0f} s while {fall}")]


def _from_control(case: Case) -> list[tuple[float, str]]:
    """What holds neither power nor clock, while the temperature stays about where it was, holds the temperature."""
    rules, track, onset = case.rules, case.track, case.onset
    now, seconds = case.temp_now_c(), case.recent
    if onset.temp_c is None or now is None or len(seconds) < 15 or case.age_s < rules.control_s:
        return []
    run = track.run
    if run is None or run.length_s < rules.control_s:
        return []
    is_long = run.length_s >= rules.long_held_s
    if case.lighter_work_possible and not is_long:
        return []
    if abs(now - onset.temp_c) > rules.stayed_near_k and not case.fell_is_power:
        return []
    if not case.moves(30, max(2.0 * rules.flat_power, 6.0 * case.power_sigma)):
        return []
    if not case.fell_is_power and not case.moves(30, max(rules.flat_power, 6.0 * case.speed_sigma), of_speed=True):
        return []
    held = f"temperature stayed at {run.temp:.0f} °C for {run.length_s:.0f} s"
    is_same = abs(run.temp - onset.temp_c) <= rules.same_onset_k
    return [(FIRM if is_long and is_same else GOOD, f"{held} while neither power nor clock was held")]


def _most_for_holding(case: Case) -> float:
    """Who defends a temperature moves the power; what holds power or clock steady may leave it standing by chance."""
    rules, track, best = case.rules, case.track, case.track.best
    by_clock = track.power_before is None
    sigma = case.speed_sigma if by_clock else case.power_sigma
    if best is not None and best.wander > max(rules.wandered, rules.wandered_sigmas * sigma):
        return STRONG
    if case.moves(30, max(rules.flat_power, 4.0 * sigma), of_speed=by_clock):
        return STRONG
    if best is None or not best.from_onset:
        return SLIGHT
    if _is_steep(case):
        proven = best.length_s >= 2.0 * rules.long_held_s and best.moved_k >= rules.great_move_k
    else:
        proven = _dip_to_expect(case, best) >= rules.missing_dip_k
    if proven:
        return FIRM
    return GOOD if power_is_excluded(case) and not _is_steep(case) else SLIGHT


def _dip_to_expect(case: Case, held: Held) -> float:
    """How far the die would have cooled within seconds, whatever a slow heatsink does meanwhile [K]."""
    before, last = case.track.power_before, held.last_w
    if before is None or last is None:
        return 0.0
    return case.memory.moved_by(before - last, case.rules.rising_over_s, held.temp, before)


def _is_steep(case: Case) -> bool:
    """Rising so fast before that a drop of power may leave it standing by chance."""
    cooler_before_k = case.onset.cooler_before_k
    return cooler_before_k is None or cooler_before_k > case.rules.steep_k
