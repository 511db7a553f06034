"""When the first picture of a replay stands on the screen: the real command, in a pseudo-terminal that is read."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path

import pyte

from tests.support.as_installed import environment_as_installed

ROOT = Path(__file__).resolve().parents[3]
SIZE = (45, 140)
DRAWN, EMPTY = "q›leave", ("Waiting for the recording", "No phase yet")
"""The last line is drawn when everything above is; and the frame that waits for the first record is no picture yet."""
GIVES_UP_S = 120.0


def first_picture(path: Path, cache: Path) -> tuple[float, float, float]:
    """Time passed and processor time until the picture stands [s], and the memory that was taken until then [MB].

    Raises:
        RuntimeError: if nothing is drawn.
    """
    environment = environment_as_installed(TERM="xterm-256color", LANG="C.UTF-8", XDG_CACHE_HOME=str(cache))
    environment.pop("NO_COLOR", None)
    began = time.monotonic()
    pid, terminal = pty.fork()
    if pid == 0:
        os.chdir(ROOT)
        os.execve(sys.executable, [sys.executable, "-m", "benchmon", "replay", str(path)], environment)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", *SIZE, 0, 0))
    try:
        screen = pyte.Screen(SIZE[1], SIZE[0])
        stream = pyte.ByteStream(screen)
        while not _is_drawn("\n".join(screen.display)):
            if time.monotonic() - began > GIVES_UP_S:
                raise RuntimeError("no picture:\n" + "\n".join(screen.display))
            if select.select([terminal], [], [], 0.05)[0]:
                stream.feed(os.read(terminal, 1 << 16))
        return time.monotonic() - began, _processor_s(pid), _memory_mb(pid)
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(terminal)


def _is_drawn(shown: str) -> bool:
    return DRAWN in shown and not any(words in shown for words in EMPTY)


def _processor_s(pid: int) -> float:
    threads = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((thread / "schedstat").read_text().split()[0]) for thread in threads) / 1e9


def _memory_mb(pid: int) -> float:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
