"""What every load can do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol, runtime_checkable

from benchmon.model.records import LoadChange

if TYPE_CHECKING:
    from benchmon.loads.listening import Heard


class Load(Protocol):
    """Work for the processor. Times are session times [s]; none of the calls blocks for long."""

    words: str
    """What it is, for people: ``widest arithmetic on all 6 cores``, or the command line."""
    busy_cores: int | None
    """Logical processors it means to keep busy; None = not known."""
    duty: float
    """Share of their time that it means them to work, 0 < duty ≤ 1."""

    def start(self, t_s: float) -> LoadChange:
        """Start it.

        Raises:
            LoadError: if it cannot be started.
        """

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Make it end now; ``close`` waits until it has."""

    def poll(self, t_s: float) -> LoadChange | None:
        """What happened to it by itself, once: it ended, could not be started after all, or became other work."""

    def work_count(self) -> int | None:
        """Finished units of work, all workers together; None if it does not count."""

    def work_time_s(self) -> float | None:
        """Processor time that went into those units, all workers together [s]; None if it is not known."""

    def is_over(self) -> bool:
        """Whether nothing of it is left, once ``stop`` was called or ``poll`` told its end; asked again and again."""

    def close(self) -> None:
        """Make sure that nothing of it is left; waits a second or two at most."""


@runtime_checkable
class Speaking(Protocol):
    """A load that prints something worth reading."""

    def heard(self) -> Sequence[Heard]:
        """What it has said since the last call."""
