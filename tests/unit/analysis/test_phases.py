"""Phases from marks, from loads and from readings; sums over them are exact."""

from statistics import fmean

import pytest

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import PhaseTracker
from benchmon.analysis.live import LiveAnalysis
from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, MarkKind, Sample, SessionEnd
from tests.support.bench_sessions import mark, sample, session, setting
from tests.support.conclusions import concluded


def names(summary):
    return [(row.name, row.start_s, row.end_s) for row in summary.phases]


def fed(made):
    live = LiveAnalysis()
    live.feed(made.header)
    for record in made.records:
        live.feed(record)
    return live


def test_unmarked_start_and_marks():
    made = session(
        [
            *(sample(t) for t in range(20)),
            mark(1, 20.0, MarkKind.PHASE, "one core"),
            *(sample(t) for t in range(20, 50)),
        ]
    )
    assert names(concluded(made)) == [("start", 0.0, 20.0), ("one core", 20.0, 49.0)]


def test_a_mark_may_speak_of_an_earlier_time_live_and_later_alike():
    records = [sample(t, temp=40.0 if t < 30 else 60.0) for t in range(100)]
    made = session(
        [
            *records,
            mark(1, 30.0, MarkKind.PHASE, "all cores", entered_s=99.0),
            *(sample(t, temp=60.0) for t in range(100, 120)),
        ]
    )
    later, live = concluded(made), fed(made).phases()
    for rows in (later.phases, live):
        assert [row.name for row in rows] == ["start", "all cores"]
        assert rows[0].means[keys.PROCESSOR_TEMP].greatest == 40.0
        assert rows[1].means[keys.PROCESSOR_TEMP].least == 60.0
        assert rows[0].means[keys.PROCESSOR_TEMP].count == 30


def test_withdrawn_and_corrected_marks_no_longer_count():
    made = session(
        [
            *(sample(t) for t in range(40)),
            mark(1, 10.0, MarkKind.PHASE, "wrong", entered_s=40.0),
            mark(2, 20.0, MarkKind.PHASE, "one core", entered_s=40.0),
            mark(3, 40.0, MarkKind.WITHDRAW, replaces=1),
            mark(4, 25.0, MarkKind.PHASE, "all cores", entered_s=41.0, replaces=2),
            *(sample(t) for t in range(40, 60)),
        ]
    )
    assert names(concluded(made)) == [("start", 0.0, 25.0), ("all cores", 25.0, 59.0)]
    assert [m.number for m in concluded(made).marks] == [4]


def test_load_changes_begin_phases_where_nobody_marked():
    records = [setting(keys.CORE_COUNT, 4.0)]
    for t in range(300):
        if t == 60:
            records.append(LoadChange(60.0, LoadAction.STARTED, "widest arithmetic", 1))
        if t == 150:
            records.append(LoadChange(150.0, LoadAction.STARTED, "widest arithmetic", 4))
        if t == 250:
            records.append(LoadChange(250.0, LoadAction.STOPPED, "widest arithmetic", 0))
        records.append(sample(t))
    assert [name for name, *_ in names(concluded(session(records)))] == ["start", "one core", "all cores", "cool-down"]


def test_a_mark_near_a_load_change_speaks_for_it():
    records = [sample(t) for t in range(60)]
    records += [LoadChange(60.0, LoadAction.STARTED, "work", 4), mark(1, 63.0, MarkKind.PHASE, "hot box")]
    records += [sample(t) for t in range(60, 120)]
    assert [name for name, *_ in names(concluded(session(records)))] == ["start", "hot box"]


def test_load_that_nobody_spoke_of_is_seen():
    records = [sample(t, load=2.0 if t < 60 or t >= 200 else 100.0) for t in range(260)]
    rows = concluded(session(records)).phases
    assert [row.name for row in rows] == ["idle", "all cores", "cool-down"]
    assert [row.start_s for row in rows] == pytest.approx([0.0, 60.5, 200.5], abs=1.0)


def test_sums_are_exact_over_many_pieces():
    values = [20.0 + (7 * t) % 31 for t in range(5000)]  # ten a second: many pieces, few looks at the slower figures
    made = session(
        [
            *(sample(t / 10, temp=values[t]) for t in range(3000)),
            mark(1, 300.0, MarkKind.PHASE, "x"),
            *(sample(t / 10, temp=values[t]) for t in range(3000, 5000)),
        ],
        period_s=0.1,
    )
    first, second = concluded(made).phases
    assert first.means[keys.PROCESSOR_TEMP].mean == pytest.approx(fmean(values[:3000]), rel=1e-12)
    assert second.means[keys.PROCESSOR_TEMP].count == 2000
    assert fed(made).phases()[0].means[keys.PROCESSOR_TEMP].mean == pytest.approx(fmean(values[:3000]), rel=1e-12)


