"""The thermal verdict, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.sustained import sustained_level
from benchmon.analysis.thermal.capacity import Asked, Watts, capacity, measured, predicted
from benchmon.analysis.thermal.grounds import grounds_of
from benchmon.analysis.thermal.grouping import IDLE, Group, group
from benchmon.analysis.thermal.heat_plateau import Held, held
from benchmon.analysis.thermal.limits import DIFFERS_K, GIVEN, PLATEAU, limit_of, told_limit
from benchmon.analysis.thermal.resistance import figure, line_over
from benchmon.analysis.thermal.steady import SteadyState, room_of
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PartFit, ThermalFindings
from benchmon.model.records import MarkKind

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

NO_ROOM = "no room temperature was entered"


def thermal_findings(
    notebook: Notebook,
    model: MachineModel | str,
    states: dict[Phase, SteadyState | str],
    events: Sequence[ThrottleEvent],
    options: AnalysisOptions,
) -> ThermalFindings:
    """Everything about heat that can be concluded."""
    plateau = held(notebook, events)
    limit, limit_source = limit_of(notebook, options.limit_c, plateau)
    settled = [state for state in states.values() if isinstance(state, SteadyState)]
    unsettled = {phase.name: why for phase, why in states.items() if isinstance(why, str)}
    chosen = group(notebook, settled, unsettled)
    line = line_over(chosen.states, chosen.left_out)
    room, source = _room(notebook, options)
    asked = Asked(limit, room.value, options.room_c is not None, limit_source == GIVEN)
    measured_w = measured(plateau, model, asked)
    predicted_w = predicted(notebook, events, model, asked, has_measured=not isinstance(measured_w, str))
    told = _at_told(notebook, measured_w, asked, limit_source)
    resistance = _resistance(chosen, plateau, measured_w, unsettled)
    found = capacity(measured_w, predicted_w, told)
    if not isinstance(plateau, str):
        found = replace(found, sustained=sustained_level(notebook, plateau.start_s, plateau.end_s))
    return ThermalFindings(
        room_c=room,
        room_source=source,
        limit_c=limit,
        limit_source=limit_source,
        resistance_k_per_w=resistance,
        line=None if isinstance(line, str) else line,
        line_why_not=line if isinstance(line, str) else "",
        capacity=found,
        grounds=grounds_of(
            notebook, model, chosen, capacity=found, resistance=resistance, states=states, options=options
        ),
        part=_part(options, limit, room, measured_w, predicted_w),
    )


def _room(notebook: Notebook, options: AnalysisOptions) -> tuple[Figure, str]:
    """The room that predictions are for."""
    if options.room_c is not None:
        known = notebook.tracker.marks.of(MarkKind.ROOM) or len(notebook.trace.course("room_c", 0.0, notebook.now_s))
        source = "given by you" if known else "given by you, and taken for the run's too"
        return Figure(options.room_c, options.room_c, options.room_c), source
    found = room_of(notebook, 0.0, notebook.now_s)
    if found is None:
        return Figure(why_not=NO_ROOM), ""
    read = notebook.trace.course("room_c", 0.0, notebook.now_s)
    return figure(*found), "thermometer" if len(read) else "entered"


def _resistance(chosen: Group, plateau: Held | str, measured_w: Watts | str, unsettled: dict[str, str]) -> Figure:
    if chosen.main is not None and (chosen.heating != IDLE or isinstance(plateau, str)):
        return chosen.main.resistance
    if not isinstance(plateau, str) and not isinstance(measured_w, str) and plateau.room_c is not None:
        from benchmon.analysis.thermal.machine import figure_of  # noqa: PLC0415  (a fit has loaded numpy)

        model = measured_w.model
        watts = model.capacity(plateau.temp_c, plateau.room_c, plateau.temp_u, was_held=True)
        return figure_of((plateau.temp_c - plateau.room_c + model.room_off) / watts)
    reasons = sorted(set(unsettled.values()))
    return Figure(why_not=reasons[0] if len(reasons) == 1 else "no phase settled well enough")


def _at_told(notebook: Notebook, measured_w: Watts | str, asked: Asked, source: str) -> tuple[float, Watts] | None:
    """Watts at the limit that is told, where another one is defended."""
    told = told_limit(notebook)
    if told is None or source != PLATEAU or isinstance(measured_w, str) or asked.room_c is None:
        return None
    if abs(told - (asked.limit.value or told)) <= DIFFERS_K or told <= asked.room_c:
        return None
    samples = measured_w.model.capacity(told, asked.room_c, 0.5, is_other_room=asked.is_other_room, was_held=True)
    return told, Watts(samples, measured_w.model)


def _part(
    options: AnalysisOptions, limit: Figure, room: Figure, measured_w: Watts | str, predicted_w: Watts | str
) -> PartFit | None:
    if options.part_watts is None:
        return None
    watts = predicted_w if isinstance(measured_w, str) else measured_w
    if isinstance(watts, str) or room.value is None:
        why = watts if isinstance(watts, str) else NO_ROOM
        no = Figure(why_not=why)
        return PartFit(options.part_watts, room.value, "cannot say", None, no, no)
    from benchmon.analysis.thermal.part_fit import judge_part  # noqa: PLC0415  (a fit has loaded numpy)

    return judge_part(options.part_watts, limit, room.value, watts)


def warnings_about(notebook: Notebook) -> tuple[str, ...]:
    """What is odd about the room readings: a drift over the run."""
    marks = [m.value for m in notebook.tracker.marks.of(MarkKind.ROOM) if m.value is not None]
    read = notebook.trace.course("room_c", 0.0, notebook.now_s)
    values = list(read.values) or marks
    if len(values) > 1 and max(values) - min(values) > 1.0:
        moved = f"The room moved between {min(values):.1f} and {max(values):.1f} °C during the run"
        return (f"{moved}; each phase is compared with the room of its own time.",)
    return ()
