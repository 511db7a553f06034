"""Ties between processes that hold even when one is killed outright (Linux, prctl(2))."""

from __future__ import annotations

import ctypes
import os
import signal

_PR_SET_PDEATHSIG = 1
_PR_SET_CHILD_SUBREAPER = 36

_libc = ctypes.CDLL(None)


def die_with_parent(parent_pid: int) -> None:
    """Have the kernel kill this process when its parent dies; end at once if it is dead already."""
    _libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent_pid:
        os._exit(1)


def adopt_orphans() -> None:
    """Become the parent of all descendants whose own parents end, so that none can slip away."""
    _libc.prctl(_PR_SET_CHILD_SUBREAPER, 1, 0, 0, 0)
