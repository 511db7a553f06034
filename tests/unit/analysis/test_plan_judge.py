"""What ends a phase as settled, or as held back."""

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.plan.judge import PhaseJudge
from benchmon.model import keys
from benchmon.model.records import MarkKind
from tests.benchmarks.plan_settling import one
from tests.support.bench_sessions import bench, mark, sample, session, setting


@pytest.mark.parametrize("seed", range(3))
def test_settled_ends_no_earlier_and_hardly_later_than_the_criterion_holds(seed):
    """IEC 62368-1 B.1.6: 1 K in 5 min. Against ``numpy.polyfit`` and the closed form of the exact course."""
    found = one(seed, period_s=2.0)
    assert -0.05 < found.late_share < 0.2
    assert abs(found.off_share) < 0.5  # noise moves the readings away from the exact course


def test_the_sheet_says_settled_of_what_ended_as_settled():
    made = bench([("idle", 30, 4.0, 0), ("all cores", 900, 20.0, 4)], tau_s=60.0)
    judge, live = PhaseJudge(), LiveAnalysis(look_every_s=float("inf"))
    for record in (made.header, *made.records):
        judge.accept(record)
        live.feed(record)
        if judge.is_settled:
            break
    live.feed(mark(9, live.notebook.now_s, MarkKind.PHASE, "next"))
    live.finish()
    row = next(row for row in live.phases() if row.name == "all cores")
    assert row.settling[keys.PROCESSOR_TEMP].settled


def test_a_new_phase_has_not_settled():
    judge = PhaseJudge()
    judge.accept(session([]).header)
    for t_s in range(400):
        judge.accept(sample(t_s, load=0.0, power=4.0))
    assert judge.is_settled
    judge.accept(mark(1, 400.0, MarkKind.PHASE, "all cores"))
    assert not judge.is_settled


def test_held_back_is_what_the_detector_says():
    judge = PhaseJudge()
    judge.accept(session([]).header)
    judge.accept(setting(keys.RATED_CLOCK, 2400.0))
    since = []
    for t_s in range(200):
        free = t_s < 100
        judge.accept(sample(t_s, clock=2400.0 if free else 1200.0, power=30.0 if free else 12.0, temp=60.0 + t_s / 10))
        since.append(judge.held_since_s)
    assert since[:100] == [None] * 100
    assert since[-1] == pytest.approx(100.0, abs=3.0)
