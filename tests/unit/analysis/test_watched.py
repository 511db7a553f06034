"""A screen's analysis says what the plain one says, to the last digit, only later; the fits' library stays out of it."""

import time
from dataclasses import replace
from math import inf

import pytest

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.watched import WatchedAnalysis
from benchmon.model.records import MarkKind, Sample
from tests.support.bench_session import Bench, bench_records
from tests.support.bench_sessions import mark

RECORDS = bench_records(Bench(until_s=421.0))


def settled(analysis):
    """Once nothing is being worked out and nothing is due."""
    analysis.work_on()
    while analysis._apart.is_busy:
        time.sleep(0.005)
        analysis.work_on()
    return analysis


def begun(analysis, monkeypatch):
    """Grows with each piece of work that is begun apart."""
    pieces, begin = [], analysis._apart.begin
    monkeypatch.setattr(analysis._apart, "begin", lambda work: pieces.append(work) or begin(work))
    return pieces


def test_it_says_what_the_plain_one_says_at_the_same_moment(monkeypatch):
    plain, watched = LiveAnalysis(look_every_s=inf), WatchedAnalysis()
    pieces, forecast = begun(watched, monkeypatch), 0
    for record in RECORDS:
        assert watched.feed(record) == plain.feed(record)
        before = len(pieces)
        watched.work_on()
        if len(pieces) == before:
            continue
        settled(watched)
        assert watched.forecast == plain.look()
        assert watched.sustains == plain.sustains
        if not watched._is_due:
            assert watched.phases() == plain.phases()
        forecast += watched.forecast.settles_at_c.value is not None
    assert forecast and plain.sustains is not None
    settled(watched)
    assert settled(watched).phases() == plain.phases()
    assert watched.conclusion() is None
    assert settled(watched).conclusion() == replace(plain.summary(), forecasts=())


def test_nothing_is_worked_out_while_nothing_has_changed(monkeypatch):
    watched = WatchedAnalysis()
    for record in RECORDS:
        watched.feed(record)
    watched.phases()
    settled(watched)
    pieces = begun(watched, monkeypatch)
    for _ in range(20):
        watched.phases()
        settled(watched)
    assert pieces == []
    settled(watched).conclusion()
    assert settled(watched).conclusion() is settled(watched).conclusion() is not None
    assert len(pieces) == 1


def test_an_entry_that_comes_later_is_concluded_from_anew():
    watched = WatchedAnalysis()
    for record in RECORDS:
        watched.feed(record)
    watched.conclusion()
    first = settled(watched).conclusion()
    watched.feed(mark(90, 100.0, MarkKind.ROOM, value=30.0))
    assert watched.conclusion() is None
    assert settled(watched).conclusion().thermal.room_c != first.thermal.room_c


def test_until_it_is_found_anew_the_last_one_is_shown():
    """The row of a phase that is over does not lose what it showed while an entry is being reckoned with."""
    watched = WatchedAnalysis()
    for record in RECORDS:
        watched.feed(record)
    watched.phases()
    rows = settled(watched).phases()
    watched.feed(mark(90, 100.0, MarkKind.NOTE, "looks dusty"))
    assert any(row.settling for row in rows)
    assert [row.settling for row in watched.phases()] == [row.settling for row in rows]
    assert [row.resistance_k_per_w for row in watched.phases()] == [row.resistance_k_per_w for row in rows]


@pytest.mark.parametrize("can_begin", [True, False])
def test_what_fails_is_not_tried_again_at_once(monkeypatch, can_begin):
    def fail():
        raise MemoryError

    watched = WatchedAnalysis()
    monkeypatch.setattr(watched, "_work", fail)
    pieces = []
    begin = watched._apart.begin
    monkeypatch.setattr(watched._apart, "begin", lambda work: pieces.append(1) or (can_begin and begin(work)))
    for record in RECORDS:
        watched.feed(record)
        if isinstance(record, Sample):
            settled(watched).phases()
    assert 2 <= len(pieces) <= 420 / 30
    assert watched.forecast is not None  # what was said without a fit stands


def test_a_session_that_begins_anew_forgets_what_was_being_found():
    watched = WatchedAnalysis()
    for record in RECORDS:
        watched.feed(record)
    watched.phases()
    watched.work_on()
    assert watched._apart.is_busy
    watched.feed(RECORDS[0])
    assert not watched._apart.is_busy
    assert watched.phases()[0].settling == {}
