"""Keeps one load and guards it: two small processes between the recorder and the work, each of which watches the other.

The **reader** (the outer one) reads the guarded temperature file, and may be held up by it. The **keeper** (the inner
one, its child, parent of the work) never opens a file while the load runs: it judges what the reader says and how long
it says nothing. It ends the load when the guard says so, when the recorder closes its socket, has died or is silent
(stopped, stuck: a recorder that does not run records nothing), or when the reader is gone. If the keeper is killed or
stopped, the reader ends the load in its place. Both are subreapers, so that nothing that came from the load can slip
away; a third process, ``last_watch``, sweeps if all are killed at once. None needs the recorder, a screen, a terminal
or a disk. Why it is like this: ``docs/decisions/``.
"""

from __future__ import annotations

import contextlib
import json
import mmap
import os
import select
import signal
import socket
import time
from collections.abc import Mapping, Sequence
from typing import Any

from benchmon.loads.guard import Guarding
from benchmon.loads.launch import Launch, start_command, start_workers
from benchmon.loads.reader import READ_EVERY_S, read_on
from benchmon.loads.tether import adopt_orphans, descendants, kill_all, reap, sweep, take_precedence, wear
from benchmon.loads.vigil import Vigil

GRACE_S = 0.5
"""How long a command may take to end by itself once it was asked to; less where haste is needed."""
_GRACE_IN_HASTE_S = 0.15
LIFE_EVERY_S = 0.5
"""The keeper shows the recorder so often that it lives."""
_LONGEST_SWEEP_S = 2.0
_LOOK_AGAIN_S = 0.02
_RECORDER = 0


def main(arguments: Sequence[str]) -> None:
    """``FD``: keep the load that the JSON in this file describes; standard input is the socket to the recorder."""
    with os.fdopen(int(arguments[0]), "rb") as file:
        what = json.loads(os.pread(file.fileno(), 1 << 26, 0))
    wear(*what["trust"])
    adopt_orphans("benchmon-reader")
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGTSTP):
        signal.signal(number, signal.SIG_IGN)  # the recorder's word ends a load, or its death
    take_precedence()
    guarding = Guarding(**what["guarding"])
    ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    keeper_pid = os.fork()
    if keeper_pid == 0:
        ours.close()
        adopt_orphans("benchmon-keeper")
        take_precedence()
        status = 1
        try:
            _Keeper(what, guarding, theirs).run()
            status = 0
        finally:
            os._exit(status)
    theirs.close()
    _shed(what)
    died = read_on(guarding, ours, keeper_pid)
    sweep(_LONGEST_SWEEP_S)
    if died:
        tell({"lost": died})


def _shed(what: Mapping[str, Any]) -> None:
    """The reader needs nothing of the load's."""
    if what.get("counters") is not None:
        os.close(what["counters"])


def tell(message: Mapping[str, object]) -> None:
    """Tell the recorder something; it may be gone, or stopped."""
    with contextlib.suppress(OSError):
        os.set_blocking(_RECORDER, False)
        os.write(_RECORDER, json.dumps(message).encode() + b"\n")


