"""Load that nobody spoke of, seen in the readings: for sessions without marks and without a load of their own.

Steps of load are judged by cores. Where the load says nothing, because it is not read, or stays low and flat (it is
another processor's: a graphics or accelerator board, a host), steps of power begin phases.
"""

from __future__ import annotations

from math import exp, log

from benchmon.analysis.intake.level_steps import LASTS_S, LevelSteps
from benchmon.analysis.intake.phases import LoadStep
from benchmon.model import phase_names

CORE_SHARE = 0.6
"""A phase begins where the load moves by more than so much of a core ..."""
MOST_MOVE_PCT, LEAST_MOVE_PCT = 15.0, 3.0
"""... but by 15 points at most, and 3 at least: idle machines move by themselves ..."""
BLIND_MOVE_PCT = 7.5
"""... and by this where the number of cores is not known: one of eight is seen."""
ALL_PCT = 85.0
"""From here on all cores are taken to be busy."""
_IDLE_PCT, _BLIND_IDLE_PCT = 12.0, 10.0
NEAR_CORES = 0.25
"""So near to a whole number, that many cores are busy."""
POWER_MOVE = 1.4
"""Where load says nothing, power that moves by this factor begins a phase; leakage and lighter code move it by less."""
POWER_UNREST = 1.12
"""... to a level whose halves lie this near each other."""
SAME_POWER = 1.15
"""Power within this factor of a phase before is that phase's power."""


def idle_below_pct(cores: int | None) -> float:
    """Load below which a machine idles [%]; None = the number of cores is not known."""
    return _BLIND_IDLE_PCT if cores is None else min(_IDLE_PCT, 100.0 * CORE_SHARE / cores)


class SeenLoad:
    """Follows load and power, one bin of the trace after another."""

    def __init__(self) -> None:
        """Start before the first reading."""
        self._cores: int | None = None
        self._load = LevelSteps(BLIND_MOVE_PCT, BLIND_MOVE_PCT)
        self._was_loaded = False
        self._power = LevelSteps(log(POWER_MOVE), log(POWER_UNREST))
        self._power_since_s = 0.0
        """Since when power is all there is to go by [s]."""
        self._idle_w: float | None = None
        """Power before the first step of it, while the load that is read is low [W]."""
        self._seen_w: list[float] = []
        """Powers that phases are named by [W]."""

    def feed(self, at_s: float, load_pct: float | None, power_w: float | None, cores: int | None) -> LoadStep | None:
        """Take the next means; gives a step once it is sure, back-dated to where it began.

        Args:
            at_s: start of the bin [s].
            load_pct: mean load; None = not read.
            power_w: mean package power; None = not read.
            cores: logical processors; None = not known.
        """
        self._cores = cores
        move = BLIND_MOVE_PCT if cores is None else 100.0 * CORE_SHARE / cores
        self._load.least_move = self._load.most_unrest = max(LEAST_MOVE_PCT, min(MOST_MOVE_PCT, move))
        by_load = None if load_pct is None else self._by_load(at_s, load_pct)
        if by_load is not None or (load_pct is not None and not self._is_idle(load_pct)):
            self._power.begin_anew()  # power follows the load that is read, or a limit
            self._power_since_s = at_s
            return by_load
        if power_w is None or power_w <= 0.0:
            return None
        return self._by_power(at_s, power_w)

    def _by_load(self, at_s: float, load_pct: float) -> LoadStep | None:
        is_first = self._load.level is None
        step = self._load.feed(at_s, load_pct)
        if is_first:
            return self._load_step(0.0, load_pct)
        if step is None:
            return None
        # What stood for less than a level does was none: the phase before it goes on, by another name.
        return self._load_step(step.began_s if step.began_s >= LASTS_S else 0.0, step.after)

    def _load_step(self, began_s: float, load_pct: float) -> LoadStep:
        name = self._load_name(load_pct)
        self._was_loaded = (self._was_loaded and began_s > 0.0) or not self._is_idle(load_pct)
        return LoadStep(began_s, None, name, is_seen=True)

    def _by_power(self, at_s: float, power_w: float) -> LoadStep | None:
        is_blind = self._load.level is None
        is_first = self._power.level is None
        step = self._power.feed(at_s, log(power_w))
        if is_blind and is_first:
            return self._power_step(0.0, power_w)
        if step is None:
            return None
        if step.began_s - self._power_since_s < LASTS_S:
            return self._power_step(0.0, exp(step.after)) if is_blind else None
        if self._idle_w is None and not is_blind:
            self._idle_w = exp(step.before)
        return self._power_step(step.began_s, exp(step.after))

    def _power_step(self, began_s: float, power_w: float) -> LoadStep:
        if self._idle_w is not None and power_w <= self._idle_w * SAME_POWER:
            name = phase_names.COOL_DOWN if self._was_loaded else phase_names.IDLE
            return LoadStep(began_s, None, name, is_seen=True)
        self._was_loaded = True
        if began_s == 0.0:
            self._seen_w = []
        same = [seen_w for seen_w in self._seen_w if 1.0 / SAME_POWER < power_w / seen_w < SAME_POWER]
        if not same:
            self._seen_w.append(power_w)
        return LoadStep(
            began_s, None, phase_names.by_power(same[0] if same else power_w), is_seen=True, is_by_power=True
        )

    def _is_idle(self, load_pct: float) -> bool:
        return load_pct < idle_below_pct(self._cores)

    def _load_name(self, load_pct: float) -> str:
        if self._is_idle(load_pct):
            return phase_names.COOL_DOWN if self._was_loaded else phase_names.IDLE
        if load_pct > ALL_PCT:
            return phase_names.ALL_CORES
        busy = None if self._cores is None else load_pct * self._cores / 100.0
        if busy is not None and round(busy) and abs(busy - round(busy)) <= NEAR_CORES:
            return phase_names.by_cores(round(busy), is_all=False)
        return phase_names.PART_LOAD
