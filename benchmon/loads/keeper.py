"""Keeps a user's command, and sees to it that nothing of it is left: a small process between recorder and command.

It holds one end of a socket. When the other end closes, because the recorder stops the load or has died (kill -9
included), it ends the command and every process that came from it. It does so too when the recorder falls silent,
stopped or stuck: a recorder that does not run guards nothing. It tells the recorder how the command ended.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import subprocess
import time
from collections.abc import Sequence
from types import FrameType

from benchmon.loads.tether import adopt_orphans, die_with_parent

GRACE_S = 0.5
"""How long the command may take to end by itself once it was asked to."""
_LOOK_AGAIN_S = 0.02
_MOST_LOOKS = 200
_SOCKET = 0


def main(arguments: Sequence[str]) -> None:
    """``SILENCE_S COMMAND ...``: run the command; standard input is the socket to the recorder."""
    silence_s, command = float(arguments[0]), arguments[1:]
    adopt_orphans()
    bell, ring = os.pipe2(os.O_NONBLOCK | os.O_CLOEXEC)
    signal.set_wakeup_fd(ring, warn_on_full_buffer=False)
    for number in (signal.SIGCHLD, signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, _wake)
    keeper_pid = os.getpid()
    try:
        child = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            process_group=0,
            preexec_fn=lambda: die_with_parent(keeper_pid),  # noqa: PLW1509  # this process has one thread
        )
    except (OSError, subprocess.SubprocessError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        _tell({"failed": f"{command[0]}: {why}"})
        return
    status = _watch(child.pid, bell, silence_s)
    _end_all(child.pid)
    if status is not None:
        _tell({"exited": status})


def _wake(number: int, _frame: FrameType | None) -> None:
    """A signal only has to wake the main loop; one that asks to end closes the case by raising."""
    if number != signal.SIGCHLD:
        raise SystemExit


def _watch(child_pid: int, bell: int, silence_s: float) -> int | None:
    """Wait for the command's end or the recorder's (its end or its silence); the command's status, or None."""
    try:
        while True:
            ready, _, _ = select.select((_SOCKET, bell), (), (), silence_s)
            if bell in ready:
                os.read(bell, 64)
                status = _reap(child_pid)
                if status is not None:
                    return status
            if not ready:
                _tell({"silent": silence_s})
                return None
            if _SOCKET in ready and not os.read(_SOCKET, 64):
                return None
    except SystemExit:
        return None


def _reap(child_pid: int) -> int | None:
    """Collect all children that have ended; the command's status if it is among them."""
    found = None
    with contextlib.suppress(ChildProcessError):
        while True:
            pid, status = os.waitpid(-1, os.WNOHANG)
            if pid == 0:
                break
            if pid == child_pid:
                found = os.waitstatus_to_exitcode(status)
    return found


def _end_all(child_pid: int) -> None:
    """Ask everything that came from the command to end, then make it."""
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(child_pid, signal.SIGTERM)
    gives_up_s = time.monotonic() + GRACE_S
    for _ in range(_MOST_LOOKS):
        _reap(child_pid)
        left = descendants(os.getpid())
        if not left:
            return
        if time.monotonic() >= gives_up_s:
            for pid in left:
                with contextlib.suppress(ProcessLookupError, PermissionError):
                    os.kill(pid, signal.SIGKILL)
        time.sleep(_LOOK_AGAIN_S)


def descendants(ancestor: int) -> list[int]:
    """All processes that came from one, as /proc shows them now."""
    parents = {}
    for name in os.listdir("/proc"):  # noqa: PTH208  # names only: this may have to be quick
        if name.isdigit():
            with contextlib.suppress(OSError, ValueError, IndexError), open(f"/proc/{name}/stat", "rb") as file:  # noqa: PTH123
                # The second field is the name, in parentheses, and may itself hold parentheses and spaces.
                parents[int(name)] = int(file.read().rpartition(b")")[2].split()[1])
    found = [ancestor]
    for pid in found:  # grows while it is walked
        found += [child for child, parent in parents.items() if parent == pid]
    return found[1:]


def _tell(message: dict[str, object]) -> None:
    """Say how it ended; the recorder may be gone."""
    with contextlib.suppress(OSError):
        os.write(_SOCKET, json.dumps(message).encode() + b"\n")
