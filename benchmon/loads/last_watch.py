"""The last watcher: a process outside the recorder's family that ends what is left when all others were killed at once.

Whatever the recorder entrusts to it carries a **brand**: an odd number as its soft limit of resident memory
(setrlimit(2), ``RLIMIT_RSS``, on which no Linux since 2.4.30 acts). The kernel hands limits on to every child, and no
double fork, new session, emptied environment or closed file takes the brand off. The holders of a brand also hold one
end of a pipe; when the last of them has gone, in whatever way, the other end tells the watcher, which kills everything
with that brand. The recorder's own end means all brands. It needs no file, no group and no privilege, and no time while
nothing ends.
"""

from __future__ import annotations

import contextlib
import os
import resource
import select
import signal
import socket
import subprocess
import threading
import time
from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

from benchmon.loads.child_python import command_line
from benchmon.loads.strays import own_children
from benchmon.loads.tether import is_adopting, kill_chosen, letting_go, name_process, parent_of

_LONGEST_END_S = 2.0
_LONGEST_START_S = 2.0
_LOOK_AGAIN_S = 0.02
_CLEAN_LOOKS = 2
"""So often nothing may be found, before nothing is left: a process can be born while one looks."""
_LEAST_BRAND, _MOST_BRAND = 1 << 40, 1 << 61
_MOST_BYTES = 64


class Trust(NamedTuple):
    """What a process must be given so that the last watcher looks after it."""

    brand: int = 0
    """The number to wear (``tether.wear``); 0: there is no watcher."""
    holds: int = -1
    """Descriptor that it and its partners keep open as long as they live, and nothing that they start."""


class _Recorder:
    """The recorder's end: starts the watcher when there is first something to watch, and anew if it was killed."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._socket: socket.socket | None = None

    def hand_over(self) -> Trust:
        """Have a new brand watched; an empty trust if that cannot be."""
        brand = _new_brand()
        if not brand or not is_adopting():  # who does not adopt orphans ends nothing of what ran away either
            return Trust()
        hears, holds = os.pipe2(os.O_CLOEXEC)
        try:
            with self._lock:
                if self._send(brand, hears) or (self._start() and self._send(brand, hears)):
                    return Trust(brand, holds)
        finally:
            os.close(hears)
        os.close(holds)
        return Trust()

    def make_ready(self) -> None:
        """Start the watcher now."""
        with self._lock:
            if self._socket is None and is_adopting():
                self._start()

    def _send(self, brand: int, hears: int) -> bool:
        if self._socket is None:
            return False
        try:
            socket.send_fds(self._socket, [str(brand).encode()], [hears], socket.MSG_DONTWAIT)
        except OSError:
            self._socket.close()
            self._socket = None
        return self._socket is not None

    def _start(self) -> bool:
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        try:
            with letting_go():  # its parent ends at once, and it must not come back to us
                start = subprocess.Popen(
                    command_line("benchmon.loads.last_watch"),
                    stdin=theirs.fileno(),
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    start_new_session=True,
                )
                own_children.add(start.pid)
                try:
                    has_started = start.wait(_LONGEST_START_S) == 0
                except subprocess.TimeoutExpired:
                    start.kill()
                    has_started = start.wait() == 0
                own_children.discard(start.pid)
        except OSError:
            has_started = False
        finally:
            theirs.close()
        if has_started:
            self._socket = ours
        else:
            ours.close()
        return has_started


_recorder = _Recorder()


def make_ready() -> None:
    """Start the watcher before anything has to be on time: its start takes some 20 ms."""
    _recorder.make_ready()


@contextlib.contextmanager
def entrusted() -> Iterator[Trust]:
    """A trust for what is started inside; afterwards only what was started holds it."""
    trust = _recorder.hand_over()
    try:
        yield trust
    finally:
        if trust.holds >= 0:
            os.close(trust.holds)


def _new_brand() -> int:
    """A number that no other process has; 0 if a limit that an administrator has set leaves no room for one."""
    most = resource.getrlimit(resource.RLIMIT_RSS)[1]
    most = _MOST_BRAND if most == resource.RLIM_INFINITY else min(most, _MOST_BRAND)
    if most < 2 * _LEAST_BRAND:
        return 0
    return _LEAST_BRAND + int.from_bytes(os.urandom(8)) % (most - _LEAST_BRAND)


def main(_arguments: Sequence[str]) -> None:
    """Leave the family, then watch; standard input is the socket to the recorder."""
    recorder = socket.socket(fileno=0)
    if os.fork():
        os._exit(0)
    os.setsid()
    name_process("benchmon-last")
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGTSTP):
        signal.signal(number, signal.SIG_IGN)  # the recorder's end is ours
    _watch(recorder)


def _watch(recorder: socket.socket) -> None:
    brands: dict[int, int] = {}
    waiting = select.poll()
    waiting.register(recorder.fileno(), select.POLLIN)
    while True:
        for descriptor, _ in waiting.poll():
            if descriptor != recorder.fileno():
                waiting.unregister(descriptor)
                os.close(descriptor)
                end_branded({brands.pop(descriptor)})
                continue
            try:
                text, passed, _, _ = socket.recv_fds(recorder, _MOST_BYTES, 1)
            except OSError:
                text, passed = b"", []
            if not text:
                end_branded(set(brands.values()))
                return
            brands[passed[0]] = int(text)
            waiting.register(passed[0], 0)  # only for its other end being closed


def end_branded(brands: Collection[int]) -> bool:
    """Kill every process with one of these brands; True once none is left."""
    gives_up_s = time.monotonic() + _LONGEST_END_S
    clean_looks = 0
    while clean_looks < _CLEAN_LOOKS:
        if time.monotonic() > gives_up_s:
            return False
        if clean_looks:
            time.sleep(_LOOK_AGAIN_S)
        found = [int(name) for name in os.listdir("/proc") if name.isdigit() and _wears(int(name), brands)]  # noqa: PTH208
        kill_chosen(found, lambda pid: _wears(pid, brands))
        clean_looks = 0 if found else clean_looks + 1
    return True


def _wears(pid: int, brands: Collection[int]) -> bool:
    try:
        return resource.prlimit(pid, resource.RLIMIT_RSS)[0] in brands and parent_of(pid) is not None
    except OSError:
        return False
