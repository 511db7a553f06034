"""A sensor that gives what a test says."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from benchmon.model.channel import Channel
from benchmon.model.units import Unit


class ScriptedSensor:
    """Implements ``sensors.protocol.Sensor``; one channel, one value for each reading.

    Args:
        script: values in order; None = not read; an exception is raised. The last one stays.
        on_read: called at each reading, for example to let time pass.
    """

    def __init__(
        self,
        script: Iterable[float | None | Exception],
        key: str = "processor_temp_c",
        unit: Unit = Unit.CELSIUS,
        reason: str = "device gone",
        on_read: Callable[[], None] | None = None,
    ) -> None:
        self.channels = (Channel(key, key.replace("_", " "), unit, "a script"),)
        self._script = list(script)
        self._reason = reason
        self._on_read = on_read
        self.times_s: list[float] = []
        self.closed = False

    def read(self, now_s: float) -> tuple[float | None, ...]:
        self.times_s.append(now_s)
        if self._on_read is not None:
            self._on_read()
        value = self._script.pop(0) if len(self._script) > 1 else self._script[0]
        if isinstance(value, Exception):
            raise value
        self._last = value
        return (value,)

    def why_not(self) -> tuple[str, ...]:
        return ("" if self._last is not None else self._reason,)

    def close(self) -> None:
        self.closed = True
