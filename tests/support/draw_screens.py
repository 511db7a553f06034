"""Draw the pictures of docs/pictures/: the real screen in a pseudo-terminal, drawn as a terminal would.

usage: python -m tests.support.draw_screens [NAME-PART]
"""

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
from dataclasses import dataclass, field
from pathlib import Path

from tests.support.terminal_picture import draw

ROOT = Path(__file__).resolve().parents[2]
FOLDER = Path(os.environ.get("PICTURES", ROOT / "docs" / "pictures"))
_QUIET_S = 0.6
_LOADING_S = 3.0
"""The first drawing comes before anything is read; what is read comes within this time, on a busy machine too."""
_MOST_S = 20.0


@dataclass(frozen=True)
class Picture:
    """A picture's name, what it shows, the terminal's size, and keys that are pressed first."""

    name: str
    scene: str
    columns: int
    rows: int
    keys: tuple[str, ...] = ()
    environment: dict[str, str] = field(default_factory=dict)


LEFT, UP = "\x1b[D", "\x1b[A"
PICTURES = (
    Picture("held-by-heat", "heat", 140, 45),
    Picture("held-by-heat-80x24", "heat", 80, 24),
    Picture("settling", "settling", 100, 30),
    Picture("waiting-80x24", "waiting", 80, 24),
    Picture("held-by-power", "power", 140, 45),
    Picture("earlier-run-behind", "behind", 140, 45),
    Picture("earlier-run-behind-80x24", "behind", 80, 24),
    Picture("gap", "gap", 100, 30),
    Picture("no-sensors", "no-sensors", 80, 24),
    Picture("ended", "ended", 140, 45),
    Picture("event-opened", "heat", 140, 45, ("[", "o")),
    Picture("cursor", "heat", 100, 30, ("[",)),
    Picture("entries", "heat", 100, 30, ("e",)),
    Picture("prompt", "heat", 80, 24, ("w53.8",)),
    Picture("sheet-80x24", "ended", 80, 24, ("v", "v")),
    Picture("help", "heat", 140, 45, ("?",)),
    Picture("replay", "replay", 140, 45),
    Picture("wide", "heat", 200, 60),
    Picture("starting", "starting", 80, 24),
    Picture("demo-80x24", "demo", 80, 24),
    Picture("leaving", "heat", 80, 24, ("q",)),
    Picture("blocks", "heat", 80, 24, (), {"TERM": "linux"}),
    Picture("ascii", "heat", 80, 24, (), {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0", "LC_ALL": "C"}),
    Picture("no-colour", "heat", 100, 30, (), {"NO_COLOR": "1"}),
    Picture("too-small", "heat", 40, 8),
)


def capture(picture: Picture) -> bytes:
    """What the screen wrote to its terminal until it came to rest."""
    pid, terminal = pty.fork()
    if pid == 0:
        os.chdir(ROOT)
        environment = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES"}}
        environment |= {"TERM": "xterm-256color", "LANG": "C.UTF-8", **picture.environment}
        time.sleep(0.1)  # the size is set meanwhile
        argv = [sys.executable, "-m", "tests.support.screen_scene", picture.scene]
        os.execve(sys.executable, argv, environment)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", picture.rows, picture.columns, 0, 0))
    output = _until_quiet(terminal)
    for key in picture.keys:
        os.write(terminal, key.encode())
        output += _until_quiet(terminal, need=False)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return output


def _until_quiet(terminal: int, *, need: bool = True) -> bytes:
    """Read until nothing has come for a while; ``need`` waits for the first drawing, however long it takes."""
    output, end = b"", time.monotonic() + _MOST_S
    while time.monotonic() < end:
        ready, _, _ = select.select([terminal], [], [], _LOADING_S if need else _QUIET_S)
        if not ready and (len(output) > 200 or not need):
            break
        if ready:
            output += os.read(terminal, 65536)
    return output


def main() -> None:
    part = sys.argv[1] if len(sys.argv) > 1 else ""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for picture in PICTURES:
        if part in picture.name:
            path = FOLDER / f"{picture.name}.png"
            draw(capture(picture), picture.columns, picture.rows, str(path))
            print(path)


if __name__ == "__main__":
    main()
