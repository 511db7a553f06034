"""The live forecast: given when it is worth believing, refused with a reason otherwise."""

from math import exp, inf, log

import pytest

from benchmon.analysis.live import LOOK_EVERY_S, LiveAnalysis
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, MarkKind
from tests.support import practice_traces as practice
from tests.support.bench_sessions import mark, sample, session, setting
from tests.unit.analysis.test_verdict import practice_session


def watch(until_s, temp_at, limit_c=None, power=30.0, idle_s=60, look_every_s=inf):
    """The analysis after so many seconds of load; it looks only when asked, unless told otherwise."""
    live = LiveAnalysis(look_every_s=look_every_s)
    live.feed(session([], end=False).header)
    live.feed(setting(keys.CORE_COUNT, 4.0))
    live.feed(mark(1, 0.0, MarkKind.ROOM, value=22.0))
    if limit_c is not None:
        live.feed(setting(keys.TEMP_LIMIT, limit_c))
    live.feed(mark(2, 0.0, MarkKind.PHASE, "idle"))
    for t in range(idle_s):
        live.feed(sample(t, power=3.0, temp=30.0, load=1.0))
    live.feed(mark(3, float(idle_s), MarkKind.PHASE, "all cores"))
    live.feed(LoadChange(float(idle_s), LoadAction.STARTED, "work", 4))
    for t in range(until_s):
        live.feed(sample(idle_s + t, power=power, temp=float(round(temp_at(t + 1.0)))))
    return live


def rise(t, settled=80.0):
    return settled - 15 * exp(-t / 4) - 27 * exp(-t / 80) - 8 * exp(-t / 600)


def test_it_covers_the_truth_as_soon_as_it_speaks():
    spoken = []
    for until_s in (60, 120, 240, 480, 900, 1800):
        forecast = watch(until_s, rise).look()
        if forecast.settles_at_c.value is not None:
            spoken.append(until_s)
            assert forecast.settles_at_c.low < 80.5 and forecast.settles_at_c.high > 79.5
            assert forecast.phase == "all cores"
    assert spoken[-3:] == [480, 900, 1800]


def test_it_is_refused_at_first_with_a_reason():
    forecast = watch(20, rise).look()
    assert forecast.settles_at_c.value is None
    assert "too early" in forecast.settles_at_c.why_not


def test_time_until_the_limit():
    """A limit of 70 °C is reached where the formula says; one of 95 °C is not."""
    limit_s = next(t for t in range(2000) if rise(t) >= 70.0)
    live = watch(limit_s - 20, rise, limit_c=70.0)
    forecast = live.look()
    if forecast.settles_at_c.value is not None:
        assert forecast.limit_at_s.low <= 60 + limit_s <= forecast.limit_at_s.high + 15
    cool = watch(600, rise, limit_c=99.0).look()
    assert cool.limit_at_s.value is None and "below the limit of 99 °C" in cool.limit_at_s.why_not


def test_within_a_kelvin_in_time():
    """8·exp(−t/600) = 1 K at 600·ln 8 = 1248 s after the load began."""
    forecast = watch(1100, rise).look()
    assert forecast.within_1k_at_s.low <= 60 + 600 * log(8.0) + 200
    assert forecast.within_1k_at_s.high >= 60 + 600 * log(8.0) - 300


def test_it_is_refused_while_heat_limits():
    made = practice_session(practice.too_hot(), practice.SETTINGS_TOO_HOT)
    live = LiveAnalysis()
    live.feed(made.header)
    refused = []
    for record in made.records[:-1]:
        live.feed(record)
        if live.events and live.notebook.now_s > live.events[0].announced_s + 20:
            refused.append(live.forecast.settles_at_c.why_not)
    assert refused and all(why is not None and "throttled by heat" in why for why in refused)


def test_after_a_change_of_power_it_waits():
    live = watch(300, rise, look_every_s=LOOK_EVERY_S)
    for t in range(360, 395):
        live.feed(sample(t, power=20.0, temp=60.0))
    assert live.forecast.ready_s is not None and live.forecast.ready_s > live.notebook.now_s
    assert live.forecast.settles_at_c.value is None


def test_what_was_said_is_kept_once_a_minute():
    live = watch(600, rise, look_every_s=LOOK_EVERY_S)
    times = [forecast.said_at_s for forecast in live.forecasts]
    assert len(times) > 5
    assert all(later - earlier >= 60 for earlier, later in zip(times, times[1:]) if earlier > 60)


@pytest.mark.parametrize("settled", [31.0, 30.0])
def test_a_phase_that_hardly_moves(settled):
    forecast = watch(900, lambda t: settled, power=3.2).look()
    assert forecast.settles_at_c.low <= settled <= forecast.settles_at_c.high
