"""A session gone through in its file, with or without forecasts, is concluded from like one that was watched."""

from dataclasses import replace
from pathlib import Path

from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.session.reader import StoredSession, read_session

RECORDED = Path(__file__).parents[3] / "recordings" / "box-as-bought.session.jsonl"


def test_nothing_else_depends_on_forecasts_and_those_are_what_was_said():
    session = read_session(RECORDED)
    stored = summarise(StoredSession(RECORDED))
    live = LiveAnalysis()
    for record in (session.header, *session.records):
        live.feed(record)
    assert stored.forecasts == tuple(live.forecasts) != ()
    assert summarise(session, look_every_s=NO_LOOKS_S) == replace(stored, forecasts=())
