"""Where sessions live, and how one is found again."""

import json
import os
import socket
import threading
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest

from benchmon.errors import NoSessionError, OutputError
from benchmon.session.writer import SessionWriter
from benchmon.stream import new_session, running, store

MOMENT = datetime(2026, 11, 25, 13, 10)
HEADER = (Path(__file__).resolve().parents[3] / "recordings" / "v1.session.jsonl").read_text().split("\n")[0] + "\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "sessions"))
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path / "run"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "sessions").mkdir()
    return tmp_path / "sessions"


@pytest.fixture
def three(folder):
    names = ["2026-11-24_0900_paste-old", "2026-11-25_1310_paste-fresh", "2026-11-25_1310_paste-fresh-2"]
    for age, name in enumerate(names):
        (folder / f"{name}.session.jsonl").write_text(HEADER)
        os.utime(folder / f"{name}.session.jsonl", (1e9 + age, 1e9 + age))
    (folder / "notes.txt").write_text("not a session")
    return names


def test_of_two_that_make_up_one_name_one_takes_the_next(folder):
    """Another recorder may begin between choosing a name and making the file."""
    others = iter([folder / "2026-11-25_1310.session.jsonl", folder / "2026-11-25_1310-2.session.jsonl"])

    def begin(path):
        if other := next(others, None):
            other.touch()
        SessionWriter(path).close()
        return path

    found = new_session.begin_in_new_file(begin, partial(new_session.new_session_path, MOMENT, {}))
    assert found.name == "2026-11-25_1310-3.session.jsonl"
    with pytest.raises(OutputError, match="exists already"):
        new_session.begin_in_new_file(begin, lambda: found)


@pytest.mark.parametrize(
    ("variables", "expected"),
    [
        ({"BENCHMON_SESSIONS": "/a", "XDG_DATA_HOME": "/b"}, "/a"),
        ({"BENCHMON_SESSIONS": "~/a"}, "/home/x/a"),
        ({"XDG_DATA_HOME": "/b"}, "/b/benchmon"),
        ({"XDG_DATA_HOME": "b"}, "/home/x/.local/share/benchmon"),  # XDG Base Directory Specification: ignore relative
        ({}, "/home/x/.local/share/benchmon"),
    ],
)
def test_which_folder(monkeypatch, variables, expected):
    for name in ("BENCHMON_SESSIONS", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", "/home/x")
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert store.sessions_folder() == Path(expected)


def test_a_new_session_has_a_name_of_its_own(folder):
    first = new_session.new_session_path(MOMENT, {"paste": "fresh"})
    assert first == folder / "2026-11-25_1310_paste-fresh.session.jsonl"
    first.touch()
    second = new_session.new_session_path(MOMENT, {"paste": "fresh"})
    assert second.name == "2026-11-25_1310_paste-fresh-2.session.jsonl"
    second.touch()
    assert new_session.new_session_path(MOMENT, {"paste": "fresh"}).name.endswith("-3.session.jsonl")


def test_a_new_session_elsewhere(folder, tmp_path):
    assert new_session.new_session_path(MOMENT, {}, tmp_path).parent == tmp_path
    assert new_session.new_session_path(MOMENT, {}, Path("mine.jsonl")) == tmp_path / "mine.jsonl"


def test_the_folder_is_made_or_why_not_is_said(folder, monkeypatch, tmp_path):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "new" / "deep"))
    assert new_session.new_session_path(MOMENT, {}).parent.is_dir()
    (tmp_path / "file").touch()
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "file" / "deep"))
    with pytest.raises(OutputError, match="cannot be created"):
        new_session.new_session_path(MOMENT, {})


def test_the_newest_is_the_one_written_to_last(folder, three):
    assert store.newest_session().name.startswith(three[-1])
    assert len(store.stored_sessions()) == 3


def test_no_session_at_all(folder, monkeypatch, tmp_path):
    with pytest.raises(NoSessionError, match="There is no session in"):
        store.newest_session()
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "missing"))
    with pytest.raises(NoSessionError):
        store.newest_session()


@pytest.mark.parametrize(
    ("text", "index"),
    [
        ("2026-11-24", 0),
        ("old", 0),
        ("2026-11-25_1310_paste-fresh", 1),
        ("2026-11-25_1310_paste-fresh.session.jsonl", 1),
        ("fresh-2", 2),
    ],
)
def test_a_session_is_found_by_a_part_of_its_name(folder, three, text, index):
    assert store.find_session(text) == folder / f"{three[index]}.session.jsonl"


def test_a_path_is_taken_as_it_is(folder, three, tmp_path):
    (tmp_path / "mine").write_text(HEADER)
    assert store.find_session("mine") == Path("mine")
    assert store.find_session(str(tmp_path / "mine")) == tmp_path / "mine"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("2026-11-25", "“2026-11-25” fits 2 sessions: .*fresh-2, .*fresh"),
        ("lid-off", "No session in .* is called “lid-off”"),
        ("./missing", "There is no file ./missing"),
        ("~nobody-at-all/x", "There is no file"),
        ("x" * 5000, "No session in"),
        ("a\0b", "No session in"),
    ],
)
def test_what_is_not_found_is_said(folder, three, text, sentence):
    with pytest.raises(NoSessionError, match=sentence):
        store.find_session(text)


def test_many_that_fit_are_not_all_listed(folder):
    for count in range(9):
        (folder / f"a{count}.session.jsonl").touch()
    with pytest.raises(NoSessionError, match=r"fits 9 sessions: .* …\."):
        store.find_session("a")


def test_running_is_who_answers(folder, three, tmp_path):
    run = tmp_path / "run" / "benchmon"
    run.mkdir(mode=0o700, parents=True)
    elsewhere = tmp_path / "elsewhere.jsonl"
    elsewhere.write_text(HEADER)
    socket.socket(socket.AF_UNIX).bind(str(run / "killed.sock"))
    listener = socket.socket(socket.AF_UNIX)
    listener.bind(str(run / "alive.sock"))
    listener.listen()

    def answer_once():
        for _ in range(2):
            client, _ = listener.accept()
            client.recv(4096)
            client.send(json.dumps({"ok": True, "file": str(elsewhere)}).encode() + b"\n")
            client.close()

    recorder = threading.Thread(target=answer_once, daemon=True)
    recorder.start()
    assert [session.path for session in running.running_sessions()] == [elsewhere]
    assert running.is_being_recorded(Path("elsewhere.jsonl"))
    recorder.join(5)
    listener.close()
    assert running.running_sessions() == ()
    assert not running.is_being_recorded(elsewhere)
