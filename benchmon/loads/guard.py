"""The guard: decides when a load must stop. It only judges; the keeper beside the load acts, and so does the recorder.

A reading is believed only if a processor under load can have it. What is not believed counts like no reading at all,
and a load that nobody can watch is stopped. The figures without a source are common practice.
"""

from __future__ import annotations

from typing import NamedTuple

STOP_ABOVE_LIMIT_K = 3.0
"""A machine that holds its own limit stays at it; well above it, its own protection has failed."""
STOP_WITHOUT_LIMIT_C = 100.0
BELOW_CRITICAL_K = 1.0
MOST_BELIEVED_C = 110.0
"""A machine that names a higher limit is not believed, and nobody can have a load stopped later (``--stop-at``):
makers of processors for desktop machines publish limits of 60 to 105 °C."""
COLDEST_C, HOTTEST_C = 0.0, 150.0
"""Under load no processor is this cold or colder, or this hot or hotter, and still at work."""
HOTTER_SIBLING_K = 15.0
"""So much hotter than the chosen one, another sensor of the same chip guards in its place: what was chosen lies, or is
not the processor's hottest spot."""
JUMP_K, COMMAND_FALL_K = 40.0, 50.0
"""No heatsink lets the silicon jump so far at once. Built-in work is steady, so both ways are judged; a command may
pause by itself, so only a fall is, and a greater one."""
_SETTLES_S = 5.0
"""A load that begins makes a jump of its own."""
STANDSTILL_S = 60.0
"""A reading that stays the same to the digit for so long after the load began is no reading."""
_SLOW_PERIOD_S = 1.0
_SHARE_OF_PATIENCE = 0.55
"""The guard decides halfway: the time until the next reading, ending the load and a busy machine have the rest."""

UNGUARDED = "temperature cannot be read here: no over-temperature cut-out"


class Guarding(NamedTuple):
    """What guards one load; a tuple, for what makes dataclasses would cost the keeper memory."""

    file: str = ""
    """File of the processor's temperature; empty: there is none, and nothing guards."""
    beside: tuple[str, ...] = ()
    """Files of the other sensors of the same chip."""
    divisor: float = 1000.0
    """The files' numbers are this many times a degree."""
    stop_c: float = STOP_WITHOUT_LIMIT_C
    limit_c: float | None = None
    patience_s: float = 1.0
    """``patience_s(period)``"""


def patience_s(period_s: float) -> float:
    """How long a temperature may be missing or lie: two periods, at least 1 s, at most 3 s, less a margin [s]."""
    return _SHARE_OF_PATIENCE * min(max(2 * period_s, 1.0), 3.0)


def believed_limit_c(limit_c: float | None) -> float | None:
    """A limit that the machine names [°C]; None where it names none that can be believed."""
    return limit_c if limit_c is not None and COLDEST_C < limit_c <= MOST_BELIEVED_C else None


def default_stop_c(limit_c: float | None, critical_c: float | None) -> float:
    """Where the load is stopped if nobody says otherwise [°C].

    Args:
        limit_c: temperature at which the machine itself starts to limit [°C]; None = not known.
        critical_c: temperature at which the machine switches itself off [°C]; None = not known.
    """
    limit_c, critical_c = believed_limit_c(limit_c), believed_limit_c(critical_c)
    stop_c = STOP_WITHOUT_LIMIT_C if limit_c is None else min(limit_c + STOP_ABOVE_LIMIT_K, MOST_BELIEVED_C)
    return stop_c if critical_c is None else min(stop_c, critical_c - BELOW_CRITICAL_K)


