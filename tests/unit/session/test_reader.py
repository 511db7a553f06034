"""The reader's sentences: what is wrong with a file that is no session, or not quite one."""

import os
import time

import pytest

from benchmon.errors import SessionFormatError
from benchmon.model.records import SessionEnd
from benchmon.session.follow import Follower
from benchmon.session.glimpse import glimpse
from benchmon.session.reader import read_session

HEADER = (
    b'{"record":"session","format":"benchmon session","version":1,"session_id":"x","started_at":"2026-01-01T00:00:00Z",'
    b'"period_s":0.5,"channels":[{"key":"room_c","label":"room","unit":"degC","source":"x"}]}\n'
)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.session.jsonl"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty"),
        (b"t_s,clock_mhz\n0,3000\n", "not a benchmon session"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "not a benchmon session"),
        (b"\0" * 100, "not a benchmon session"),
        (b'{"some":"json"}\n', "not a benchmon session"),
        (b'["s",0,[1],0]\n', "not a benchmon session"),
        (b"\n\n", "not a benchmon session"),
        (HEADER[:40], "cut within its first line"),
        (HEADER[:-2], "cut within its first line"),
        (HEADER.replace(b'"version":1', b'"version":2'), "newer benchmon .*session format 2; this one reads up to 1"),
        (HEADER.replace(b'"version":1', b'"version":0'), "does not say which version"),
        (HEADER.replace(b'"version":1', b'"version":"1"'), "does not say which version"),
        (HEADER.replace(b'"version":1', b'"version":true'), "does not say which version"),
        (HEADER.replace(b"degC", b"degX"), "damaged: “unit” has the unknown value “degX”"),
        (HEADER.replace(b"room_c", b"room_w"), "damaged: channel key 'room_w' must end with _c"),
        (HEADER.replace(b"00:00Z", b"00:00"), "does not say in which time zone"),
        (HEADER.replace(b"2026-01-01", b"2026-13-01"), "damaged"),
        (HEADER.replace(b'"period_s":0.5', b'"period_s":0'), "greater than zero"),
        (HEADER.replace(b'"channels":[', b'"channels":[3,'), "“channels” is missing or not a list"),
        (HEADER.replace(b'"record":"session"', b'"record":"end"'), "damaged"),
    ],
)
def test_what_is_wrong_is_said_and_the_file_named(path, content, sentence):
    path.write_bytes(content)
    with pytest.raises(SessionFormatError, match=sentence) as caught:
        read_session(path)
    assert str(path) in caught.value.message
    with pytest.raises(SessionFormatError):
        glimpse(path)


def test_two_channels_of_one_key_are_refused(path):
    one = HEADER[HEADER.index(b"[") + 1 : HEADER.index(b"]")]
    path.write_bytes(HEADER.replace(one, one + b"," + one))
    with pytest.raises(SessionFormatError, match="two channels have the same key"):
        read_session(path)


@pytest.mark.parametrize("read", [read_session, glimpse, Follower])
def test_what_is_no_ordinary_file_neither_opens_nor_blocks(path, tmp_path, read):
    with pytest.raises(SessionFormatError, match="There is no file"):
        read(path)
    with pytest.raises(SessionFormatError, match="is a folder"):
        read(tmp_path)
    os.mkfifo(path)
    with pytest.raises(SessionFormatError, match="not an ordinary file"):
        read(path)


def test_a_file_that_may_not_be_read(path, monkeypatch):
    def refuse(*args):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(SessionFormatError, match="may not read"):
        read_session(path)


def test_a_disk_that_fails_while_reading(path, monkeypatch):
    path.write_bytes(HEADER)
    follower = Follower(path)

    def fail(*args):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "read", fail)
    with pytest.raises(SessionFormatError, match="cannot be read: Input/output error"):
        follower.poll()


def test_a_name_with_a_null_byte(tmp_path):
    with pytest.raises(SessionFormatError):
        read_session(tmp_path / "a\0b")


