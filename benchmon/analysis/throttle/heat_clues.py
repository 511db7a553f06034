"""Evidence for heat; what it held is in ``held_clues``, what speaks against it in ``heat_doubts``."""

from __future__ import annotations

from benchmon.analysis.throttle.case import Case, Clue
from benchmon.analysis.throttle.heat_doubts import doubts
from benchmon.analysis.throttle.held_clues import clues_from_holding
from benchmon.analysis.throttle.other_clues import is_at_floor, is_below_rated, power_is_excluded, reaches_floor
from benchmon.analysis.throttle.rules import CERTAIN, FAIR, FIRM, GOOD, SLIGHT, STRONG, WEAK
from benchmon.model.events import Cause


def heat_clues(case: Case) -> list[Clue]:
    """All clues about heat that the case gives now."""
    clues = [
        *_from_the_kernel(case),
        *_from_the_limit(case),
        *clues_from_holding(case),
        *_from_repetition(case),
        *_from_the_onset(case),
        *doubts(case),
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
        if watch.known.temp_limit_c is not None:
            return []  # what was not looked at is not excluded
        weight *= 0.5
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
    temp = case.onset.temp_c
    if temp is None:
        return [(-CERTAIN, "no temperature was read")]
    clues = []
    if _is_fresh(case):
        clues.append((WEAK, f"temperature was rising and at its highest so far, {temp:.0f} °C, when the clock fell"))
    if temp >= case.rules.published_limits_from_c and case.watch.known.temp_limit_c is None:
        clues.append((SLIGHT, f"{temp:.0f} °C is near the limits that processors are built for"))
    return clues


def _apart(t_s: float, onset_s: float) -> str:
    apart = t_s - onset_s
    return "at the onset" if abs(apart) < 1.0 else f"{abs(apart):.0f} s {'after' if apart > 0 else 'before'} the onset"
