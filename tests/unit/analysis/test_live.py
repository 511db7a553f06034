"""The analysis of one session, from header to end."""

from benchmon.analysis.live import LiveAnalysis
from benchmon.model.records import Sample, SessionEnd
from tests.support.bench_session import Bench, bench_session


def test_a_second_header_begins_anew():
    session = bench_session(Bench(until_s=400.0, ended=True))
    once, twice = LiveAnalysis(), LiveAnalysis()
    for record in (session.header, *session.records):
        once.feed(record)
    cut = [record for record in session.records if isinstance(record, Sample)][:300]
    for record in (session.header, *cut, SessionEnd(200.0, "turned back"), session.header, *session.records):
        twice.feed(record)
    assert once.events
    assert twice.summary() == once.summary()
