"""Requests over the socket: private, prompt, and harmless whatever is sent."""

import contextlib
import json
import os
import select
import socket
import stat
import tempfile
import threading
import time
from pathlib import Path

import pytest

from benchmon.errors import MachineError, NoSessionError
from benchmon.stream import control
from benchmon.stream.control import ControlClient, ControlServer, socket_folder, socket_path
from benchmon.stream.doorbell import Doorbell


@pytest.fixture
def runtime_folder(monkeypatch):
    with tempfile.TemporaryDirectory(prefix="run-") as folder:  # short, as a socket's name must be
        monkeypatch.setenv("XDG_RUNTIME_DIR", folder)
        yield Path(folder)


@pytest.fixture
def echo(runtime_folder):
    """A server that answers with what it was asked, served by a thread in the recorder's place."""
    server = ControlServer("abc", lambda request: {"ok": True, "asked": request})
    doorbell = Doorbell()
    doorbell.add_server(server)
    stop = threading.Event()

    def serve():
        while not stop.is_set():
            doorbell.wait(0.01)

    thread = threading.Thread(target=serve)
    thread.start()
    yield server
    stop.set()
    thread.join()
    server.close()


def test_socket_and_folder_are_for_their_user_only(echo, runtime_folder):
    assert stat.S_IMODE(os.stat(echo.path).st_mode) == 0o600
    assert stat.S_IMODE(os.stat(echo.path.parent).st_mode) == 0o700
    assert echo.path == socket_path("abc") == runtime_folder / "benchmon" / "abc.sock"


def test_without_a_runtime_folder_it_lies_in_tmp(monkeypatch):
    monkeypatch.delenv("XDG_RUNTIME_DIR", raising=False)
    assert str(socket_folder()) == f"/tmp/benchmon-{os.getuid()}"


@pytest.mark.parametrize("odd", ["run/me", ".", "/" + 120 * "x"])
def test_a_runtime_folder_that_cannot_hold_a_socket_is_ignored(monkeypatch, odd):
    """Relative (XDG Base Directory Specification 0.8), or longer than the kernel takes (unix(7): 108 bytes)."""
    monkeypatch.setenv("XDG_RUNTIME_DIR", odd)
    assert str(socket_folder()) == f"/tmp/benchmon-{os.getuid()}"


def test_sockets_of_killed_recorders_are_removed_by_the_next(runtime_folder):
    (runtime_folder / "benchmon").mkdir(mode=0o700)
    left = runtime_folder / "benchmon" / "gone.sock"
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(left))
    alive = ControlServer("alive", dict)
    ControlServer("abc", dict).close()
    assert not left.exists()
    assert alive.path.exists()
    alive.close()


@pytest.mark.parametrize("odd", [b"[" * 15_000, b'{"do":"mark","t_s":1' + b"0" * 400 + b"}", b"\xff\xfe", b"[]", b"0"])
def test_an_odd_request_is_refused_and_the_next_is_answered(runtime_folder, odd):
    server = ControlServer("abc", lambda request: {"ok": True, "value": float(request.get("t_s", 0))})
    assert server._answer(odd)["ok"] is False
    assert server._answer(b'{"do":"ping"}')["ok"] is True
    server.close()


@pytest.mark.parametrize("odd", ["../x", "a/b", "", "x" * 80, "a\0b"])
def test_an_id_from_a_file_leads_nowhere_else(runtime_folder, odd):
    with pytest.raises(NoSessionError):
        ControlClient(odd)


def test_a_folder_that_others_can_enter_is_refused(runtime_folder):
    (runtime_folder / "benchmon").mkdir(mode=0o777)
    (runtime_folder / "benchmon").chmod(0o777)
    with pytest.raises(OSError):
        ControlServer("abc", dict)


def test_a_link_in_place_of_the_folder_is_refused(runtime_folder, tmp_path):
    (tmp_path / "elsewhere").mkdir(mode=0o700)
    (runtime_folder / "benchmon").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(OSError):
        ControlServer("abc", dict)


def test_question_and_answer(echo):
    client = ControlClient("abc")
    assert client.send({"do": "ping"}) == {"ok": True, "asked": {"do": "ping"}}
    assert client.send({"do": "mark", "text": "23 °C"})["asked"] == {"do": "mark", "text": "23 °C"}
    client.close()


