"""The thermal verdict, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.capacity import Watts, capacity, measured, predict
from benchmon.analysis.thermal.grouping import IDLE, Group, group
from benchmon.analysis.thermal.heat_plateau import Held, held
from benchmon.analysis.thermal.limits import limit_of, standard_u
from benchmon.analysis.thermal.part_fit import judge_part
from benchmon.analysis.thermal.resistance import LineFit, figure, line_over, resistance_figure
from benchmon.analysis.thermal.steady import SteadyState, room_of
from benchmon.analysis.thermal.verdict_words import verdict_sentences
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PartFit, ThermalFindings
from benchmon.model.records import MarkKind

NO_ROOM = "no room temperature was entered"


def thermal_findings(
    notebook: Notebook,
    states: dict[Phase, SteadyState | str],
    events: Sequence[ThrottleEvent],
    options: AnalysisOptions,
) -> ThermalFindings:
    """Everything about heat that can be concluded from settled phases and plateaus."""
    plateau = held(notebook, events)
    limit, limit_source = limit_of(notebook, options.limit_c, plateau)
    settled = [state for state in states.values() if isinstance(state, SteadyState)]
    unsettled = {phase.name: why for phase, why in states.items() if isinstance(why, str)}
    chosen = group(notebook, settled, unsettled)
    fit = line_over(chosen.states, chosen.left_out)
    room, source = _room(notebook, options)
    predicted = _predicted(fit, chosen, limit, room)
    measured_w = _measured(plateau, limit, limit_source, options)
    part = _part(options, limit, room, measured_w, predicted)
    findings = ThermalFindings(
        room_c=room,
        room_source=source,
        limit_c=limit,
        limit_source=limit_source,
        resistance_k_per_w=_resistance(chosen, plateau, unsettled),
        line=None if isinstance(fit, str) else fit.finding,
        line_why_not=fit if isinstance(fit, str) else "",
        capacity=capacity(measured_w, predicted),
        part=part,
    )
    return _with_sentences(notebook, findings, chosen, states, options)


def _with_sentences(
    notebook: Notebook,
    findings: ThermalFindings,
    chosen: Group,
    states: dict[Phase, SteadyState | str],
    options: AnalysisOptions,
) -> ThermalFindings:
    return replace(findings, sentences=verdict_sentences(notebook, findings, chosen, states, options))


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


def _resistance(chosen: Group, plateau: Held | str, unsettled: dict[str, str]) -> Figure:
    if chosen.main is not None and (chosen.heating != IDLE or isinstance(plateau, str)):
        return resistance_figure(chosen.main)
    if not isinstance(plateau, str) and plateau.room_c is not None and plateau.temp_c > plateau.room_c:
        rise = plateau.temp_c - plateau.room_c
        value = rise / plateau.power_w
        share = sqrt((plateau.temp_u**2 + plateau.room_u**2) / rise**2 + (plateau.power_u / plateau.power_w) ** 2)
        return figure(value, value * share)
    reasons = sorted(set(unsettled.values()))
    return Figure(why_not=reasons[0] if len(reasons) == 1 else "no phase settled well enough")


def _predicted(fit: LineFit | str, chosen: Group, limit: Figure, room: Figure) -> Watts | str:
    if room.value is None:
        return NO_ROOM
    if limit.value is None:
        return f"no limit temperature: {limit.why_not}"
    return predict(fit, chosen, limit.value, standard_u(limit), room.value)


def _measured(plateau: Held | str, limit: Figure, source: str, options: AnalysisOptions) -> Watts | str:
    """As it was; for another limit or room than the run's only if one was given."""
    limit_c = limit.value if source == "given by you" else None
    return measured(plateau, limit_c, options.room_c)


def _part(
    options: AnalysisOptions, limit: Figure, room: Figure, measured_w: Watts | str, predicted: Watts | str
) -> PartFit | None:
    if options.part_watts is None:
        return None
    watts = measured_w if isinstance(measured_w, Watts) and measured_w.k_per_w > 0 else predicted
    if isinstance(watts, str) or room.value is None:
        why = watts if isinstance(watts, str) else NO_ROOM
        sentence = f"Whether a {options.part_watts:g} W part would hold cannot be said: {why}."
        no = Figure(why_not=why)
        return PartFit(options.part_watts, room.value, "cannot say", None, no, no, sentence)
    return judge_part(options.part_watts, limit, room.value, (watts.value_w, watts.u_w), watts.k_per_w)


def warnings_about(notebook: Notebook) -> tuple[str, ...]:
    """What is odd about the room readings: a drift over the run."""
    marks = [m.value for m in notebook.tracker.marks.of(MarkKind.ROOM) if m.value is not None]
    read = notebook.trace.course("room_c", 0.0, notebook.now_s)
    values = list(read.values) or marks
    if len(values) > 1 and max(values) - min(values) > 1.0:
        moved = f"The room moved between {min(values):.1f} and {max(values):.1f} °C during the run"
        return (f"{moved}; each phase is compared with the room of its own time.",)
    return ()
