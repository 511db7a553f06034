"""Probabilities are judged by hand-made events."""

import pytest

from benchmon.model.events import Cause, ThrottleEvent
from tests.benchmarks.figures import Judged
from tests.benchmarks.likelihoods import Told, brier, calibration, causes_of, likeliest_right, mean_gap, told_events
from tests.benchmarks.matching import Span
from tests.benchmarks.told_margins import margin_table, setting_of


def event(cause, start_s, end_s, confidence):
    other = Cause.OUTSIDE if cause is not Cause.OUTSIDE else Cause.THERMAL
    causes = {cause: confidence, other: 1.0 - confidence}
    return ThrottleEvent(1, cause, cause, start_s, end_s, start_s + 2.0, causes, ())


def judged(true, *events):
    return Judged("kind", 0, list(true), tuple(events), 100.0, 100, 1.0)


def told(share, true, cause="thermal"):
    return Told({cause: share, "outside": 1.0 - share}, true)


def test_probabilities_go_by_the_names_that_truth_has():
    assert causes_of(event(Cause.THERMAL, 10.0, 20.0, 0.75)) == {"thermal": 0.75, "outside": 0.25}


def test_what_is_true_of_an_event_is_the_cause_that_covers_most_of_it():
    true = [Span(0.0, 12.0, "power_limit"), Span(12.0, 30.0, "thermal")]
    run = judged(true, event(Cause.THERMAL, 10.0, 20.0, 0.9), event(Cause.OUTSIDE, 50.0, 60.0, 0.5))
    assert [one.true for one in told_events([run])] == ["thermal", "nothing"]


def test_said_and_true_shares_by_hand():
    """Four said at 0.75, of which three are right; two at 0.95, of which one is: gaps 0 and 0.45, weighed 4 to 2."""
    all_told = (
        [told(0.75, "thermal")] * 3 + [told(0.75, "power_limit")] + [told(0.95, "thermal"), told(0.95, "nothing")]
    )
    assert calibration(all_told) == [pytest.approx((0.75, 0.75, 4)), pytest.approx((0.95, 0.5, 2))]
    assert mean_gap(all_told) == pytest.approx(0.45 * 2 / 6)
    assert likeliest_right(all_told) == pytest.approx(4 / 5)


def test_brier_by_hand():
    """Said 0.75 and 0.25: right costs 2 × 0.25², wrong 2 × 0.75²."""
    assert brier([told(0.75, "thermal")]) == pytest.approx(0.125)
    assert brier([told(0.75, "outside")]) == pytest.approx(1.125)


def test_the_margin_table_counts_heat_and_false_heat():
    heat = judged([Span(10.0, 40.0, "thermal"), Span(60.0, 90.0, "thermal")], event(Cause.THERMAL, 12.0, 40.0, 0.9))
    budget = judged([Span(10.0, 40.0, "power_limit")], event(Cause.THERMAL, 12.0, 40.0, 0.9))
    rows = margin_table({setting_of(12.0): [heat, budget, judged([Span(10.0, 40.0, "outside")])]}).splitlines()
    assert rows[-1].split() == ["told", "+12", "K", "2", "0.500", "0.500", "0.500", "|", "2", "0.500", "0.500"]
