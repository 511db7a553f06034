"""How fast the built-in work is done: the one quantity that falls whenever the processor is really held back."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.loads.protocol import Load
from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit


class WorkRate:
    """A sensor: units of work finished per second since the last sample, and the share of time the workers ran in.

    The share tells a slower processor from one that others use too: rate over share falls only with the former.

    Args:
        running: gives the load that runs now, or None.
    """

    channels: tuple[Channel, ...] = (
        Channel(keys.WORK_RATE, "rate of the built-in work", Unit.PER_SECOND, "the workers' counters"),
        Channel(keys.WORK_SHARE, "share of time the built-in work ran", Unit.PERCENT, "the workers' processor time"),
    )

    def __init__(self, running: Callable[[], Load | None]) -> None:
        self._running = running
        self._last: tuple[Load, str] | None = None
        self._last_s = 0.0
        self._last_count = 0
        self._last_time_s: float | None = None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Rate and share; None while no counted work runs, before its first unit, and in the sample that has it."""
        load = self._running()
        count = None if load is None else load.work_count()
        if load is None or not count:  # none yet: the workers are getting ready, which is no rate of 0
            self._last = None
            return None, None
        time_s = load.work_time_s()
        present = (load, load.words)  # a load that became other work is another one
        same, elapsed_s, done = present == self._last, now_s - self._last_s, count - self._last_count
        worked_s = None if time_s is None or self._last_time_s is None else time_s - self._last_time_s
        self._last, self._last_s, self._last_count, self._last_time_s = present, now_s, count, time_s
        if not same or elapsed_s <= 0:
            return None, None
        could_s = elapsed_s * (load.busy_cores or 1) * load.duty
        return done / elapsed_s, None if worked_s is None else 100.0 * worked_s / could_s

    def why_not(self) -> tuple[str, ...]:
        """Nothing is wrong when there is no rate: the load's own records say why."""
        return "", ""

    def close(self) -> None:
        """Nothing is held open."""
