"""A real run end to end in a real terminal multiplexer: record, draw, mark, correct, leave, join, end."""

from __future__ import annotations

import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
import uuid
from pathlib import Path

import pytest

from benchmon.model.records import LoadAction, LoadChange, Mark, MarkKind, Sample, SessionEnd
from benchmon.session.reader import read_session
from tests.support.recorder_process import running_with, wait_for

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "recordings" / "box-as-bought.session.jsonl"
"""What ``demo`` records."""
CAUTIONS_SAID = ".cautions-said"
"""Where it lies among the sessions, the screen opens without the time to read them."""
pytestmark = [
    pytest.mark.system,
    pytest.mark.xdist_group("terminals"),
    pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed"),
]


class Terminal:
    """A tmux server of our own with one window."""

    def __init__(self, folder: Path, columns: int, rows: int) -> None:
        self._socket = f"benchmon-test-{uuid.uuid4().hex[:8]}"
        self.folder = folder
        self.environment = {**os.environ, "BENCHMON_SESSIONS": str(folder), "XDG_RUNTIME_DIR": str(folder / "run")}
        self.environment.pop("TMUX", None)
        (folder / "run").mkdir(mode=0o700)
        (folder / CAUTIONS_SAID).touch()
        self._tmux("-f", "/dev/null", "new-session", "-d", "-x", str(columns), "-y", str(rows), "sh")
        self.send("PS1='ready> '")
        self.wait_for("ready>")

    def _tmux(self, *words: str) -> str:
        command = ["tmux", "-u", "-L", self._socket, *words]
        return subprocess.run(
            command, env=self.environment, capture_output=True, text=True, check=True, cwd=ROOT
        ).stdout

    def start(self, *words: str) -> None:
        self.send(shlex.join([sys.executable, "-m", "benchmon", *words]))

    def send(self, line: str) -> None:
        self._tmux("send-keys", "-l", line)
        self.keys("Enter")

    def keys(self, *keys: str) -> None:
        self._tmux("send-keys", *keys)

    def resize(self, columns: int, rows: int) -> None:
        self._tmux("resize-window", "-x", str(columns), "-y", str(rows))

    def shown(self) -> str:
        return self._tmux("capture-pane", "-p")

    def wait_for(self, *words: str, seconds: float = 25.0) -> str:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            shown = self.shown()
            if all(word in shown for word in words):
                return shown
            time.sleep(0.15)
        raise AssertionError(f"{words} never came; the screen shows:\n{self.shown()}")

    def wait_for_prompt(self, seconds: float = 25.0) -> None:
        """Until the shell waits for a line again."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if self.shown().rstrip().endswith("ready>"):
                return
            time.sleep(0.15)
        raise AssertionError(f"the shell never came back; the screen shows:\n{self.shown()}")

    def close(self) -> None:
        subprocess.run(["tmux", "-L", self._socket, "kill-server"], capture_output=True, check=False)


@pytest.fixture
def terminal(tmp_path):
    opened = Terminal(tmp_path, 100, 30)
    yield opened
    opened.close()


def samples_in(path: Path) -> int:
    return sum(isinstance(record, Sample) for record in read_session(path).records)


def only_session(folder: Path) -> Path:
    (path,) = folder.glob("*.session.jsonl")
    return path


def test_a_run_is_watched_marked_left_joined_and_ended(terminal):
    (terminal.folder / CAUTIONS_SAID).unlink()
    terminal.start("watch", "--load", "one", "--room", "23.5", "--tag", "paste=fresh")
    terminal.wait_for("Take care", "or with Enter")
    terminal.keys("Enter")
    terminal.wait_for("paste fresh", "room 23.5 °C", "work rate", "q›leave")
    terminal.keys("1")
    terminal.wait_for("└one core")
    terminal.keys("w")
    terminal.wait_for("watts at the wall:")
    terminal.keys("4", "9", "Enter")
    terminal.wait_for("wall 49.0 W")
    terminal.keys("e")
    terminal.wait_for("Wall reading 49.0 W")
    terminal.keys("Enter")
    terminal.wait_for("in place of entry")
    terminal.keys("BSpace", "1", "Enter")
    terminal.wait_for("wall 41.0 W")
    terminal.keys("x")
    terminal.wait_for("The load was stopped.", "Begin “cool-down”?")
    terminal.keys("Escape")
    for size in ((20, 6), (80, 24), (140, 45), (100, 30)):
        terminal.resize(*size)
    terminal.keys("Escape")
    terminal.wait_for("▸ one core")
    terminal.keys("q", "g")
    terminal.wait_for("The recording goes on")
    terminal.wait_for_prompt()
    terminal.start("join")
    terminal.wait_for("▸ one core", "wall 41.0 W")
    terminal.keys("q", "e")
    terminal.wait_for("its sheet:")
    session = read_session(only_session(terminal.folder))
    marks = [record for record in session.records if isinstance(record, Mark)]
    assert [mark.value for mark in marks if mark.kind is MarkKind.WALL] == [49.0, 41.0]
    assert marks[-1].replaces is not None
    stops = [one for one in session.records if isinstance(one, LoadChange) and one.action is LoadAction.STOPPED]
    assert len(stops) == 1
    assert isinstance(session.records[-1], SessionEnd)


def test_a_step_is_begun_with_one_key_and_its_load_with_enter(terminal):
    terminal.resize(80, 24)
    # On the virtual bench: beside other programs that keep the processor busy, no load would be offered.
    terminal.start("watch", "--virtual", "7", "--steps", "idle:10m", "--room", "23.5")
    terminal.wait_for("room 23.5 °C", "q›leave", "▸ idle")
    terminal.keys("1")
    terminal.wait_for("Start its load?", "enter›yes")
    terminal.keys("Enter")
    terminal.wait_for("One core: its load runs.")
    time.sleep(1.5)
    terminal.keys("c")
    terminal.wait_for("Stop it?")
    terminal.keys("Enter")
    terminal.wait_for("Cool-down: the load was stopped.")
    terminal.keys("q", "e")
    terminal.wait_for("its sheet:")
    session = read_session(only_session(terminal.folder))
    changes = [(one.action, one.busy_cores) for one in session.records if isinstance(one, LoadChange)]
    assert (LoadAction.STARTED, 1) in changes
    assert changes[-1][0] is LoadAction.STOPPED
    started_s = next(one.t_s for one in session.records if isinstance(one, LoadChange) and one.busy_cores == 1)
    marks = [record for record in session.records if isinstance(record, Mark) and record.kind is MarkKind.PHASE][1:]
    assert [mark.text for mark in marks] == ["one core", "one core", "cool-down", "cool-down"]
    assert marks[1].replaces == marks[0].number
    assert abs(marks[1].t_s - started_s) < 1.0  # the phase begins where its load does


def test_after_the_end_the_verdict_is_read_and_readings_are_entered(terminal):
    path = Path(shutil.copy(DEMO, terminal.folder))
    terminal.start("replay", "--speed", "60", str(path))
    terminal.wait_for("replay 60×")
    terminal.keys("j")
    terminal.wait_for("go to:")
    terminal.keys("1", "4", ":", "0", "0", "Enter")
    terminal.wait_for("at 14:00 of 14:00", "sustains")
    terminal.keys("w")
    terminal.wait_for("watts at the wall at", "the end of all cores")
    terminal.keys("5", "3", ".", "8", "Enter")
    terminal.wait_for("Entered: wall 53.8")
    terminal.keys("v", "v")
    terminal.wait_for("Throttle event 1", "pgup pgdn›scroll")
    for _ in range(8):
        if "Wall reading 53.8 W" in terminal.shown():
            break
        terminal.keys("NPage")
        time.sleep(0.4)
    terminal.wait_for("Wall reading 53.8 W")
    terminal.keys("q")
    terminal.wait_for_prompt()
    marks = [record for record in read_session(path).records if isinstance(record, Mark)]
    assert (marks[-1].kind, marks[-1].value) == (MarkKind.WALL, 53.8)


def test_the_help_is_turned_page_by_page(terminal):
    terminal.resize(80, 24)
    terminal.start("watch", "--for", "30s")
    terminal.wait_for("q›leave")
    terminal.keys("?")
    seen = terminal.wait_for("page 1 of 3", "? turns")
    for page in ("page 2 of 3", "page 3 of 3"):
        terminal.keys("?")
        seen += terminal.wait_for(page)
    assert "mains voltage" in seen
    assert "delete withdraws" in " ".join(seen.split())
    terminal.keys("Escape", "q", "e")
    terminal.wait_for("its sheet:")


def test_a_lost_terminal_loses_nothing(terminal):
    terminal.start("watch", "--room", "23.5")
    terminal.wait_for("room 23.5 °C", "q›leave")
    path = only_session(terminal.folder)
    terminal.keys("i")
    terminal.wait_for("└idle")
    terminal.close()  # the terminal is gone: the screen gets SIGHUP
    time.sleep(1.0)
    count = samples_in(path)
    wait_for(lambda: samples_in(path) > count)
    again = read_session(path)
    client = f"""
