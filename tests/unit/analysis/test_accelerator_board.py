"""A real accelerator board, measured for this project: idle, bursts, full load, idle; nobody's simulator.

``tests/support/logs/accelerator_board.csv``: 568 s, every fifth row of a log at 10 Hz, whole degrees, power as the board's
own library tells it (mean of a second). What held the clock back in *full* was a power limit, never heat. The air, about
25 °C, was not measured.
"""

import csv
from pathlib import Path

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.model.records import MarkKind, Sample
from tests.support.bench_sessions import mark, session

LOG = Path(__file__).parents[2] / "support" / "logs" / "accelerator_board.csv"
BEGINS = {"idle before": 6.0, "one": 46.0, "idle between": 166.0, "full": 206.0, "idle after": 446.0}
FULL_S, FULL_END_S = 206.0, 446.0


@pytest.fixture(scope="module")
def told():
    """Forecasts said in *full* after 90, 120, 150 and 200 s, and the summary."""
    rows = [
        tuple(float(r[k]) for k in ("t_s", "clock_mhz", "power_w", "temp_c", "load_pct"))
        for r in csv.DictReader(LOG.open())
    ]
    live = LiveAnalysis(look_every_s=float("inf"))
    live.feed(session([], period_s=0.5, end=False).header)
    live.feed(mark(1, 0.0, MarkKind.ROOM, value=25.0))
    for number, (name, at_s) in enumerate(BEGINS.items(), 2):
        live.feed(mark(number, at_s, MarkKind.PHASE, name, entered_s=0.0))
    forecasts, due = [], [FULL_S + after for after in (90.0, 120.0, 150.0, 200.0)]
    for t_s, *values in rows:
        live.feed(Sample(t_s, tuple(values)))
        if due and t_s >= due[0]:
            due.pop(0)
            forecasts.append(forecast_of(live, "full"))
    return forecasts, live.summary(), max(temp for t, _, _, temp, _ in rows if FULL_S <= t < FULL_END_S)


def forecast_of(live, name):
    """The forecast of a phase that the marks, all known beforehand, say is over only later."""
    from benchmon.analysis.thermal.outlook import outlook

    phase = next(p for p in live.notebook.tracker.phases if p.name == name)
    return outlook(live.model(), phase, live.notebook.now_s, None)


def test_forecasts_in_full_hold_what_it_reached(told):
    """It reached 61 °C, and had stood at 60 to 61 °C for minutes."""
    forecasts, _, reached_c = told
    assert reached_c == 61.0
    assert len(forecasts) == 4
    given = [forecast.settles_at_c for forecast in forecasts if forecast.settles_at_c.value is not None]
    assert all(figure.low <= 60.5 <= figure.high for figure in given)
    assert [forecast.settles_at_c.value is not None for forecast in forecasts][-2:] == [True, True]
    assert given[-1].high - given[-1].low < 20.0


def test_three_levels_stand_on_one_line(told):
    """By hand from the log: 39.5, 49.5 and 60.5 °C at 124, 371 and 690 W."""
    _, summary, _ = told
    line = summary.thermal.line
    by_hand = (60.5 - 39.5) / (690.0 - 124.0)
    assert line.slope_k_per_w.low <= by_hand <= line.slope_k_per_w.high
    assert line.slope_k_per_w.value == pytest.approx(by_hand, rel=0.15)
    rows = {row.name: row.resistance_k_per_w for row in summary.phases}
    assert rows["full"].low <= (60.5 - 25.0) / 690.0 <= rows["full"].high
