"""The joint model on sessions: what bad input gets, a cooler that changes, plateaus that belong together."""

from math import exp, inf
from types import SimpleNamespace

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.thermal.changed_cooler import changed_at
from benchmon.analysis.thermal.heat_plateau import plateaus_of
from benchmon.analysis.thermal.machine import figure_of
from benchmon.analysis.thermal.session_readings import MOST_CHANGES, ROWS_A_CHANGE
from benchmon.analysis.thermal.steady import room_u_k
from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.records import LoadAction, LoadChange, MarkKind, Sample
from benchmon.views.words.verdict import verdict
from tests.support.bench_sessions import bench, mark, sample, session, setting
from tests.support.conclusions import concluded

PLAN = [("idle", 300, 3.0, 0), ("all cores", 900, 15.0, 4)]


def failing_fan(fails_s, factor):
    """Idle and all cores at 20 W on a sink of 1.5 K/W and 80 s, whose resistance grows by a factor at a time."""
    records = [setting(keys.CORE_COUNT, 4.0), mark(1, 0.0, MarkKind.ROOM, value=24.0)]
    sink = 3.0 * 1.5
    for t in range(1500):
        if t in {0, 300}:
            name, busy = ("idle", 0) if t == 0 else ("all cores", 4)
            records.append(mark(2 + busy, float(t), MarkKind.PHASE, name))
            records.append(LoadChange(float(t), LoadAction.STARTED if busy else LoadAction.STOPPED, name, busy))
        watts = 3.0 if t < 300 else 20.0
        resistance = 1.5 * (factor if t >= fails_s else 1.0)
        sink += (watts * resistance - sink) * (1 - exp(-1 / (80.0 * resistance / 1.5)))
        records.append(sample(t, power=watts, temp=float(round(24.0 + sink + 0.4 * watts)), load=100.0 * (t >= 300)))
    return session(records)


def test_a_fan_that_fails_is_said_and_not_averaged_over():
    summary = concluded(failing_fan(760, 1.8))
    said = " ".join(verdict(summary))
    assert "The cooling changed at 1" in said
    live = LiveAnalysis(look_every_s=inf)
    made = failing_fan(760, 1.8)
    for record in (made.header, *made.records):
        live.feed(record)
    assert live.model().changed_s == pytest.approx(760.0, abs=60.0)


def test_a_cooler_that_stays_the_same_raises_no_alarm():
    assert "The cooling changed" not in " ".join(verdict(concluded(failing_fan(1e9, 1.0))))


def test_one_busy_core_that_reads_hotter_is_no_cooler_that_changed():
    """Idle, one core with a hot spot of 0.8 K/W more, idle, all cores: on a sink of 1.0 K/W that stays the same."""
    steps = [("idle", 450, 4.8, 0), ("one core", 480, 18.4, 1), ("between", 600, 4.8, 0), ("all cores", 600, 51.5, 6)]
    records, sink, at = [setting(keys.CORE_COUNT, 6.0), mark(1, 0.0, MarkKind.ROOM, value=19.0)], 4.8, 0
    for number, (name, seconds, watts, busy) in enumerate(steps, start=2):
        records.append(mark(number, float(at), MarkKind.PHASE, name))
        records.append(LoadChange(float(at), LoadAction.STARTED if busy else LoadAction.STOPPED, name, busy))
        for _ in range(seconds):
            sink += (watts - sink) * (1 - exp(-1 / 67.0))
            spot = (0.95 if busy == 1 else 0.15) * watts
            records.append(sample(at, power=watts, temp=float(round(19.0 + sink + spot)), load=100.0 * busy / 6))
            at += 1
    live = LiveAnalysis(look_every_s=inf)
    made = session(records)
    for record in (made.header, *made.records):
        live.feed(record)
    poor_fit = SimpleNamespace(misfit_k=9.0)  # as where a fan follows the temperature
    assert changed_at(live.model().readings, poor_fit) is None


