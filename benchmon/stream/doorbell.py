"""Where the recorder waits for its next deadline: whatever comes first is served meanwhile."""

from __future__ import annotations

import select
import socket
from collections.abc import Callable

from benchmon.stream.control import ControlServer


class Doorbell:
    """Waits for the deadline and serves whatever comes first: requests, signals, the output of children."""

    def __init__(self) -> None:
        self._servers: list[ControlServer] = []
        self._bells: dict[int, Callable[[], None]] = {}
        self._rung = False

    def add_server(self, server: ControlServer) -> None:
        """Serve requests while waiting."""
        self._servers.append(server)

    def add(self, descriptor: int, on_ready: Callable[[], None]) -> None:
        """Call ``on_ready`` when there is something to read."""
        self._bells[descriptor] = on_ready

    def remove(self, descriptor: int) -> None:
        """No longer wait for it."""
        self._bells.pop(descriptor, None)

    def wake(self) -> None:
        """End the current wait: something has to be looked at before the deadline."""
        self._rung = True

    def wait(self, seconds: float) -> bool:
        """Wait at most so long [s]; True if the sleep must end early."""
        watched: list[socket.socket | int] = list(self._bells)
        for server in self._servers:
            watched += server.watched()
        # select() and not poll(): its timeout is not rounded up to whole milliseconds.
        ready, _, _ = select.select(watched, (), (), max(seconds, 0.0))
        for one in ready:
            if isinstance(one, int):
                self._bells.get(one, _ignore)()
            else:
                for server in self._servers:
                    server.serve(one)
        rung, self._rung = self._rung, False
        return rung


def _ignore() -> None:
    """A bell that was removed while others rang."""
