"""Settled or not, by published criteria, with sensors that step."""

from math import exp, log

import pytest

from benchmon.analysis.intake.trace import Course
from benchmon.analysis.thermal.criteria import CRITERIA, steadiness_criterion, temperature_criterion
from benchmon.analysis.thermal.settling import judge


def course(value_at, length_s, step_s=1.0):
    times = tuple((k + 0.5) * step_s for k in range(int(length_s / step_s)))
    return Course(times, tuple(value_at(t) for t in times))


def test_published_criteria():
    """IEC 62368-1 B.1.6, IEC 60034-1, IEC 61010-1 (decision 23), IEC 61810-7, IEC 62282-2, IEC 60335-2-6, IEC 60598."""
    assert {name: (c.change, c.window_s) for name, c in CRITERIA.items()} == {
        "iec62368": (3.0, 1800.0),
        "iec60034": (2.0, 3600.0),
        "iec61010": (2.0, 3600.0),
        "iec61810": (1.0, 600.0),
        "iec62282": (3.0, 900.0),
        "iec60335": (1.0, 900.0),
        "iec60598": (1.0, 3600.0),
    }


def test_well_below_the_limit_a_short_window_does():
    """IEC 62368-1 B.1.6: at least 10 % below the limit, 1 K in 5 min."""
    assert temperature_criterion("iec62368", 80.0, 90.0).window_s == 300.0
    assert temperature_criterion("iec62368", 82.0, 90.0).window_s == 1800.0
    assert temperature_criterion("iec62368", 82.0, None).window_s == 300.0
    assert temperature_criterion("iec60335", 20.0, 90.0).window_s == 900.0


@pytest.mark.parametrize("step", [0.0, 0.125, 1.0])
def test_an_exponential_settles_when_its_formula_says(step):
    """For T = A − B·exp(−t/τ), a line over a window ending at t changes by 1 K about when B/τ·300·exp(−(t−150)/τ) = 1."""
    height, tau = 30.0, 100.0

    def value(t):
        exact = 70.0 - height * exp(-t / tau)
        return round(exact / step) * step if step else exact

    found = judge(course(value, 1200), 0.0, temperature_criterion("iec62368", 70.0, 100.0))
    expected = 150.0 + tau * log(300.0 * height / tau)
    assert found.settled
    assert found.settled_at_s == pytest.approx(expected, abs=60.0 if step < 1 else 120.0)


def test_a_flickering_last_digit_is_settled():
    found = judge(
        course(lambda t: 61.0 + (int(t) * 7919 % 5 == 0), 900), 0.0, temperature_criterion("iec62368", 61.0, 90.0)
    )
    assert found.settled and abs(found.remaining) < 0.3


def test_creeping_is_not_settled_though_the_digit_stands_still_for_minutes():
    """0.3 K a minute: a 1 °C sensor stands still for more than three minutes at a time."""
    found = judge(
        course(lambda t: float(int(50 + 0.005 * t)), 1200), 0.0, temperature_criterion("iec62368", 56.0, 90.0)
    )
    assert found.settled is False
    assert found.remaining == pytest.approx(1.5, abs=0.4)


def test_settled_once_but_not_for_good():
    found = judge(
        course(lambda t: 50.0 if t < 700 else 50.0 + 0.05 * (t - 700), 900),
        0.0,
        temperature_criterion("iec62368", 60.0, 90.0),
    )
    assert found.settled is False


def test_a_short_phase_cannot_be_judged_unless_it_clearly_moves():
    criterion = temperature_criterion("iec62368", 50.0, 90.0)
    flat = judge(course(lambda _: 50.0, 120), 0.0, criterion)
    assert flat.settled is None and "2.0 min" in flat.why
    moving = judge(course(lambda t: 30 + 0.1 * t, 120), 0.0, criterion)
    assert moving.settled is False


def test_power_is_steady_within_five_per_cent():
    """IEC 62301: less than 5 % variation from the mean over 5 min."""
    criterion = steadiness_criterion(20.0, "W")
    assert (criterion.change, criterion.window_s) == (1.0, 300.0)
    assert judge(course(lambda t: 20.0 + 0.3 * (-1) ** int(t), 600), 0.0, criterion).settled
    assert judge(course(lambda t: 20.0 - 0.01 * t, 600), 0.0, criterion).settled is False
