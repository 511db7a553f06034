"""Evidence for and against heat."""

from __future__ import annotations

from benchmon.analysis.detector.case import Case, Clue
from benchmon.analysis.detector.heat_track import Held
from benchmon.analysis.detector.other_clues import (
    cap_that_holds,
    is_at_floor,
    is_below_rated,
    is_cold_at_floor,
    power_is_excluded,
    reaches_floor,
)
from benchmon.analysis.detector.rules import CERTAIN, FAIR, FIRM, GOOD, SLIGHT, STRONG, WEAK
from benchmon.model.events import Cause


def heat_clues(case: Case) -> list[Clue]:
    """All clues about heat that the case gives now."""
    clues = [
        *_from_the_kernel(case),
        *_from_the_limit(case),
        *_from_holding(case),
        *_from_control(case),
        *_from_repetition(case),
        *_from_the_onset(case),
    ]
    return [Clue(Cause.THERMAL, weight, sentence) for weight, sentence in clues]


def _from_the_kernel(case: Case) -> list[tuple[float, str]]:
    heat, episode, rules = case.watch.heat, case.episode, case.rules
    clues: list[tuple[float, str]] = []
    rose_s = heat.step_rose_since(episode.onset_s - rules.cap_near_s) if heat.step > 0 else None
    if rose_s is not None:
        clues.append(
            (CERTAIN, f"the kernel asked for cooling step {heat.step:.0f}, first {_apart(rose_s, episode.onset_s)}")
        )
    if not heat.is_read:
        return clues
    near = heat.counted_between(episode.onset_s - rules.counter_near_s, episode.onset_s + rules.counter_near_s)
    total = heat.counted_between(episode.onset_s - rules.counter_near_s, case.now_s)
    if _far_below(case):
        return clues
    if total > 0:
        weight = FIRM if near > 0 or total >= 3 else FAIR
        clues.append((weight, f"the kernel counted {total:.0f} heat event{'s' if total != 1 else ''} since the onset"))
    elif counted_s := heat.last_between(case.load_since_s, episode.onset_s):
        # who holds a temperature steadily crosses it once, and that may be before the fall is large enough to be seen
        clues.append((FAIR, f"the kernel counted a heat event {episode.onset_s - counted_s:.0f} s before"))
    elif case.age_s >= rules.counter_near_s and not _is_early(case):
        clues.append((-WEAK, "the kernel counted no heat event"))
    return clues


def _is_early(case: Case) -> bool:
    """A few kelvin below the told limit, where firmware may act and the counter, set to the limit, is still silent."""
    limit, temp = case.watch.known.temp_limit_c, case.onset.temp_c
    return limit is not None and temp is not None and temp < limit - case.rules.at_limit_k


def _far_below(case: Case) -> bool:
    limit, temp = case.watch.known.temp_limit_c, case.onset.temp_c
    return limit is not None and temp is not None and temp < limit - case.rules.far_below_limit_k


def _from_the_limit(case: Case) -> list[tuple[float, str]]:
    limit, temp, rules = case.watch.known.temp_limit_c, case.onset.temp_c, case.rules
    if temp is None:
        return []
    if limit is None:
        return _by_elimination(case, FAIR) if _is_fresh(case) and power_is_excluded(case) else []
    below = limit - temp
    if case.onset.free_high_c is not None and case.onset.free_high_c > limit + rules.at_limit_k:
        return []  # it ran free above that limit: nobody enforces it
    now = case.temp_now_c()
    if below <= rules.at_limit_k:
        return [(STRONG, f"temperature was {temp:.0f} °C, at the limit of {limit:.0f} °C, when the clock fell")]
    if now is not None and limit - now <= rules.at_limit_k:
        return [(GOOD, f"temperature is {now:.0f} °C, at the limit of {limit:.0f} °C")]
    if below <= rules.early_limit_k:
        clue = f"temperature was {temp:.0f} °C, {below:.0f} K below the limit of {limit:.0f} °C, when the clock fell"
        return [(_early_weight(case), clue), *_by_elimination(case, WEAK)]
    if below <= rules.near_limit_k:
        return [(SLIGHT, f"temperature was {temp:.0f} °C, {below:.0f} K below the limit of {limit:.0f} °C")]
    if below <= rules.far_below_limit_k:
        return [(-STRONG, f"temperature was {temp:.0f} °C, {below:.0f} K below the limit of {limit:.0f} °C")]
    return [(-CERTAIN, f"temperature was {temp:.0f} °C, {below:.0f} K below the limit of {limit:.0f} °C")]


