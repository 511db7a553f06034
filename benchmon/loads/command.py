"""A user's own command as the load."""

from __future__ import annotations

import contextlib
import json
import os
import shlex
import shutil
import signal
import socket
import subprocess
from collections.abc import Sequence
from pathlib import Path

from benchmon.errors import LoadError
from benchmon.loads.child_python import command_line
from benchmon.loads.keeper import GRACE_S
from benchmon.loads.worker import SILENCE_S
from benchmon.model.records import LoadAction, LoadChange

_LONGEST_END_S = GRACE_S + 4.0


class CommandLoad:
    """Runs a command under a keeper; its output goes to a file.

    Args:
        argv: command and arguments; no shell is involved.
        output: file that its output is added to.
        silence_s: the keeper ends it when ``poll`` has not been called for so long [s].
    """

    def __init__(self, argv: Sequence[str], output: Path, silence_s: float = SILENCE_S) -> None:
        self._argv = list(argv)
        self._output = output
        self._silence_s = silence_s
        self.words = shlex.join(argv)
        self.busy_cores: int | None = None
        self._keeper: subprocess.Popen[bytes] | None = None
        self._socket: socket.socket | None = None
        self._heard = b""
        self._alive_s = 0.0

    def start(self, t_s: float) -> LoadChange:
        """Start keeper and command.

        Raises:
            LoadError: if there is no such command, or its output cannot be kept.
        """
        if shutil.which(self._argv[0]) is None:
            raise LoadError(f"there is no command {self._argv[0]!r}", "Check its name, and that it may be executed.")
        ours, theirs = socket.socketpair()
        try:
            with self._output.open("ab") as output:
                self._keeper = subprocess.Popen(
                    command_line("benchmon.loads.keeper", str(self._silence_s), *self._argv),
                    stdin=theirs.fileno(),
                    stdout=output,
                    stderr=output,
                    start_new_session=True,
                )
        except OSError as error:
            ours.close()
            raise LoadError(f"{self.words} cannot be started: {error.strerror or error}") from error
        finally:
            theirs.close()
        ours.setblocking(False)
        self._socket = ours
        return LoadChange(t_s, LoadAction.STARTED, self.words)

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Have the keeper end it: asked first, made to half a second later."""
        self._hang_up()
        return LoadChange(t_s, LoadAction.STOPPED, self.words, reason=reason)

    def poll(self, t_s: float) -> LoadChange | None:
        """That it ended, with its status; or that it could not be started after all."""
        if self._socket is None:
            return None
        self._show_life(t_s)
        try:
            piece = self._socket.recv(4096)
        except BlockingIOError:
            return None
        except OSError:
            piece = b""
        self._heard += piece
        if piece and not self._heard.endswith(b"\n"):
            return None
        self._hang_up()
        return self._told(t_s)

    def work_count(self) -> int | None:
        """Not known: it does not count."""
        return None

    def work_time_s(self) -> float | None:
        """Not known: it does not count."""
        return None

    def close(self) -> None:
        """Wait until keeper and command are gone; kill the keeper if it does not manage."""
        self._hang_up()
        if self._keeper is None:
            return
        try:
            self._keeper.wait(_LONGEST_END_S)
        except subprocess.TimeoutExpired:
            with contextlib.suppress(ProcessLookupError):  # the command dies with its keeper
                os.kill(self._keeper.pid, signal.SIGKILL)
            self._keeper.wait()

    def _told(self, t_s: float) -> LoadChange:
        try:
            message = json.loads(self._heard)
        except ValueError:
            return LoadChange(t_s, LoadAction.EXITED, self.words, reason="its keeper was ended from outside")
        if "silent" in message:
            reason = f"the recorder was held up for more than {message['silent']:g} s"
            return LoadChange(t_s, LoadAction.EXITED, self.words, reason=reason)
        if "failed" in message:
            return LoadChange(t_s, LoadAction.FAILED, self.words, reason=str(message["failed"]))
        status = int(message["exited"])
        reason = f"killed by signal {-status}" if status < 0 else ""
        return LoadChange(t_s, LoadAction.EXITED, self.words, reason=reason, exit_status=status)

    def _show_life(self, t_s: float) -> None:
        """Tell the keeper, once a second, that somebody still guards its command."""
        if self._socket is not None and t_s >= self._alive_s:
            self._alive_s = t_s + 1.0
            with contextlib.suppress(OSError):
                self._socket.send(b".")

    def _hang_up(self) -> None:
        if self._socket is not None:
            self._socket.close()
            self._socket = None
