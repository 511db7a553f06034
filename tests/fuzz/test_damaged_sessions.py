"""A small recording, cut at every byte and with every byte changed: only SessionFormatError may leave the readers."""

import json
from pathlib import Path

import pytest

from benchmon.errors import SessionFormatError
from benchmon.session.follow import Follower
from benchmon.session.glimpse import glimpse
from benchmon.session.reader import read_session

RECORDING = Path(__file__).resolve().parents[2] / "recordings" / "minimal.session.jsonl"
WHOLE = RECORDING.read_bytes()
HEADER_BYTES = WHOLE.index(b"\n") + 1


@pytest.fixture
def damaged(tmp_path):
    return tmp_path / "damaged.session.jsonl"


def opened(path):
    """What each way of reading gives; None for a refusal in words."""
    results = []
    for read in (read_session, glimpse, lambda file: Follower(file).poll()):
        try:
            results.append(read(path))
        except SessionFormatError as error:
            assert str(path) in error.message
            results.append(None)
    return results


def is_of_another_kind(value):
    return value[0] != "s" if isinstance(value, list) else value["record"] not in {"mark", "end"}


def test_every_cut(damaged):
    whole = read_session(RECORDING)
    for length in range(len(WHOLE)):
        damaged.write_bytes(WHOLE[:length])
        session, _, _ = opened(damaged)
        assert (session is None) == (length < HEADER_BYTES - 1)
        if session is not None:
            assert session.records == whole.records[: len(session.records)]
            assert session.is_complete == (length == len(WHOLE) - 1), "only the last line feed may be missing"


@pytest.mark.parametrize("flip", [0x01, 0x02, 0x10, 0x20, 0x40, 0x80, 0xFF])
def test_every_byte_changed(damaged, flip):
    whole = read_session(RECORDING)
    for position in range(len(WHOLE)):
        changed = bytearray(WHOLE)
        changed[position] ^= flip
        damaged.write_bytes(changed)
        session, _, _ = opened(damaged)
        if position >= HEADER_BYTES:
            assert session is not None, "a bad line behind the header never costs the file"
            kept = sum(record in session.records for record in whole.records)
            touched = 2 if WHOLE[position] == 0x0A or changed[position] == 0x0A else 1
            assert kept >= len(whole.records) - touched, f"byte {position} cost more than its line"
            if len(session.records) < len(whole.records) and not session.damage:
                line = bytes(changed[HEADER_BYTES:]).splitlines()[WHOLE[HEADER_BYTES:position].count(b"\n")]
                assert is_of_another_kind(json.loads(line)), "what is lost is said, unless it looks like a later kind"


def test_every_byte_doubled_or_dropped(damaged):
    for position in range(len(WHOLE)):
        for middle in (WHOLE[position : position + 1] * 2, b""):
            damaged.write_bytes(WHOLE[:position] + middle + WHOLE[position + 1 :])
            opened(damaged)


@pytest.mark.parametrize(
    "line",
    [
        b"[" * 100_000,
        b'{"record":' * 50_000,
        b'["s",' + b"9" * 5_000 + b",[1],0]",
        b'["s",1e999,[1],0]',
        b'["s",1,[1e999],0]',
        b'["s",1,[-1e999],0]',
        b'["s",1,[NaN],0]',
        b'["s",1,[true],0]',
        b'["s",1,["1"],0]',
        b'["s",1,[1],null]',
        b'["s",1]',
        b'["s"]',
        b"[]",
        b"[[]]",
        b"{}",
        b"null",
        b'"s"',
        b"\xff\xfe",
        b"\x00" * 4096,
        b'{"record":[]}',
        b'{"record":"mark"}',
        b'{"record":"mark","number":1e99,"t_s":0,"entered_s":0,"kind":"note"}',
        b'{"record":"mark","number":true,"t_s":0,"entered_s":0,"kind":"note"}',
        b'{"record":"setting","t_s":0,"key":"turbo","value":{}}',
        b'{"record":"setting","t_s":0,"key":"x_w","value":1,"unit":"parsec"}',
        b'{"record":"end","t_s":"now","reason":""}',
        WHOLE[: HEADER_BYTES - 1],
    ],
)
def test_a_hostile_line_costs_only_itself(damaged, line):
    damaged.write_bytes(WHOLE[:HEADER_BYTES] + line + b"\n" + WHOLE[HEADER_BYTES:])
    session = read_session(damaged)
    assert session.records == read_session(RECORDING).records
    assert [each.line for each in session.damage] == [2]
    assert session.damage[0].problem


def test_a_huge_line_is_passed_over_without_being_loaded(damaged):
    with damaged.open("wb") as file:
        file.write(WHOLE[:HEADER_BYTES])
        for _ in range(16):
            file.write(b"x" * (1 << 20))
        file.write(b"\n" + WHOLE[HEADER_BYTES:])
    session = read_session(damaged)
    assert session.records == read_session(RECORDING).records
    assert [each.line for each in session.damage] == [2]
    follower, followed = Follower(damaged), []
    while not follower.ended:
        followed += follower.poll()
        assert len(follower._half) < 2 << 20
    assert tuple(followed[1:]) == session.records
    assert [each.line for each in follower.damage] == [2]


def test_a_file_of_one_endless_line_is_refused(damaged):
    damaged.write_bytes(b'{"record":"session"' + b" " * (3 << 20))
    assert opened(damaged)[:2] == [None, None]


@pytest.mark.parametrize("line", [b"nonsense", b"", b'{"record":"mark"}', b'{"record":"of a later version"}'])
def test_a_flood_of_useless_lines_is_refused(damaged, line, monkeypatch):
    monkeypatch.setattr("benchmon.session.lines.MOST_USELESS", 500)
    damaged.write_bytes(WHOLE[:HEADER_BYTES] + (line + b"\n") * 501 + WHOLE[HEADER_BYTES:])
    with pytest.raises(SessionFormatError, match="keep its reader busy"):
        read_session(damaged)


def test_thousands_of_bad_lines_are_summed_up(damaged):
    damaged.write_bytes(WHOLE[:HEADER_BYTES] + b"nonsense\n" * 5_000 + WHOLE[HEADER_BYTES:])
    session = read_session(damaged)
    assert len(session.damage) == 21
    assert session.damage[-1].problem == "4980 more lines cannot be read"
