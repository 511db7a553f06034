"""Readings through psutil, on systems other than Linux, where the kernel's files are not there.

psutil is imported here only, and only when it is needed: on Linux the recorder does without it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.key_maker import KeyMaker
from benchmon.sensors.protocol import Sensor
from benchmon.sensors.temperature import LEAST_C, MOST_C

_GIVES_NOTHING = "the system gives no value"


class PortableReadings:
    """Channels from one question to psutil.

    Args:
        channels: what ``ask`` answers, in order.
        ask: gives the values; may raise, may give fewer.
    """

    def __init__(self, channels: Sequence[Channel], ask: Callable[[], Sequence[float | None]]) -> None:
        self.channels: tuple[Channel, ...] = tuple(channels)
        self._ask = ask
        self._values: tuple[float | None, ...] = (None,) * len(self.channels)
        self._fault = ""

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The values now."""
        del now_s
        count = len(self.channels)
        try:
            values = tuple(self._ask())[:count]
            self._fault = ""
        except Exception as fault:  # noqa: BLE001  # psutil raises what the system raises, and reading must not
            values = ()
            self._fault = f"{type(fault).__name__}: {fault}"
        self._values = values + (None,) * (count - len(values))
        return self._values

    def why_not(self) -> tuple[str, ...]:
        """Why there is no value."""
        return tuple("" if value is not None else self._fault or _GIVES_NOTHING for value in self._values)

    def close(self) -> None:
        """Nothing is held."""


def portable_clock(loads: Callable[[], Mapping[int, float | None]]) -> PortableReadings | None:
    """Clocks by ``psutil.cpu_freq``; None if the system does not tell them."""
    import psutil  # type: ignore[import-untyped]  # noqa: PLC0415

    from benchmon.sensors.cpu_clock import weighted_clock  # noqa: PLC0415

    def cores_mhz() -> list[float | None]:
        """Each core's clock [MHz]; psutil says 0 where it does not know."""
        return [core.current or None for core in psutil.cpu_freq(percpu=True)]

    def ask() -> list[float | None]:
        clocks = cores_mhz()
        load = loads()
        return [weighted_clock(clocks, [load.get(cpu) for cpu in range(len(clocks))]), *clocks]

    try:
        count = len(cores_mhz()) if any(cores_mhz()) else 0
    except (OSError, AttributeError, NotImplementedError, TypeError):
        count = 0
    if count == 0:
        return None
    source = "psutil.cpu_freq"
    channels = [
        Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, source),
        *(Channel(keys.core_clock_key(cpu), f"clock of core {cpu}", Unit.MEGAHERTZ, source) for cpu in range(count)),
    ]
    return PortableReadings(channels, ask)


def portable_load() -> PortableReadings:
    """Load of all cores since the last reading by ``psutil.cpu_percent``."""
    import psutil  # noqa: PLC0415

    psutil.cpu_percent()  # its first answer means nothing
    return PortableReadings(
        [Channel(keys.LOAD, "load", Unit.PERCENT, "psutil.cpu_percent")], lambda: [psutil.cpu_percent()]
    )


def portable_sensors(key_maker: KeyMaker) -> list[Sensor]:
    """Temperatures and fans, where psutil can ask the system for them."""
    import psutil  # noqa: PLC0415

    sensors: list[Sensor] = []
    for name, unit in (("sensors_temperatures", Unit.CELSIUS), ("sensors_fans", Unit.RPM)):
        question = getattr(psutil, name, None)
        entries = _flat(question) if question is not None else []
        if question is not None and entries:
            channels = [key_maker.channel(words, words, unit, f"psutil.{name}") for words, _ in entries]
            sensors.append(PortableReadings(channels, lambda ask=question: [value for _, value in _flat(ask)]))  # type: ignore[misc]
    return sensors


def _flat(question: Callable[[], Mapping[str, Sequence[object]]]) -> list[tuple[str, float | None]]:
    """(chip and label, value) of everything psutil answers; impossible temperatures and speeds are None."""
    rows: list[tuple[str, float | None]] = []
    for chip, entries in question().items():
        for at, entry in enumerate(entries, 1):
            value = getattr(entry, "current", None)
            possible = isinstance(value, int | float) and (not hasattr(entry, "high") or LEAST_C < value < MOST_C)
            label = getattr(entry, "label", "") or str(at)
            rows.append((f"{chip} {label}", float(value) if possible and value is not None else None))
    return rows
