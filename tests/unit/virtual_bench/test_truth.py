"""The written rule on what counts as one event."""

from benchmon.model.events import Cause
from benchmon.virtual_bench.firmware import Moment
from benchmon.virtual_bench.truth import TruthLog

HEAT, POWER = Cause.THERMAL, Cause.POWER_LIMIT


def log_of(*stretches):
    """(seconds, cause or None, busy) …"""
    log, now, t_s = TruthLog(), Moment(dt_s=0.5, power_w=20.0, hot_c=80.0), 0.0
    for seconds, cause, busy in stretches:
        now.busy = busy
        for _ in range(int(seconds / 0.5)):
            t_s += 0.5
            log.note(cause, now, t_s)
    return log


def spans(*stretches):
    return [(event.start_s, event.end_s, event.cause) for event in log_of(*stretches).intervals()]


def test_nothing_limited_is_no_event():
    assert spans((100, None, 4), (50, None, 0)) == []


def test_short_recoveries_belong_to_the_event():
    assert spans((30, None, 4), (5, HEAT, 4), (19, None, 4), (5, HEAT, 4), (40, None, 4)) == [(30, 59, "thermal")]


def test_long_recoveries_divide_it():
    found = spans((30, None, 4), (5, HEAT, 4), (21, None, 4), (5, HEAT, 4), (40, None, 4))
    assert found == [(30, 35, "thermal"), (56, 61, "thermal")]


def test_a_pause_of_the_load_ends_it():
    assert len(spans((20, HEAT, 4), (5, None, 0), (20, HEAT, 4), (30, None, 4))) == 1
    assert len(spans((20, HEAT, 4), (6, None, 0), (20, HEAT, 4), (30, None, 4))) == 2


def test_another_cause_takes_over():
    found = spans((20, None, 4), (60, POWER, 4), (50, HEAT, 4), (30, None, 4))
    assert found == [(20, 80, "power_limit"), (80, 130, "thermal")]


def test_another_cause_for_a_moment_does_not_divide_it():
    assert spans((20, None, 4), (60, HEAT, 4), (2, POWER, 4), (60, HEAT, 4), (30, None, 4)) == [(20, 142, "thermal")]


def test_less_than_a_second_is_no_event():
    assert spans((30, None, 4), (0.5, HEAT, 4), (30, None, 4)) == []


def test_an_event_that_lasts_has_no_end():
    (event,) = log_of((30, None, 4), (20, HEAT, 4)).intervals()
    assert event.end_s is None
    assert event.plateau_c == 80.0
    assert event.power_held_w == 20.0
