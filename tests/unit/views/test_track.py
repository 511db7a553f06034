"""Readings of a long session: nothing is lost by packing, and a window shows what the whole session would show in it."""

import random
from math import floor, isnan, nan

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.views.traces import Columns, Scale, spans
from benchmon.views.tui import long_numbers
from benchmon.views.tui.long_numbers import BLOCK, LongNumbers
from benchmon.views.tui.track import Track

JOIN_S, SCALE = 1.25, Scale(0.0, 100.0)


def long_list(numbers):
    made = LongNumbers()
    for number in numbers:
        made.append(number)
    return made


@pytest.mark.parametrize("count", [0, 1, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 7])
def test_all_numbers_come_back_to_the_last_bit(count):
    rng = random.Random(count)
    numbers = sorted(rng.uniform(0.0, 1e6) for _ in range(count))
    made = long_list(numbers)
    assert list(made) == numbers and len(made) == count
    places = [rng.randrange(-count, count) for _ in range(50)] if count else []
    assert [made[place] for place in places] == [numbers[place] for place in places]
    assert all(list(made.since(place)) == numbers[place:] for place in (0, 1, count // 2, count))
    for number in [-1.0, 2e6, *numbers[:: BLOCK // 2], *(one + 1e-3 for one in numbers[:: BLOCK // 2])]:
        assert made.count_below(number) == sum(one < number for one in numbers)
    with pytest.raises(IndexError):
        made[count]


def test_holes_and_odd_numbers_come_back_too():
    numbers = [nan, 0.0, -0.0, 5e-324, 1.7976931348623157e308] * BLOCK
    assert list(map(repr, long_list(numbers))) == list(map(repr, numbers))


def test_a_days_readings_take_little():
    """Readings as they are: half degrees around a level, and times that jitter by fractions of a millisecond."""
    rng = random.Random(1)
    temps = long_list(round(2 * (60 + 5 * rng.random())) / 2 for _ in range(50 * BLOCK))
    times = long_list(round(0.5 * place + 0.001 * rng.random(), 4) for place in range(50 * BLOCK))
    assert sum(map(len, temps._packed)) < 50 * BLOCK * 2
    assert sum(map(len, times._packed)) < 50 * BLOCK * 5


def track_of(readings, period_s=0.5):
    times = LongNumbers()
    track = Track(Channel(keys.PROCESSOR_TEMP, "temperature", Unit.CELSIUS, "test"), times, JOIN_S)
    for place, value in enumerate(readings):
        times.append(place * period_s)
        track.add(None if isnan(value) else value)
    return track


READINGS = st.lists(st.one_of(st.just(nan), st.floats(0, 100, allow_nan=False)), min_size=1, max_size=300)
WINDOWS = st.lists(st.tuples(st.integers(0, 80), st.integers(1, 40)), min_size=1, max_size=6)


@settings(deadline=None)
@given(READINGS, WINDOWS, st.sampled_from([0.2, 0.5, 1.0, 1.7, 7.0]), st.floats(-20, 20))
def test_any_window_after_any_other_shows_what_the_whole_shows(readings, windows, step_s, shift_s):
    original, long_numbers.BLOCK = long_numbers.BLOCK, 16
    try:
        track = track_of(readings)
        whole, moved = Columns(step_s, JOIN_S), Columns(step_s, JOIN_S)
        for place, value in enumerate(readings):
            whole.add(0.5 * place, value)
            moved.add(0.5 * place + shift_s, value)
        for first, count in windows:
            shown = track.columns(step_s, first, count)
            assert spans(shown, first, count, SCALE, 20) == spans(whole, first, count, SCALE, 20)
            assert len(shown.places) <= count + 2 or shown.places[-1] - first > count
            start_s, end_s = first * step_s - shift_s + 0.1, (first + count) * step_s - shift_s - 0.1
            part = track.moved_columns(step_s, start_s, end_s, shift_s)
            left, right = (floor((t_s + shift_s) / step_s + 1e-9) for t_s in (start_s, end_s))
            shown_at = left, max(right - left + 1, 1)
            assert spans(part, *shown_at, SCALE, 20) == spans(moved, *shown_at, SCALE, 20)
    finally:
        long_numbers.BLOCK = original


def test_what_is_kept_for_drawing_does_not_grow_with_the_session():
    track, kept = track_of([]), []
    for place in range(6000):
        track._times.append(0.5 * place)
        track.add(float(place % 50))
        kept.append(len(track.columns(1.0, max(place // 2 - 100, 0), 120).places))
    assert max(kept) <= 122
