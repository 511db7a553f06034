"""Power from a counter of energy: what was added, over the time that really passed.

Source: kernel, ``Documentation/ABI/testing/sysfs-class-powercap`` (``energy_uj``, ``max_energy_range_uj``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from benchmon.sensors.number_file import NumberFile

MOST_POWER_W = 1000.0
"""No processor package of a machine that this program is for takes more (common practice, no source).

It tells a counter that was reset from one that started again at zero by itself: the usual counter holds 262,144 J, so
a reset at a sample period of a second would read as some 200 kW.
"""
FIRST = "power needs two readings"


@dataclass(slots=True)
class EnergyCounter:
    """One counter of energy in microjoules that starts again at zero after ``range_uj``."""

    file: NumberFile
    range_uj: int
    """Greatest value of the counter; 0 = not known: then a backward step gives no power."""
    stopwatch: Callable[[], float]
    """A fine monotonic clock [s]; a virtual machine, whose time stands still during a round, gives a constant one."""
    why: str = FIRST
    _last_uj: int | None = field(default=None, init=False)
    _last_s: float = field(default=0.0, init=False)

    def power_w(self, now_s: float, stopwatch_s: float) -> float | None:
        """Mean power since the last successful reading [W]; None if there is none, and then ``why`` says why.

        Args:
            now_s: session time when the round of this sensor began [s].
            stopwatch_s: what the stopwatch showed then [s].
        """
        before_s = self.stopwatch()
        energy_uj = self.file.read(now_s)
        moment_s = now_s + (before_s + self.stopwatch()) / 2 - stopwatch_s
        last_uj, last_s = self._last_uj, self._last_s
        self._last_uj, self._last_s = energy_uj, moment_s
        if energy_uj is None:
            self.why = self.file.why
            return None
        if last_uj is None:
            self.why = FIRST
            return None
        return self._power_w(energy_uj - last_uj, moment_s - last_s)

    def _power_w(self, step_uj: int, elapsed_s: float) -> float | None:
        if elapsed_s <= 0:
            self.why = "no time has passed"
            return None
        if 0 < self.range_uj < elapsed_s * MOST_POWER_W * 1e6:
            self.why = f"the counter may have gone round more than once in {elapsed_s:.0f} s"
            return None
        if step_uj < 0:
            step_uj += self.range_uj
        power_w = step_uj / elapsed_s / 1e6
        if not 0 <= power_w <= MOST_POWER_W:
            self.why = "counter was reset"
            return None
        self.why = ""
        return power_w
