"""The screen on terminals of all sorts, read byte by byte from a pseudo-terminal: poor, stalled, and gone."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from tests.support.terminal_picture import screen_of

ROOT = Path(__file__).resolve().parents[2]
pytestmark = [pytest.mark.system, pytest.mark.xdist_group("terminals")]
COLOURS = re.compile(rb"\x1b\[(?:[0-9]+;)*(?:3[0-8]|9[0-7]|4[0-8])[;m]")


class Scene:
    """A scene of the screen in a pseudo-terminal."""

    def __init__(self, name: str, *, columns=80, rows=24, own_terminal=True, code="", **environment: str) -> None:
        self.master, slave = pty.openpty()
        self.size = (columns, rows)
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        clean = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES"}}
        argv = [sys.executable, "-c", code] if code else [sys.executable, "-m", "tests.support.screen_scene", name]
        self.process = subprocess.Popen(
            argv,
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=ROOT,
            env={**clean, "TERM": "xterm-256color", "LANG": "C.UTF-8", **environment},
            start_new_session=True,
            preexec_fn=(lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0)) if own_terminal else None,
        )
        self.before = termios.tcgetattr(slave)
        self.slave = slave
        self.output = b""

    def read(self, seconds: float, until: str = "") -> str:
        """Read for a while, until the program has ended, or until the screen shows certain words; give what it shows."""
        end = time.monotonic() + seconds
        looked_s = time.monotonic()
        while time.monotonic() < end:
            came = bool(select.select([self.master], [], [], 0.1)[0])
            if came:
                try:
                    self.output += os.read(self.master, 65536)
                except OSError:
                    break
            elif self.process.poll() is not None:
                break
            # Looking is slow, so not after each piece; but a screen that is always drawing is looked at too.
            if until and (not came or time.monotonic() - looked_s > 0.5):
                if until in self.shown():
                    break
                looked_s = time.monotonic()
        return self.shown()

    def shown(self) -> str:
        return "\n".join(screen_of(self.output, *self.size).display)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(5)
        for descriptor in (self.master, self.slave):
            try:
                os.close(descriptor)
            except OSError:
                pass


@pytest.fixture
def scene():
    opened = []

    def open_scene(name: str = "heat", **options) -> Scene:
        opened.append(Scene(name, **options))
        return opened[-1]

    yield open_scene
    for one in opened:
        one.close()


def test_colours_are_named_ones_only(scene):
    one = scene()
    assert re.search(r"by heat at 82 °C since 3:3\d", one.read(15, until="running 5:30"))
    assert COLOURS.search(one.output)
    assert b"38;2;" not in one.output
    assert b"48;" not in one.output


def test_no_colour_where_none_is_wanted(scene):
    one = scene(NO_COLOR="1")
    shown = one.read(15, until="running 5:30")
    assert not COLOURS.search(one.output)
    assert "═ heat ═" in shown


def test_the_kernels_console_gets_blocks(scene):
    shown = scene(TERM="linux").read(15, until="running 5:30")
    assert not re.search("[\u2801-\u28ff]", shown)
    assert "▀" in shown or "▄" in shown


def test_ascii_terminals_get_ascii(scene):
    one = scene(PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    shown = one.read(15, until="running 5:30")
    assert shown.isascii()
    assert one.output.isascii()
    assert "degC" in shown


def test_a_stalled_terminal_does_not_stall_the_screen(scene):
    code = """
from tests.support.bench_session import bench_session
from benchmon.stream.replay import Replay
from benchmon.stream.source import ReplaySource
from benchmon.views.tui.app import run_screen
replay = Replay(bench_session(), speed=60.0)
run_screen(ReplaySource(replay), control=None, replay=replay, refresh_hz=20.0)
print("left in good order")
"""
    one = scene(code=code, columns=140, rows=45)
    one.read(15, until="leave")
    read = len(one.output)
    time.sleep(3.0)  # nobody reads: 60 drawings that the terminal does not take
    os.write(one.master, b"q")
    one.read(5, until="left in good order")
    assert one.process.wait(5) == 0
    assert len(one.output) < 400_000
    # What the terminal holds itself (some 64 kB), three drawings of 20 kB at most that waited, and the way out.
    assert len(one.output) - read < 150_000


@pytest.mark.parametrize("own_terminal", [True, False], ids=["with a hang-up signal", "without one"])
def test_a_terminal_that_is_gone_ends_the_screen_and_nothing_spins(scene, own_terminal):
    one = scene(own_terminal=own_terminal)
    one.read(15, until="running 5:30")
    os.close(one.slave)
    os.close(one.master)
    one.process.wait(3)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGQUIT])
def test_the_terminal_is_as_before(scene, number):
    one = scene()
    one.read(15, until="running 5:30")
    assert termios.tcgetattr(one.slave) != one.before
    if number == signal.SIGINT:
        os.write(one.master, b"\x03g")
    else:
        one.process.send_signal(number)
    one.read(3)
    one.process.wait(3)
    assert termios.tcgetattr(one.slave)[:4] == one.before[:4]
    assert one.output.rstrip().endswith((b"\x1b[?1004l", b"\x1b[?25h")) or b"\x1b[?1049l" in one.output[-200:]


def test_a_fault_of_ours_restores_the_terminal_and_reaches_the_caller(scene):
    code = """
from tests.support.bench_session import bench_records
from tests.support.scripted_source import ScriptedSource
from benchmon.views.tui.app import run_screen
class Faulty(ScriptedSource):
    polls = 0
    def poll(self):
        Faulty.polls += 1
        if Faulty.polls > 3:
            raise ZeroDivisionError("made for this test")
        return super().poll()
try:
    run_screen(Faulty(bench_records()), control=None)
except ZeroDivisionError as error:
    print("the caller got:", error)
"""
    one = scene(code=code)
    one.read(10, until="the caller got: made for this test")
    assert one.process.wait(5) == 0
    assert "Traceback" not in one.shown()
    assert termios.tcgetattr(one.slave)[:4] == one.before[:4]
