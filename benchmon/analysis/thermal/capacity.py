"""Watts that the cooler holds: at the temperature that was defended, at another limit, in another room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.thermal.grouping import ALL, IDLE, UNKNOWN, heating, hot_spots, load_of
from benchmon.analysis.thermal.heat_plateau import Held, plateaus_of
from benchmon.analysis.thermal.limits import standard_u
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Capacity, Figure

if TYPE_CHECKING:
    from benchmon.analysis.fit.kinds import Array
    from benchmon.analysis.thermal.machine import MachineModel

FREE_S = 60.0
"""All cores must have run free for so long before a capacity is predicted [s]."""
_AGREE = 2.0


@dataclass(frozen=True, slots=True)
class Asked:
    """For what limit and room."""

    limit: Figure
    room_c: float | None
    is_other_room: bool
    """A person gave it; the run's thermometer did not read it."""
    is_other_limit: bool


@dataclass(frozen=True, slots=True)
class Watts:
    """A capacity: one value for each machine that could be meant, and the model behind it."""

    samples: Array
    model: MachineModel

    @property
    def figure(self) -> Figure:
        """Median and 95 % interval."""
        from benchmon.analysis.thermal.machine import figure_of  # noqa: PLC0415  (a fit has loaded numpy)

        return figure_of(self.samples)


def measured(held: Held | str, model: MachineModel | str, asked: Asked) -> Watts | str:
    """Watts in the end where a temperature was defended; brought to another limit or room if that is asked for."""
    if isinstance(held, str):
        return held
    why = _no_watts(model)
    if isinstance(model, str) or why:
        return why
    if held.room_c is None:
        if asked.is_other_limit or asked.is_other_room:
            return "no room temperature was entered"
        room_c = float(model.readings.room_c[-1])  # any room does: the model has taken the difference for its own
    else:
        room_c = held.room_c if asked.room_c is None else asked.room_c
        if held.temp_c <= held.room_c:
            return "the sensor reads below the room: one of the two is wrong"
    limit_c = held.temp_c if asked.limit.value is None else asked.limit.value
    if limit_c <= room_c:
        return "the limit is not above the room"
    u = standard_u(asked.limit) if asked.is_other_limit else held.temp_u
    samples = model.capacity(limit_c, room_c, u, is_other_room=asked.is_other_room, was_held=True)
    return Watts(samples, model)


def predicted(
    notebook: Notebook, events: Sequence[ThrottleEvent], model: MachineModel | str, asked: Asked, *, has_measured: bool
) -> Watts | str:
    """Watts at the limit from how the machine ran free; where there is a measured capacity, without its readings."""
    if asked.room_c is None:
        return "no room temperature was entered"
    if asked.limit.value is None:
        return f"no limit temperature: {asked.limit.why_not}"
    why = _no_watts(model)
    if isinstance(model, str) or why:
        return why
    if asked.limit.value <= asked.room_c:
        return "the limit is not above the room"
    heat = plateaus_of(notebook, events)
    free_s, has_load = _free_s(notebook, heat)
    if free_s < FREE_S and (has_measured or not heat):
        return _not_free(notebook, free_s, has_load=has_load)
    if has_measured:
        from benchmon.analysis.thermal.machine import model_of  # noqa: PLC0415

        free = model_of(notebook, hot_spots(notebook), without=heat)
        if isinstance(free, str):
            return free
        model = free
    if bool((model.readings.temp_c < model.readings.room_c - 1.0).mean() > 0.3):
        return "the sensor reads below the room: one of the two is wrong"
    u = standard_u(asked.limit)
    samples = model.capacity(asked.limit.value, asked.room_c, u, is_other_room=asked.is_other_room)
    return Watts(samples, model)


def _no_watts(model: MachineModel | str) -> str:
    if isinstance(model, str):
        return model
    return "" if model.readings.has_watts else "package power was not read"


def _free_s(notebook: Notebook, heat: Sequence[tuple[float, float]]) -> tuple[float, bool]:
    """How long all cores ran without a heat limit [s], and whether there was any load at all."""
    free, has_load = 0.0, False
    for phase in notebook.tracker.phases:
        kind = heating(notebook, phase, load_of(notebook, phase))
        has_load = has_load or kind != IDLE
        if kind not in {ALL, UNKNOWN}:
            continue
        end_s = notebook.now_s if phase.end_s is None else min(phase.end_s, notebook.now_s)
        first_heat_s = min([start for start, end in heat if end > phase.start_s and start < end_s], default=end_s)
        free += max(first_heat_s - phase.start_s, 0.0)
    return free, has_load


def _not_free(notebook: Notebook, free_s: float, *, has_load: bool) -> str:
    if not len(notebook.trace.course("temp_c", 0.0, None, 8)):
        return "no processor temperature was read"
    if not has_load:
        return "only idling was seen, and that is too little to go by"
    if free_s == 0.0:
        return "no phase with all cores busy ran free: one hot core reads hotter for the same watts"
    return f"all cores ran free for {free_s:.0f} s only; {FREE_S:.0f} s are needed"


def capacity(measured_w: Watts | str, predicted_w: Watts | str, told: tuple[float, Watts] | None) -> Capacity:
    """Both as figures, whether they agree, and the watts at the told limit where that is another one."""
    agree = None
    if not isinstance(measured_w, str) and not isinstance(predicted_w, str):
        apart = measured_w.samples - predicted_w.samples  # the power's scale is common to both and drops out
        agree = bool(abs(apart.mean()) <= _AGREE * apart.std())
    told_c, at_told = (None, None) if told is None else (told[0], told[1].figure)
    return Capacity(_figure(measured_w), _figure(predicted_w), agree, told_c, at_told)


def _figure(watts: Watts | str) -> Figure:
    return Figure(why_not=watts) if isinstance(watts, str) else watts.figure