def _early_weight(case: Case) -> float:
    """A few kelvin before the limit: firmware does act there, but so may a clamp to the floor."""
    if case.watch.known.lowest_clock_mhz is None:
        return WEAK
    return SLIGHT if is_at_floor(case) else FAIR


def _by_elimination(case: Case, weight: float) -> list[tuple[float, str]]:
    """What is left if no power limit can have done it, no cap is seen and it is not a clamp to the floor."""
    watch = case.watch
    if watch.cap.is_down or watch.platform.is_down or is_at_floor(case) or case.fell_is_power:
        return []
    if not power_is_excluded(case) and not is_below_rated(case):
        return []
    looked = watch.cap.now_mhz is not None or watch.platform.now_mhz is not None
    if not looked or watch.known.lowest_clock_mhz is None:
        weight *= 0.5  # what was not looked at is not excluded
    return [(weight, "no cap is seen, and a power limit does not explain it")]


def _is_fresh(case: Case) -> bool:
    """True if the temperature had risen to its highest so far when the clock fell."""
    onset, rules = case.onset, case.rules
    if onset.temp_c is None:
        return False
    rising = onset.cooler_before_k is not None and onset.cooler_before_k >= rules.rising_k
    crept = onset.crept_k is not None and onset.crept_k >= rules.creeping_k
    fresh = onset.hottest_before_c is None or onset.temp_c >= onset.hottest_before_c - rules.fresh_max_k
    return fresh and (rising or crept)


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
    rules, track = case.rules, case.track
    by_clock = track.power_before is None
    sigma = case.speed_sigma if by_clock else case.power_sigma
    if track.best is not None and track.best.wander > max(rules.wandered, rules.wandered_sigmas * sigma):
        return STRONG
    if case.moves(30, max(rules.flat_power, 4.0 * sigma), of_speed=by_clock):
        return STRONG
    if track.best is None or not track.best.from_onset:
        return SLIGHT
    if _is_steep(case):
        return (
            FIRM
            if track.best.length_s >= 2.0 * rules.long_held_s and track.best.moved_k >= rules.great_move_k
            else SLIGHT
        )
    if _dip_to_expect(case, track.best) >= rules.missing_dip_k:
        return FIRM
    return GOOD if power_is_excluded(case) else SLIGHT


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


def _from_repetition(case: Case) -> list[tuple[float, str]]:
    episode, onset, rules, memory = case.episode, case.onset, case.rules, case.memory
    clues: list[tuple[float, str]] = []
    if onset.temp_c is None:
        return clues
    swings = [(temp, swing) for temp, swing in episode.relapses if swing >= rules.swing_k]
    near = [
        temp for temp, swing in swings if abs(temp - onset.temp_c) <= max(rules.same_onset_k, rules.swing_share * swing)
    ]
    if near:
        count, share = len(near) + 1, len(near) / len(swings)
        weight = min(GOOD * len(near), CERTAIN) * max(2.0 * share - 1.0, 0.0)
        if reaches_floor(case):  # pulses of an outside signal look the same on a machine that is always equally hot
            weight = min(weight, WEAK)
        clues.append((weight, f"the clock fell {count} times at {onset.temp_c:.0f} °C, having been cooler in between"))
    same = [temp for temp in memory.heat_temps if abs(temp - onset.temp_c) <= rules.same_onset_k]
    if same:
        clues.append((FIRM, f"heat limited it at {same[-1]:.0f} °C before"))
    elif _is_fresh(case) and memory.same_onset_otherwise(onset) >= 2:
        clues.append((FAIR, f"it was limited from {onset.temp_c:.0f} °C on twice before, after other times"))
    return clues


