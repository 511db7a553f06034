"""How fast the built-in work is done: the one quantity that falls whenever the processor is really held back."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.loads.protocol import Load
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit


class WorkRate:
    """A sensor: finished units of work per second since the last sample.

    Args:
        running: gives the load that runs now, or None.
    """

    channels: tuple[Channel, ...] = (
        Channel(keys.WORK_RATE, "rate of the built-in work", Unit.PER_SECOND, "the workers' counters"),
    )

    def __init__(self, running: Callable[[], Load | None]) -> None:
        self._running = running
        self._load: Load | None = None
        self._last_s = 0.0
        self._last_count = 0

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The rate; None while no counted work runs, and in the first sample of a load."""
        load = self._running()
        count = None if load is None else load.work_count()
        if count is None:
            self._load = None
            return (None,)
        same, elapsed_s, done = load is self._load, now_s - self._last_s, count - self._last_count
        self._load, self._last_s, self._last_count = load, now_s, count
        return (done / elapsed_s if same and elapsed_s > 0 else None,)

    def why_not(self) -> tuple[str, ...]:
        """Nothing is wrong when there is no rate: the load's own records say why."""
        return ("",)

    def close(self) -> None:
        """Nothing is held open."""