def test_answers_come_within_milliseconds(echo):
    client = ControlClient("abc")
    took_s = []
    for _ in range(20):
        before_s = time.perf_counter()
        client.send({"do": "ping"})
        took_s.append(time.perf_counter() - before_s)
    client.close()
    assert sorted(took_s)[10] < 0.02


@pytest.mark.parametrize("garbage", [b"\n", b"{}}\n", b"[1]\n", b"\xff\xfe\n", b"null\n", b'{"do":\n'])
def test_garbage_is_answered_and_nothing_breaks(echo, garbage):
    with socket.socket(socket.AF_UNIX) as raw:
        raw.settimeout(2)
        raw.connect(str(echo.path))
        raw.sendall(garbage)
        assert json.loads(raw.recv(4096))["ok"] in (False, True)
    client = ControlClient("abc")
    assert client.send({"do": "ping"})["ok"]
    client.close()


def test_a_line_without_end_is_cut_off(echo):
    with socket.socket(socket.AF_UNIX) as raw:
        raw.settimeout(2)
        raw.connect(str(echo.path))
        with pytest.raises(OSError):
            for _ in range(100):
                raw.sendall(b"x" * 4096)
                time.sleep(0.001)


def test_half_a_line_waits_for_its_rest(echo):
    with socket.socket(socket.AF_UNIX) as raw:
        raw.settimeout(2)
        raw.connect(str(echo.path))
        raw.sendall(b'{"do":')
        time.sleep(0.03)
        raw.sendall(b'"ping"}\n')
        assert json.loads(raw.recv(4096))["asked"] == {"do": "ping"}


def test_nobody_there(runtime_folder):
    with pytest.raises(NoSessionError):
        ControlClient("nobody")


def test_a_socket_left_behind_is_nobody(runtime_folder):
    folder = runtime_folder / "benchmon"
    folder.mkdir(mode=0o700)
    left = socket.socket(socket.AF_UNIX)
    left.bind(str(folder / "dead.sock"))
    left.close()
    with pytest.raises(NoSessionError):
        ControlClient("dead")


def test_a_recorder_that_does_not_answer_is_not_nobody_and_its_late_answer_is_not_the_next_one(
    runtime_folder, monkeypatch
):
    monkeypatch.setattr(control, "_PATIENCE_S", 0.05)
    server = ControlServer("abc", lambda request: {"ok": True, "asked": request})
    client = ControlClient("abc")
    with pytest.raises(MachineError, match="does not answer"):
        client.send({"do": "mark"})
    client._socket.settimeout(5.0)
    answers = []
    asking = threading.Thread(target=lambda: answers.append(client.send({"do": "ping"})))
    asking.start()
    while not answers:
        for ready in select.select(server.watched(), (), (), 0.05)[0]:
            server.serve(ready)
    asking.join()
    assert answers[0]["asked"] == {"do": "ping"}
    client.close()
    server.close()


def test_closing_removes_the_socket(runtime_folder):
    server = ControlServer("abc", dict)
    server.close()
    assert not server.path.exists()


def test_the_doorbell_waits_no_longer_than_asked_and_wakes_when_rung():
    doorbell = Doorbell()
    before_s = time.monotonic()
    assert doorbell.wait(0.02) is False
    assert time.monotonic() - before_s >= 0.02
    doorbell.wake()
    assert doorbell.wait(0.0) is True
    assert doorbell.wait(0.0) is False


def test_a_flood_of_clients_holds_up_nobody(echo):
    """A thousand that say half a word, one that never ends its line: who asks properly is answered at once after."""
    held = []
    for number in range(1000):
        one = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        one.settimeout(2.0)
        with contextlib.suppress(OSError):
            one.connect(str(echo.path))
            if number % 3 == 0:
                one.send(b'{"do":"pi')
        if number % 100 == 0:
            held.append(one)
        else:
            one.close()
    with contextlib.suppress(OSError):
        for _ in range(40):
            held[0].send(b"x" * 65_536)
    assert len(echo.watched()) <= 17 + 1  # the listener and sixteen clients; one may be leaving
    for one in held:
        one.close()
    client = ControlClient("abc")
    assert client.send({"do": "ping"})["ok"]
    client.close()
