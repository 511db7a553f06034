"""A row of the bench sheet with what needs fits: settling and resistance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.settling import Criterion, judge, steadiness_criterion, temperature_criterion
from benchmon.analysis.thermal.steady import SteadyState, heat_within
from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PhaseFindings, Settling

_HELD = "heat limited it: a temperature that is held is no equilibrium"


def judged(
    row: PhaseFindings,
    notebook: Notebook,
    phase: Phase,
    state: SteadyState | str,
    *,
    events: Sequence[ThrottleEvent],
    options: AnalysisOptions,
) -> PhaseFindings:
    """The row with settling of temperature, power and clock, and with resistance."""
    found = Figure(why_not=state) if isinstance(state, str) else state.resistance
    return replace(row, settling=_settling(row, notebook, phase, events, options), resistance_k_per_w=found)


def _settling(
    row: PhaseFindings, notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent], options: AnalysisOptions
) -> dict[str, Settling]:
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    limit_c = options.limit_c if options.limit_c is not None else notebook.number(keys.TEMP_LIMIT)
    settling = {}
    for key, quantity, unit in (
        (keys.PROCESSOR_TEMP, "temp_c", "K"),
        (keys.PACKAGE_POWER, "power_w", "W"),
        (keys.CLOCK, "clock_mhz", "MHz"),
    ):
        spread = row.means.get(key)
        if spread is None:
            continue
        if key == keys.PROCESSOR_TEMP:
            criterion = temperature_criterion(options.criterion, spread.last, limit_c)
        else:
            criterion = steadiness_criterion(spread.mean, unit)
        settling[key] = _one(notebook, phase, quantity, criterion, end_s)
    temp = settling.get(keys.PROCESSOR_TEMP)
    if temp is not None and heat_within(events, phase.start_s, end_s):
        settling[keys.PROCESSOR_TEMP] = Settling(None, None, temp.remaining, temp.criterion, _HELD)
    return settling


def _one(notebook: Notebook, phase: Phase, quantity: str, criterion: Criterion, end_s: float) -> Settling:
    return judge(notebook.trace.course(quantity, phase.start_s, end_s), phase.start_s, criterion)
