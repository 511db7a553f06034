"""Each recording reads as its expected answer says, whose source is named in it."""

import json
from collections import Counter
from datetime import datetime
from pathlib import Path

import pytest

from benchmon.model.records import Gap, Sample
from benchmon.session.encode import VERSION
from benchmon.session.follow import Follower
from benchmon.session.reader import read_session

RECORDINGS = Path(__file__).resolve().parents[3] / "recordings"
NAMES = sorted(path.name.removesuffix(".session.jsonl") for path in RECORDINGS.glob("*.session.jsonl"))


@pytest.fixture(params=NAMES)
def recorded(request):
    path = RECORDINGS / f"{request.param}.session.jsonl"
    return path, read_session(path), json.loads((RECORDINGS / f"{request.param}.expected.json").read_text())


def test_whether_it_is_whole(recorded):
    _, session, expected = recorded
    assert session.is_complete == expected["complete"]
    assert (session.end and session.end.reason) == expected["end_reason"]
    assert [damage.line for damage in session.damage] == expected["damaged_lines"]


def test_what_it_holds(recorded):
    _, session, expected = recorded
    if "records" in expected:
        assert Counter(type(record).__name__ for record in session.records) == expected["records"]
    samples = [record for record in session.records if isinstance(record, Sample)]
    if "not_read" in expected:
        columns = zip(*(sample.values for sample in samples), strict=True)
        keys = (channel.key for channel in session.header.channels)
        assert {key: column.count(None) for key, column in zip(keys, columns, strict=True)} == expected["not_read"]
    if "last_values" in expected:
        assert list(samples[-1].values) == expected["last_values"]
        assert (samples[0].t_s, samples[-1].t_s) == (expected["first_s"], expected["last_s"])
    if "gaps" in expected:
        gaps = [[each.start_s, each.end_s, each.reason] for each in session.records if isinstance(each, Gap)]
        assert gaps == expected["gaps"]


def test_following_it_gives_what_reading_gives(recorded):
    path, session, _ = recorded
    follower = Follower(path)
    assert follower.poll() == (session.header, *session.records)
    assert follower.ended == (session.end is not None)


def test_the_header_of_version_1():
    expected = json.loads((RECORDINGS / "v1.expected.json").read_text())["header"]
    header = read_session(RECORDINGS / "v1.session.jsonl").header
    assert header.started_at == datetime.fromisoformat(expected.pop("started_at_utc"))
    assert {name: getattr(header, name) for name in expected} == expected


def test_there_is_a_recording_of_each_version():
    assert {f"v{version}" for version in range(1, VERSION + 1)} <= set(NAMES)