class _Keeper:
    """The inner process."""

    def __init__(self, what: Mapping[str, Any], guarding: Guarding, reader: socket.socket) -> None:
        self._what = what
        self._reader = reader
        self._reader_pid = os.getppid()
        self._is_command = what["kind"] == "command"
        self._told_s = time.monotonic()
        self._vigil = Vigil(
            guarding, is_steady=not self._is_command, silence_s=float(what["silence_s"]), now_s=self._told_s
        )
        self._bell, ring = os.pipe2(os.O_NONBLOCK | os.O_CLOEXEC)
        signal.set_wakeup_fd(ring, warn_on_full_buffer=False)
        signal.signal(signal.SIGCHLD, _wake)
        self._stamp = _stamp_of(what)
        self._launch: Launch | None = None
        self._runs = 0

    def run(self) -> None:
        """Keep the load until something ends it, then see to it that nothing of it is left."""
        message = self._watch()
        if message:
            tell({**message, "at_ns": time.monotonic_ns()})
        self._end_all(_GRACE_IN_HASTE_S if message.keys() & {"guard", "silent", "lost"} else GRACE_S)
        if self._vigil.is_reader_late(time.monotonic()) and os.getppid() == self._reader_pid:
            os.kill(self._reader_pid, signal.SIGKILL)  # held up in a file; nobody needs it any more

    def _watch(self) -> Mapping[str, object]:
        """What ended the load; empty if the recorder did."""
        waiting = select.poll()
        for descriptor in (_RECORDER, self._reader.fileno(), self._bell):
            waiting.register(descriptor, select.POLLIN)
        message: Mapping[str, object] | None = None
        while message is None:
            ready = {descriptor for descriptor, _ in waiting.poll(1250 * READ_EVERY_S)}
            self._show_life()
            if _RECORDER in ready and not self._hears_recorder():
                return {}
            message = self._look(ready, time.monotonic())
        return message

    def _look(self, ready: set[int], now_s: float) -> Mapping[str, object] | None:
        if self._reader.fileno() in ready and (reason := self._take_reading(now_s)):
            return {"guard": reason}
        silent = self._vigil.silence(now_s)
        if silent is None and self._bell in ready:
            with contextlib.suppress(BlockingIOError):
                os.read(self._bell, 64)
            return self._look_at_children()
        return silent

    def _hears_recorder(self) -> bool:
        self._vigil.recorder_spoke(time.monotonic())
        with contextlib.suppress(BlockingIOError):
            return bool(os.read(_RECORDER, 64))
        return True

    def _show_life(self) -> None:
        now_s = time.monotonic()
        if self._stamp is not None:
            self._stamp[0] = time.monotonic_ns()
        if now_s - self._told_s >= LIFE_EVERY_S:
            self._told_s = now_s
            with contextlib.suppress(OSError):
                os.set_blocking(_RECORDER, False)
                os.write(_RECORDER, b"\n")

    def _take_reading(self, now_s: float) -> str:
        try:
            packet = self._reader.recv(4096)
        except OSError:
            packet = b""
        if not packet:
            return "guard: the reader of the temperature was ended from outside"
        with contextlib.suppress(OSError):
            self._reader.send(b".", socket.MSG_DONTWAIT)
        reason = self._vigil.reader_spoke(now_s, json.loads(packet))
        if self._launch is None and not reason:  # nothing runs before the reader does
            self._start()
            self._vigil.load_began(now_s)
        return reason

    def _start(self) -> None:
        if self._is_command:
            self._launch = start_command(self._what["argv"], self._what["cpus"])
            self._runs += 1
        else:
            self._launch = start_workers(self._what)

    def _look_at_children(self) -> Mapping[str, object] | None:
        ended = reap()
        if self._launch is None:
            return None
        for pid, status in ended.items():
            if pid in self._launch.pids:
                problem = self._launch.problem()
                if problem:
                    return {"failed": problem}
                if not self._runs_again(status):
                    return {"exited": status, "which": self._launch.pids.index(pid), "runs": self._runs}
                self._launch.close()
                self._start()
        return None

    def _runs_again(self, status: int) -> bool:
        """A command that ended well is run again as often as was asked for; ``times`` None = without end."""
        times = self._what.get("times", 1)
        return self._is_command and status == 0 and (times is None or self._runs < times)

    def _end_all(self, grace_s: float) -> None:
        """Ask a command and everything that came from it to end, then make it; workers have nothing to save."""
        if self._launch is None or not self._is_command:
            sweep(_LONGEST_SWEEP_S)
            return
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self._launch.pids[0], signal.SIGTERM)
        kill_all(descendants(os.getpid()), {os.getpid()}, signal.SIGCONT)
        gives_up_s = time.monotonic() + grace_s
        while descendants(os.getpid()) and time.monotonic() < gives_up_s:
            time.sleep(_LOOK_AGAIN_S)
            reap()
            self._show_life()
        sweep(_LONGEST_SWEEP_S)


def _wake(_number: int, _frame: object) -> None:
    """A child that ends only has to wake the loop."""


def _stamp_of(what: Mapping[str, Any]) -> memoryview | None:
    """The first number of the workers' memory, where the keeper shows that it lives; None for a command."""
    if what.get("counters") is None:
        return None
    return memoryview(mmap.mmap(what["counters"], 0)).cast("Q")