def test_running_means_do_not_cancel():
    """NIST StRD NumAcc4: 10000000.2, then 10000000.1 and 10000000.3 in turn; its mean is 10000000.2."""
    data = [10000000.2, *[10000000.1, 10000000.3] * 500]
    made = session([sample(t, clock=value) for t, value in enumerate(data)])
    assert concluded(made).phases[0].means[keys.CLOCK].mean == pytest.approx(10000000.2, rel=1e-15, abs=1e-8)


def test_energy_is_power_over_time_and_a_gap_widens_it():
    steady = session([sample(t, power=20.0) for t in range(101)])
    energy = concluded(steady).phases[0].energy_j
    assert energy.value == pytest.approx(2000.0)
    assert energy.low == pytest.approx(1960.0)  # 2 % at 95 %, what IEC 62301 asks of a meter
    holed = session([sample(t, power=20.0 if t % 2 else 10.0) for t in range(101) if not 40 <= t < 60])
    wide = concluded(holed).phases[0].energy_j
    assert wide.low < 1500.0 * 0.98 < wide.value < 1500 * 1.1 < wide.high * 1.1


def scored_session(*marks):
    records = [setting(keys.CORE_COUNT, 4.0), LoadChange(0.0, LoadAction.STARTED, "work", 4)]
    records += [sample(t, power=20.0) for t in range(181)]
    records += [LoadChange(180.5, LoadAction.STOPPED, "work", 0)]
    records += [sample(t, power=3.0, load=1.0) for t in range(181, 240)]
    rows = concluded(session([*records, *marks])).phases
    return next(row for row in rows if row.scores)


def test_all_scores_are_kept_and_belong_to_the_load_that_was_just_over():
    row = scored_session(mark(1, 200.0, MarkKind.SCORE, "render", 900.0), mark(2, 205.0, MarkKind.SCORE, "zip", 77.0))
    assert row.name == "all cores"
    assert [(score.value, score.name) for score in row.scores] == [(900.0, "render"), (77.0, "zip")]
    assert row.scores[0].watts_of == "package"
    assert row.scores[0].per_watt.value == pytest.approx(45.0, rel=0.01)


def test_a_score_per_watt_is_by_the_wall_where_the_wall_was_read():
    row = scored_session(mark(1, 100.0, MarkKind.WALL, "", 30.0), mark(2, 200.0, MarkKind.SCORE, "pts", 900.0))
    assert row.scores[0].watts_of == "wall"
    assert row.scores[0].per_watt.value == pytest.approx(30.0)


@pytest.mark.parametrize("name", ["s", "s (the render)", "min"])
def test_a_time_has_no_score_per_watt(name):
    (score,) = scored_session(mark(1, 200.0, MarkKind.SCORE, name, 12.5)).scores
    assert score.per_watt.value is None
    assert score.watts_of == ""


def test_nothing_read_is_none_and_not_zero():
    made = session([Sample(float(t), (None, None, 40.0, None)) for t in range(30)])
    row = concluded(made).phases[0]
    assert set(row.means) == {keys.PROCESSOR_TEMP}
    assert row.energy_j.value is None and "not read" in row.energy_j.why_not


def test_memory_stays_bounded_over_hours():
    notebook = Notebook()
    notebook.feed(session([], end=False).header)
    for t in range(30_000):
        notebook.feed(sample(t * 0.1))
    assert len(notebook.pieces._done) <= 400
    (phase,) = notebook.tracker.phases
    assert {spread.count for spread in notebook.sums(phase).spreads} == {30_000}


def test_the_end_closes_the_last_phase():
    tracker = PhaseTracker()
    assert tracker.phases[-1].end_s is None
    tracker.feed(SessionEnd(12.0, "done"))
    assert tracker.phases[-1].end_s == 12.0


def test_a_mark_speaks_only_for_the_load_change_next_to_it():
    """A short run: the load starts at 1 s, is stopped at 8 s, and somebody says cool-down at 9 s."""
    tracker = PhaseTracker()
    tracker.feed(LoadChange(1.0, LoadAction.STARTED, "widest arithmetic on one core", 1))
    tracker.feed(LoadChange(8.0, LoadAction.STOPPED, "widest arithmetic on one core", 1))
    tracker.feed(mark(1, 9.0, MarkKind.PHASE, "cool-down"))
    assert [(phase.name, phase.start_s) for phase in tracker.phases] == [("one core", 1.0), ("cool-down", 9.0)]


def test_unmarked_phases_of_one_name_are_told_apart():
    tracker = PhaseTracker()
    for at_s in (10.0, 50.0):
        tracker.feed(LoadChange(at_s, LoadAction.STARTED, "x", 1))
        tracker.feed(LoadChange(at_s + 20, LoadAction.STOPPED, "x", 1))
    assert [phase.name for phase in tracker.phases] == [
        "start",
        "one core",
        "cool-down",
        "one core (2)",
        "cool-down (2)",
    ]
