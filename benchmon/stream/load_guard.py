"""What the recorder knows of guarding: which files guard a load, where it is stopped, and its own view of the samples.

The keeper beside the load is the guard that counts. The recorder judges its samples by the same rules besides: that is
all there is where the temperature is no file (the virtual bench, systems other than Linux), and a second witness else.
"""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.loads.guard import UNGUARDED, Guard, Guarding, believed_limit_c, default_stop_c, patience_s
from benchmon.model import keys
from benchmon.sensors.protocol import Guarded
from benchmon.sensors.settings import SettingValue

LONGEST_UNGUARDED_S = 1.0
"""Where no keeper guards, the recorder looks at the temperature at least so often, however long its period."""


class LoadGuard:
    """Joins the guard to the machine's settings.

    Args:
        stop_at_c: the user's own limit [°C]; None = from what the machine says of itself.
        period_s: time between samples [s].
        guarded: where the temperature can be read; None = only in the samples.
    """

    def __init__(self, stop_at_c: float | None, period_s: float, guarded: Guarded | None) -> None:
        self._stop_at_c = stop_at_c
        self._guarded = guarded
        self._patience_s = patience_s(period_s)
        self._guard = Guard(stop_at_c, patience_s=self._patience_s, is_steady=False)
        self._judged_s = 0.0

    def due_s(self) -> float | None:
        """When the recorder must look between its samples [s]; None = a keeper does."""
        return None if self._guarded is not None else self._judged_s + LONGEST_UNGUARDED_S

    def warning(self) -> str:
        """What to say of a load that nothing guards; empty if something does."""
        return "" if self._guarded is not None or self._guard.saw_temperature else UNGUARDED

    def guarding(self, settings: Mapping[str, SettingValue]) -> Guarding:
        """What the keeper of a load that starts now must know."""
        limit_c, critical_c = _limits_c(settings)
        stop_c = default_stop_c(limit_c, critical_c) if self._stop_at_c is None else self._stop_at_c
        where = self._guarded
        if where is None:
            return Guarding(stop_c=stop_c, patience_s=self._patience_s)
        return Guarding(
            where.file, where.beside, where.divisor, stop_c, believed_limit_c(limit_c), patience_s=self._patience_s
        )

    def load_changed(self, t_s: float) -> None:
        """A load starts now."""
        self._guard.load_changed(t_s)

    def judge(self, t_s: float, temp_c: float | None, settings: Mapping[str, SettingValue], *, loaded: bool) -> str:
        """Why the load must stop now, going by a sample; empty if it may go on."""
        self._judged_s = t_s
        limit_c, critical_c = _limits_c(settings)
        return self._guard.judge(
            t_s, temp_c, loaded=loaded, default_c=default_stop_c(limit_c, critical_c), limit_c=believed_limit_c(limit_c)
        )


def _limits_c(settings: Mapping[str, SettingValue]) -> tuple[float | None, float | None]:
    values = [settings[key].value if key in settings else None for key in (keys.TEMP_LIMIT, keys.TEMP_CRITICAL)]
    limit_c, critical_c = (value if isinstance(value, int | float) else None for value in values)
    return limit_c, critical_c
