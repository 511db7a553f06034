"""Laws of the detector: they hold whatever the signal is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from benchmon.model.events import Cause, ThrottleEvent
from tests.support import signals

CONFIDENT = 0.8
"""A cause is said confidently from here on."""

KNOWN = Observation(0.0, temp_limit_c=75.0, power_limit_w=45.0, power_window_s=28.0, lowest_clock_mhz=800.0)
SIGNALS = {
    "glide": lambda seed, known: signals.run(signals.glide_at(75.0), seed=seed, known=known),
    "saw": lambda seed, known: signals.run(signals.sawtooth_at(75.0, 68.0, 2000.0), seed=seed, known=known),
    "latch": lambda seed, known: signals.run(signals.latch_at(75.0, 2000.0), seed=seed, known=known),
    "power": lambda seed, known: signals.run(signals.running_average(45.0, 28.0), seed=seed, known=known),
    "clamp": lambda seed, known: signals.run(signals.clamp_between(100.0, 180.0, 800.0), seed=seed, known=known),
    "noise": lambda seed, known: signals.run(noise=0.03, seed=seed, known=known),
}


@cache
def signal_of(name: str, seed: int, known: Observation | None) -> tuple[Observation, ...]:
    """Simulated once, whichever law it is held to."""
    return tuple(SIGNALS[name](seed, known))


signal_names = st.sampled_from(sorted(SIGNALS))
seeds = st.integers(0, 7)
knowledge = st.sampled_from([None, KNOWN])
lawful = settings(max_examples=20, deadline=None, derandomize=True)


def judged(seen: Sequence[Observation]) -> tuple[ThrottleEvent, ...]:
    detector = Detector()
    for one in seen:
        detector.push(one)
    detector.finish()
    return detector.events


@lawful
@given(signal_names, seeds, knowledge)
def test_what_is_pushed_one_by_one_is_what_the_events_are(name, seed, known):
    detector = Detector()
    last: dict[int, ThrottleEvent] = {}
    for one in signal_of(name, seed, known):
        for event in detector.push(one):
            last[event.number] = event
    for event in detector.finish():
        last[event.number] = event
    assert tuple(last[number] for number in sorted(last)) == detector.events
    assert sorted(last) == list(range(1, len(last) + 1))


@lawful
@given(signal_names, seeds, knowledge)
def test_a_closed_event_never_changes_and_nothing_is_said_before_it_happened(name, seed, known):
    detector = Detector()
    closed: dict[int, ThrottleEvent] = {}
    for one in signal_of(name, seed, known):
        for event in detector.push(one):
            assert event.number not in closed
            assert event.start_s <= event.announced_s <= one.t_s
            if event.end_s is not None:
                assert event.start_s <= event.end_s <= one.t_s
                closed[event.number] = event
        for number, event in closed.items():
            assert detector.events[number - 1] == event


@lawful
@given(signal_names, seeds, knowledge, st.integers(10, 290))
def test_what_was_said_does_not_depend_on_what_comes_later(name, seed, known, cut):
    seen = signal_of(name, seed, known)
    short, whole = Detector(), Detector()
    said = [short.push(one) for one in seen[:cut]]
    assert said == [whole.push(one) for one in seen][:cut]


@lawful
@given(signal_names, seeds, knowledge, st.sampled_from([-64.0, 4096.0, 65536.0]))
def test_time_shift(name, seed, known, shift_s):
    seen = [one._replace(t_s=round(one.t_s)) for one in signal_of(name, seed, known)]
    shifted = judged([one._replace(t_s=one.t_s + shift_s) for one in seen])
    back = [
        replace(
            event,
            start_s=event.start_s - shift_s,
            end_s=None if event.end_s is None else event.end_s - shift_s,
            announced_s=event.announced_s - shift_s,
        )
        for event in shifted
    ]
    for moved, event in zip(back, judged(seen), strict=True):
        assert_alike(moved, event)


@lawful
@given(signal_names, seeds, st.sampled_from([0.25, 0.5, 2.0]))
def test_another_scale_of_the_clock_changes_nothing_but_the_clocks(name, seed, factor):
    seen = signal_of(name, seed, None)
    scaled = judged([one._replace(clock_mhz=one.clock_mhz * factor) for one in seen])
    for changed, event in zip(scaled, judged(seen), strict=True):
        back = replace(
            changed,
            clock_before_mhz=changed.clock_before_mhz / factor,
            clock_held_mhz=changed.clock_held_mhz / factor,
            clock_lowest_mhz=changed.clock_lowest_mhz / factor,
            evidence=event.evidence if len(event.evidence) == len(changed.evidence) else changed.evidence,
        )
        assert_alike(back, event)


def assert_alike(one: ThrottleEvent, other: ThrottleEvent) -> None:
    """Equal but for rounding of floating point."""
    for field in fields(ThrottleEvent):
        left, right = getattr(one, field.name), getattr(other, field.name)
        if isinstance(left, float):
            assert left == pytest.approx(right, rel=1e-6, abs=1e-6), field.name
        elif field.name != "evidence":
            assert left == right, field.name


@lawful
@given(
    st.floats(400.0, 6000.0),
    st.floats(1.0, 250.0),
    st.floats(20.0, 100.0),
    st.floats(0.0, 100.0),
    st.sampled_from([0.1, 1.0, 5.0, 10.0]),
)
def test_a_constant_signal_has_no_event(clock, power, temp, load, period):
    seen = [Observation(place * period, clock, power, temp, load, temp_limit_c=temp) for place in range(200)]
    assert judged(seen) == ()


REMOVABLE = [
    ("power_w",), ("temp_c",), ("load_pct",), ("temp_limit_c",), ("power_limit_w", "power_window_s"), ("lowest_clock_mhz",),
    ("power_w", "load_pct"), ("temp_limit_c", "power_limit_w", "power_window_s"),
]  # fmt: skip


@settings(max_examples=60, deadline=None, derandomize=True)
@given(signal_names, seeds, knowledge, st.sampled_from(REMOVABLE))
def test_knowing_less_never_turns_unexplained_into_a_confident_cause(name, seed, known, removed):
    seen = signal_of(name, seed, known)
    before = judged(seen)
    after = judged([one._replace(**dict.fromkeys(removed)) for one in seen])
    for event in after:
        if event.cause is Cause.UNEXPLAINED or event.confidence < CONFIDENT:
            continue
        end_s = event.end_s if event.end_s is not None else 1e9
        same = [one for one in before if one.start_s < end_s and (one.end_s is None or one.end_s > event.start_s)]
        assert not same or any(one.cause is not Cause.UNEXPLAINED for one in same), (event, same)
