"""A program in a terminal of its own: what it draws is kept as a screen, and as the bytes it sent."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import termios
import time

import pyte


class TerminalSession:
    """Start a command in a pseudo-terminal.

    Args:
        command: program and arguments.
        columns: width.
        rows: height.
        environment: replaces the whole environment.
        folder: where it runs.
    """

    def __init__(self, command, columns, rows, environment, folder):
        self.raw = b""
        self.screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        self.status = None
        self.pid, self._master = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execvpe(command[0], [str(word) for word in command], environment)
        self.resize(columns, rows)

    def resize(self, columns, rows):
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self.screen.resize(rows, columns)

    @property
    def text(self) -> str:
        return "\n".join(line.rstrip() for line in self.screen.display)

    def send(self, keys: str) -> None:
        os.write(self._master, keys.encode())

    def watch_for(self, seconds: float, until=lambda _: False) -> bool:
        """Draw for so long, or until the condition of the session holds, or it ends."""
        deadline = time.monotonic() + seconds
        while (left := deadline - time.monotonic()) > 0:
            if until(self):
                return True
            if select.select([self._master], [], [], min(left, 0.1))[0]:
                try:
                    piece = os.read(self._master, 65_536)
                except OSError:
                    piece = b""
                if not piece:
                    self._reap()
                    return until(self)
                self.raw += piece
                self._stream.feed(piece)
        return until(self)

    def wait_for(self, text: str, seconds: float = 30) -> None:
        assert self.watch_for(seconds, lambda session: text in session.text), self.text

    def wait_for_end(self, seconds: float = 30) -> int:
        """Exit status, or minus the signal."""
        self.watch_for(seconds, lambda session: session.status is not None)
        assert self.status is not None, f"still running:\n{self.text}"
        return self.status

    def hang_up(self) -> None:
        """The terminal goes away, as with a dropped line."""
        os.close(self._master)
        self._master = -1

    def close(self) -> None:
        if self._master >= 0:
            self.hang_up()
        if self.status is None:
            try:
                os.kill(self.pid, signal.SIGKILL)
            except ProcessLookupError:
                return
            self._reap()

    def _reap(self) -> None:
        if self.status is None:
            self.status = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
