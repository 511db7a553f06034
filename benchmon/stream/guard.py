"""The guard: decides when the load must stop. It only judges; the recorder acts."""

from __future__ import annotations

STOP_ABOVE_LIMIT_K = 3.0
"""A machine that holds its own limit stays at it; well above it, its own protection has failed."""
STOP_WITHOUT_LIMIT_C = 100.0
BELOW_CRITICAL_K = 1.0
BLIND_FOR_S = 5.0
_SLOW_PERIOD_S = 1.0

UNGUARDED = "temperature cannot be read here; the guard cannot protect"


def default_stop_c(limit_c: float | None, critical_c: float | None) -> float:
    """Where the load is stopped if nobody says otherwise [°C].

    Args:
        limit_c: temperature at which the machine itself starts to limit [°C]; None = not known.
        critical_c: temperature at which the machine switches itself off [°C]; None = not known.
    """
    stop_c = STOP_WITHOUT_LIMIT_C if limit_c is None else limit_c + STOP_ABOVE_LIMIT_K
    return stop_c if critical_c is None else min(stop_c, critical_c - BELOW_CRITICAL_K)


class Guard:
    """Watches the processor's temperature while a load runs.

    Two readings above the limit stop the load; one is enough where readings come more than a second apart, since
    waiting for another would take too long. A temperature that was readable and no longer is stops it as well.
    """

    def __init__(self, stop_at_c: float | None = None) -> None:
        self._stop_at_c = stop_at_c
        self._hot_count = 0
        self._blind_count = 0
        self._seen_s: float | None = None
        self._last_t_s: float | None = None
        self.saw_temperature = False

    def judge(self, t_s: float, temp_c: float | None, *, loaded: bool, default_c: float) -> str:
        """Take a reading.

        Args:
            t_s: session time [s].
            temp_c: the processor's temperature [°C]; None = not read.
            loaded: whether a load runs.
            default_c: the limit where the user gave none [°C].

        Returns:
            Why the load must stop now; empty if it may go on.
        """
        apart_s = 0.0 if self._last_t_s is None else t_s - self._last_t_s
        self._last_t_s = t_s
        if temp_c is None:
            return self._blind(t_s) if loaded else ""
        self._seen_s, self._blind_count, self.saw_temperature = t_s, 0, True
        stop_c = default_c if self._stop_at_c is None else self._stop_at_c
        self._hot_count = self._hot_count + 1 if temp_c > stop_c else 0
        if loaded and (self._hot_count >= 2 or (self._hot_count and apart_s > _SLOW_PERIOD_S)):
            return f"guard: processor at {temp_c:.0f} °C, above {stop_c:g} °C"
        return ""

    def _blind(self, t_s: float) -> str:
        self._blind_count += 1
        if self._seen_s is None or self._blind_count < 2 or t_s - self._seen_s <= BLIND_FOR_S:
            return ""
        return f"guard: processor temperature not read for {t_s - self._seen_s:.0f} s"
