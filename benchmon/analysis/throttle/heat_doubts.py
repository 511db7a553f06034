"""Evidence against heat."""

from __future__ import annotations

from benchmon.analysis.throttle.case import Case
from benchmon.analysis.throttle.other_clues import cap_that_holds, is_cold_at_floor
from benchmon.analysis.throttle.rules import CERTAIN, FIRM, GOOD, SLIGHT, STRONG, WEAK


def doubts(case: Case) -> list[tuple[float, str]]:
    """Negative weight and sentence of all that speaks against heat; nothing where no temperature was read."""
    temp = case.onset.temp_c
    if temp is None:
        return []
    return [*_others_hold_it(case), *_before(case, temp), *_lighter_work(case, temp), *_afterwards(case, temp)]


def _others_hold_it(case: Case) -> list[tuple[float, str]]:
    clues = []
    if cap_that_holds(case) is not None:
        clues.append((-FIRM, "a cap explains it"))
    if case.heat_gave_up:
        clues.append((-CERTAIN, "heat had been held off at a higher clock, and it is cooler now"))
    elif is_cold_at_floor(case):
        clues.append((-STRONG, f"it stayed at its lowest clock though it had cooled to {case.track.last:.0f} °C"))
    return clues


def _before(case: Case, temp: float) -> list[tuple[float, str]]:
    """Where it was when the clock fell, and before that."""
    onset, rules, limit = case.onset, case.rules, case.watch.known.temp_limit_c
    clues = []
    near_limit = limit is not None and temp >= limit - rules.near_limit_k
    if temp < rules.cold_c and not near_limit:
        clues.append((-STRONG, f"it was only {temp:.0f} °C warm"))
    if onset.free_high_c is not None and onset.free_high_c > temp + rules.free_hotter_k:
        clues.append((-STRONG, f"it ran free at {onset.free_high_c:.0f} °C before"))
    crept = onset.crept_k is not None and onset.crept_k >= rules.creeping_k
    was_settled = onset.settled_s is not None and onset.settled_s >= rules.plateau_before_s
    if was_settled and not crept and not near_limit and case.track.held_weight < WEAK:
        clues.append((-SLIGHT, f"temperature had been settled for {onset.settled_s:.0f} s before the clock fell"))
    return clues


def _lighter_work(case: Case, temp: float) -> list[tuple[float, str]]:
    """Lighter work, or none, draws less power too; but it holds no temperature, and does not come and go in seconds."""
    rules, track, now = case.rules, case.track, case.temp_now_c()
    clues = []
    is_proven = track.best is not None and track.best.length_s >= rules.long_held_s and track.held_weight >= STRONG
    if case.lighter_work_possible and not is_proven:
        clues.append((-GOOD, "power fell while the clock stayed, as with lighter work"))
    if now is None or temp - now < rules.end_of_load_k:
        return clues
    if case.lighter_work_possible and case.episode.recoveries < 2:
        clues.append((-GOOD, f"temperature fell to {now:.0f} °C with the power, as with lighter work"))
    if not case.load_is_known:
        words = f"temperature fell to {now:.0f} °C, as at the end of a load, and the load is not known"
        clues.append((-CERTAIN, words))
    return clues


def _afterwards(case: Case, temp: float) -> list[tuple[float, str]]:
    track, rules = case.track, case.rules
    clues = []
    if track.chased_k > 0.0:
        clues.append((-STRONG, f"temperature fell by {track.chased_k:.0f} K while the clock was taken down further"))
    climbed = track.climbed_since_s is not None and case.now_s - track.climbed_since_s >= rules.climbed_on_s
    if climbed and case.spread(8, of_speed=True) <= max(rules.flat_power, 4.0 * case.speed_sigma):
        told = case.watch.known.temp_limit_c is not None
        clues.append((-SLIGHT if told else -FIRM, f"temperature climbed on beyond {temp:.0f} °C and nothing answered"))
    return clues
