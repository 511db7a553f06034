"""What is read off the trace for an event is read when somebody asks, not each time its figures are given out anew."""

from benchmon.analysis.intake.trace import Course, Trace
from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.model.records import Session, SessionHeader
from tests.benchmarks.long_sessions.made import Long, records


def _courses_read(hours, monkeypatch) -> int:
    header, *rest = records(Long(hours, 2.0))
    assert isinstance(header, SessionHeader)
    read, course = [], Trace.course

    def counted(self, *asked) -> Course:
        read.append(asked)
        return course(self, *asked)

    with monkeypatch.context() as patched:
        patched.setattr(Trace, "course", counted)
        summary = summarise(Session(header, tuple(rest), ()), look_every_s=NO_LOOKS_S)
    assert len(summary.events) == 1
    assert summary.events[0].sustained is not None
    return len(read)


def test_a_longer_event_asks_for_no_more_courses(monkeypatch):
    """The heat limit sets in after half an hour; it lasts half an hour more in the second."""
    assert _courses_read(1.5, monkeypatch) <= _courses_read(1.0, monkeypatch) + 5
