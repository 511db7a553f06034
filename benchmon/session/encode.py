"""Records → lines of a session file. ``docs/session-format.md`` is the specification."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from math import isfinite
from typing import Any, assert_never

from benchmon.model.channel import Channel
from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadChange,
    Machine,
    Mark,
    PlannedRun,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)
from benchmon.model.usable import MOST_VALUE
from benchmon.session.rounding import COST_DECIMALS, TIME_DECIMALS

FORMAT_NAME = "benchmon session"
VERSION = 1
"""Version of the format that is written. See ``upgrades.py`` for what happens when it grows."""

_to_json = json.JSONEncoder(separators=(",", ":"), allow_nan=False).encode


def encode(record: Record, decimals: Sequence[int] | None = None) -> str:
    """One record as one line, without the line end. Plain ASCII.

    Args:
        record: what to write.
        decimals: for a sample, how many decimals to keep of each value (``decimals_kept`` of each channel);
            None keeps three of each.

    Raises:
        ValueError: if a time is not finite or ``decimals`` does not fit the sample.
    """
    if isinstance(record, Sample):
        return _sample_line(record, [3] * len(record.values) if decimals is None else decimals)
    return _to_json(_to_fields(record))


def _sample_line(sample: Sample, decimals: Sequence[int]) -> str:
    values: list[float | None] = [  # + 0.0 turns -0.0 into 0.0; what no reader would take is not read
        round(value, places) + 0.0 if value is not None and -MOST_VALUE <= value <= MOST_VALUE else None
        for value, places in zip(sample.values, decimals, strict=True)
    ]
    t_s, cost_s = round(sample.t_s, TIME_DECIMALS), round(sample.read_cost_s, COST_DECIMALS)
    line = _to_json(["s", t_s, values, cost_s])
    return line.replace(".0,", ",").replace(".0]", "]")


def _to_fields(record: Record) -> dict[str, Any]:
    match record:
        case SessionHeader():
            return _header_fields(record)
        case Mark():
            return {
                "record": "mark",
                "number": record.number,
                "t_s": _time(record.t_s),
                "entered_s": _time(record.entered_s),
                "kind": record.kind.value,
            } | _given(text=record.text, value=_short(record.value), replaces=record.replaces, source=record.source)
        case Setting():
            value = record.value if isinstance(record.value, str) else _short(record.value)
            fields = {"record": "setting", "t_s": _time(record.t_s), "key": record.key, "value": value}
            return fields | _given(unit=record.unit and record.unit.value, source=record.source)
        case Machine():
            return _machine_fields(record)
        case ChannelState():
            fields = {"record": "channel", "t_s": _time(record.t_s), "key": record.key, "readable": record.readable}
            return fields | _given(reason=record.reason)
        case Gap():
            return {
                "record": "gap",
                "start_s": _time(record.start_s),
                "end_s": _time(record.end_s),
                "reason": record.reason,
            }
        case LoadChange():
            fields = {"record": "load", "t_s": _time(record.t_s), "action": record.action.value, "what": record.what}
            return fields | _given(
                busy_cores=record.busy_cores,
                reason=record.reason,
                exit_status=record.exit_status,
                work=record.work,
                duty=None if record.duty == 1 else _short(record.duty),
                unit_operations=_short(record.unit_operations),
                unit_bytes=_short(record.unit_bytes),
            )
        case PlannedRun() | StepChange():
            return _plan_fields(record)
        case SessionEnd():
            return {"record": "end", "t_s": _time(record.t_s), "reason": record.reason}
        case Sample():
            raise ValueError("a sample is a short array, not an object")
        case _:
            assert_never(record)


def _header_fields(header: SessionHeader) -> dict[str, Any]:
    return {
        "record": "session",
        "format": FORMAT_NAME,
        "version": VERSION,
        "session_id": header.session_id,
        "started_at": _utc(header.started_at),
        "period_s": _short(header.period_s),
        "channels": [_channel_fields(channel) for channel in header.channels],
    } | _given(
        tags=dict(header.tags) or None,
        time_scale=None if header.time_scale == 1 else _short(header.time_scale),
        made_by=header.made_by,
        virtual=header.virtual,
    )


def _plan_fields(record: PlannedRun | StepChange) -> dict[str, Any]:
    if isinstance(record, PlannedRun):
        from benchmon.plans.fields import to_fields  # noqa: PLC0415  (few sessions hold a plan)

        fields = {"record": "plan", "t_s": _time(record.t_s), "plan": to_fields(record.plan)}
        return fields | _given(first=None if record.first == 1 else record.first, resumes=record.resumes)
    fields = {"record": "step", "t_s": _time(record.t_s), "number": record.number, "action": record.action.value}
    return fields | _given(because=record.because and record.because.value)


def _channel_fields(channel: Channel) -> dict[str, Any]:
    fields = {"key": channel.key, "label": channel.label, "unit": channel.unit.value, "source": channel.source}
    return fields | _given(resolution=_short(channel.resolution))


def _machine_fields(machine: Machine) -> dict[str, Any]:
    return {"record": "machine", "t_s": _time(machine.t_s)} | _given(
        processor=machine.processor,
        board=machine.board,
        product=machine.product,
        system=machine.system,
        cores=machine.cores,
        threads=machine.threads,
        memory_gib=_short(machine.memory_gib),
        virtual=machine.virtual or None,
    )


def _given(**fields: object) -> dict[str, object]:
    """The fields that say something: what is empty or not known is left out of the line."""
    return {name: value for name, value in fields.items() if value is not None and value != ""}


def _short(value: float | None) -> float | None:
    """The number without a needless ``.0``; None for what is no number."""
    if value is None or not isfinite(value) or abs(value) > MOST_VALUE:
        return None
    return int(value) if abs(value) < MOST_VALUE and value == int(value) else value


def _time(t_s: float) -> float:
    short = _short(round(t_s, TIME_DECIMALS))
    if short is None:
        raise ValueError("a time must be finite")
    return short


def _utc(moment: datetime) -> str:
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"
