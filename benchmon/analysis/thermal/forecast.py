"""What the phase that runs is going to do: where it settles, when, and whether it reaches the limit before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.steady import heat_within
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, Forecast

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

NOT_BEFORE_S = 75.0
"""Until then the readings show die and paste, and little of the heatsink [s]."""
_HELD_LATELY_S = 20.0
_AFTER_CHANGE_S = 45.0


def make_forecast(
    notebook: Notebook,
    phase: Phase,
    events: Sequence[ThrottleEvent],
    limit_c: float | None,
    model: MachineModel | str | None,
) -> Forecast:
    """The forecast for a phase as it stands; its figures say why if there is none.

    ``model`` is None where nobody made one, because it was known beforehand that nothing would be said.
    """
    now_s = notebook.now_s
    why = held_why(notebook, phase, events)
    if why:
        return _refused(now_s, phase, limit_c, why)
    ready = ready_s(notebook, phase)
    if ready is not None:
        return replace(_refused(now_s, phase, limit_c, "it is too early"), ready_s=ready)
    if model is None or isinstance(model, str):
        return _refused(now_s, phase, limit_c, model or "nothing was worked out yet")
    from benchmon.analysis.thermal.outlook import outlook  # noqa: PLC0415  (loads numpy, which is there by now)

    return outlook(model, phase, now_s, limit_c)


def refusal(notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent]) -> str:
    """Why nothing would be said, whatever a model says; empty if something can be."""
    return held_why(notebook, phase, events) or ("" if ready_s(notebook, phase) is None else "it is too early")


def ready_s(notebook: Notebook, phase: Phase) -> float | None:
    """When something can be said, unless the power changes again [s]; None if it can by now."""
    now_s = notebook.now_s
    if now_s - phase.start_s < NOT_BEFORE_S:
        return phase.start_s + NOT_BEFORE_S
    power = notebook.trace.course("power_w", now_s - _AFTER_CHANGE_S - 30.0, now_s, 75)
    changed_s = _last_change_s(power.times_s, power.values)
    if changed_s is not None and now_s - changed_s < _AFTER_CHANGE_S:
        return changed_s + _AFTER_CHANGE_S
    return None


def _last_change_s(times_s: Sequence[float], watts: Sequence[float]) -> float | None:
    """When power last became another one for good: 6 s before and after differ by 15 % and more than both scatter."""
    width = 6
    for at in range(len(watts) - width, width - 1, -1):
        before, after = watts[at - width : at], watts[at : at + width]
        change = abs(sum(after) - sum(before)) / width
        wide = max(max(before) - min(before), max(after) - min(after))
        if change > max(0.15 * max(sum(before), sum(after)) / width, wide, 1.0):
            return times_s[at]
    return None


def held_why(notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent]) -> str:
    """Why heat forbids a forecast; empty if it does not."""
    now_s = notebook.now_s
    if heat_within(events, now_s - _HELD_LATELY_S, now_s):
        return "it is being throttled by heat"
    if heat_within(events, phase.start_s, now_s):
        return "it was throttled by heat in this phase"
    return ""


def _refused(now_s: float, phase: Phase, limit_c: float | None, why: str) -> Forecast:
    no = Figure(why_not=why)
    return Forecast(now_s, phase.name, no, no, no, limit_c)
