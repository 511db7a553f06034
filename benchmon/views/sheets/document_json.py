"""The whole summary as JSON for programs; the schema is ``docs/sheet-json.md``."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from benchmon.model import keys
from benchmon.model.box_parts import PARTS
from benchmon.model.events import Evidence, Level, ThrottleEvent
from benchmon.model.findings import (
    BoxPart,
    CommandRun,
    Figure,
    Forecast,
    PartFit,
    PhaseFindings,
    Score,
    Settling,
    Summary,
    ThermalFindings,
    ThermalLine,
    WorkDone,
)
from benchmon.model.plan_findings import Experiment, PlanFindings
from benchmon.model.records import Mark
from benchmon.views.doors import json_text
from benchmon.views.words.evidence import evidence_sentence
from benchmon.views.words.verdict import part_sentence, verdict

SCHEMA_VERSION = 3
"""Raised whenever a key changes its meaning or goes away; new keys do not raise it."""


def render(summary: Summary) -> str:
    """One JSON object, indented; ends with a newline. Null = not known."""
    return json_text(document(summary), indent=2) + "\n"


def document(summary: Summary) -> dict[str, Any]:
    """The summary as plain JSON values."""
    return {
        "schema_version": SCHEMA_VERSION,
        "detector_version": summary.detector_version,
        "complete": summary.is_complete,
        "session": _session(summary),
        "machine": _machine(summary),
        "box": {part: _box_part(summary.box.get(part)) for part in PARTS},
        "settings": {key: setting.value for key, setting in summary.settings.items()},
        "tags": dict(summary.tags),
        "entries": [_entry(mark) for mark in summary.marks],
        "phases": [_phase(phase) for phase in summary.phases],
        "commands": [_command(run) for run in summary.commands],
        "events": [event_object(event) for event in summary.events],
        "thermal": _thermal(summary),
        "forecast": [_forecast(forecast) for forecast in summary.forecasts],
        "wall_power": _wall(summary),
        "plan": None if summary.plan is None else _plan(summary.plan),
        "experiment": None if summary.experiment is None else _experiment(summary.experiment),
        "quality": _quality(summary),
    }


def event_object(event: ThrottleEvent) -> dict[str, Any]:
    """One throttle event as plain JSON values."""
    names = (
        "number start_s end_s announced_s from_start confidence clock_before_mhz clock_lowest_mhz"
        " power_before_w power_lowest_w temp_onset_c temp_plateau_c temp_told_c power_limit_w"
        " limited_share recoveries work_lost energy_j revision"
    )
    plain = {name: getattr(event, name) for name in names.split()}
    return {
        "cause": event.cause.value,
        "first_cause": event.first_cause.value,
        **plain,
        "causes": {cause.value: share for cause, share in event.causes.items()},
        "evidence": [_evidence_object(one) for one in event.evidence] or None,
        "sustained": _level(event.sustained),
        "wanted": [one.value for one in event.wanted],
    }


def _evidence_object(evidence: Evidence) -> dict[str, Any]:
    return {
        "kind": evidence.kind.value,
        "weight": evidence.weight,
        "sentence": evidence_sentence(evidence),
        "figures": dict(evidence.figures),
    }


def figure_object(figure: Figure) -> dict[str, Any]:
    """A figure: value, 95 % interval, and the reason where it is null."""
    return {"value": figure.value, "low": figure.low, "high": figure.high, "why_not": figure.why_not}


def _session(summary: Summary) -> dict[str, Any]:
    header = summary.header
    return {
        "id": header.session_id,
        "started_at": header.started_at.isoformat(),
        "period_s": header.period_s,
        "time_scale": header.time_scale,
        "virtual": header.virtual or None,
        "simulated": bool(header.virtual),
    }


def _machine(summary: Summary) -> dict[str, Any] | None:
    machine = summary.machine
    if machine is None:
        return None
    names = ("processor", "board", "product", "system", "cores", "threads", "memory_gib", "virtual")
    return {name: None if getattr(machine, name) == "" else getattr(machine, name) for name in names}


def _entry(mark: Mark) -> dict[str, Any]:
    names = ("number", "t_s", "entered_s", "text", "value", "replaces")
    return {"kind": mark.kind.value, **{name: getattr(mark, name) for name in names}}


def _box_part(part: BoxPart | None) -> dict[str, Any] | None:
    return None if part is None else {"text": part.text, "source": part.source}


def _command(run: CommandRun) -> dict[str, Any]:
    names = ("start_s", "end_s", "exit_status")
    return {"command": run.words, **{name: getattr(run, name) for name in names}, "reason": run.reason or None}


def _phase(phase: PhaseFindings) -> dict[str, Any]:
    temp = phase.settling.get(keys.PROCESSOR_TEMP)
    return {
        "name": phase.name,
        "start_s": phase.start_s,
        "end_s": phase.end_s,
        "settled": None if temp is None else temp.settled,
        "settled_at_s": None if temp is None else temp.settled_at_s,
        "means": {key: spread.mean for key, spread in phase.means.items()},
        "spreads": {
            key: {"mean": s.mean, "min": s.least, "max": s.greatest, "last": s.last, "count": s.count}
            for key, s in phase.means.items()
        },
        "settling": {key: _settling(settling) for key, settling in phase.settling.items()},
        "room_c": phase.room_c,
        "wall_w": phase.wall_w,
        "scores": [_score(score) for score in phase.scores],
        "resistance_k_per_w": figure_object(phase.resistance_k_per_w),
        "energy_j": figure_object(phase.energy_j),
        "events": list(phase.events),
        "contradiction": phase.contradiction or None,
        **_work(phase.work),
        "throttled_after_s": phase.throttled_after_s,
        "before": _level(phase.before),
        "sustained": _level(phase.sustained),
    }


def _score(score: Score) -> dict[str, Any]:
    per_watt = {**figure_object(score.per_watt), "watts_of": score.watts_of or None}
    return {"value": score.value, "name": score.name or None, "per_watt": per_watt}


def _work(work: WorkDone | None) -> dict[str, Any]:
    return {
        "work": None if work is None or work.is_mixed else work.kind,
        "work_duty": None if work is None or work.is_mixed else work.duty,
        "work_gflop_per_s": None if work is None else work.floating_g_per_s,
        "work_gop_per_s": None if work is None else work.operations_g_per_s,
        "work_gbyte_per_s": None if work is None else work.moved_gb_per_s,
    }


def _plan(found: PlanFindings) -> dict[str, Any]:
    phases = [
        {
            "number": step.number,
            "name": step.phase.name,
            "began_s": step.began_s,
            "ended_s": step.ended_s,
            "because": None if step.because is None else step.because.value,
            "missing": [one.value for one in step.missing],
        }
        for step in found.steps
    ]
    return {
        "name": found.run.plan.name,
        "first": found.run.first,
        "resumes": found.run.resumes or None,
        "phases": phases,
    }


def _experiment(found: Experiment) -> dict[str, Any]:
    return {
        "cause": found.cause.value,
        "causes": {cause.value: share for cause, share in found.causes.items()},
        "apart_k": found.apart_k,
        "onsets": [asdict(onset) for onset in found.onsets],
    }


def _level(level: Level | None) -> dict[str, Any] | None:
    return None if level is None else asdict(level)


def _settling(settling: Settling) -> dict[str, Any]:
    return {
        "settled": settling.settled,
        "settled_at_s": settling.settled_at_s,
        "remaining": settling.remaining,
        "criterion": settling.criterion,
        "why": settling.why or None,
    }


def _thermal(summary: Summary) -> dict[str, Any]:
    thermal = summary.thermal
    return {
        "ambient_c": {**figure_object(thermal.room_c), "source": thermal.room_source or None},
        "limit_c": {**figure_object(thermal.limit_c), "source": thermal.limit_source or None},
        "resistance_k_per_w": figure_object(thermal.resistance_k_per_w),
        "line": None if thermal.line is None else _line(thermal.line),
        "line_why_not": thermal.line_why_not or None,
        "capacity_w": {
            "measured": figure_object(thermal.capacity.measured_w),
            "predicted": figure_object(thermal.capacity.predicted_w),
            "sustained": _level(thermal.capacity.sustained),
            "agree": thermal.capacity.agree,
            "told_limit_c": thermal.capacity.told_limit_c,
            "at_told_limit": None
            if thermal.capacity.at_told_limit_w is None
            else figure_object(thermal.capacity.at_told_limit_w),
        },
        "part": None if thermal.part is None else _part(thermal, thermal.part),
        "sentences": list(verdict(summary)),
    }


def _part(thermal: ThermalFindings, part: PartFit) -> dict[str, Any]:
    return {
        "part_w": part.part_w,
        "room_c": part.room_c,
        "answer": part.answer,
        "confidence": part.confidence,
        "margin_k": figure_object(part.margin_k),
        "margin_w": figure_object(part.margin_w),
        "sentence": part_sentence(thermal, part),
    }


def _line(line: ThermalLine) -> dict[str, Any]:
    return {
        "slope_k_per_w": figure_object(line.slope_k_per_w),
        "intercept_k": figure_object(line.intercept_k),
        "covariance": line.covariance,
        "degrees_of_freedom": line.degrees_of_freedom,
        "phases": list(line.phases),
        "left_out": dict(line.left_out),
    }


def _forecast(forecast: Forecast) -> dict[str, Any]:
    return {
        "said_at_s": forecast.said_at_s,
        "phase": forecast.phase,
        "settles_at_c": figure_object(forecast.settles_at_c),
        "within_1k_at_s": figure_object(forecast.within_1k_at_s),
        "limit_at_s": figure_object(forecast.limit_at_s),
        "limit_c": forecast.limit_c,
    }


def _wall(summary: Summary) -> dict[str, Any]:
    wall = summary.wall
    return {
        "own_draw_w": figure_object(wall.own_draw_w),
        "slope": figure_object(wall.slope),
        "efficiency": figure_object(wall.efficiency),
        "efficiency_floor": wall.efficiency_floor,
        "warnings": list(wall.warnings),
    }


def _quality(summary: Summary) -> dict[str, Any]:
    quality = summary.quality
    return {
        "sample_count": quality.sample_count,
        "duration_s": quality.duration_s,
        "gap_count": quality.gap_count,
        "missing_s": quality.missing_s,
        "unread": dict(quality.unread),
        "notes": list(quality.notes),
    }
