"""A comparison as JSON for programs; the keys are explained in ``docs/comparison-json.md``."""

from __future__ import annotations

from typing import Any

from benchmon.model.comparison import At, Comparison, Contrast, PhaseComparison, Side, Verdict, WorkUnit
from benchmon.views.doors import json_text
from benchmon.views.sheets.document_json import figure_object
from benchmon.views.words import comparison as words

SCHEMA_VERSION = 1
"""Raised whenever a key changes its meaning or goes away; new keys do not raise it."""


def render(comparison: Comparison) -> str:
    """One JSON object, indented; ends with a newline. Null = not known."""
    return json_text(document(comparison), indent=2) + "\n"


def document(comparison: Comparison) -> dict[str, Any]:
    """The comparison as plain JSON values."""
    spread = comparison.spread
    return {
        "schema_version": SCHEMA_VERSION,
        "before": _side(comparison.before),
        "contrasts": [_contrast(contrast, comparison.before) for contrast in comparison.contrasts],
        "spread": {
            "expected": spread.expected,
            "told": spread.is_told,
            "seen": spread.seen,
            "degrees_of_freedom": spread.degrees,
        },
        "many": comparison.is_many,
        "copies": dict(comparison.copies),
        "basis": list(words.basis_sentences(comparison)),
    }


def _side(side: Side) -> dict[str, Any]:
    runs = [
        {"name": run.name, "id": run.session_id, "started_at": run.started_at.isoformat(), "virtual": run.is_virtual}
        for run in side.runs
    ]
    return {"tags": dict(side.tags), "runs": runs}


def _contrast(contrast: Contrast, before: Side) -> dict[str, Any]:
    at = contrast.at
    return {
        "side": _side(contrast.side),
        "changed": {key: {"before": old, "after": new} for key, (old, new) in contrast.changed.items()},
        "paired": contrast.is_paired,
        "caveats": [
            {"doubt": one.doubt.value, "before": one.before, "after": one.after, "what": one.what}
            for one in contrast.caveats
        ],
        "conditions": None if at is None else _conditions(at),
        "cooling": {**_verdict(contrast.cooling), "sentence": words.cooling_sentence(contrast, before)},
        "capacity": None
        if contrast.capacity_at is None
        else {
            **_verdict(contrast.capacity),
            "conditions": _conditions(contrast.capacity_at),
            "sentence": words.capacity_sentence(contrast, before) or None,
        },
        "speed": {
            **_verdict(contrast.speed),
            "quantity": contrast.speed_key or None,
            "work_unit": _work_unit(contrast.speed_unit),
            "sustained": contrast.is_speed_sustained,
            "sentence": words.speed_sentence(contrast),
        },
        "not_alike": list(words.caveat_sentences(contrast, before)),
        "phases": [_phase(pair) for pair in contrast.phases],
        "only_before": list(contrast.only_before),
        "only_after": list(contrast.only_after),
    }


def _conditions(at: At) -> dict[str, Any]:
    return {
        "room_c": at.room_c,
        "power_w": at.power_w,
        "limit_c": at.limit_c,
        "phase": at.phase,
        "runs": list(at.runs),
        "measured_runs": list(at.measured),
    }


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        "answer": verdict.answer.value,
        "why_not": verdict.why_not or None,
        "before": verdict.before,
        "after": verdict.after,
        "unit": verdict.unit or None,
        "change": figure_object(verdict.change),
        "difference": figure_object(verdict.difference),
        "chance": verdict.chance,
        "more_runs": verdict.more_runs,
        "wants": [want.value for want in verdict.wants],
        "decision": words.decision_sentence(verdict) or None,
    }


def _work_unit(unit: WorkUnit | None) -> dict[str, Any] | None:
    if unit is None:
        return None
    return {"kind": unit.kind, "operations": unit.operations, "moved_bytes": unit.moved_bytes}


def _phase(pair: PhaseComparison) -> dict[str, Any]:
    return {
        "before": pair.before,
        "after": pair.after,
        "by_name_only": pair.by_name,
        "runs": list(pair.runs),
        "sustained_runs": list(pair.sustained),
        "work_unit": _work_unit(pair.work_unit),
        "quantities": {
            row.key: {
                "unit": row.unit or None,
                "before": row.before,
                "after": row.after,
                "difference": figure_object(row.difference),
                "counted": row.is_counted,
            }
            for row in pair.rows
        },
    }
