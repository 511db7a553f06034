"""What the counted work of a phase amounts to."""

import pytest

from benchmon.analysis.intake.phases import PhaseTracker
from benchmon.analysis.summary import summarise
from benchmon.analysis.work_done import work_done
from benchmon.model import keys
from benchmon.model.findings import PhaseFindings, Spread, WorkDone
from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind, Sample, Session, SessionEnd
from benchmon.views.words.work import kind_in_short, rate_in_short, rate_now, units_per_s
from tests.unit.analysis.test_series import header

RATE = Spread(200.0, 190.0, 210.0, 200.0, 50)
WIDEST = LoadChange(10.0, LoadAction.STARTED, "w", 4, work="widest", unit_operations=33.5e6)


def stopped(t_s):
    return LoadChange(t_s, LoadAction.STOPPED, "w", 4)


def done(*records, rate=RATE, phase=1):
    tracker = PhaseTracker()
    for record in records:
        tracker.feed(record)
    return work_done(tracker, tracker.phases[phase], rate)


def test_units_become_operations():
    """200 units a second of 33.5 million operations each: 6.7 billion a second."""
    assert done(WIDEST, stopped(60.0)) == WorkDone("widest", 1.0, pytest.approx(6.7), pytest.approx(6.7))


def test_whole_numbers_are_no_floating_point_operations():
    whole = LoadChange(10.0, LoadAction.STARTED, "w", 4, work="whole", duty=0.5, unit_operations=5e6)
    assert done(whole) == WorkDone("whole", 0.5, pytest.approx(1.0), None)


def test_units_become_bytes():
    memory = LoadChange(10.0, LoadAction.STARTED, "m", 4, work="memory", unit_bytes=32e6)
    assert done(memory) == WorkDone("memory", moved_gb_per_s=pytest.approx(6.4))
    mixture = LoadChange(10.0, LoadAction.STARTED, "m", 4, work="mixture", unit_operations=3e7, unit_bytes=2e6)
    assert done(mixture) == WorkDone("mixture", 1.0, pytest.approx(6.0), pytest.approx(6.0), pytest.approx(0.4))


def test_where_nothing_is_counted():
    assert done(WIDEST, rate=None) == WorkDone("widest")
    assert done(LoadChange(10.0, LoadAction.STARTED, "./bench")) is None
    assert done(WIDEST, phase=0) is None
    assert done(WIDEST, stopped(60.0), phase=2) is None


def test_a_session_of_before_has_a_kind_and_units_of_unknown_size():
    assert done(LoadChange(10.0, LoadAction.STARTED, "matrix work on all 4 cores", 4)) == WorkDone("scalar")


@pytest.mark.parametrize(
    "other",
    [
        LoadChange(52.0, LoadAction.STARTED, "m", 4, work="memory", unit_bytes=32e6),
        LoadChange(52.0, LoadAction.STARTED, "w", 4, work="widest", duty=0.5, unit_operations=33.5e6),
        LoadChange(52.0, LoadAction.STARTED, "w", 4, work="widest", unit_operations=31e6),
        LoadChange(52.0, LoadAction.STARTED, "matrix work on one core", 1),
    ],
)
def test_other_work_within_a_phase_is_not_mixed_in(other):
    """A mark near the change speaks for it, so that the phase before holds 8 s of other work."""
    mark = Mark(1, 60.0, 60.0, MarkKind.PHASE, "next")
    assert done(WIDEST, stopped(51.9), other, mark) == WorkDone("", is_mixed=True)
    assert not done(WIDEST, stopped(51.9), other, mark, phase=2).is_mixed


def test_a_moment_of_other_work_is_none():
    """A plan stops one load, marks the phase and starts the next within milliseconds."""
    mark = Mark(1, 60.0, 60.0, MarkKind.PHASE, "next")
    memory = LoadChange(60.002, LoadAction.STARTED, "m", 4, work="memory", unit_bytes=32e6)
    assert done(WIDEST, stopped(60.001), mark, memory).kind == "widest"
    assert done(WIDEST, stopped(60.001), mark, memory, phase=2).kind == "memory"


def session(*records):
    names = (keys.WORK_RATE, keys.PROCESSOR_TEMP)
    return Session(header(*names), (*records, SessionEnd(100.0, "over")))


def test_the_mean_of_two_kinds_is_not_told():
    """A mark near the change speaks for it, so that the phase holds 8 s of other work."""
    memory = LoadChange(52.0, LoadAction.STARTED, "m", 4, work="memory", unit_bytes=32e6)
    mark = Mark(1, 60.0, 60.0, MarkKind.PHASE, "memory")
    samples = [Sample(float(t), (200.0 if t < 52 else 90.0, 50.0)) for t in range(11, 100)]
    early = [WIDEST, *samples[:41], stopped(51.9), memory, *samples[41:49], mark, *samples[49:]]
    before, after = summarise(session(*early)).phases
    assert before.work.is_mixed
    assert keys.WORK_RATE not in before.means
    assert (kind_in_short(before.work), rate_in_short(before)) == ("several", "–")
    assert after.work == WorkDone("memory", moved_gb_per_s=pytest.approx(2.88))
    assert after.means[keys.WORK_RATE].mean == pytest.approx(90.0)
    assert (kind_in_short(after.work), rate_in_short(after)) == ("memory", "2.88 GB/s")


def row(work, rate=None):
    means = {} if rate is None else {keys.WORK_RATE: Spread(rate, rate, rate, rate, 9)}
    return PhaseFindings("x", 0.0, 1.0, means, work=work)


def test_in_words():
    assert rate_in_short(row(WorkDone("widest", 1.0, 71.94, 71.94), 2000.0)) == "71.9 GFlop/s"
    assert rate_in_short(row(WorkDone("scalar", 1.0, 0.336, 0.336))) == "0.34 GFlop/s"
    assert rate_in_short(row(WorkDone("whole", 1.0, 1.27))) == "1.27 Gop/s"
    assert rate_in_short(row(WorkDone("scalar"), 337.1)) == "337.1 /s"
    assert units_per_s(row(None, 337.1)) == 337.1
    assert units_per_s(row(WorkDone("widest", 1.0, 71.94, 71.94), 2000.0)) is None
    assert kind_in_short(WorkDone("memory", 0.5)) == "memory at 50 %"
    assert kind_in_short(None) == rate_in_short(row(None)) == "–"


def test_a_rate_as_it_is_read():
    assert rate_now(200.0, WIDEST) == "6.70 GFlop/s"
    assert rate_now(200.0, None) == rate_now(200.0, stopped(1.0)) == "200.0 /s"
    assert rate_now(None, WIDEST) == "–"
