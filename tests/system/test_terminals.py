"""The screen in real terminals: tiny, colourless, without UTF-8, and one that goes away."""

from __future__ import annotations

import os
import re
import signal
import sys
from pathlib import Path

import pytest

from tests.support.recorder_process import wait_for
from tests.support.terminal_session import TerminalSession

pytestmark = [pytest.mark.system, pytest.mark.xdist_group("terminals")]

ROOT = Path(__file__).resolve().parents[2]
RECORDING = ROOT / "recordings" / "v1.session.jsonl"
COLOUR = re.compile(rb"\x1b\[(?:\d+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;\d+)*m")
ENTERS_SCREEN, LEAVES_SCREEN = b"\x1b[?1049h", b"\x1b[?1049l"


@pytest.fixture
def terminal(tmp_path):
    """Opens benchmon in a terminal of a size; whatever still runs at the end is told to end."""
    opened = []
    environment = {
        name: value
        for name, value in os.environ.items()
        if name not in {"NO_COLOR", "COLUMNS", "LINES", "BENCHMON_SESSIONS", "XDG_DATA_HOME"}
    }
    environment |= {
        "TERM": "xterm-256color",
        "PYTHONPATH": str(ROOT),
        "HOME": str(tmp_path),
        "XDG_RUNTIME_DIR": str(tmp_path),
    }

    def open_terminal(columns, rows, *words, **variables):
        command = [sys.executable, "-m", "benchmon", *map(str, words)]
        session = TerminalSession(command, columns, rows, environment | variables, tmp_path)
        opened.append(session)
        return session

    yield open_terminal
    for session in opened:
        session.close()
        assert b"Traceback" not in session.raw
    for file in tmp_path.glob("benchmon/*.sock"):
        end_recording(file)


def end_recording(socket_file):
    """As a screen would ask for it."""
    import socket

    with socket.socket(socket.AF_UNIX) as talk:
        try:
            talk.connect(str(socket_file))
        except OSError:
            return
        talk.sendall(b'{"do":"end"}\n')
        talk.settimeout(10)
        talk.recv(1000)


def sessions(tmp_path):
    return list(tmp_path.glob(".local/share/benchmon/*.session.jsonl"))


def test_a_terminal_that_is_too_small_says_so_and_can_be_left(terminal, tmp_path):
    session = terminal(20, 6, "demo")
    session.wait_for("60x16")
    session.send("q")
    session.watch_for(1)
    session.send("e")
    assert session.wait_for_end() == 0
    (file,) = sessions(tmp_path)
    assert '"record":"end"' in file.read_text()


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (5, 3), (20, 6), (60, 16), (80, 24), (300, 100)])
def test_any_size_can_be_drawn_on(terminal, columns, rows):
    session = terminal(columns, rows, "replay", RECORDING)
    assert session.watch_for(30, lambda session: ENTERS_SCREEN in session.raw or session.status is not None)
    # a second of drawings; where there is room for words, they have come
    assert not session.watch_for(1, lambda session: session.status is not None), session.raw[-2000:]
    if columns >= 60:
        session.wait_for("clock")
    session.send("q")
    assert session.wait_for_end() == 0
    assert LEAVES_SCREEN in session.raw


def test_resizing_up_and_down(terminal):
    session = terminal(80, 24, "replay", RECORDING)
    session.wait_for("clock")
    for columns, rows in [(20, 6), (140, 45), (1, 1), (80, 24), (61, 16), (59, 15), (100, 30)]:
        session.resize(columns, rows)
        os.kill(session.pid, signal.SIGWINCH)
        session.watch_for(0.3)
    session.wait_for("clock", 10)
    session.send("q")
    assert session.wait_for_end() == 0


def test_no_color_is_obeyed(terminal):
    """https://no-color.org: set and not empty, no colours are added."""
    session = terminal(100, 30, "replay", RECORDING, NO_COLOR="1")
    session.wait_for("clock")
    session.watch_for(1)
    assert COLOUR.findall(session.raw) == []


def test_colours_are_there_otherwise(terminal):
    session = terminal(100, 30, "replay", RECORDING)
    session.wait_for("clock")
    session.watch_for(1)
    assert COLOUR.findall(session.raw)


def test_plain_ascii_where_nothing_else_can_be_shown(terminal):
    plain = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    session = terminal(100, 30, "replay", RECORDING, **plain)
    session.wait_for("clock")
    session.watch_for(1)
    assert session.raw.isascii()


def test_a_line_that_drops_loses_the_screen_only(terminal, tmp_path):
    session = terminal(80, 24, "demo", "--speed", "5")
    session.wait_for("simulated")
    session.hang_up()
    wait_for(lambda: os.waitid(os.P_PID, session.pid, os.WEXITED | os.WNOHANG | os.WNOWAIT))  # else it outlives it
    session._reap()
    (file,) = sessions(tmp_path)
    before = file.stat().st_size
    wait_for(lambda: file.stat().st_size > before)  # else the recording ended with the screen
    again = terminal(80, 24, "join")
    again.wait_for("simulated")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_screen_that_is_told_to_end_gives_the_terminal_back(terminal, number):
    session = terminal(80, 24, "replay", RECORDING)
    session.wait_for("clock")
    os.kill(session.pid, number)
    session.wait_for_end()
    assert LEAVES_SCREEN in session.raw
