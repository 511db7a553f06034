"""A row of the bench sheet with what needs fits: settling and resistance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.criteria import steadiness_criterion, temperature_criterion
from benchmon.analysis.thermal.settling import judge
from benchmon.analysis.thermal.steady import SteadyState, heat_within
from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PhaseFindings, Settling

_HELD = "it was throttled by heat: a defended temperature is no equilibrium"


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


def settled_temperature(
    notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent], options: AnalysisOptions
) -> Settling | None:
    """Whether the processor's temperature had settled at the end of a phase; None if it was not read in it."""
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    course = notebook.trace.course("temp_c", phase.start_s, end_s)
    if not len(course):
        return None
    limit_c = options.limit_c if options.limit_c is not None else notebook.number(keys.TEMP_LIMIT)
    found = judge(course, phase.start_s, temperature_criterion(options.criterion, course.values[-1], limit_c))
    if heat_within(events, phase.start_s, end_s):
        return Settling(None, None, found.remaining, found.criterion, _HELD)
    return found


def _settling(
    row: PhaseFindings, notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent], options: AnalysisOptions
) -> dict[str, Settling]:
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    settling = {}
    temp = settled_temperature(notebook, phase, events, options)
    if temp is not None and keys.PROCESSOR_TEMP in row.means:
        settling[keys.PROCESSOR_TEMP] = temp
    for key, quantity, unit in ((keys.PACKAGE_POWER, "power_w", "W"), (keys.CLOCK, "clock_mhz", "MHz")):
        spread = row.means.get(key)
        if spread is not None:
            course = notebook.trace.course(quantity, phase.start_s, end_s)
            settling[key] = judge(course, phase.start_s, steadiness_criterion(spread.mean, unit))
    return settling
