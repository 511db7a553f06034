"""What is said of the cooler while it throttles is what the verdict says when it is over."""

from __future__ import annotations

from benchmon.analysis.live import LiveAnalysis
from benchmon.model.records import SessionEnd
from tests.support.bench_session import Bench, bench_records


def test_it_is_said_while_heat_throttles_and_is_the_verdicts_own_figure():
    analysis = LiveAnalysis()
    records = bench_records(Bench(until_s=421.0))
    said_at_s = None
    for record in records:
        analysis.feed(record)
        if said_at_s is None and analysis.sustains is not None:
            said_at_s = analysis.notebook.now_s
    assert said_at_s is not None
    assert analysis.events[-1].is_open
    assert said_at_s - analysis.events[-1].start_s < 90.0
    assert analysis.sustains is not None
    analysis.look()
    verdict = analysis.summary().thermal
    assert analysis.sustains.power_w == verdict.capacity.measured_w
    assert analysis.sustains.limit_c == verdict.limit_c.value
    analysis.feed(SessionEnd(421.0, "asked to"))


def test_nothing_is_said_of_a_machine_that_is_not_throttled_by_heat():
    for bench in (Bench(until_s=230.0, resistance_k_per_w=0.8), Bench(until_s=330.0, power_limit_w=41.0)):
        analysis = LiveAnalysis()
        for record in bench_records(bench):
            analysis.feed(record)
        assert analysis.sustains is None
