"""Pairs that look alike on a chart, told apart by what a defender of a temperature would and would not do."""

from __future__ import annotations

import math

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.model.events import Cause
from tests.support.signals import Box, clamp_between, glide_at, latch_at, run, sawtooth_at

LIMIT_75 = Observation(0.0, temp_limit_c=75.0)


def found(observations):
    detector = Detector()
    for one in observations:
        detector.push(one)
    detector.finish()
    return detector.events


def plain_trace(reach_s: float, lead_s: int = 20, falls_to: tuple[float, float] = (1400.0, 22.0)):
    """A table as somebody types it from a chart: 35 W until 73 C is reached, then a lower clock at 73 C, without noise."""
    for t_s in range(600):
        since_s = t_s - lead_s
        if since_s < 0:
            yield Observation(float(t_s), 800.0, 3.0, 40.0, 1.0)
        elif since_s < reach_s:
            rise = (1.0 - math.exp(-since_s / 20.0)) / (1.0 - math.exp(-reach_s / 20.0))
            yield Observation(float(t_s), 2400.0, 35.0, float(round(40.0 + 33.0 * rise)), 100.0)
        else:
            yield Observation(float(t_s), falls_to[0], falls_to[1], 73.0, 100.0)


@pytest.mark.parametrize("reach_s", [10.0, 60.0, 200.0])
@pytest.mark.parametrize("lead_s", [0, 20])
def test_a_temperature_that_stays_though_a_third_of_the_power_is_gone_is_heat(reach_s, lead_s):
    """Common practice, no source: 35 W and 2.4 GHz, on reaching 73 C 22 W and 1.4 GHz, is a machine held by heat."""
    (event,) = found(plain_trace(reach_s, lead_s))
    assert event.cause is Cause.THERMAL
    assert event.start_s == pytest.approx(lead_s + reach_s, abs=1.0)
    assert (event.power_before_w, event.power_held_w, event.temp_plateau_c) == (35.0, 22.0, 73.0)


def test_the_same_with_a_small_fall_may_be_chance_and_stays_unexplained():
    (event,) = found(plain_trace(60.0, falls_to=(2250.0, 32.5)))
    assert event.cause is Cause.UNEXPLAINED


def test_wide_code_just_below_the_limit_is_never_told_as_heat():
    """The clock falls by design when wide code begins, power rises; it must not be announced before that is seen."""
    box = Box()
    hot = 22.0 + 60.0 * 1.15  # where it settles, by hand: (0.35 + 0.8) K/W
    limit = Observation(0.0, temp_limit_c=round(hot) + 1.0)
    seen = list(
        run(
            clamp_between(280.0, 1e9, 3600.0),
            box=box,
            duration_s=400.0,
            known=limit,
            power_factor=lambda t: 1.6 if t >= 280.0 else 1.0,
        )
    )
    assert max(one.power_w for one in seen if one.t_s > 285.0) > max(one.power_w for one in seen if one.t_s < 279.0)
    assert found(seen) == ()


def test_power_that_is_taken_away_while_the_temperature_falls_is_nobody_defending_that_temperature():
    """A slow hand on the clock, as a limit on the warmth of a case has: the die cools all the while."""
    box = Box()

    def slowly(_, t_s, power_w):
        return box.full_mhz if t_s < 200.0 else max(box.full_mhz - 12.0 * (t_s - 200.0), 1500.0)

    events = found(run(slowly, box=box, duration_s=600.0, temp_step_c=0.125))
    assert [event.cause for event in events] == [Cause.UNEXPLAINED]


def test_heat_ends_where_somebody_else_takes_over_even_if_no_file_tells():
    heat = glide_at(75.0)

    def both(box, t_s, power_w):
        defended = heat(box, t_s, power_w)
        return min(defended, 1500.0) if t_s >= 400.0 else defended

    events = found(run(both, duration_s=600.0, temp_step_c=0.125))
    heat, cap = events
    assert heat.cause is Cause.THERMAL
    assert cap.cause in {Cause.OUTSIDE, Cause.UNEXPLAINED}  # a cap that no file shows may be named, or not
    assert cap.causes[Cause.THERMAL] + cap.causes[Cause.POWER_LIMIT] < 0.5
    assert heat.end_s == pytest.approx(400.0, abs=15.0)


def test_one_busy_core_that_saws_at_its_limit_is_not_taken_for_a_governor_following_demand():
    """The load is an eighth, the clock jumps from sample to sample, and each fall is at the limit."""
    box = Box(die_k_per_w=6.0, die_s=1.0, full_w=12.0)
    saw = sawtooth_at(75.0, 60.0, 900.0)
    seen = run(saw, box=box, known=LIMIT_75, load=lambda t: 1.0 if t >= 20.0 else 0.0, period_s=0.5)
    events = found(one._replace(load_pct=one.load_pct / 8.0) for one in seen)
    assert [event.cause for event in events] == [Cause.THERMAL]


def test_a_cooler_chip_leaks_less_and_that_is_no_limitation():
    """Heat limits it until a fan helps; then clock and work are back while power stays 8 % lower at 25 K less."""

    def leaking(one):
        return one._replace(
            power_w=one.power_w * (1.0 - 0.004 * max(75.0 - one.temp_c, 0.0)) if one.t_s > 260.0 else one.power_w
        )

    box = Box()
    glide = glide_at(75.0)

    def rescued(b, t_s, power_w):
        if t_s >= 260.0:
            b.sink_k_per_w = 0.25
        return glide(b, t_s, power_w)

    (event,) = found(leaking(one) for one in run(rescued, box=box, duration_s=600.0))
    assert event.cause is Cause.THERMAL
    assert event.end_s is not None
    assert event.end_s < 330.0


def test_a_limitation_still_being_judged_when_the_load_ends_is_told():
    seen = run(clamp_between(100.0, 1e9, 3600.0), load=lambda t: 1.0 if 20.0 <= t < 160.0 else 0.0, duration_s=220.0)
    (event,) = found(seen)
    assert event.cause is Cause.UNEXPLAINED
    assert event.start_s == pytest.approx(100.0, abs=1.0)
    assert event.end_s == pytest.approx(160.0, abs=1.5)


def test_power_held_leaves_out_the_sample_that_straddles_the_onset():
    (event,) = found(run(latch_at(75.0, 2000.0), known=LIMIT_75, noise=0.0, period_s=2.0, temp_step_c=0.125))
    box = Box()
    assert event.power_held_w == pytest.approx(box.power_at(2000.0, 1.0), rel=1e-6)
