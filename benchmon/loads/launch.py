"""Starts the work itself, as children of the keeper: without waiting for any of them."""

from __future__ import annotations

import contextlib
import json
import os
import signal
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from benchmon.loads.child_python import command_line
from benchmon.loads.tether import die_with_parent

_NOT_STARTED = 127


class Launch(NamedTuple):
    """What was started."""

    pids: tuple[int, ...]
    complaints: int = -1
    """Descriptor from which a command that could not be started says why; -1: nothing does."""

    def problem(self) -> str:
        """Why it could not be started; empty if it was."""
        if self.complaints < 0:
            return ""
        with contextlib.suppress(BlockingIOError):
            return os.read(self.complaints, 4096).decode("utf-8", "replace")
        return ""

    def close(self) -> None:
        """It has ended, and said what it had to say."""
        if self.complaints >= 0:
            os.close(self.complaints)


def start_workers(what: Mapping[str, Any]) -> Launch:
    """One worker for each core; their standard input is nothing, so that the recorder's socket stays the keeper's."""
    keeper_pid = os.getpid()
    pids = []
    for slot, cpu in enumerate(what["cpus"], start=1):
        arguments = (json.dumps(what["task"]), cpu, what["counters"], slot, keeper_pid)
        pids.append(_run(command_line("benchmon.loads.worker", *map(str, arguments)), keeper_pid, -1, own_group=False))
    return Launch(tuple(pids))


def start_command(argv: Sequence[str], cpus: Sequence[int] | None = None) -> Launch:
    """The user's command in a process group of its own; it writes to where the keeper's output goes.

    Args:
        argv: command and arguments.
        cpus: logical processors that it may use; None = all.
    """
    hears, says = os.pipe2(os.O_CLOEXEC | os.O_NONBLOCK)
    pid = _run(argv, os.getpid(), says, own_group=True, cpus=cpus)
    os.close(says)
    return Launch((pid,), hears)


def _run(
    argv: Sequence[str], keeper_pid: int, complaints: int, *, own_group: bool, cpus: Sequence[int] | None = None
) -> int:
    pid = os.fork()
    if pid:
        return pid
    try:  # in the child, which must never come back from here
        if own_group:
            os.setpgid(0, 0)
        if cpus is not None:
            os.sched_setaffinity(0, cpus)
        die_with_parent(keeper_pid)
        for number in (signal.SIGPIPE, signal.SIGXFSZ, signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGTSTP):
            signal.signal(number, signal.SIG_DFL)
        os.dup2(os.open(os.devnull, os.O_RDWR), 0)
        os.execvp(argv[0], list(argv))  # noqa: S606  # no shell is meant
    except BaseException as fault:  # noqa: BLE001  # whatever it is, the keeper hears of it
        why = fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)
        if complaints >= 0:
            os.write(complaints, f"{argv[0]}: {why}".encode("utf-8", "replace")[:4000])
    finally:
        os._exit(_NOT_STARTED)
