"""When the load must stop, and when it must not."""

import pytest

from benchmon.loads.guard import Guard, default_stop_c, patience_s


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


def test_a_lost_temperature_stops_the_load_within_two_periods_or_a_second():
    said = verdicts(Guard(), [(0, 60.0), *((t / 5, None) for t in range(1, 6))])
    assert [bool(reason) for reason in said] == [False, False, False, True, True, True]
    assert said[3] == "guard: processor temperature not read for 0.6 s"


@pytest.mark.parametrize("lie_c", [0.0, -5.0, 150.0, 255.0, 2.0])
def test_what_no_processor_under_load_can_have_counts_like_nothing(lie_c):
    assert any(verdicts(Guard(200.0), [(0, 60.0), *((t / 5, lie_c) for t in range(1, 6))]))


def test_a_cold_reading_without_a_load_is_none_of_the_guards_business():
    guard = Guard()
    assert not any(verdicts(guard, [(t, -5.0) for t in range(10)], loaded=False))
    assert guard.saw_temperature


def test_what_was_lost_before_the_load_began_is_counted_from_its_start():
    guard = Guard()
    assert not any(verdicts(guard, [(0, 60.0), *((t / 5, None) for t in range(1, 50))], loaded=False))
    guard.load_changed(10.0)
    assert [bool(said) for said in verdicts(guard, [(10.0, None), (10.2, None), (10.4, None), (10.6, None)])] == [
        False, False, False, True,
    ]  # fmt: skip


def test_a_short_loss_does_not():
    assert not any(verdicts(Guard(), [(0, 60.0), (0.2, None), (0.4, None), (0.6, 61.0), (0.8, 255.0), (1.0, 61.0)]))


def test_at_slow_periods_one_missed_reading_is_no_loss():
    said = verdicts(Guard(), [(0, 60.0), (10, None), (20, None)])
    assert [bool(reason) for reason in said] == [False, False, True]


def test_what_was_missed_earlier_is_forgotten():
    assert not any(verdicts(Guard(), [(0, 60.0), (10, None), (20, 61.0), (30, None), (40, 61.0)]))


def test_a_temperature_that_was_to_be_read_and_never_is():
    guard = Guard(expects=True)
    assert [bool(one) for one in verdicts(guard, [(t / 5, None) for t in range(6)])] == [False] * 3 + [True] * 3


@pytest.mark.parametrize(("period_s", "patience"), [(0.1, 0.55), (0.5, 0.55), (1.0, 1.1), (10.0, 1.65)])
def test_patience(period_s, patience):
    assert patience_s(period_s) == pytest.approx(patience)


def test_steady_work_makes_no_jump_once_it_has_settled():
    rise = [(t / 5, 40.0) for t in range(30)] + [(6 + t / 5, 85.0) for t in range(5)]
    assert any(verdicts(Guard(), rise))
    assert not any(verdicts(Guard(is_steady=False), rise))
    assert not any(verdicts(Guard(), [(0, 40.0), *((0.2 + t / 5, 85.0) for t in range(5))])), "a load that begins jumps"


def test_a_command_that_pauses_cools_the_silicon_at_once():
    pause = [(0, 90.0), *((t / 5, 45.0) for t in range(1, 6))]
    assert not any(verdicts(Guard(is_steady=False), pause))
    assert any(verdicts(Guard(), pause))


@pytest.mark.parametrize("is_steady", [True, False])
def test_what_was_seen_long_ago_makes_no_jump(is_steady):
    """As after the whole machine stood still, or where nobody looked in between."""
    assert not any(verdicts(Guard(is_steady=is_steady), [(8.0, 95.0), (10.0, 35.0), (10.2, 35.0), (20.0, 90.0)]))


def judged(guard, seconds, temp_c, **more):
    return [guard.judge(t / 5, temp_c, loaded=True, default_c=100.0, **more) for t in range(5 * seconds)]


def test_a_reading_that_stands_still_though_the_load_began():
    said = judged(Guard(), 62, 45.0)
    assert said[299] == ""
    assert "stood still at 45 °C for 60 s" in said[300]
    assert not any(judged(Guard(), 90, 45.0, is_busy=False)), "nothing was there to warm it"
    assert not any(judged(Guard(), 90, 95.0, limit_c=95.0)), "firmware may hold it there to the digit"


def test_a_reading_that_moved_once_may_stand_still_later():
    guard = Guard()
    for t_s, temp_c in ((-0.4, 45.0), (-0.2, 44.0)):
        guard.judge(t_s, temp_c, loaded=True, default_c=100.0)
    assert not any(judged(guard, 90, 45.0))


def test_each_load_is_watched_anew():
    """What moved or jumped under the load before says nothing of this one."""
    guard = Guard()
    guard.judge(0.0, 50.0, loaded=True, default_c=100.0)
    guard.judge(0.2, 51.0, loaded=True, default_c=100.0)
    guard.load_changed(100.0)
    said = [guard.judge(100.0 + t / 5, 51.0, loaded=True, default_c=100.0) for t in range(302)]
    assert said[299] == ""
    assert "stood still" in said[300]
    guard.load_changed(200.0)
    for t in range(4):
        assert guard.judge(200.0 + t / 5, 51.0, loaded=True, default_c=100.0) == ""
    assert not any(guard.judge(200.8 + t / 5, 95.0, loaded=True, default_c=100.0) for t in range(5)), "it begins"


def test_the_hotter_sensor_of_the_same_chip_guards():
    assert "another sensor" in judged(Guard(), 1, 45.0, beside_c=112.0)[1]
    assert not any(judged(Guard(), 1, 90.0, beside_c=104.0)), "within 15 K the chosen one is believed"


def test_where_there_never_was_a_temperature_the_load_may_run():
    guard = Guard()
    assert not any(verdicts(guard, [(t, None) for t in range(100)]))
    assert not guard.saw_temperature


@pytest.mark.parametrize(
    ("limit_c", "critical_c", "stop_c"),
    [
        (None, None, 100),
        (80, None, 83),
        (95, 97, 96),
        (100, 110, 103),
        (None, 90, 89),
        (149, None, 100),
        (110, 149, 110),
        (-5, None, 100),
        (0, 0, 100),
    ],
)
def test_default_limit(limit_c, critical_c, stop_c):
    assert default_stop_c(limit_c, critical_c) == stop_c


def test_the_machines_limit_counts_where_none_was_given():
    assert any(verdicts(Guard(), [(0, 84.0), (0.5, 84.0)], default_c=83.0))
    assert not any(verdicts(Guard(90.0), [(0, 84.0), (0.5, 84.0)], default_c=83.0))
