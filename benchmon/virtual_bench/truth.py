"""What really happened, from the firmware model itself: the stretches during which the processor was limited.

The rule on what counts as one event:

* Limited means: a limit holds the effective clock (clock × share of time it is let through) more than 3 % below what
  the load would get with nothing in the way, while there is load. The limit that holds it lowest is the cause. A lower
  bin for more busy cores, for wide code or by the governor is no limit.
* Recoveries shorter than 20 s under load belong to the event: the teeth of a saw are one event.
* A pause of the load of more than 5 s ends the event: nothing is asked for, so nothing is held back.
* Another cause that holds for less than 3 s within an event does not divide it.
* What was limited for less than 1 s in all is no event.
"""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.events import Cause
from benchmon.virtual_bench.firmware import Moment

LIMITED_BELOW = 0.97
RECOVERY_S = 20.0
PAUSE_S = 5.0
LEAST_S = 1.0
SHORT_OTHER_S = 3.0
SETTLING_S = 5.0
"""The plateau is taken from what follows the first seconds, if there is more."""


@dataclass(frozen=True, slots=True)
class TruthInterval:
    """One true event."""

    start_s: float
    end_s: float | None
    """None while it lasts."""
    cause: str
    """A value of ``benchmon.model.events.Cause``."""
    plateau_c: float | None
    """Mean of the hottest core while limited [°C]."""
    power_held_w: float
    """Mean package power from start to end [W]."""


@dataclass(slots=True)
class Stretch:
    """Time during which the cause did not change; ``cause`` None = not limited."""

    cause: Cause | None
    busy: bool
    start_s: float
    end_s: float
    energy_j: float = 0.0
    heat_k_s: float = 0.0
    """Integral of the hottest core's temperature [°C·s]."""
    late_s: float = 0.0
    """Time after the first seconds ..."""
    late_k_s: float = 0.0
    """... and the integral over it [°C·s]."""

    @property
    def lasts_s(self) -> float:
        """Its length [s]."""
        return self.end_s - self.start_s


class TruthLog:
    """Collects stretches while the model runs and joins them by the rule."""

    def __init__(self) -> None:
        self._stretches: list[Stretch] = []

    def note(self, cause: Cause | None, now: Moment, t_s: float) -> None:
        """The step that ended at ``t_s`` was like ``now``, held down by ``cause``."""
        busy, dt_s = now.busy > 0, now.dt_s
        last = self._stretches[-1] if self._stretches else None
        if last is None or last.cause is not cause or last.busy is not busy:
            last = Stretch(cause, busy, t_s - dt_s, t_s)
            self._stretches.append(last)
        last.end_s = t_s
        last.energy_j += now.power_w * dt_s
        last.heat_k_s += now.hot_c * dt_s
        if t_s - last.start_s > SETTLING_S:
            last.late_s += dt_s
            last.late_k_s += now.hot_c * dt_s

    def intervals(self) -> list[TruthInterval]:
        """The events so far, in order."""
        found = []
        for event in self._events():
            limited = [stretch for stretch in event if stretch.cause is event[0].cause]
            if sum(stretch.lasts_s for stretch in limited) >= LEAST_S:
                found.append(self._interval(event, limited))
        return found

    def _events(self) -> list[list[Stretch]]:
        events: list[list[Stretch]] = []
        current: list[Stretch] = []
        waiting: list[Stretch] = []
        for stretch in self._stretches:
            if current and stretch.cause is current[0].cause:
                current += [*waiting, stretch]
                waiting = []
            elif current and self._may_bridge([*waiting, stretch]):
                waiting.append(stretch)
            else:
                late = [other for other in waiting if other.cause is not None]
                events += [current] if current else []
                current, waiting = [], []
                begin = stretch if stretch.cause is not None else None
                if late and begin is not None and late[-1].cause is begin.cause:
                    current = late[-1:]  # the new cause flickered on before it held
                current += [begin] if begin is not None else []
        return [*events, current] if current else events

    @staticmethod
    def _may_bridge(between: list[Stretch]) -> bool:
        free_s = sum(stretch.lasts_s for stretch in between if stretch.cause is None and stretch.busy)
        pause_s = sum(stretch.lasts_s for stretch in between if not stretch.busy)
        other_s = sum(stretch.lasts_s for stretch in between if stretch.cause is not None)
        return free_s < RECOVERY_S and pause_s <= PAUSE_S and other_s < SHORT_OTHER_S

    def _interval(self, event: list[Stretch], limited: list[Stretch]) -> TruthInterval:
        start_s, end_s = event[0].start_s, event[-1].end_s
        latest_s = self._stretches[-1].end_s
        late_s = sum(stretch.late_s for stretch in limited)
        whole_s = sum(stretch.lasts_s for stretch in limited)
        if late_s > 0.5 * whole_s:
            plateau_c = sum(stretch.late_k_s for stretch in limited) / late_s
        else:
            plateau_c = sum(stretch.heat_k_s for stretch in limited) / whole_s
        cause = event[0].cause
        power_w = sum(stretch.energy_j for stretch in event) / sum(stretch.lasts_s for stretch in event)
        open_still = end_s >= latest_s
        return TruthInterval(start_s, None if open_still else end_s, cause.value if cause else "", plateau_c, power_w)
