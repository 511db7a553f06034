from __future__ import annotations

import random
from math import exp, inf, nan

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.load import LoadFollower, LoadState
from benchmon.analysis.throttle.readings import Cleaner, Reading, Second, Seconds
from benchmon.analysis.throttle.reference import Reference, References, Sampled
from benchmon.analysis.throttle.seeker import DropTest
from benchmon.analysis.throttle.steadiness import Jitter
from benchmon.analysis.throttle.thermal_answer import ThermalAnswer
from benchmon.analysis.throttle.told import CapWatch, HeatCountWatch, PowerBudget, time_at_higher_power_s


def reading(t_s: float, *, clock=None, power=None, temp=None, load=None, work=None) -> Reading:
    return Reading(t_s, clock, power, temp, load, work)


# --- cleaning


def clean(*seen: Observation) -> list[Reading | None]:
    cleaner = Cleaner()
    return [cleaner.clean(one) for one in seen]


def test_impossible_values_are_bridged_with_the_last_good_one():
    first, second = clean(Observation(1.0, 4200.0, 40.0, 70.0, 99.0, 5.0), Observation(2.0, 0.0, -4.0, 900.0, nan, inf))
    assert first is not None
    assert second == first._replace(t_s=2.0)


def test_a_hole_is_bridged_for_ten_seconds_and_no_longer():
    readings = clean(Observation(0.0, 4200.0), *(Observation(float(t)) for t in range(1, 14)))
    clocks = [one.clock for one in readings if one is not None]
    assert clocks[10] == 4200.0
    assert clocks[11] is None


def test_a_lone_power_spike_is_held_back_and_a_real_rise_is_believed_at_the_second_sight():
    spike = clean(*(Observation(float(t), power_w=watts) for t, watts in enumerate((40.0, 400.0, 41.0))))
    assert [one.power for one in spike if one] == [40.0, 40.0, 41.0]
    rise = clean(*(Observation(float(t), power_w=watts) for t, watts in enumerate((5.0, 60.0, 61.0))))
    assert [one.power for one in rise if one] == [5.0, 5.0, 61.0]
    wrap = clean(*(Observation(float(t), power_w=watts) for t, watts in enumerate((40.0, 65536.0, 65536.0))))
    assert [one.power for one in wrap if one] == [40.0, 40.0, 40.0]


def test_time_that_does_not_go_forward_is_ignored():
    readings = clean(
        Observation(1.0), Observation(1.0), Observation(0.5), Observation(nan), Observation(inf), Observation(2.0)
    )
    assert [one is None for one in readings] == [False, True, True, True, True, False]


# --- noise


