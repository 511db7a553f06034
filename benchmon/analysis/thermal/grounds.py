"""What the thermal verdict rests on, what is odd about it, and what would narrow it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.grouping import Group
from benchmon.analysis.thermal.steady import BELOW_ROOM, SteadyState, half_width
from benchmon.model import keys
from benchmon.model.findings import Capacity, Figure, Grounds, Narrower

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

_LEAST_HEIGHT_K = 3.0
_WIDE = 0.10
"""A capacity this uncertain deserves a word on what would narrow it."""
_OPEN_SHARE = 0.5
_LEAST_MORE_S = 300.0


def grounds_of(
    notebook: Notebook,
    model: MachineModel | str,
    chosen: Group,
    *,
    capacity: Capacity,
    resistance: Figure,
    states: Mapping[Phase, SteadyState | str],
    options: AnalysisOptions,
) -> Grounds:
    """Everything that a sentence of the verdict needs besides its figures."""
    main = chosen.main if chosen.main is not None and resistance is chosen.main.resistance else None
    narrower, narrower_s = _narrower(capacity, chosen, model)
    return Grounds(
        phase="" if main is None else main.phase.name,
        rise_k=None if main is None else main.rise_k,
        power_w=None if main is None else main.power_w,
        time_constant_s=None if main is None else _time_constant_s(notebook, main),
        changed_s=None if isinstance(model, str) else model.changed_s,
        narrower=narrower,
        narrower_s=narrower_s,
        is_as_run=options.limit_c is None and options.room_c is None,
        is_below_room=any(
            isinstance(state, SteadyState) and state.resistance.why_not == BELOW_ROOM for state in states.values()
        ),
        highest_c=_highest_c(notebook),
    )


def _time_constant_s(notebook: Notebook, main: SteadyState) -> float | None:
    """One exponential through a phase: not what the figures rest on, but what people compare."""
    from benchmon.analysis.fit.exponential import fit_exponential  # noqa: PLC0415  (a fit has loaded numpy)

    phase = main.phase
    course = notebook.trace.course("temp_c", phase.start_s, phase.end_s, 200)
    fit = fit_exponential([t - phase.start_s for t in course.times_s], course.values)
    if fit is None or abs(fit.height) < _LEAST_HEIGHT_K or fit.time_u > 0.1 * fit.time_s:
        return None
    return fit.time_s


def _narrower(capacity: Capacity, chosen: Group, model: MachineModel | str) -> tuple[Narrower | None, float | None]:
    """What would narrow a wide capacity: more of this load, or another one."""
    watts = capacity.measured_w if capacity.measured_w.value else capacity.predicted_w
    if watts.value is None or isinstance(model, str) or half_width(watts) < _WIDE * watts.value:
        return None, None
    main = chosen.main
    if main is not None and half_width(main.temp) > _OPEN_SHARE * half_width(watts) / watts.value * main.rise_k:
        return Narrower.MORE_OF_IT, max(_LEAST_MORE_S, _LEAST_MORE_S * round(main.settled.seen_s / _LEAST_MORE_S))
    return (Narrower.OTHER_LOAD if len(chosen.states) < 2 else Narrower.NEARER_LIMIT), None


def _highest_c(notebook: Notebook) -> float | None:
    sums = None if notebook.pieces is None else notebook.pieces.between(float("-inf"), None)
    if sums is None or keys.PROCESSOR_TEMP not in notebook.column_keys:
        return None
    spread = sums.spreads[notebook.column_keys.index(keys.PROCESSOR_TEMP)]
    return None if spread is None else spread.greatest
