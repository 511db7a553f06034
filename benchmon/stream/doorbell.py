"""Where the recorder waits for its next deadline: whatever comes first is served meanwhile."""

from __future__ import annotations

import select
import socket
from collections.abc import Callable, Sequence

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
        for one in _ready(watched, max(seconds, 0.0)):
            if isinstance(one, int):
                self._bells.get(one, _ignore)()
            else:
                for server in self._servers:
                    server.serve(one)
        rung, self._rung = self._rung, False
        return rung


def _ready(watched: Sequence[socket.socket | int], seconds: float) -> Sequence[socket.socket | int]:
    """Those of which there is something to read, at the latest after so many seconds."""
    try:
        return select.select(watched, (), (), seconds)[0]  # poll() rounds its timeout up to whole milliseconds
    except ValueError:  # where a thousand sensors are open, numbers are too great for select()
        numbers = {one if isinstance(one, int) else one.fileno(): one for one in watched}
        waiting = select.poll()
        for number in numbers:
            waiting.register(number, select.POLLIN)
        return [numbers[number] for number, _ in waiting.poll(1000.0 * seconds)]


def _ignore() -> None:
    """A bell that was removed while others rang."""
