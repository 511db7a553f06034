"""Wall power over package power."""

import random

import pytest

from benchmon.analysis.thermal.wall_delay import delay_of
from benchmon.analysis.thermal.wall_power import WallPoint, line_through
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.records import MarkKind, Sample
from benchmon.model.units import Unit
from tests.support.bench_sessions import CHANNELS, bench, mark, session
from tests.support.conclusions import concluded
from tests.unit.analysis.test_straight_line import PEARSON_X, PEARSON_Y, YORK_WX, YORK_WY

PLAN = [("idle", 300, 3.0, 0), ("one core", 300, 10.0, 1), ("all cores", 300, 15.0, 4)]


def point(package, wall):
    return WallPoint(package, 0.1, wall, 0.3)


def no_figures(found):
    figures = (found.own_draw_w, found.slope, found.efficiency)
    return all(figure.value is None and "contradict" in figure.why_not for figure in figures)


def test_wall_readings_of_practice():
    """Common practice, no source: 15 / 24 / 33 W at the wall beside 3 / 10 / 15 W in the package."""
    wall = concluded(bench(PLAN, walls=((200, 15.0), (500, 24.0), (800, 33.0)))).wall
    assert wall.own_draw_w.value == pytest.approx(10.0, abs=1.5)
    assert wall.slope.value == pytest.approx(1.48, abs=0.08)
    assert wall.efficiency.value == pytest.approx(1 / wall.slope.value)
    assert wall.efficiency_floor == pytest.approx(0.868, abs=0.005)  # EU 2019/1782 for a supply of about 29 W


def test_it_is_yorks_line():
    """Pearson's data with York's weights, through the same door as wall readings.

    Mirrored and stretched (x → −x, y → 10 y), which mirrors and stretches the line: no supply has a falling one.
    """
    points = [
        WallPoint(-x, wx**-0.5, 10 * y, 10 * wy**-0.5)
        for x, wx, y, wy in zip(PEARSON_X, YORK_WX, PEARSON_Y, YORK_WY, strict=True)
    ]
    found = line_through(points)
    assert found.slope.value == pytest.approx(4.8053340745, rel=1e-9)
    assert found.own_draw_w.value == pytest.approx(54.7991022403, rel=1e-9)


def test_wall_rising_by_less_than_the_package_is_named():
    found = line_through([point(3.0, 15.0), point(10.0, 19.0), point(20.0, 24.0)])
    assert "impossible" in found.warnings[0] and "before the meter had followed" in found.warnings[0]
    assert no_figures(found)


def test_less_at_the_wall_than_in_the_package_is_named():
    found = line_through([point(3.0, 15.0), point(20.0, 12.0)])
    assert any("12.0 W beside 20.0 W" in warning for warning in found.warnings)


def test_own_draw_below_nothing_is_named():
    found = line_through([point(10.0, 9.9), point(20.0, 25.0), point(30.0, 40.0)])
    assert any("below nothing" in warning for warning in found.warnings)
    assert no_figures(found), "an impossible result does not stand beside its own warning"


def test_too_little_to_draw_a_line():
    assert "no wall reading" in line_through([]).slope.why_not
    assert "two at least" in line_through([point(3, 9)]).slope.why_not
    assert "same package power" in line_through([point(10, 20), point(10.5, 21)]).slope.why_not


@pytest.mark.parametrize("delay_s", [0, 5, 12])
def test_a_meter_that_lags_is_allowed_for(delay_s):
    rng = random.Random(2)
    channels = (*CHANNELS, Channel(keys.WALL_POWER, "wall", Unit.WATT, "meter"))
    watts = [3.0] * 120 + [10.0] * 120 + [20.0] * 120
    records = []
    for t, power in enumerate(watts):
        if t % 120 == 0:
            records.append(mark(t // 120 + 1, float(t), MarkKind.PHASE, f"step {t // 120}"))
        wall = 8.0 + 1.2 * watts[max(t - delay_s, 0)] + rng.gauss(0, 0.05)
        records.append(Sample(float(t), (2000.0, power + rng.gauss(0, 0.05), 40.0, 100.0, wall)))
    summary = concluded(session(records, channels))
    assert summary.wall.slope.value == pytest.approx(1.2, abs=0.01)
    assert summary.wall.own_draw_w.value == pytest.approx(8.0, abs=0.2)
    assert any(f"by {delay_s} s" in warning for warning in summary.wall.warnings) == (delay_s > 0)


def test_no_delay_is_read_into_noise():
    from benchmon.analysis.intake.trace import Course

    rng = random.Random(3)
    times = tuple(float(t) for t in range(100))
    noise = [tuple(rng.gauss(10, 1) for _ in times) for _ in range(2)]
    assert delay_of(Course(times, noise[0]), Course(times, noise[1])) == 0.0