def _from_the_onset(case: Case) -> list[tuple[float, str]]:
    onset, rules, track = case.onset, case.rules, case.track
    clues: list[tuple[float, str]] = []
    temp = onset.temp_c
    if temp is None:
        return [(-CERTAIN, "no temperature was read")]
    if cap_that_holds(case) is not None:
        clues.append((-FIRM, "a cap explains it"))
    if case.heat_gave_up:
        clues.append((-CERTAIN, "heat had been held off at a higher clock, and it is cooler now"))
    elif is_cold_at_floor(case):
        clues.append((-STRONG, f"it stayed at its lowest clock though it had cooled to {track.last:.0f} °C"))
    crept = onset.crept_k is not None and onset.crept_k >= rules.creeping_k
    if _is_fresh(case):
        clues.append(
            (
                WEAK,
                f"temperature was rising and at its highest so far, {temp:.0f} °C, when the clock fell",
            )
        )
    if temp >= rules.published_limits_from_c:
        clues.append((SLIGHT, f"{temp:.0f} °C is near the limits that processors are built for"))
    limit = case.watch.known.temp_limit_c
    near_limit = limit is not None and temp >= limit - rules.near_limit_k
    if temp < rules.cold_c and not near_limit:
        clues.append((-STRONG, f"it was only {temp:.0f} °C warm"))
    if onset.free_high_c is not None and onset.free_high_c > temp + rules.free_hotter_k:
        clues.append((-STRONG, f"it ran free at {onset.free_high_c:.0f} °C before"))
    if (
        onset.settled_s is not None
        and onset.settled_s >= rules.plateau_before_s
        and not crept
        and not near_limit
        and track.held_weight < WEAK
    ):
        clues.append((-SLIGHT, f"temperature had been settled for {onset.settled_s:.0f} s before the clock fell"))
    proven = track.best is not None and track.best.length_s >= rules.long_held_s and track.held_weight >= STRONG
    if case.lighter_work_possible and not proven:  # lighter work holds no temperature
        clues.append((-GOOD, "power fell while the clock stayed, as with lighter work"))
    now = case.temp_now_c()
    pulses = case.episode.recoveries >= 2  # lighter work does not come and go in seconds
    if case.lighter_work_possible and not pulses and now is not None and temp - now >= rules.end_of_load_k:
        clues.append((-GOOD, f"temperature fell to {now:.0f} °C with the power, as with lighter work"))
    if not case.load_is_known and now is not None and temp - now >= rules.end_of_load_k:
        clues.append(
            (-CERTAIN, f"temperature fell to {now:.0f} °C, as at the end of a load, and the load is not known")
        )
    if track.chased_k > 0.0:
        clues.append((-STRONG, f"temperature fell by {track.chased_k:.0f} K while the clock was taken down further"))
    climbed = track.climbed_since_s is not None and case.now_s - track.climbed_since_s >= 4.0
    if climbed and case.spread(8, of_speed=True) <= max(rules.flat_power, 4.0 * case.speed_sigma):
        told = case.watch.known.temp_limit_c is not None
        clues.append((-SLIGHT if told else -FIRM, f"temperature climbed on beyond {temp:.0f} °C and nothing answered"))
    return clues


def _apart(t_s: float, onset_s: float) -> str:
    apart = t_s - onset_s
    return "at the onset" if abs(apart) < 1.0 else f"{abs(apart):.0f} s {'after' if apart > 0 else 'before'} the onset"