class Guard:
    """Watches the processor's temperature while a load runs.

    Two readings above the limit stop the load; one is enough where readings come more than a second apart, since
    waiting for another would take too long. A temperature that is not read, or not believed, stops it when that has
    lasted as long as the patience.

    Args:
        stop_at_c: the user's own limit [°C]; None = the default that ``judge`` is given.
        patience_s: how long no believable reading is borne [s].
        expects: there is a temperature to be read; without one only what was seen once can be missed.
        is_steady: the load is steady by itself (built-in work), not a command that may pause.
    """

    def __init__(
        self,
        stop_at_c: float | None = None,
        *,
        patience_s: float = _SHARE_OF_PATIENCE,
        expects: bool = False,
        is_steady: bool = True,
    ) -> None:
        self._stop_at_c = stop_at_c
        self._patience_s = patience_s
        self._expects = expects
        self._is_steady = is_steady
        self._hot_count = 0
        self._blind_count = 0
        self._seen: tuple[float, float] | None = None
        """Time [s] and value [°C] of the last reading that was believed."""
        self._before_c = HOTTEST_C
        """The one before: a single reading that is far too high must not make the next one look like a fall."""
        self._last_t_s: float | None = None
        self.load_changed(0.0)
        self.saw_temperature = False

    def load_changed(self, t_s: float) -> None:
        """The load began or became another: what follows is not compared with what was before."""
        self._loaded_s = t_s
        self._stands: tuple[float, float] | None = None
        """Since when [s], and at what [°C], the reading stands still under this load."""
        self._moved = False

    def judge(
        self,
        t_s: float,
        temp_c: float | None,
        *,
        loaded: bool,
        default_c: float,
        beside_c: float | None = None,
        limit_c: float | None = None,
        is_busy: bool = True,
        why: str = "not read",
    ) -> str:
        """Take a reading.

        Args:
            t_s: time on an axis that never goes back [s].
            temp_c: the processor's temperature [°C]; None = not read.
            loaded: whether a load runs.
            default_c: the limit where the user gave none [°C].
            beside_c: the hottest other sensor of the same chip [°C]; None = there is none.
            limit_c: where the machine holds itself [°C]; there a reading may well stand still.
            is_busy: the load really loads the machine.
            why: why it was not read.

        Returns:
            Why the load must stop now; empty if it may go on.
        """
        apart_s = 0.0 if self._last_t_s is None else t_s - self._last_t_s
        self._last_t_s = t_s
        why = why if temp_c is None else self._doubt(t_s, temp_c) if loaded else ""
        if temp_c is None or why:
            return self._blind(t_s, why) if loaded else ""
        self._before_c = temp_c if self._seen is None else self._seen[1]
        self._seen, self._blind_count, self.saw_temperature = (t_s, temp_c), 0, True
        stop_c = default_c if self._stop_at_c is None else self._stop_at_c
        beside = beside_c is not None and beside_c > temp_c + HOTTER_SIBLING_K
        hottest_c = beside_c if beside and beside_c is not None else temp_c
        self._hot_count = self._hot_count + 1 if hottest_c > stop_c else 0
        if not loaded:
            return ""
        if self._hot_count >= 2 or (self._hot_count and apart_s > _SLOW_PERIOD_S):
            what = "another sensor of the processor" if beside else "processor"
            return f"guard: {what} at {hottest_c:.0f} °C, above {stop_c:g} °C"
        return self._standing(t_s, temp_c, limit_c) if is_busy else ""

    def _doubt(self, t_s: float, temp_c: float) -> str:
        """Why a processor under load cannot have this temperature; empty if it can."""
        if not COLDEST_C < temp_c < HOTTEST_C:
            return f"at an impossible {temp_c:g} °C"
        if self._seen is None or t_s - self._seen[0] > self._patience_s + 0.5:
            return ""
        change_k, fall_k = temp_c - self._seen[1], min(self._seen[1], self._before_c) - temp_c
        if fall_k > (JUMP_K if self._is_steady else COMMAND_FALL_K):
            return f"fallen by {fall_k:.0f} K at once"
        if self._is_steady and change_k > JUMP_K and t_s - self._loaded_s > _SETTLES_S:
            return f"risen by {change_k:.0f} K at once"
        return ""

    def _blind(self, t_s: float, why: str) -> str:
        self._blind_count += 1
        if self._seen is None and not self._expects:
            return ""
        since_s = self._loaded_s if self._seen is None else max(self._seen[0], self._loaded_s)
        if self._blind_count < 2 or t_s - since_s < self._patience_s:
            return ""
        return f"guard: processor temperature {why} for {t_s - since_s:.1f} s"

    def _standing(self, t_s: float, temp_c: float, limit_c: float | None) -> str:
        if self._moved:
            return ""
        if self._stands is None:
            self._stands = t_s, temp_c
        since_s, stands_c = self._stands
        if temp_c != stands_c or (limit_c is not None and abs(temp_c - limit_c) <= 1.0):
            self._moved = True
        elif t_s - since_s >= STANDSTILL_S:
            return f"guard: processor temperature stood still at {temp_c:g} °C for {t_s - since_s:.0f} s under load"
        return ""
