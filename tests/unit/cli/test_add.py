"""Entries made when the recording is over: into the file, and no worse than those made while it ran."""

import threading

import pytest

from benchmon.cli.main import main
from benchmon.errors import ExitCode
from benchmon.model.records import Mark, MarkKind
from benchmon.session.glimpse import glimpse
from benchmon.session.reader import read_session
from benchmon.session.writer import SessionWriter
from benchmon.stream.control import ControlServer
from benchmon.stream.doorbell import Doorbell
from tests.support.bench_session import Bench, bench_session


@pytest.fixture(autouse=True)
def own_folders(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "run"))
    (tmp_path / "run").mkdir()


def written(path, *, ended=True):
    session = bench_session(Bench(until_s=500.0, ended=ended))
    writer = SessionWriter(path)
    for record in (session.header, *session.records):
        writer.write(record)
    writer.close()
    return path


@pytest.fixture
def path(tmp_path):
    return written(tmp_path / "a.session.jsonl")


def late_marks(path, before):
    return [record for record in read_session(path).records if isinstance(record, Mark)][before:]


def count_of(path):
    return len(late_marks(path, 0))


def test_a_wall_reading_is_put_to_the_end_of_its_phase(path):
    before, bytes_before = count_of(path), path.read_bytes()
    assert main(["add", str(path), "--wall", "41,5", "--in", "one core"]) == ExitCode.OK
    session = read_session(path)
    (mark,) = late_marks(path, before)
    assert (mark.kind, mark.value, mark.number, mark.entered_s) == (MarkKind.WALL, 41.5, before + 1, session.end.t_s)
    assert mark.t_s == pytest.approx(179.0)
    assert session.is_complete
    assert path.read_bytes().startswith(bytes_before), "what was there stays"
    assert glimpse(path).end == session.end


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["--room", "21.5"], (MarkKind.ROOM, "", 21.5)),
        (["--score", "1842 render", "--at", "5:05"], (MarkKind.SCORE, "render", 1842.0)),
        (["--note", "the fan was loud"], (MarkKind.NOTE, "the fan was loud", None)),
        (["--tag", "paste = old"], (MarkKind.TAG, "paste=old", None)),
        (["--phase", "lid off", "--at", "2:00"], (MarkKind.PHASE, "lid off", None)),
    ],
)
def test_every_kind(path, words, expected):
    before = count_of(path)
    assert main(["add", str(path), *words]) == ExitCode.OK
    (mark,) = late_marks(path, before)
    assert (mark.kind, mark.text, mark.value) == expected


def test_entries_are_listed_corrected_and_withdrawn(path, capsys):
    before = count_of(path)
    main(["add", str(path), "--wall", "415", "--at", "3:00"])
    main(["add", str(path), "--wall", "41.5", "--instead-of", str(before + 1)])
    main(["add", str(path), "--note", "wrong"])
    main(["add", str(path), "--withdraw", str(before + 3)])
    assert [mark.t_s for mark in late_marks(path, before)][:2] == [180.0, 180.0]
    capsys.readouterr()
    assert main(["add", str(path)]) == ExitCode.OK
    lines = capsys.readouterr().out.splitlines()[before:]
    assert lines[0].split() == f"{before + 1} 3:00 Wall reading 415.0 W. (no longer counts)".split()
    assert lines[1].split() == f"{before + 2} 3:00 Wall reading 41.5 W, in place of entry {before + 1}.".split()
    assert lines[2].endswith("(no longer counts)")
    assert lines[3].endswith(f"Entry {before + 3} withdrawn.")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--wall", "41.5"], "one core, all cores"),
        (["--score", "7"], "needs the moment"),
        (["--wall", "much", "--at", "1:00"], "is no number"),
        (["--wall", "41.5", "--at", "soon"], "a time looks like this"),
        (["--wall", "41.5", "--at", "9:59:00"], "between the session's start and now"),
        (["--wall", "41.5", "--in", "nowhere"], "there is no phase called"),
        (["--phase", "lid off"], "--at 3:05"),
        (["--tag", "paste"], "duct=fitted"),
        (["--withdraw", "99"], "no mark number 99"),
        (["--room", "21", "--instead-of", "99"], "no mark number 99"),
        (["--at", "1:00"], "nothing to enter"),
    ],
)
def test_nonsense_is_refused_and_changes_nothing(path, capsys, words, sentence):
    before = path.read_bytes()
    assert main(["add", str(path), *words]) == ExitCode.USAGE
    assert sentence in capsys.readouterr().err
    assert path.read_bytes() == before


def test_a_cut_session_takes_entries_too(tmp_path):
    path = written(tmp_path / "cut.session.jsonl", ended=False)
    with path.open("ab") as file:
        file.write(b'["s",500.5,[24')
    before = count_of(path)
    assert main(["add", str(path), "--note", "power cut"]) == ExitCode.OK
    (mark,) = late_marks(path, before)
    assert mark.text == "power cut"
    assert len(read_session(path).damage) == 1, "the half line is lost as before, and nothing else"


def test_a_file_that_may_not_be_written(path, capsys, monkeypatch):
    import os

    real = os.open

    def refuse(name, flags, *rest, **more):
        if flags & os.O_APPEND:
            raise PermissionError(13, "Permission denied")
        return real(name, flags, *rest, **more)

    monkeypatch.setattr(os, "open", refuse)
    assert main(["add", str(path), "--note", "x"]) == ExitCode.OUTPUT
    assert "you may not write there" in capsys.readouterr().err


def test_while_it_is_recorded_the_recorder_is_asked(tmp_path):
    path = written(tmp_path / "live.session.jsonl", ended=False)
    before = path.read_bytes()
    asked = []

    def handle(request):
        asked.append(request)
        return {"ok": True, "file": str(path), "number": 9}

    server = ControlServer(read_session(path).header.session_id, handle)
    doorbell, stop = Doorbell(), threading.Event()
    doorbell.add_server(server)

    def serve():
        while not stop.is_set():
            doorbell.wait(0.02)

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        assert main(["add", str(path), "--room", "21.5"]) == ExitCode.OK
    finally:
        stop.set()
        thread.join()
        server.close()
    *pings, mark = asked  # on a busy machine it is asked more than once whether it is there
    assert {ping["do"] for ping in pings} == {"ping"}
    assert (mark["do"], mark["value"]) == ("mark", 21.5)
    assert path.read_bytes() == before, "only the recorder writes its file"
