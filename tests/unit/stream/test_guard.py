"""When the load must stop, and when it must not."""

import pytest

from benchmon.stream.guard import Guard, default_stop_c


def verdicts(guard, readings, *, loaded=True, default_c=100.0):
    return [guard.judge(t_s, temp_c, loaded=loaded, default_c=default_c) for t_s, temp_c in readings]


def test_two_hot_readings_stop_the_load():
    said = verdicts(Guard(90.0), [(0, 80.0), (0.5, 91.0), (1.0, 91.5)])
    assert said[:2] == ["", ""]
    assert said[2] == "guard: processor at 92 °C, above 90 °C"


def test_a_single_glitch_does_not():
    assert not any(verdicts(Guard(90.0), [(0, 80.0), (0.1, 127.0), (0.2, 80.0), (0.3, 127.0), (0.4, 81.0)]))


def test_one_reading_is_enough_where_the_next_would_come_late():
    assert verdicts(Guard(90.0), [(0, 80.0), (10.0, 95.0)])[1]


def test_exactly_at_the_limit_is_not_above():
    assert not any(verdicts(Guard(90.0), [(t / 10, 90.0) for t in range(50)]))


def test_hot_without_a_load_is_nothing_to_stop():
    assert not any(verdicts(Guard(90.0), [(0, 99.0), (0.5, 99.0), (1.0, 99.0)], loaded=False))


def test_a_load_on_a_machine_that_is_hot_already_stops_at_once():
    guard = Guard(90.0)
    verdicts(guard, [(0, 99.0), (0.5, 99.0)], loaded=False)
    assert verdicts(guard, [(1.0, 99.0)])[0]


def test_temperature_lost_for_more_than_five_seconds_stops_the_load():
    said = verdicts(Guard(), [(0, 60.0), *((t / 2, None) for t in range(1, 13))])
    assert [bool(reason) for reason in said] == [False] * 11 + [True, True]
    assert said[-1] == "guard: processor temperature not read for 6 s"


def test_a_short_loss_does_not():
    assert not any(verdicts(Guard(), [(0, 60.0), (2, None), (4, None), (5, 61.0), (7, None), (9, None)]))


def test_at_slow_periods_one_missed_reading_is_no_loss():
    said = verdicts(Guard(), [(0, 60.0), (10, None), (20, None)])
    assert [bool(reason) for reason in said] == [False, False, True]


def test_where_there_never_was_a_temperature_the_load_may_run():
    guard = Guard()
    assert not any(verdicts(guard, [(t, None) for t in range(100)]))
    assert not guard.saw_temperature


@pytest.mark.parametrize(
    ("limit_c", "critical_c", "stop_c"),
    [(None, None, 100), (80, None, 83), (95, 97, 96), (100, 110, 103), (None, 90, 89)],
)
def test_default_limit(limit_c, critical_c, stop_c):
    assert default_stop_c(limit_c, critical_c) == stop_c


def test_the_machines_limit_counts_where_none_was_given():
    assert any(verdicts(Guard(), [(0, 84.0), (0.5, 84.0)], default_c=83.0))
    assert not any(verdicts(Guard(90.0), [(0, 84.0), (0.5, 84.0)], default_c=83.0))
