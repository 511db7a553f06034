"""The recorder's end of a kept load: starts the keeper, shows it life, hears what it says, sees to its end."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import time
from collections.abc import Mapping
from typing import IO, Any

from benchmon.loads.child_python import command_line
from benchmon.loads.guard import Guarding
from benchmon.loads.keeper import GRACE_S, LIFE_EVERY_S
from benchmon.loads.last_watch import entrusted
from benchmon.loads.strays import own_children
from benchmon.loads.tether import descendants, kill_all
from benchmon.loads.vigil import SILENCE_S

_MOST_SILENT_S = 2.2
"""A keeper that says nothing for so long, while the recorder runs, is taken for stopped."""
_LONGEST_END_S = GRACE_S + 1.0
_MOST_HEARD = 65_536


class Keeping:
    """One keeper with its load.

    Args:
        what: the load, as the keeper wants it.
        guarding: what guards it.
        output: where a command's output goes; None = nowhere.
        passed: a descriptor that the keeper needs; -1 = none.
        silence_s: the load is ended when ``hear`` was not called for so long [s].

    Raises:
        OSError: if the keeper cannot be started.
    """

    def __init__(
        self,
        what: Mapping[str, Any],
        guarding: Guarding,
        output: IO[bytes] | int = subprocess.DEVNULL,
        passed: int = -1,
        silence_s: float = SILENCE_S,
    ) -> None:
        ours, theirs = socket.socketpair()
        told = os.memfd_create("benchmon-load")
        try:
            with entrusted() as trust:
                all_told = {**what, "guarding": guarding._asdict(), "silence_s": silence_s, "trust": trust}
                os.write(told, json.dumps(all_told).encode())
                self.process = subprocess.Popen(
                    command_line("benchmon.loads.keeper", str(told)),
                    stdin=theirs.fileno(),
                    stdout=output,
                    stderr=output,
                    pass_fds=tuple(one for one in (told, passed, trust.holds) if one >= 0),
                    start_new_session=True,
                )
        except OSError:
            ours.close()
            raise
        finally:
            theirs.close()
            os.close(told)
        own_children.add(self.process.pid)
        ours.setblocking(False)
        self._socket: socket.socket | None = ours
        self._heard = b""
        self._asked_s = self._heard_s = time.monotonic()
        self._shown_s = 0.0
        self._left_s: float | None = None

    @property
    def is_held(self) -> bool:
        """Whether the keeper has not been asked to end."""
        return self._socket is not None

    def hear(self) -> Mapping[str, Any] | None:
        """What the keeper says ended its load, with ``ago_s``; None if it goes on. Shows the keeper that we live."""
        if self._socket is None:
            return None
        now_s = time.monotonic()
        was_held_up = now_s - self._asked_s > _MOST_SILENT_S / 2
        self._asked_s = now_s
        try:
            piece = self._socket.recv(4096)
        except BlockingIOError:
            piece = None
        except OSError:
            piece = b""
        if piece or was_held_up:
            self._heard_s = now_s
        if piece is not None:
            self._heard = (self._heard + piece).lstrip(b"\n")[-_MOST_HEARD:]
        if self._heard.endswith(b"\n") or piece == b"":
            self.hang_up()
            return _understood(self._heard)
        if now_s - self._heard_s > _MOST_SILENT_S:
            self.hang_up()
            self._end_by_force()
            return {"lost": "its keeper did not run any more"}
        self._show_life(now_s)
        return None

    def hang_up(self) -> None:
        """Have the keeper end its load."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None
            self._left_s = time.monotonic()

    def is_over(self) -> bool:
        """Whether keeper and load are gone; one that takes too long is killed. Called again and again."""
        if self.process.poll() is None:
            if self._left_s is not None and time.monotonic() - self._left_s > _LONGEST_END_S:
                self._end_by_force()
            return False
        own_children.discard(self.process.pid)
        return True

    def wait(self) -> None:
        """Wait until keeper and load are gone; a second or two at most."""
        self.hang_up()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(_LONGEST_END_S)
        if self.process.poll() is None:
            self._end_by_force()
        own_children.discard(self.process.pid)

    def _end_by_force(self) -> None:
        """Kill the reader, the keeper and all that came from them: they do not do it themselves."""
        pid = self.process.pid
        kept = descendants(pid)
        self.process.send_signal(signal.SIGKILL)
        kill_all(kept, {pid, os.getpid(), *kept})
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(0.5)
        kept += [each for one in kept for each in descendants(one)]
        kill_all(kept, {1, os.getpid(), *kept})

    def _show_life(self, now_s: float) -> None:
        if self._socket is not None and now_s - self._shown_s >= LIFE_EVERY_S - 0.05:
            self._shown_s = now_s
            with contextlib.suppress(OSError):
                self._socket.send(b".")


def _understood(heard: bytes) -> Mapping[str, Any]:
    try:
        message = json.loads(heard.split(b"\n")[0])
    except ValueError:
        return {"lost": "its keeper was ended from outside", "ago_s": 0.0}
    ago_s = (time.monotonic_ns() - message["at_ns"]) / 1e9 if "at_ns" in message else 0.0
    return {**message, "ago_s": max(ago_s, 0.0)}
