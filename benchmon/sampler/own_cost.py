"""What the recorder itself takes from the machine under test."""

from __future__ import annotations

import time

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit


class OwnCost:
    """A sensor: processor time of this process since the last sample, as a share of one core [%]."""

    channels: tuple[Channel, ...] = (
        Channel(keys.RECORDER_COST, "the recorder's own cost", Unit.PERCENT, "CLOCK_PROCESS_CPUTIME_ID", None),
    )

    def __init__(self) -> None:
        # Real time, not the session's: on the virtual bench they differ, and the cost is real.
        self._last_s = time.monotonic()
        self._last_used_s = time.process_time()

    def read(self, now_s: float) -> tuple[float | None, ...]:  # noqa: ARG002  # the protocol's
        """The share since the last call [%]; None if no time has passed."""
        real_s, used_s = time.monotonic(), time.process_time()
        elapsed_s, spent_s = real_s - self._last_s, used_s - self._last_used_s
        self._last_s, self._last_used_s = real_s, used_s
        return (None if elapsed_s <= 0 else 100.0 * spent_s / elapsed_s,)

    def why_not(self) -> tuple[str, ...]:
        """It always has a value."""
        return ("",)

    def close(self) -> None:
        """Nothing is held open."""