def test_zeros_at_the_end_as_a_power_cut_leaves_them(path):
    path.write_bytes(HEADER + b'["s",0,[21],0]\n' + b"\0" * 3000)
    session = read_session(path)
    assert len(session.records) == 1
    assert [(each.line, each.problem) for each in session.damage] == [(3, "the last line is cut")]


def test_a_last_line_whose_end_an_editor_dropped_is_whole(path):
    path.write_bytes(HEADER + b'{"record":"end","t_s":1,"reason":"x"}')
    assert read_session(path).is_complete
    assert glimpse(path).end == SessionEnd(1.0, "x")


def mark_line(number):
    return b'{"record":"mark","number":%d,"t_s":0,"entered_s":1,"kind":"wall","value":41}\n' % number


END = b'{"record":"end","t_s":1,"reason":"x"}\n'


def test_marks_that_were_entered_after_the_end_are_taken(path):
    path.write_bytes(HEADER + mark_line(1) + END + mark_line(2) + mark_line(3))
    session = read_session(path)
    assert session.is_complete
    assert [record.number for record in session.records[:-1]] == [1, 2, 3]
    assert session.end == glimpse(path).end == SessionEnd(1.0, "x")


def test_marks_of_another_file_that_was_joined_are_not(path):
    path.write_bytes(HEADER + mark_line(1) + mark_line(2) + END + HEADER + mark_line(1) + mark_line(3))
    session = read_session(path)
    assert [record.number for record in session.records[:-1]] == [1, 2]
    assert session.end is not None
    assert not session.is_complete


def test_what_follows_the_end_is_left_out_and_said(path):
    end = b'{"record":"end","t_s":1,"reason":"x"}\n'
    path.write_bytes(HEADER + end + HEADER + b'["s",0,[21],0]\n')
    session = read_session(path)
    assert session.records == (SessionEnd(1.0, "x"),)
    assert [each.line for each in session.damage] == [3, 4]
    assert not session.is_complete


def test_a_damaged_time_costs_one_sample_not_the_rest(path):
    times = [0, 0.5, 1, 91.5, 2, 2.5, 2.5, 0.1, 3]
    path.write_bytes(HEADER + b"".join(b'["s",%g,[21],0]\n' % t_s for t_s in times))
    session = read_session(path)
    assert [sample.t_s for sample in session.records] == [0, 0.5, 1, 2, 2.5, 3]
    assert [each.line for each in session.damage] == [5, 8, 9]


@pytest.mark.parametrize(("size", "kept"), [("3e7", 1), ("1", 1), ("0.9", 0), ("1e-300", 0), ("0", 0), ("-5", 0)])
def test_a_unit_of_work_is_at_least_one_operation_or_byte(path, size, kept):
    for name in ("unit_operations", "unit_bytes"):
        line = f'{{"record":"load","t_s":0,"action":"started","what":"w","{name}":{size}}}\n'
        path.write_bytes(HEADER + line.encode())
        assert len(read_session(path).records) == kept


def test_windows_line_ends_are_harmless(path):
    path.write_bytes((HEADER + b'["s",0,[21],0]\n').replace(b"\n", b"\r\n"))
    session = read_session(path)
    assert len(session.records) == 1
    assert session.damage == ()


def test_samples_that_all_go_back_cost_no_more_than_others(path):
    """Each of them once cost the time of all of them: 37 s for 3 MB."""
    head = '{"record":"session","format":"benchmon session","version":1,"session_id":"x","period_s":1,'
    head += '"started_at":"2026-01-01T00:00:00Z","channels":[{"key":"clock_mhz","label":"","unit":"MHz","source":""}]}'
    path.write_text("\n".join([head, *(f'["s",{20000 - at},[50],0]' for at in range(20_000))]) + "\n")
    begun_s = time.process_time()
    session = read_session(path)
    assert time.process_time() - begun_s < 3.0
    assert (len(session.records), len(session.damage)) == (1, 19_999)
