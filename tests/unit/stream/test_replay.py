"""Replay: a stored session at a pace, with jumps in both directions."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmon.model.records import Gap, Mark, MarkKind, Sample, Session, SessionEnd, SessionHeader
from benchmon.session.reader import read_session
from benchmon.stream.replay import FASTEST, Replay, came_at_s
from benchmon.stream.source import FollowSource, ReplaySource
from tests.support.strategies import sessions

HEADER = SessionHeader("id", datetime(2026, 1, 1, tzinfo=UTC), 1.0, ())
SAMPLES = tuple(Sample(float(t_s), ()) for t_s in range(11))
SESSION = Session(HEADER, (*SAMPLES, SessionEnd(10.5, "you ended it")))
RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"


def times(records):
    return [record.t_s for record in records if isinstance(record, Sample)]


def test_it_keeps_the_pace():
    replay = Replay(SESSION, speed=2)
    assert replay.poll(100.0) == (HEADER, SAMPLES[0])
    assert replay.poll(100.4) == ()
    assert times(replay.poll(101.0)) == [1, 2]
    assert replay.position_s == 2.0
    replay.speed = 4
    assert times(replay.poll(102.0)) == [3, 4, 5, 6]
    assert not replay.ended
    assert replay.poll(1000.0)[-1] == SESSION.end
    assert replay.ended
    assert replay.position_s == replay.end_s == 10.5
    assert replay.poll(2000.0) == ()


def test_a_pause_stops_the_time():
    replay = Replay(SESSION)
    replay.poll(0.0)
    replay.paused = True
    assert replay.poll(5.0) == ()
    replay.paused = False
    assert times(replay.poll(6.0)) == [1]


def test_a_jump_ahead_gives_what_lies_between():
    replay = Replay(SESSION)
    replay.poll(0.0)
    replay.seek(4.2)
    assert times(replay.poll(0.0)) == [1, 2, 3, 4]
    assert replay.position_s == 4.2


def test_a_jump_back_begins_anew_with_the_header():
    replay = Replay(SESSION)
    replay.poll(0.0)
    replay.poll(20.0)
    assert replay.ended
    replay.seek(2.0)
    assert not replay.ended
    assert replay.poll(20.0) == (HEADER, *SAMPLES[:3])
    assert times(replay.poll(21.0)) == [3]


def test_jumps_work_while_paused():
    replay = Replay(SESSION)
    replay.paused = True
    replay.seek(3.0)
    assert times(replay.poll(0.0)) == [0, 1, 2, 3]
    replay.seek(-99.0)
    assert replay.poll(50.0) == (HEADER, SAMPLES[0])
    replay.seek(1e9)
    assert replay.poll(50.0)[-1] == SESSION.end


@pytest.mark.parametrize(("wanted", "speed"), [(0.0, 1.0), (-3.0, 1.0), (7.5, 7.5), (1e9, FASTEST)])
def test_the_speed_stays_within_its_bounds(wanted, speed):
    assert Replay(SESSION, wanted).speed == speed


def test_a_clock_that_goes_back_does_no_harm():
    replay = Replay(SESSION)
    replay.poll(10.0)
    assert replay.poll(5.0) == ()
    assert times(replay.poll(6.0)) == [1]


def test_records_come_when_they_were_written():
    late_mark = Mark(1, 2.0, 7.0, MarkKind.WALL, value=50.0)
    assert came_at_s(late_mark) == 7.0
    assert came_at_s(Gap(3.0, 8.0, "late")) == 8.0
    session = Session(HEADER, (*SAMPLES[:8], late_mark, Sample(9.0, ())))
    replay = Replay(session)
    replay.poll(0.0)
    assert late_mark not in replay.poll(6.9)
    assert late_mark in replay.poll(7.0)


@pytest.mark.parametrize("records", [(), (SessionEnd(0.0, "x"),)])
def test_a_session_without_samples(records):
    replay = Replay(Session(HEADER, records))
    assert replay.poll(0.0) == (HEADER, *records)
    assert replay.ended


@settings(max_examples=60, deadline=None)
@given(sessions(), st.floats(1, 60), st.lists(st.floats(0, 1e5), min_size=1, max_size=10))
def test_at_any_speed_all_records_come_once_and_in_order(session, speed, steps):
    replay, now_s, got = Replay(session, speed), 0.0, []
    for step in [*steps, 1e9]:
        now_s += step
        got += replay.poll(now_s)
    assert tuple(got) == (session.header, *session.records)
    assert replay.ended


@settings(max_examples=60, deadline=None)
@given(sessions(), st.lists(st.floats(-10, 1.1e6), min_size=1, max_size=8))
def test_whatever_the_jumps_what_is_left_after_the_last_header_is_the_session_so_far(session, jumps):
    replay, state = Replay(session), []
    for jump in jumps:
        replay.seek(jump)
        for record in replay.poll(0.0):
            if isinstance(record, SessionHeader):
                state = []
            state.append(record)
    everything = (session.header, *session.records)
    assert tuple(state) == everything[: len(state)]
    assert len(state) == len(everything) or came_at_s(everything[len(state)]) > replay.position_s


def test_following_and_replaying_look_the_same():
    path = RECORDINGS / "gap.session.jsonl"
    now = iter([0.0, 1e6])
    replayed = ReplaySource(Replay(read_session(path), 60), "gap", lambda: next(now))
    followed = FollowSource(path)
    assert followed.title == path.name
    assert replayed.title == "gap"
    assert (*replayed.poll(), *replayed.poll()) == followed.poll()
    assert replayed.ended
    assert followed.ended
