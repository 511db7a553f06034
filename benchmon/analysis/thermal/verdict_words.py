"""The thermal verdict in sentences that a careful person would sign."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.thermal.grouping import Group
from benchmon.analysis.thermal.phrases import about
from benchmon.analysis.thermal.steady import BELOW_ROOM, SteadyState, half_width
from benchmon.model import keys
from benchmon.model.findings import Figure, ThermalFindings

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

_LEAST_HEIGHT_K = 3.0
_WIDE = 0.10
"""A capacity this uncertain deserves a word on what would narrow it."""
_OPEN_SHARE = 0.5


def verdict_sentences(
    notebook: Notebook,
    model: MachineModel | str,
    findings: ThermalFindings,
    chosen: Group,
    *,
    states: Mapping[Phase, SteadyState | str],
    options: AnalysisOptions,
) -> tuple[str, ...]:
    """What was found, then what is missing and what would help."""
    lines = [_holds(findings, options), _at_told(findings), _would_hold(findings), _comparison(findings)]
    lines += [_resistance(findings, chosen), _time_constant(notebook, chosen)]
    lines += [_changed(model), _narrower(findings, chosen, model)]
    lines.append(findings.part.sentence if findings.part is not None else "")
    lines += _left_out(findings)
    lines += _missing(notebook, findings, states)
    lines.append(_below_seen(notebook, findings, options))
    return tuple(line for line in lines if line)


def _where(room: Figure) -> str:
    return "In this room" if room.value is None else f"In a {room.value:.0f} °C room"


def _holds(findings: ThermalFindings, options: AnalysisOptions) -> str:
    watts = findings.capacity.measured_w
    if watts.value is None:
        return ""
    limit = findings.limit_c.value
    as_it_was = options.limit_c is None and options.room_c is None
    how = "measured" if as_it_was else "from the watts that were measured, brought to this limit and room"
    at = "" if limit is None else f" of {limit:.0f} °C ({findings.limit_source})"
    holds = f"{_where(findings.room_c)} this cooler holds {about(watts, 'W')} at the limit{at}: {how}."
    return f"{holds} {_good_for(watts)}"


def _at_told(findings: ThermalFindings) -> str:
    told, watts = findings.capacity.told_limit_c, findings.capacity.at_told_limit_w
    if told is None or watts is None:
        return ""
    return f"At the told limit of {told:.0f} °C, which it does not use, it would hold {about(watts, 'W')}."


def _would_hold(findings: ThermalFindings) -> str:
    watts, limit = findings.capacity.predicted_w, findings.limit_c.value
    if watts.value is None or limit is None:
        return ""
    good = "" if findings.capacity.measured_w.value is not None else f" {_good_for(watts)}"
    return (
        f"{_where(findings.room_c)} it would hold {about(watts, 'W')} at the limit of {limit:.0f} °C"
        f" ({findings.limit_source}): predicted from how it ran free.{good}"
    )


def _good_for(watts: Figure) -> str:
    """The interval as a person says it."""
    if watts.low is None or watts.high is None:
        return ""
    places = 0 if watts.high - watts.low >= 1.5 else 1
    return f"Good for {watts.low:.{places}f} to {watts.high:.{places}f} W."


def _comparison(findings: ThermalFindings) -> str:
    if findings.capacity.agree is None:
        return ""
    if findings.capacity.agree:
        return "Measured and predicted capacity agree within their doubt."
    return "Measured and predicted capacity do not agree: trust the measured one, and look for what changed."


def _resistance(findings: ThermalFindings, chosen: Group) -> str:
    found = findings.resistance_k_per_w
    main = chosen.main
    if found.value is None:
        return ""
    if main is None or found is not main.resistance:
        return f"Each watt costs {about(found, 'K')} above the room (from the temperature that was held)."
    return (
        f"Each watt costs {about(found, 'K')} above the room (from {main.phase.name}:"
        f" {main.rise_k:.0f} K at {main.power_w:.1f} W)."
    )


def _time_constant(notebook: Notebook, chosen: Group) -> str:
    """One exponential through the main phase: not what the figures rest on, but what people compare."""
    if chosen.main is None:
        return ""
    from benchmon.analysis.fit.exponential import fit_exponential  # noqa: PLC0415  (a fit has loaded numpy)

    phase = chosen.main.phase
    course = notebook.trace.course("temp_c", phase.start_s, phase.end_s, 200)
    fit = fit_exponential([t - phase.start_s for t in course.times_s], course.values)
    if fit is None or abs(fit.height) < _LEAST_HEIGHT_K or fit.time_u > 0.1 * fit.time_s:
        return ""
    return f"Taken as one exponential, {phase.name} rises with a time constant of {fit.time_s:.0f} s."


def _changed(model: MachineModel | str) -> str:
    if isinstance(model, str) or model.changed_s is None:
        return ""
    minutes, seconds = divmod(round(model.changed_s), 60)
    return (
        f"The cooler changed at {minutes}:{seconds:02d}: the same watts cost more or less from there on. Figures are"
        " for the cooler as it is since then; look at the fan and the heatsink's seat."
    )


def _narrower(findings: ThermalFindings, chosen: Group, model: MachineModel | str) -> str:
    """What would narrow a wide capacity: more of this load, or another one."""
    watts = findings.capacity.measured_w if findings.capacity.measured_w.value else findings.capacity.predicted_w
    if watts.value is None or isinstance(model, str) or half_width(watts) < _WIDE * watts.value:
        return ""
    main = chosen.main
    if main is not None and half_width(main.temp) > _OPEN_SHARE * half_width(watts) / watts.value * main.rise_k:
        minutes = max(5, 5 * round(main.settled.seen_s / 300))
        return f"What would narrow it: another {minutes} minutes of {main.phase.name}, it was still rising."
    if len(chosen.states) < 2:
        return "What would narrow it: a phase at half the load, or an idle one of ten minutes."
    return "What would narrow it: a phase nearer to the limit, which shows how fan or draught answer to more heat."


def _left_out(findings: ThermalFindings) -> list[str]:
    if findings.line is None:
        return []
    return [f"{name} is not on the line: {why}." for name, why in findings.line.left_out.items()]


def _missing(notebook: Notebook, findings: ThermalFindings, states: Mapping[Phase, SteadyState | str]) -> list[str]:
    lines = []
    seen = _seen(notebook)
    if keys.PROCESSOR_TEMP not in seen:
        lines.append("No processor temperature was read: nothing can be said about heat.")
        return lines
    if findings.room_c.value is None:
        lines.append(
            "No room temperature was entered: resistance and predictions need one;"
            " temperatures, settling and watts held at a limit stand without it."
        )
    if keys.PACKAGE_POWER not in seen:
        lines.append("Package power was not read: there are no watts to speak of; temperatures and settling stand.")
    if findings.limit_c.value is None:
        lines.append(f"There is no limit temperature: {findings.limit_c.why_not}; without one there is no capacity.")
    if findings.line is None and any(isinstance(state, SteadyState) for state in states.values()):
        lines.append(f"There is no line over phases: {findings.line_why_not}.")
    if any(isinstance(state, SteadyState) and state.resistance.why_not == BELOW_ROOM for state in states.values()):
        lines.append("The sensor reads below the room in one phase: the room, or the sensor, is wrong.")
    return lines


def _seen(notebook: Notebook) -> set[str]:
    """Channels that were read at least once."""
    sums = None if notebook.pieces is None else notebook.pieces.between(float("-inf"), None)
    if sums is None:
        return set()
    return {key for key, spread in zip(notebook.column_keys, sums.spreads, strict=True) if spread is not None}


def _below_seen(notebook: Notebook, findings: ThermalFindings, options: AnalysisOptions) -> str:
    limit = findings.limit_c.value
    sums = None if notebook.pieces is None else notebook.pieces.between(float("-inf"), None)
    if limit is None or sums is None or keys.PROCESSOR_TEMP not in notebook.column_keys:
        return ""
    spread = sums.spreads[notebook.column_keys.index(keys.PROCESSOR_TEMP)]
    if spread is None or spread.greatest <= limit + 3.0 or options.limit_c is None:
        return ""
    return (
        f"The limit given, {limit:.0f} °C, is below {spread.greatest:.0f} °C that was really seen:"
        " the figures say what it would take to stay under it, not what this machine does."
    )