@pytest.mark.parametrize(("cycles", "sink_s"), [(170, 120.0), (260, 120.0), (260, 50.0)])
def test_power_that_changes_hundreds_of_times_is_fitted_too(cycles, sink_s):
    """Two minutes idle, two of all cores, on and on: on a sink of 1.1 K/W and 0.3 K/W above it."""
    records, sink = [setting(keys.CORE_COUNT, 4.0), mark(1, 0.0, MarkKind.ROOM, value=21.0)], 5.0
    for cycle in range(2 * cycles):
        busy, begin = 4 * (cycle % 2), 120 * cycle
        watts = 40.0 if busy else 5.0
        records.append(mark(2 + cycle, float(begin), MarkKind.PHASE, "all cores" if busy else "idle"))
        for at in range(begin, begin + 120, 4):
            sink += (watts - sink) * (1 - exp(-4 / sink_s))
            records.append(sample(at, power=watts, temp=round(21.0 + 1.1 * sink + 0.3 * watts, 1), load=25.0 * busy))
    live = LiveAnalysis(look_every_s=inf)
    made = session(records)
    for record in (made.header, *made.records):
        live.feed(record)
    model = live.model()
    rise = figure_of(model.rise_at(40.0, 21.0))
    assert rise.value == pytest.approx(40.0 * 1.4, rel=0.08)
    assert rise.low <= 40.0 * 1.4 + 0.2  # a sink of one time constant is at the edge of what is expected
    assert 40.0 * 1.4 <= rise.high < rise.low + 10.0
    assert model.changed_s is None
    readings, changes = model.readings, min(2 * cycles, MOST_CHANGES)
    assert 2 * changes <= len(readings.ends_s) <= ROWS_A_CHANGE * MOST_CHANGES
    assert readings.ends_s[0] == pytest.approx(120.0 * (2 * cycles - changes), abs=40.0)
    assert readings.before_w == pytest.approx(5.0 if changes == 2 * cycles else 22.5, abs=0.5)


def test_a_room_is_the_less_certain_the_longer_ago_it_was_read_but_stays_indoors():
    """By hand: sqrt(0.5**2 + (0.5 * 2)**2) after two hours; sqrt(0.5**2 + 3**2) after a week."""
    assert room_u_k(0.0) == 0.5
    assert room_u_k(7200.0) == pytest.approx(1.118, abs=1e-3)
    assert room_u_k(7 * 86400.0) == pytest.approx(3.041, abs=1e-3)


def test_a_room_entered_late_or_corrected_counts_as_if_it_had_been_right_at_once():
    known = concluded(bench(PLAN)).phases[1].resistance_k_per_w
    late = concluded(bench(PLAN, room_c=None, extra=[mark(90, 1199.0, MarkKind.ROOM, value=24.0)]))
    wrong = mark(95, 0.0, MarkKind.ROOM, value=34.0)
    right = mark(96, 0.0, MarkKind.ROOM, value=24.0, entered_s=1190.0, replaces=95)
    twice = concluded(bench(PLAN, room_c=None, extra=[wrong, right]))
    for other in (late, twice):
        found = other.phases[1].resistance_k_per_w
        assert found.value == pytest.approx(known.value, rel=0.02)


def test_without_power_temperatures_are_still_forecast():
    live = LiveAnalysis(look_every_s=inf)
    made = session([], end=False)
    live.feed(made.header)
    live.feed(mark(1, 0.0, MarkKind.ROOM, value=24.0))
    for t in range(700):
        busy = t >= 100
        temp = 30.0 if not busy else 62.0 - 8 * exp(-(t - 100) / 4) - 24 * exp(-(t - 100) / 80)
        live.feed(Sample(float(t), (2400.0, None, float(round(temp)), 100.0 if busy else 1.0)))
    forecast = live.look()
    assert forecast.settles_at_c.low <= 62.0 <= forecast.settles_at_c.high
    summary = live.summary()
    assert "power" in summary.phases[-1].resistance_k_per_w.why_not
    assert summary.thermal.capacity.predicted_w.value is None


@pytest.mark.parametrize(("gap_s", "count"), [(100.0, 1), (140.0, 1), (170.0, 2)])
def test_teeth_of_one_load_are_one_plateau(gap_s, count):
    live = LiveAnalysis(look_every_s=inf)
    made = bench([("all cores", 900, 15.0, 4)])
    for record in (made.header, *made.records):
        live.feed(record)
    events = [
        SimpleNamespace(cause=Cause.THERMAL, start_s=100.0, end_s=130.0),
        SimpleNamespace(cause=Cause.THERMAL, start_s=130.0 + gap_s, end_s=160.0 + gap_s),
    ]
    assert len(plateaus_of(live.notebook, events)) == count


def test_a_new_phase_between_two_events_parts_them():
    live = LiveAnalysis(look_every_s=inf)
    made = bench([("all cores", 150, 15.0, 4), ("again", 400, 15.0, 4)])
    for record in (made.header, *made.records):
        live.feed(record)
    events = [
        SimpleNamespace(cause=Cause.THERMAL, start_s=100.0, end_s=130.0),
        SimpleNamespace(cause=Cause.THERMAL, start_s=180.0, end_s=220.0),
    ]
    assert len(plateaus_of(live.notebook, events)) == 2
