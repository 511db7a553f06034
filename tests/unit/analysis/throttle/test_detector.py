"""The detector on small hand-made signals: what it says, of what, when and why."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.views.words.evidence import evidence_sentences, wanted_words
from tests.support import signals
from tests.support.signals import Box, clamp_between, glide_at, latch_at, run, running_average, sawtooth_at

LIMITS = Observation(
    0.0, temp_limit_c=76.0, power_limit_w=90.0, power_window_s=28.0, lowest_clock_mhz=800.0,
    clock_cap_mhz=4200.0, platform_cap_mhz=4200.0,
)  # fmt: skip


def judged(seen: Iterable[Observation]) -> tuple[ThrottleEvent, ...]:
    detector = Detector()
    for one in seen:
        detector.push(one)
    detector.finish()
    return detector.events


def only(seen: Iterable[Observation]) -> ThrottleEvent:
    (event,) = judged(seen)
    return event


def both(one: signals.Limiter, other: signals.Limiter) -> signals.Limiter:
    return lambda box, t_s, power_w: min(one(box, t_s, power_w), other(box, t_s, power_w))


@pytest.mark.parametrize("period_s", [0.1, 0.25, 1.0, 2.0, 5.0, 10.0])
def test_a_glide_that_holds_a_temperature_is_heat_at_any_sampling(period_s):
    event = only(run(glide_at(75.0), period_s=period_s))
    assert event.cause is Cause.THERMAL
    # 75 °C is reached at 117.5 s; the clock dithers a while before it is 3 % down for good
    assert 117.0 - period_s <= event.start_s <= 127.0 + period_s
    assert event.temp_plateau_c == pytest.approx(74.7, abs=0.6)
    assert event.is_open


@pytest.mark.parametrize("period_s", [0.1, 0.5, 1.0, 2.0])
def test_a_saw_tooth_is_one_event_with_its_recoveries(period_s):
    event = only(run(sawtooth_at(75.0, 68.0, 2000.0), period_s=period_s))
    assert event.cause is Cause.THERMAL
    assert event.recoveries >= (10 if period_s < 2.0 else 2)
    assert event.limited_share is not None
    assert 0.2 < event.limited_share < 0.8


def test_a_drop_that_latches_is_unexplained_without_limits_and_heat_with_them():
    blind = only(run(latch_at(75.0, 2000.0)))
    assert blind.cause is Cause.UNEXPLAINED
    assert "the temperature limit" in wanted_words(blind)
    seeing = only(run(latch_at(75.0, 2000.0), known=LIMITS))
    assert seeing.cause is Cause.THERMAL
    assert seeing.announced_s - seeing.start_s <= 4.0


def test_a_running_average_of_power_is_named_and_its_arithmetic_is_told():
    known = LIMITS._replace(temp_limit_c=95.0, power_limit_w=35.0)
    event = only(run(running_average(35.0, 28.0), known=known))
    assert event.cause is Cause.POWER_LIMIT
    told = " ".join(evidence_sentences(event))
    assert "at the limit of 35.0 W" in told
    # 28 s · ln((60 - 4) / (60 - 35)) = 22.6 s, and that long after the start of the load it fell
    assert "60.1 W can last 23 s" in told or "60.0 W can last 23 s" in told or "59.9 W can last 23 s" in told
    assert event.start_s == pytest.approx(20.0 + 22.6, abs=1.5)


def test_heat_that_takes_over_from_a_power_limit_is_an_event_of_its_own():
    known = LIMITS._replace(temp_limit_c=66.0, power_limit_w=45.0)
    first, second = judged(run(both(running_average(45.0, 28.0), glide_at(66.0)), duration_s=500.0, known=known))
    assert (first.cause, second.cause) == (Cause.POWER_LIMIT, Cause.THERMAL)
    assert first.end_s == pytest.approx(second.start_s)
    assert second.temp_plateau_c == pytest.approx(66.0, abs=0.6)


def test_a_clamp_to_the_floor_far_from_the_limit_comes_from_outside_and_ends_when_it_is_lifted():
    event = only(run(clamp_between(60.0, 120.0, 800.0), known=LIMITS._replace(temp_limit_c=95.0)))
    assert event.cause is Cause.OUTSIDE
    assert (event.start_s, event.end_s) == (pytest.approx(60.0, abs=1.0), pytest.approx(120.0, abs=1.0))


@pytest.mark.parametrize("field", ["clock_cap_mhz", "platform_cap_mhz"])
def test_a_cap_that_a_file_shows_is_from_outside_even_on_a_hot_machine(field):
    seen = [
        one._replace(**{field: 2500.0}) if 105.0 <= one.t_s < 180.0 else one
        for one in run(clamp_between(104.0, 180.0, 2500.0), known=LIMITS)
    ]
    event = only(seen)
    assert event.cause is Cause.OUTSIDE
    assert "lowered its cap from 4.20 GHz to 2.50 GHz" in evidence_sentences(event)[0]


def test_the_same_cap_with_a_cooling_step_is_the_kernel_defending_a_temperature():
    seen = [
        one._replace(clock_cap_mhz=2500.0, cooling_step=3.0) if one.t_s >= 105.0 else one._replace(cooling_step=0.0)
        for one in run(clamp_between(104.0, 1e9, 2500.0), known=LIMITS)
    ]
    event = only(seen)
    assert event.cause is Cause.THERMAL
    assert "the kernel asked for cooling step 3" in evidence_sentences(event)[0]


def test_the_kernels_count_decides_where_no_limit_is_known_and_a_reset_is_no_count():
    counted = [one._replace(throttle_count=0.0 if one.t_s < 117.0 else 3.0) for one in run(latch_at(75.0, 2000.0))]
    assert only(counted).cause is Cause.THERMAL
    reset = [one._replace(throttle_count=90.0 if one.t_s < 117.0 else 2.0) for one in run(latch_at(75.0, 2000.0))]
    assert only(reset).cause is Cause.UNEXPLAINED


def test_clock_modulation_shows_in_power_and_work_though_the_clock_stands_still():
    seen = [
        one._replace(clock_mhz=4200.0, work_rate=one.clock_mhz / 40.0) if one.load_pct > 50.0 else one
        for one in run(glide_at(75.0))
    ]
    event = only(seen)
    assert event.cause is Cause.THERMAL
    assert event.clock_held_mhz == pytest.approx(4200.0)
    assert event.work_lost is not None
    assert 0.05 < event.work_lost < 0.4


def test_a_machine_limited_from_its_first_second_is_seen_by_its_rated_clock():
    known = LIMITS._replace(rated_clock_mhz=3600.0, temp_limit_c=75.0)
    event = only(run(glide_at(75.0), box=Box(die_k_per_w=1.8), known=known, period_s=5.0))
    assert event.cause is Cause.THERMAL
    assert event.start_s < 30.0


@pytest.mark.parametrize(
    "seen",
    [
        lambda: run(),
        lambda: run(noise=0.01),
        lambda: run(load=lambda t_s: 1.0 if 20.0 < t_s < 150.0 else 0.0),
        lambda: run(load=lambda t_s: 1.0 if 20.0 < t_s < 150.0 else 0.25 if t_s > 150.0 else 0.0),
        lambda: run(load=lambda t_s: 1.0 if t_s > 20.0 and t_s % 37.0 > 6.0 else 0.0),
        lambda: run(power_factor=lambda t_s: 1.0 if t_s < 150.0 else 0.8),
        lambda: run(load=lambda t_s: 0.0),
    ],
    ids=["steady", "noisy", "load ends", "fewer cores", "pauses", "lighter code", "idle"],
)
@pytest.mark.parametrize("known", [None, LIMITS._replace(temp_limit_c=95.0)])
def test_what_only_looks_like_it_is_passed_over_in_silence(seen, known):
    observations = [
        one
        if known is None
        else known._replace(**{f: getattr(one, f) for f in ("t_s", "clock_mhz", "power_w", "temp_c", "load_pct")})
        for one in seen()
    ]
    assert judged(observations) == ()


def test_wider_code_that_lowers_the_clock_and_not_the_power_is_no_event():
    seen = [
        one._replace(clock_mhz=one.clock_mhz * 0.85, power_w=one.power_w * 1.05) if one.t_s > 100.0 else one
        for one in run()
    ]
    assert judged(seen) == ()


def test_holes_spikes_and_nonsense_do_not_break_an_event_apart():
    seen = []
    for place, one in enumerate(run(glide_at(75.0))):
        if place % 37 in {5, 6, 7}:
            one = one._replace(temp_c=None, power_w=None)
        if place % 53 == 9:
            one = one._replace(power_w=262_144.0, temp_c=-273.0)
        if place % 41 not in {3, 4}:
            seen.append(one)
    event = only(seen)
    assert event.cause is Cause.THERMAL
    assert event.power_lowest_w is not None
    assert event.energy_j is not None
    assert event.energy_j < 15_000.0


def test_a_long_silence_ends_what_was_going_on():
    seen = [one if one.t_s < 180.0 else one._replace(t_s=one.t_s + 600.0) for one in run(glide_at(75.0))]
    first, *_ = judged(seen)
    assert first.end_s == pytest.approx(179.0, abs=2.0)


def test_the_cause_is_revised_openly():
    detector, said = Detector(), []
    for one in run(sawtooth_at(75.0, 60.0, 2000.0), duration_s=400.0):
        said += detector.push(one)
    assert [event.number for event in said] == [1] * len(said)
    last = said[-1]
    assert last.cause is Cause.THERMAL
    changes = sum(one.cause is not other.cause for one, other in zip(said, said[1:], strict=False))
    assert last.revision == changes
    assert last.first_cause is said[0].cause


def test_figures_of_an_event():
    event = only(run(clamp_between(100.0, 160.0, 2100.0)))
    assert event.clock_before_mhz == pytest.approx(4200.0, rel=0.01)
    assert event.clock_held_mhz == pytest.approx(2100.0, rel=0.02)
    assert event.work_lost == pytest.approx(0.5, abs=0.02)
    assert event.limited_share == pytest.approx(1.0, abs=0.02)
    assert event.energy_j == pytest.approx(60.0 * Box().power_at(2100.0, 1.0), rel=0.05)
    assert event.power_held_w == pytest.approx(Box().power_at(2100.0, 1.0), rel=0.05)