from benchmon.stream.control import ControlClient
print(ControlClient({again.header.session_id!r}).send({{"do": "end"}}))
"""
    subprocess.run([sys.executable, "-c", client], env=terminal.environment, cwd=ROOT, check=True)
    wait_for(lambda: isinstance(read_session(path).records[-1], SessionEnd))
    wait_for(lambda: running_with(str(terminal.folder)) == [])


def test_the_demo_throttles_within_half_a_minute(terminal):
    terminal.resize(80, 24)
    terminal.start("demo", "--speed", "30")
    terminal.wait_for("simulated, 30× real time")
    terminal.wait_for("hrottled by heat at 82 °C since", seconds=30.0)
    terminal.keys("[", "o")
    terminal.wait_for("Event 1 of 1", "Confidence in the cause")
    terminal.keys("Escape", "Escape", "q", "e")
    terminal.wait_for("its sheet:")


def test_a_replay_is_played_and_left(terminal):
    terminal.start("replay", "--speed", "20", str(DEMO))
    terminal.wait_for("replay 20×", "space›stop, go on")
    terminal.keys("]")
    terminal.wait_for("hrottled by heat at 82 °C since")
    terminal.keys("space")
    terminal.wait_for("replay stopped")
    terminal.keys("q")
    terminal.wait_for_prompt()


@pytest.mark.parametrize("ending", ["TERM", "HUP", "QUIT"])
def test_the_terminal_is_restored_after_a_signal(terminal, ending):
    terminal.start("watch", "--for", "20s")
    terminal.wait_for("q›leave")
    found = running_with("benchmon watch --for 20s")
    ours = [pid for pid in found if str(terminal.folder) in Path(f"/proc/{pid}/environ").read_text()]
    assert ours
    for pid in ours:
        os.kill(pid, getattr(signal, f"SIG{ending}"))
    terminal.wait_for_prompt()
    terminal.send("echo still $((40 + 2)) here")
    terminal.wait_for("still 42 here")
    shown = terminal.shown()
    assert "q›leave" not in shown
    assert "Warning" not in shown
    assert "Traceback" not in shown
