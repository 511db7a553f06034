"""The joint model of a session with the answers that the verdict needs: one fit, all figures from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from benchmon.analysis.fit.joint import Posterior, fit
from benchmon.analysis.fit.kinds import Array, Places
from benchmon.analysis.fit.machines import capacity, course, settled, settled_rise
from benchmon.analysis.fit.readings import NOT_SEEN_K, Readings
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.changed_cooler import changed_at
from benchmon.analysis.thermal.session_readings import Stretch, readings_of
from benchmon.analysis.thermal.steady import COUNTER_U, ROOM_U_K
from benchmon.model.findings import Figure

LEAK, LEAK_U = 0.0018, 0.0012
"""Growth of power with each kelvin, as a share, and its doubt: what leaks is 3 to 14 % and doubles in 30 to 70 K."""
EXTRAPOLATED = 0.27
"""Doubt of what is still to come, as a share of it: the chain of stores is not quite the parallel ones of the model."""
MODEL_U, BEYOND_U = 0.015, 0.06
"""Doubt of any settled rise, as a share of it; and of a capacity for each e-fold of power beyond the hottest seen."""
_LATE_S, _LATE_SHARE = 20.0, 0.15


@dataclass(frozen=True, slots=True)
class Settled:
    """A phase gone on for ever; one value for each machine that could be meant."""

    temp_c: Array
    rise_k: Array
    power_w: Array
    seen_c: float
    """What was reached [°C]."""
    watts_now: float
    """Power as it was read at the end [W]."""
    room_c: float
    seen_s: float
    """How long it was seen [s]."""


def figure_of(samples: Array) -> Figure:
    """Median and 95 % interval."""
    return figures_of(samples)[0]


def figures_of(*samples: Array) -> tuple[Figure, ...]:
    """The same of several, in a third of the time."""
    ordered = np.quantile(np.stack(samples), (0.025, 0.5, 0.975), axis=1)
    return tuple(Figure(middle, low, high) for low, middle, high in ordered.T.tolist())


class MachineModel:
    """What a session says about its machine until a time."""

    def __init__(
        self,
        readings: Readings,
        hot_spots: Sequence[Sequence[Stretch]] = (),
        changed_s: float | None = None,
    ) -> None:
        """Fit it.

        Args:
            readings: of the session.
            hot_spots: when only some cores were busy, as in the readings.
            changed_s: when the cooler became another one; what was before is not looked at [s].
        """
        self.readings = readings
        self.changed_s = changed_s
        self.found: Posterior = fit(readings)
        self._hot_spots = tuple(tuple(group) for group in hot_spots)
        self._rng = np.random.default_rng(7)
        count = len(self.found.kinds)
        self.power_scale = 1.0 + COUNTER_U * self._rng.standard_normal(count)
        self.room_off = ROOM_U_K * self._rng.standard_normal(count)
        self._noise = self._rng.standard_normal(count)
        self._leaks = self._rng.standard_normal(count)
        self._doubts = self._rng.standard_normal(count)

    def settled(self, phase: Phase) -> Settled | None:
        """The phase as if it had gone on for ever; None if there are too few readings."""
        now = self._now(phase)
        if now is None:
            return None
        rows, watts, reading, room = now
        seen_s = float(self.readings.ends_s[rows[-1]] - self.readings.ends_s[rows[0]])
        leak = self._leak(rows)
        temp, power = settled(self.found, watts, room, (reading, leak), self.hot_spot_of(phase))
        unsure = 0.2**2 + self.readings.step_k**2 / 12 + (EXTRAPOLATED * (temp - reading)) ** 2
        unsure = unsure + (MODEL_U * (temp - room)) ** 2
        temp = temp + self._noise * np.sqrt(unsure)
        return Settled(temp, temp - room + self.room_off, power * self.power_scale, reading, watts, room, seen_s)

    def ahead(self, phase: Phase) -> tuple[Array, Array] | None:
        """How the reading goes on: times on the session's axis [s], ``[time, machine]`` temperatures [°C]."""
        now = self._now(phase)
        if now is None:
            return None
        rows, watts, reading, room = now
        spot = self.hot_spot_of(phase)
        times, temps = course(self.found, watts, reading, self._leak(rows), room, hot_spot=spot)
        off = self._noise * (0.3 + self.readings.step_k / 6.0)
        return times + self.readings.ends_s[-1], temps + off + 0.25 * self.readings.step_k

    def capacity(
        self,
        limit_c: float,
        room_c: float,
        limit_u: float = 0.0,
        *,
        is_other_room: bool = False,
        was_held: bool = False,
    ) -> Array:
        """Watts with all cores busy at which the reading stands at a limit for ever.

        Args:
            limit_c: the limit as the sensor shows it.
            room_c: the room.
            limit_u: standard uncertainty of the limit [K].
            is_other_room: the room was not read by the run's own thermometer, whose error then counts.
            was_held: a limit was defended, so that the power itself shows what is still to come.
        """
        count = len(self.found.kinds)
        limit = limit_c + limit_u * self._noise
        room = np.full(count, room_c) + (self.room_off if is_other_room else 0.0)
        watts = capacity(self.found, limit, room)
        beyond = np.log(np.maximum(watts, 1e-6) / self.found.reference.power_w)
        to_come = 0.0 if was_held else EXTRAPOLATED * self.share_to_come()
        unsure = self._doubts * np.sqrt(MODEL_U**2 + (BEYOND_U * beyond) ** 2 + to_come**2)
        return np.asarray(watts * self.power_scale * np.clip(1.0 + unsure, 0.5, 1.5))

    def rise_at(self, watts: float, room_c: float) -> Array:
        """Rise above the room with so many watts on all cores [K]."""
        return settled_rise(self.found, watts / self.power_scale, room_c)

    def share_to_come(self) -> Array:
        """How much of the rise of the hottest load was not seen yet."""
        r, found = self.readings, self.found
        seen = float(np.quantile((r.temp_c - r.room_c)[r.white_k < NOT_SEEN_K], 0.97))
        whole = np.maximum(settled_rise(found, found.reference.power_w, float(r.room_c[-1])), 1.0)
        return np.clip(1.0 - seen / whole, 0.0, 1.0)

    def _rows(self, phase: Phase) -> Places:
        middle = self.readings.ends_s - self.readings.lengths_s / 2
        end = inf if phase.end_s is None else phase.end_s
        return np.flatnonzero((middle >= phase.start_s) & (middle < end))

    def _now(self, phase: Phase) -> tuple[Places, float, float, float] | None:
        """Rows of a phase; mean power, reading and room at its end."""
        rows = self._rows(phase)
        if len(rows) < 3:
            return None
        r = self.readings
        last_s = r.ends_s[rows[-1]]
        late = rows[r.ends_s[rows] > last_s - max(_LATE_S, _LATE_SHARE * (last_s - r.ends_s[rows[0]]))]
        weight = r.lengths_s[late] / r.lengths_s[late].sum()
        # The reading is that of the very end; power is the mean over some more.
        return rows, float(weight @ r.power_w[late]), float(r.temp_c[rows[-1]]), float(r.room_c[rows[-1]])

    def hot_spot_of(self, phase: Phase) -> Array | float:
        """Further kelvin for each watt in a phase where only some cores were busy."""
        for place, stretches in enumerate(self._hot_spots):
            if any(begin <= phase.start_s < end for begin, end in stretches):
                return np.asarray(self.found.hot_spots[:, place])
        return 0.0

    def _leak(self, rows: Places) -> Array:
        """How power grew with temperature in a phase, as far as that shows."""
        r, mean, sd = self.readings, LEAK, LEAK_U
        use = rows[r.ends_s[rows] > r.ends_s[rows[0]] + 15.0]
        if len(use) > 5:
            weight = r.lengths_s[use] / r.lengths_s[use].sum()
            temp, power = r.temp_c[use], np.log(np.maximum(r.power_w[use], 1e-6))
            temp = temp - weight @ temp
            spread = max(float(weight @ temp**2), 1e-6)
            slope = float(weight @ (temp * power)) / spread
            if -0.004 < slope < 0.010:
                u = sqrt(0.004**2 / spread + 0.0004**2)
                share = sd**2 / (sd**2 + u**2)
                mean, sd = mean + share * (slope - mean), sd * sqrt(1.0 - share)
        return mean + sd * self._leaks


def model_of(
    notebook: Notebook,
    hot_spots: Sequence[Sequence[Stretch]] = (),
    until_s: float = inf,
    without: Sequence[Stretch] = (),
) -> MachineModel | str:
    """The model of a session until a time; or a sentence why there is none."""
    readings = readings_of(notebook, hot_spots, until_s, without)
    if isinstance(readings, str):
        return readings
    model = MachineModel(readings, hot_spots)
    changed_s = changed_at(model.readings, model.found)
    if changed_s is None:
        return model
    readings = readings_of(notebook, hot_spots, until_s, (*without, (-inf, changed_s)))
    return model if isinstance(readings, str) else MachineModel(readings, hot_spots, changed_s)
