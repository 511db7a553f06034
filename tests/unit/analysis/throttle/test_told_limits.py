"""Told limits are ceilings and hints: nonsense is not used, and knowing more never makes it worse."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from math import sin

import pytest

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.analysis.throttle.told import Told
from benchmon.model.events import Cause, EvidenceKind, ThrottleEvent
from benchmon.views.words.events import event_details, event_sentence
from tests.support import signals
from tests.support.courses import START_S, Stretch, course, idle, warming

KINDS_OF_RUN = {
    "glide": (signals.glide_at(75.0), Cause.THERMAL),
    "saw": (signals.sawtooth_at(75.0, 68.0, 2000.0), Cause.THERMAL),
    "budget": (signals.running_average(45.0, 28.0), Cause.POWER_LIMIT),
    "cap": (signals.clamp_between(90.0, 1e9, 2500.0), Cause.OUTSIDE),
}


def judged(seen: Iterable[Observation]) -> tuple[ThrottleEvent, ...]:
    detector = Detector()
    for one in seen:
        detector.push(one)
    detector.finish()
    return detector.events


def run(name: str, **told: float) -> list[Observation]:
    return list(signals.run(KINDS_OF_RUN[name][0], known=Observation(0.0, **told), duration_s=280.0))


# --- nonsense


@pytest.mark.parametrize("limit_c", [0.0, 5.0, 149.0, 255.0])
@pytest.mark.parametrize("name", sorted(KINDS_OF_RUN))
def test_a_temperature_limit_that_no_processor_has_is_not_used(name, limit_c):
    """Published limits of processors are 60 to 105 °C; these are registers that were not filled in."""
    assert judged(run(name, temp_limit_c=limit_c)) == judged(run(name))


@pytest.mark.parametrize("limit_w", [0.0, 4000.0])
@pytest.mark.parametrize("name", sorted(KINDS_OF_RUN))
def test_a_power_limit_that_no_small_machine_has_is_not_used(name, limit_w):
    assert judged(run(name, power_limit_w=limit_w, power_limit_short_w=limit_w)) == judged(run(name))


@pytest.mark.parametrize("field", ["temp_limit_c", "power_limit_w", "power_limit_short_w"])
def test_a_limit_that_jumps_four_times_a_minute_is_no_limit(field):
    told = Told()
    values = [95.0, 60.0] if field == "temp_limit_c" else [45.0, 30.0]
    for second in range(240):
        jumps = 60 <= second < 136
        value = values[(second // 15) % 2] if jumps else values[0]
        told.feed(Observation(float(second), **{field: value}), 20.0)
        if second < 60:
            assert getattr(told.known, field) == values[0]
        if 120 <= second < 136:  # changed at 75, 90, 105 and 120 s
            assert getattr(told.known, field) is None


def test_a_limit_that_changes_now_and_then_is_believed():
    told = Told()
    for second in range(600):
        value = 45.0 if second // 100 % 2 == 0 else 30.0
        told.feed(Observation(float(second), power_limit_w=value), 20.0)
        assert told.known.power_limit_w == value


def test_a_limit_that_jumps_names_nothing():
    """The running average of another register: it would be "at its limit" half of the time."""
    seen = [
        one._replace(power_limit_w=45.0 if round(one.t_s) // 5 % 2 else 20.0)
        for one in signals.run(signals.glide_at(75.0))
    ]
    (event,) = judged(seen)
    assert event.cause is Cause.THERMAL
    assert event.power_limit_w is None
    assert EvidenceKind.AT_POWER_LIMIT not in {one.kind for one in event.evidence}


# --- a told limit is not the one that is defended


@pytest.mark.parametrize("above_k", [12.0, 20.0, 32.0])
@pytest.mark.parametrize("name", ["glide", "saw"])
def test_firmware_that_defends_less_than_it_tells_is_still_heat(name, above_k):
    (event,) = judged(run(name, temp_limit_c=75.0 + above_k))
    assert event.cause is Cause.THERMAL
    assert event.temp_told_c == 75.0 + above_k
    assert event.announced_s - event.start_s < 60.0
    (blind,) = judged(run(name))
    assert event.causes[Cause.THERMAL] == pytest.approx(blind.causes[Cause.THERMAL], abs=0.02)


@pytest.mark.parametrize("above_k", [None, 12.0, 20.0, 32.0])
@pytest.mark.parametrize("name", ["budget", "cap"])
def test_budgets_and_caps_that_end_at_such_temperatures_are_never_heat(name, above_k):
    hottest_c = max(one.temp_c or 0.0 for one in run(name))
    told = {} if above_k is None else {"temp_limit_c": hottest_c + above_k}
    for event in judged(run(name, **told)):
        assert event.cause is not Cause.THERMAL
        assert event.causes[Cause.THERMAL] < 0.5


def test_what_is_defended_is_said_beside_what_is_told():
    (event,) = judged(run("glide", temp_limit_c=100.0))
    assert event_details(event)[0] == "The limit that the sensors report, 100 °C, was not reached."
    (as_told,) = judged(run("glide", temp_limit_c=76.0))
    assert not any("defends" in line for line in event_details(as_told))


# --- limited from the first second


def limited_at_once(limit_w: float | None, idle_mhz: float = 3200.0) -> Iterator[Observation]:
    """The load begins at 40 W and 25 % below the clock that it idles at; the clock follows the leakage as it warms."""
    temp_c = warming(70.0, 25.0)
    clock = lambda t_s: 2400.0 * (1.0 - 0.0018 * (temp_c(t_s) - 40.0))  # noqa: E731
    known = Observation(0.0, power_limit_w=limit_w, lowest_clock_mhz=300.0, highest_clock_mhz=3300.0)
    for one in course(idle(), Stretch(START_S, clock, 40.0, temp_c), until_s=120.0, known=known):
        ripple = 1.0 + 0.002 * sin(2.4 * one.t_s)
        free = one._replace(clock_mhz=idle_mhz) if one.t_s < START_S else one
        yield free._replace(power_w=(free.power_w or 0.0) * ripple)


def test_at_a_told_power_limit_since_the_load_began():
    (event,) = judged(limited_at_once(40.5))
    assert event.cause is Cause.POWER_LIMIT
    assert event.from_start
    assert event.start_s == pytest.approx(START_S, abs=1.0)
    assert event.clock_before_mhz == pytest.approx(3200.0, rel=0.01)
    assert event_sentence(event) == "Power-limited to 40.5 W since the load began at 0:20: 2.30 of 3.20 GHz, 40.0 W."
    closed = replace(event, end_s=80.0)
    assert event_sentence(closed).startswith("Was power-limited to 40.5 W from the load's start at 0:20 to 1:20 (1:00)")


def test_the_same_with_nothing_told_is_found_and_is_not_heat():
    (event,) = judged(limited_at_once(None))
    assert event.from_start
    assert event.start_s == pytest.approx(START_S, abs=1.0)
    assert event.likeliest is Cause.POWER_LIMIT


@pytest.mark.parametrize("limit_w", [None, 40.5])
@pytest.mark.parametrize("idle_mhz", [800.0, 2400.0])
def test_a_load_that_runs_as_fast_as_it_was_shown_to_is_not_limited(limit_w, idle_mhz):
    """Power happens to be at its limit; the clock is the highest there is."""
    seen = (
        one._replace(clock_mhz=2400.0 if one.t_s >= START_S else idle_mhz, highest_clock_mhz=2400.0)
        for one in limited_at_once(limit_w)
    )
    assert judged(seen) == ()


# --- what is not the processor's


@pytest.mark.parametrize("lost", [0.1, 0.3, 0.5])
def test_a_rate_of_work_alone_is_never_an_event(lost):
    """A guest without clocks: other programs, or the hypervisor, took the cores."""
    seen = [
        Observation(float(t), load_pct=100.0 if t > 20 else 1.0, work_rate=100.0 * (1.0 - lost * (60 <= t % 100)))
        for t in range(400)
    ]
    assert judged(seen) == ()


def test_a_load_that_is_elsewhere_is_seen_by_its_power():
    """An accelerator's board: the processor's load is 0 to 8 % throughout, the clock falls at 75 °C and power with it."""
    seen = [
        one._replace(load_pct=4.0 + 4.0 * sin(one.t_s)) for one in signals.run(signals.glide_at(75.0), duration_s=280.0)
    ]
    (event,) = judged(seen)
    (as_usual,) = judged(signals.run(signals.glide_at(75.0), duration_s=280.0))
    assert event.cause is Cause.THERMAL
    assert event.start_s == pytest.approx(as_usual.start_s, abs=3.0)


# --- probabilities


@pytest.mark.parametrize("name", sorted(KINDS_OF_RUN))
@pytest.mark.parametrize("told", [{}, {"temp_limit_c": 95.0, "power_limit_w": 45.0, "power_window_s": 28.0}])
def test_the_probabilities_of_an_event_add_up_and_name_it_at_eight_in_ten(name, told):
    detector = Detector()
    said = [event for one in run(name, **told) for event in detector.push(one)]
    assert said
    for event in said:
        assert set(event.causes) == set(Cause)
        assert sum(event.causes.values()) == pytest.approx(1.0, abs=0.002)
        if event.cause is not Cause.UNEXPLAINED:
            assert event.likeliest is event.cause
            assert event.confidence >= 0.5
    named = [event for before, event in pairwise([None, *said]) if before is None or before.cause is not event.cause]
    for event in named:
        if event.cause is not Cause.UNEXPLAINED:
            assert event.confidence >= 0.8
    assert said[-1].likeliest is KINDS_OF_RUN[name][1] or said[-1].cause is Cause.UNEXPLAINED