def test_jitter_finds_the_sigma_of_normal_noise_and_forgives_rare_steps():
    rng = random.Random(5)
    jitter = Jitter()
    estimates = []
    for place in range(2000):
        level = 4000.0 if (place // 100) % 2 else 3000.0
        jitter.feed(level * (1.0 + rng.gauss(0.0, 0.02)))
        estimates.append(jitter.sigma)
    assert sum(estimates[200:]) / len(estimates[200:]) == pytest.approx(0.02, rel=0.2)


# --- drop test


def test_one_low_sample_is_no_drop_but_two_are_and_the_onset_is_the_first():
    test = DropTest()
    assert not test.feed(1.0, 0.5, 0.015, 0.045)
    test.reset()
    assert [test.feed(t, d, 0.015, 0.045) for t, d in ((1.0, 0.0), (2.0, 0.2), (3.0, 0.2))] == [False, False, True]
    assert test.onset_s == 2.0


def test_deficits_within_the_slack_never_add_up():
    test = DropTest()
    assert not any(test.feed(float(t), 0.014, 0.015, 0.045) for t in range(10_000))


# --- load


def follow(loads, *, dt_s=1.0):
    follower = LoadFollower()
    return follower, [follower.feed(reading(dt_s * place, load=load), None) for place, load in enumerate(loads)]


def test_a_stretch_begins_settles_and_ends_after_the_longest_pause():
    follower, states = follow([0, 0, 40, 100, 100, 100, 0, 0, 0, 100, 100, 0, 0, 0, 0, 0, 0, 0])
    assert states[:2] == [LoadState.IDLE, LoadState.IDLE]
    assert states[5] is LoadState.STEADY
    assert states[9] is LoadState.UNSETTLED
    assert states[10] is LoadState.STEADY
    assert follower.stretch == 2  # the sample that straddled the start counts as one of its own
    assert follower.level == 0.0


def test_another_load_is_another_stretch_and_jitter_of_the_load_is_not():
    follower, _ = follow([100] * 10 + [50] * 10)
    assert follower.stretch == 2
    assert follower.level == pytest.approx(50.0)
    steady, states = follow([96, 99, 100, 94, 97, 100, 95, 99, 98, 96])
    assert steady.stretch == 1
    assert states[2:] == [LoadState.STEADY] * 8


def test_without_a_load_channel_the_end_of_the_load_is_seen_in_the_work_or_in_power_that_is_back_at_idle():
    follower = LoadFollower()
    states = [
        follower.feed(reading(float(t), work=work), None) for t, work in enumerate((100.0, 101.0, 99.0, 0.0, 0.0))
    ]
    assert states[-1] is LoadState.IDLE
    follower = LoadFollower()
    states = [
        follower.feed(reading(float(t), power=power), None) for t, power in enumerate((4.0, 4.0, 40.0, 41.0, 20.0, 4.5))
    ]
    assert states[4] is not LoadState.IDLE
    assert states[5] is LoadState.IDLE
    assert follower.is_known


# --- reference


def test_the_reference_is_not_dragged_down_by_a_slow_decline_nor_up_by_luck():
    reference = Reference(100.0, None)
    for t in range(200):
        reference.feed(float(t), Sampled(4200.0 - 2.0 * t, 40.0, None), 0.0)
    assert reference.speed > 4150.0
    rng = random.Random(2)
    noisy = Reference(100.0, None)
    for t in range(600):
        noisy.feed(float(t), Sampled(4200.0 * (1.0 + rng.gauss(0.0, 0.03)), 40.0, None), 0.03)
    assert noisy.speed == pytest.approx(4200.0, rel=0.01)


def test_references_are_kept_for_each_load_and_number_of_cores():
    known = References()
    full = known.pick(100.0, None)
    assert known.pick(97.0, None) is full
    assert known.pick(25.0, None) is not full
    assert known.pick(100.0, 1.0) is not full


# --- seconds


def test_seconds_are_made_of_fast_samples_and_slow_ones_are_left_alone():
    fast = Seconds()
    for place in range(1, 31):
        fast.feed(reading(place / 10.0, temp=float(place)), 4000.0)
    assert [round(second.t_s) for second in fast.all][:3] == [0, 1, 2]
    assert len(fast.all) in {3, 4}
    slow = Seconds()
    for place in range(5):
        assert slow.feed(reading(place * 5.0, temp=50.0), None) == Second(place * 5.0, None, None, 50.0, None)


# --- what the machine says


def test_a_cap_that_falls_is_remembered_until_it_is_lifted():
    cap = CapWatch()
    for t_s, mhz in ((0.0, 4200.0), (5.0, 4200.0), (10.0, 3000.0), (11.0, 2000.0)):
        cap.feed(t_s, mhz)
    assert (cap.is_down, cap.before_mhz, cap.now_mhz, cap.fell_s) == (True, 4200.0, 2000.0, 11.0)
    cap.feed(20.0, 4200.0)
    assert not cap.is_down


def test_heat_counts_know_when_they_rose_and_survive_a_reset():
    heat = HeatCountWatch()
    for t_s, count in ((0.0, 100.0), (1.0, 100.0), (2.0, 105.0), (3.0, 2.0), (4.0, 3.0)):
        heat.feed(t_s, count, None)
    assert heat.counted_between(1.5, 2.5) == 5.0
    assert heat.counted_between(-inf, inf) == 6.0


@pytest.mark.parametrize(
    ("sustained", "higher", "before", "window", "lasts"),
    [
        (65.0, 117.0, 5.0, 8.0, 6.138),
        (65.0, 90.0, 10.0, 28.0, 32.568),
        (65.0, 134.0, 10.0, 28.0, 16.413),
        (125.0, 241.0, 15.0, 56.0, 37.349),
        (28.0, 64.0, 3.0, 28.0, 14.766),
        (15.0, 25.0, 2.0, 28.0, 23.321),
    ],
)
def test_the_running_average_reaches_the_limit_when_the_formula_says(sustained, higher, before, window, lasts):
    """Exponentially weighted average, as datasheets name it for the sustained limit; limits of common processors."""
    assert time_at_higher_power_s(higher, sustained, before, window) == pytest.approx(lasts, abs=5e-4)
    budget = PowerBudget()
    budget.feed(0.0, before, window)
    t_s = 0.0
    while budget.average_w is not None and budget.average_w < sustained:
        t_s += 0.01
        budget.feed(t_s, higher, window)
    assert t_s == pytest.approx(lasts, abs=0.011)


def test_a_power_below_the_limit_lasts_for_ever():
    assert time_at_higher_power_s(60.0, 65.0, 5.0, 28.0) is None
    assert time_at_higher_power_s(90.0, 65.0, 70.0, 28.0) is None


# --- the machine's answer to power


def after_a_step(until_s: float) -> ThermalAnswer:
    """5 W and 40 °C until 100 s, then 45 W: 1 K/W more, approached with 20 s."""
    answer = ThermalAnswer()
    for t_s in range(90, 101):
        answer.feed(float(t_s), 5.0, 40.0, is_loaded=False)
    for after_s in range(1, round(until_s) + 1):
        answer.feed(100.0 + after_s, 45.0, 40.0 + 40.0 * (1.0 - exp(-after_s / 20.0)), is_loaded=True)
    return answer


def test_the_answer_to_a_power_step_is_learned_at_a_load_start():
    assert not ThermalAnswer().is_known
    answer = after_a_step(99.0)
    assert answer.is_known
    for age_s in (10.0, 25.0, 60.0):
        by_hand_k = 40.0 * (1.0 - exp(-age_s / 20.0))
        assert answer.dip(40.0, age_s)[0] == pytest.approx(by_hand_k, rel=0.12, abs=1.0)


def test_what_it_says_of_a_smaller_power_is_where_the_temperature_then_goes():
    """From 79.7 °C at 45 W to 25 W: 20 K less in the end, 20 · (1 - exp(-15/20)) = 10.6 K after 15 s."""
    answer = after_a_step(99.0)
    for age_s in (5.0, 15.0, 40.0):
        move_k, variance = answer.move(answer.states, 25.0, age_s)
        assert move_k == pytest.approx(-20.0 * (1.0 - exp(-age_s / 20.0)), rel=0.12, abs=1.0)
        assert 0.0 <= variance < 4.0**2
