"""Ties between processes that hold even when one is killed outright (Linux: prctl(2), pidfd_open(2)).

Whoever is a *subreaper* becomes the parent of all its descendants whose own parents have ended, double forks included.
So ``sweep`` finds everything that came from a process, wherever it has run to, and ends it.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import resource
import signal
import time
from collections.abc import Callable, Container, Iterator

_PR_SET_PDEATHSIG = 1
_PR_SET_NAME = 15
_PR_SET_CHILD_SUBREAPER = 36
_LOOK_AGAIN_S = 0.02

_libc = ctypes.CDLL(None)
_adopting = False


def die_with_parent(parent_pid: int) -> None:
    """Have the kernel kill this process when its parent dies; end at once if it is dead already."""
    _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent_pid:
        os._exit(1)


def adopt_orphans(name: str = "") -> None:
    """Become the parent of all descendants whose own parents end, so that none can slip away.

    Args:
        name: how lists of processes show this one from now on; at most 15 letters.
    """
    global _adopting  # noqa: PLW0603  # a property of the process, not of an object
    _libc.prctl(_PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)
    _adopting = True
    if name:
        name_process(name)


@contextlib.contextmanager
def letting_go() -> Iterator[None]:
    """Let orphans go to whoever adopts them above us, for a moment."""
    _libc.prctl(_PR_SET_CHILD_SUBREAPER, 0, 0, 0, 0)
    try:
        yield
    finally:
        _libc.prctl(_PR_SET_CHILD_SUBREAPER, int(_adopting), 0, 0, 0)


def name_process(name: str) -> None:
    """How lists of processes show this one from now on; at most 15 letters."""
    _libc.prctl(_PR_SET_NAME, ctypes.c_char_p(name.encode()), 0, 0, 0)


def wear(brand: int, holds: int) -> None:
    """Take on a brand of the last watcher's, for this process and all that will come from it.

    Args:
        brand: the number; 0: there is no watcher.
        holds: descriptor that tells the watcher of our end; nothing that we start gets it.
    """
    if brand:
        os.set_inheritable(holds, False)
        resource.setrlimit(resource.RLIMIT_RSS, (brand, resource.getrlimit(resource.RLIMIT_RSS)[1]))


def is_adopting() -> bool:
    """Whether this process has become a subreaper."""
    return _adopting


def take_precedence() -> str:
    """Ask to run before everything of ordinary priority; returns, in words, what was granted.

    Real-time priority 1 keeps samples within 0.2 ms of their deadlines while all cores are loaded; children do not
    inherit it.
    """
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO | os.SCHED_RESET_ON_FORK, os.sched_param(1))
    except OSError:
        return "ordinary"
    return "real-time"


def give_way() -> None:
    """Back to ordinary priority, once nothing has to be on time any more."""
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))


def descendants(ancestor: int, spared: Container[int] = ()) -> list[int]:
    """All processes that came from one, as /proc shows them now; zombies and the spared with their own left out."""
    parents = {}
    for name in os.listdir("/proc"):  # noqa: PTH208  # names only: this may have to be quick
        if name.isdigit() and (parent := parent_of(int(name))) is not None:
            parents[int(name)] = parent
    found = [ancestor]
    for pid in found:  # grows while it is walked
        found += [child for child, parent in parents.items() if parent == pid and child not in spared]
    return found[1:]


def parent_of(pid: int) -> int | None:
    """The process's parent; None if it has ended."""
    try:
        with open(f"/proc/{pid}/stat", "rb") as file:  # noqa: PTH123
            # The second field is the name, in parentheses, and may itself hold parentheses and spaces.
            state, parent = file.read().rpartition(b")")[2].split()[:2]
    except (OSError, ValueError):
        return None
    return None if state in (b"Z", b"X") else int(parent)


def kill_all(pids: list[int], parents: Container[int], number: int = signal.SIGKILL) -> None:
    """Send a signal to each process that still has one of these parents; never to another that got its number."""
    kill_chosen(pids, lambda pid: parent_of(pid) in parents, number)


def kill_chosen(pids: list[int], is_meant: Callable[[int], bool], number: int = signal.SIGKILL) -> None:
    """Send a signal to each process that is still meant; never to another that got its number."""
    for pid in pids:
        try:
            descriptor = os.pidfd_open(pid)
        except OSError:
            continue
        try:
            if is_meant(pid):  # asked only now: the descriptor holds on to this very process
                with contextlib.suppress(OSError):
                    signal.pidfd_send_signal(descriptor, number)
        finally:
            os.close(descriptor)


def reap() -> dict[int, int]:
    """Collect all children that have ended: number → exit status as ``os.waitstatus_to_exitcode`` has it."""
    ended = {}
    with contextlib.suppress(ChildProcessError):
        while (found := os.waitpid(-1, os.WNOHANG))[0]:
            ended[found[0]] = os.waitstatus_to_exitcode(found[1])
    return ended


def sweep(longest_s: float, spared: Container[int] = ()) -> bool:
    """Kill everything that came from this process; True once nothing is left.

    Args:
        longest_s: gives up after this time [s]: what is stuck inside the kernel nobody can end.
        spared: children that are left alone with all that came from them.
    """
    gives_up_s = time.monotonic() + longest_s
    me = os.getpid()
    while left := descendants(me, spared):
        kill_all(left, {me, *left})
        if time.monotonic() >= gives_up_s:
            return False
        time.sleep(_LOOK_AGAIN_S)
        for pid in left:  # one by one: the spared are somebody else's to collect
            with contextlib.suppress(ChildProcessError):
                os.waitpid(pid, os.WNOHANG)
    return True
