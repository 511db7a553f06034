"""What is taken of a run to be compared: what loaded a phase, for how long it was throttled, which part its figures are of."""

from types import SimpleNamespace

import pytest

from benchmon.analysis.compare import bench_run
from benchmon.analysis.compare.bench_run import BenchRun, LoadKind, RunPhase
from benchmon.analysis.thermal.grouping import ALL, IDLE, SOME
from benchmon.model import keys
from benchmon.model.comparison import WorkUnit
from benchmon.model.events import Cause
from benchmon.model.records import LoadAction, LoadChange


def change(t_s, action=LoadAction.STARTED, what="", busy=4, **more):
    return LoadChange(t_s, action, what, busy, **more)


def load_of_phase(monkeypatch, kind, changes, *, start_s=100.0, end_s=200.0, was_loaded=False, now_s=200.0):
    monkeypatch.setattr(bench_run, "heating", lambda *_: kind)
    monkeypatch.setattr(bench_run, "load_of", lambda *_: None)
    phase = SimpleNamespace(start_s=start_s, end_s=end_s)
    return bench_run._load_kind(SimpleNamespace(now_s=now_s), phase, changes, was_loaded=was_loaded)


@pytest.mark.parametrize("was_loaded", [False, True])
def test_idle_is_told_apart_before_and_after_a_load_and_has_no_work(monkeypatch, was_loaded):
    found = load_of_phase(monkeypatch, IDLE, [change(50.0, work="widest")], was_loaded=was_loaded)
    assert found == LoadKind(IDLE, is_after_load=was_loaded)


def test_the_load_is_what_ran_in_the_middle_of_the_phase(monkeypatch):
    early, late = change(90.0, work="scalar"), change(145.0, work="widest")
    assert load_of_phase(monkeypatch, ALL, [early, late]).work == "widest"
    assert load_of_phase(monkeypatch, ALL, [early, change(155.0, work="widest")]).work == "scalar"
    assert load_of_phase(monkeypatch, ALL, [early, late], end_s=None, now_s=180.0).work == "scalar"
    assert load_of_phase(monkeypatch, ALL, [early, change(150.0, work="widest")]).work == "widest"


def test_a_load_that_had_stopped_or_was_never_told_has_no_work(monkeypatch):
    stopped = [change(90.0, work="widest"), change(120.0, LoadAction.STOPPED)]
    assert load_of_phase(monkeypatch, ALL, stopped) == LoadKind(ALL)
    assert load_of_phase(monkeypatch, ALL, []) == LoadKind(ALL)


def test_cores_count_where_some_were_busy(monkeypatch):
    assert load_of_phase(monkeypatch, SOME, [change(0.0, busy=2, work="widest")]).cores == 2
    assert load_of_phase(monkeypatch, ALL, [change(0.0, busy=4, work="widest")]).cores is None


@pytest.mark.parametrize(
    ("told", "work"),
    [
        ({"work": "widest"}, "widest"),
        ({"work": "widest", "duty": 0.5}, "widest at 50 %"),
        ({"what": "matrix work on all 6 cores"}, "matrix work"),
        ({"what": "make -j on fire", "busy": None}, "make -j on fire"),
    ],
)
def test_what_the_work_was(monkeypatch, told, work):
    assert load_of_phase(monkeypatch, ALL, [change(0.0, **told)]).work == work


def test_the_size_of_a_unit_of_work_is_known_if_either_size_was_recorded(monkeypatch):
    def unit(**sizes):
        return load_of_phase(monkeypatch, ALL, [change(0.0, work="memory", **sizes)]).unit

    assert unit() is None
    assert unit(unit_operations=2.0) == WorkUnit("memory", 2.0, None)
    assert unit(unit_bytes=3.0) == WorkUnit("memory", None, 3.0)


def event(start_s, end_s, cause=Cause.THERMAL):
    return SimpleNamespace(start_s=start_s, end_s=end_s, cause=cause)


def throttled(*events, start_s=100.0, end_s=200.0, now_s=500.0):
    return bench_run._throttled(events, SimpleNamespace(start_s=start_s, end_s=end_s), now_s)


def test_of_an_event_counts_what_lies_within_the_phase():
    assert throttled(event(90.0, 130.0)) == ({Cause.THERMAL: 30.0}, 30)
    assert throttled(event(150.0, 230.0)) == ({Cause.THERMAL: 50.0}, 50)
    assert throttled(event(150.0, None)) == ({Cause.THERMAL: 50.0}, 50)
    assert throttled(event(150.0, None), end_s=None) == ({Cause.THERMAL: 350.0}, 350)
    assert throttled(event(10.0, 100.0), event(200.0, 300.0)) == ({}, 0)


def test_events_of_one_cause_are_added_and_seconds_are_those_of_the_clock():
    """From 1:10 to 1:15 is told as five seconds, whatever the tenths."""
    found, seconds = throttled(event(110.9, 115.1), event(120.0, 130.0), event(140.0, 150.0, Cause.POWER_LIMIT))
    assert found == {Cause.THERMAL: pytest.approx(14.2), Cause.POWER_LIMIT: 10.0}
    assert seconds == 25


def phase_reading(key, sustained=None, **means):
    spreads = {name: SimpleNamespace(mean=mean, last=last) for name, (mean, last) in means.items()}
    row = SimpleNamespace(means=spreads, sustained=sustained)
    return RunPhase(SimpleNamespace(name="x"), row, LoadKind(ALL), "", {}).reading(key)


LEVEL = SimpleNamespace(clock_mhz=1.0, power_w=2.0, wall_w=3.0, temp_last_c=4.0, work_per_s=5.0)


@pytest.mark.parametrize(
    ("key", "of_level"),
    [
        (keys.CLOCK, 1.0),
        (keys.PACKAGE_POWER, 2.0),
        (keys.WALL_POWER, 3.0),
        (keys.PROCESSOR_TEMP, 4.0),
        (keys.WORK_RATE, 5.0),
    ],
)
def test_figures_are_of_the_sustained_part_where_there_is_one(key, of_level):
    read = {key: (50.0, 60.0)}
    assert phase_reading(key, LEVEL, **read) == of_level
    assert phase_reading(key, None, **read) == (60.0 if key == keys.PROCESSOR_TEMP else 50.0)
    assert phase_reading(key, LEVEL) is None
    assert phase_reading(keys.LOAD, LEVEL, **{keys.LOAD: (99.0, 100.0)}) == 99.0


def test_a_phase_that_has_not_ended_is_as_long_as_the_recording_goes_on():
    summary = SimpleNamespace(quality=SimpleNamespace(duration_s=300.0))
    run = BenchRun("x", summary, (), "", "")
    lengths = [
        run.length_s(SimpleNamespace(phase=SimpleNamespace(start_s=100.0, end_s=end_s))) for end_s in (250.0, None)
    ]
    assert lengths == [150.0, 200.0]
