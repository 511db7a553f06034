"""To the file first, then to whoever listens."""

import os
from dataclasses import replace

import pytest

from benchmon.errors import OutputError
from benchmon.model.channel import Channel
from benchmon.model.records import Mark, MarkKind, Sample, SessionEnd
from benchmon.model.units import Unit
from benchmon.session.reader import read_session
from benchmon.stream.fanout import Fanout


class Listening:
    def __init__(self, error=None):
        self.heard = []
        self.error = error

    def accept(self, record):
        self.heard.append(record)
        if self.error:
            raise self.error


def header():
    from datetime import UTC, datetime

    from benchmon.model.records import SessionHeader

    return SessionHeader("abc", datetime(2026, 11, 25, tzinfo=UTC), 0.5, ())


def test_everybody_hears_everything_in_order(tmp_path):
    path = tmp_path / "x.session.jsonl"
    first, second = Listening(), Listening()
    records = Fanout(path, (first, second), pytest.fail)
    end = SessionEnd(1.0, "a test")
    records.accept(header())
    records.accept(end)
    records.close()
    assert first.heard == second.heard == [header(), end]
    assert read_session(path).records == (end,)


def test_a_sink_that_is_gone_is_left_out(tmp_path):
    gone, listening = Listening(BrokenPipeError()), Listening()
    records = Fanout(tmp_path / "x.session.jsonl", (gone, listening), pytest.fail)
    records.accept(header())
    records.accept(SessionEnd(1.0, "a test"))
    records.close()
    assert len(gone.heard) == 1
    assert len(listening.heard) == 2


def test_a_disk_that_stays_full_is_told_once_and_the_sinks_go_on_hearing(tmp_path, monkeypatch):
    monkeypatch.setattr("benchmon.stream.background_writer._LONGEST_END_S", 0.2)
    lost, listening = [], Listening()
    records = Fanout(tmp_path / "x.session.jsonl", (listening,), lost.append)
    records.accept(header())
    descriptor = records._writer._writer._descriptor
    full = os.open("/dev/full", os.O_WRONLY)  # the kernel's own full disk: every write is refused with ENOSPC
    os.dup2(full, descriptor)
    os.close(full)
    records.accept(SessionEnd(1.0, "a test"))
    records.accept(SessionEnd(2.0, "a test"))
    records.close()
    assert [type(error) for error in lost] == [OutputError]
    assert "full" in lost[0].message
    assert len(listening.heard) == 3


def test_an_existing_file_is_refused(tmp_path):
    path = tmp_path / "x.session.jsonl"
    path.touch()
    with pytest.raises(OutputError):
        Fanout(path, (), pytest.fail)


def test_sinks_hear_what_the_file_holds(tmp_path):
    channels = (
        Channel("clock_mhz", "clock", Unit.MEGAHERTZ, "a file", resolution=1.0),
        Channel("package_power_w", "package power", Unit.WATT, "a file"),
    )
    path = tmp_path / "x.session.jsonl"
    listening = Listening()
    records = Fanout(path, (listening,), pytest.fail)
    began = replace(header(), channels=channels)
    written = (
        Mark(1, 0.12345678, 1.23456789, MarkKind.ROOM, value=21.5),
        Sample(1.00049999, (2399.46921, 35.2123456), 0.000123456),
        Sample(1.5004321, (2400.06, None), 0.0),
        SessionEnd(2.00012345, "a test"),
    )
    for record in (began, *written):
        records.accept(record)
    records.close()
    session = read_session(path)
    assert listening.heard == [session.header, *session.records]
    assert listening.heard[2].values == (2399.5, 35.212)
