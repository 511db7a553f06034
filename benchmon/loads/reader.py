"""The outer of the two processes beside a load: reads the guarded temperature, and may be held up by it."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import select
import signal
import socket
import time
from collections.abc import Mapping

from benchmon.loads.guard import Guarding

READ_EVERY_S = 0.2
_MOST_BYTES = 64
_MOST_UNANSWERED = 6
"""So many readings the keeper may leave without an answer before it is taken for stopped."""
_MOST_BESIDE = 64
_BUSY_EVERY_S = 5.0
_BUSY_CORES = 0.5
"""A command that keeps less than half a core busy is not taken for a load that must warm the processor."""
_GONE = {errno.ENODEV, errno.ENOENT, errno.ENXIO, errno.ESTALE, errno.ENOTDIR}


def read_on(guarding: Guarding, keeper: socket.socket, keeper_pid: int) -> str:
    """Read and tell the keeper, again and again until it ends.

    Args:
        guarding: the files.
        keeper: where the keeper listens; it answers every reading.
        keeper_pid: its process.

    Returns:
        What befell the keeper; empty if it ended in good order.
    """
    busy = _Busy()
    unanswered = 0
    due_s = time.monotonic()
    waiting = select.poll()
    waiting.register(keeper.fileno(), select.POLLIN)
    while True:
        packet = json.dumps({**reading_of(guarding), "is_busy": busy.look()}).encode()
        with contextlib.suppress(OSError):  # a keeper that is stopped takes no more; one that is gone shows below
            keeper.send(packet, socket.MSG_DONTWAIT)
        unanswered += 1
        due_s = max(due_s + READ_EVERY_S, time.monotonic())
        while (left_s := due_s - time.monotonic()) > 0 or unanswered:
            if not waiting.poll(max(0.0, 1000 * left_s)):
                break
            try:
                answer = keeper.recv(16)
            except OSError:
                answer = b""
            if not answer:
                return _end_of(keeper_pid)
            unanswered = max(0, unanswered - len(answer))
        if unanswered >= _MOST_UNANSWERED:
            with contextlib.suppress(ProcessLookupError):
                os.kill(keeper_pid, signal.SIGKILL)
            _end_of(keeper_pid)
            return "its keeper did not run any more"


def _end_of(keeper_pid: int) -> str:
    try:
        status = os.waitstatus_to_exitcode(os.waitpid(keeper_pid, 0)[1])
    except ChildProcessError:
        return "its keeper was ended from outside"
    return "" if status == 0 else "its keeper was ended from outside"


def reading_of(guarding: Guarding) -> Mapping[str, object]:
    """One look at the files: ``temp_c`` or ``why`` there is none, and ``beside_c`` if the chip has other sensors."""
    if not guarding.file:
        return {}
    number, why = number_in(guarding.file)
    if number is None:
        return {"why": why}
    beside = [found for path in guarding.beside[:_MOST_BESIDE] if (found := number_in(path)[0]) is not None]
    possible_c = [found / guarding.divisor for found in beside if 0 < found / guarding.divisor < 150]
    return {"temp_c": number / guarding.divisor, "beside_c": max(possible_c, default=None)}


def number_in(path: str) -> tuple[int | None, str]:
    """The whole number in a file, or why there is none; opened anew each time, for files come and go."""
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC | os.O_NOCTTY)
        try:
            text = os.read(descriptor, _MOST_BYTES)
        finally:
            os.close(descriptor)
    except OSError as fault:
        return None, "not read: device gone," if fault.errno in _GONE else f"not read: {_in_words(fault)},"
    digits = text.strip()
    if not digits.removeprefix(b"-").isdigit():
        return None, "not read: no number in its file,"
    return int(digits), ""


def _in_words(fault: OSError) -> str:
    return (fault.strerror or "unknown fault").lower()


class _Busy:
    """Whether the machine as a whole does any work worth mentioning since the load began."""

    def __init__(self) -> None:
        self._first = self._now()
        self._due_s = time.monotonic() + _BUSY_EVERY_S
        self._is_busy = False

    def look(self) -> bool:
        """The latest answer; looked at every few seconds."""
        if time.monotonic() >= self._due_s:
            self._due_s = time.monotonic() + _BUSY_EVERY_S
            (first_s, first_at_s), (now_s, at_s) = self._first, self._now()
            self._is_busy = at_s > first_at_s and (now_s - first_s) / (at_s - first_at_s) > _BUSY_CORES
        return self._is_busy

    def _now(self) -> tuple[float, float]:
        """Processor time that all cores together were not idle [s], and the moment [s]."""
        with contextlib.suppress(OSError, ValueError), open("/proc/stat", "rb") as file:  # noqa: PTH123
            ticks = [int(word) for word in file.readline().split()[1:9]]
            return (sum(ticks) - ticks[3] - ticks[4]) / os.sysconf("SC_CLK_TCK"), time.monotonic()
        return 0.0, 0.0
