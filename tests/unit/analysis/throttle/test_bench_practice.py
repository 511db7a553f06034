"""The two traces of bench practice: one that never throttles, one that is held at 73 °C. Common practice, no source."""

from __future__ import annotations

import pytest

from benchmon.analysis.throttle.detector import Detector
from benchmon.model.events import Cause, ThrottleEvent, Wanted
from benchmon.views.words.evidence import evidence_sentences
from tests.support import practice_traces as traces
from tests.support.rows import observations, records_of


def judged(rows, settings=(), **changes) -> tuple[ThrottleEvent, ...]:
    detector = Detector()
    for seen in observations(records_of((t_s, dict(settings) | values) for t_s, values in rows)):
        detector.push(seen._replace(**changes))
    detector.finish()
    return detector.events


@pytest.mark.parametrize("settings", [(), traces.SETTINGS_COOL_ENOUGH.items()])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_machine_that_is_cool_enough_has_no_event(settings, seed):
    assert judged(traces.cool_enough(seed), settings) == ()


@pytest.mark.parametrize("settings", [(), traces.SETTINGS_TOO_HOT.items()])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_machine_that_is_too_hot_is_limited_by_heat_at_its_plateau(settings, seed):
    (event,) = judged(traces.too_hot(seed), settings)
    assert event.cause is Cause.THERMAL
    assert event.first_cause is Cause.THERMAL
    assert event.start_s == pytest.approx(traces.too_hot_since_s(), abs=2.0)
    assert event.is_open
    assert event.temp_plateau_c == pytest.approx(73.0, abs=0.5)
    assert event.power_before_w == pytest.approx(35.0, rel=0.02)
    assert event.power_held_w == pytest.approx(22.0, rel=0.03)
    assert event.clock_held_mhz == pytest.approx(1400.0, rel=0.03)
    assert "temperature stayed at 73 °C" in evidence_sentences(event)[0]


@pytest.mark.parametrize("unread", [{"power_w": None}, {"load_pct": None}, {"power_w": None, "load_pct": None}])
def test_clock_and_temperature_are_enough_to_see_it(unread):
    (event,) = judged(traces.too_hot(), **unread)
    assert event.cause is Cause.THERMAL
    assert judged(traces.cool_enough(), **unread) == ()


def test_without_a_temperature_it_is_limited_and_nobody_knows_by_what():
    (event,) = judged(traces.too_hot(), temp_c=None)
    assert event.cause is Cause.UNEXPLAINED
    assert event.wanted == (Wanted.TEMPERATURE,)
