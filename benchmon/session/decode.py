"""Lines of a session file → records. ``docs/session-format.md`` is the specification."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any

from benchmon.model.channel import Channel
from benchmon.model.plan import StepAction, StepEnd
from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    PlannedRun,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)
from benchmon.model.units import Unit
from benchmon.model.usable import MOST_TIME_S
from benchmon.session.fields import (
    Fields,
    LineError,
    checked_number,
    choice,
    number,
    number_or_none,
    text,
    texts,
    time_s,
    truth,
    whole,
    whole_or_none,
)

MOST_CHANNELS = 10_000
_SHORTEST_S = 1e-3
_MOST_SCALE = 1e6


def parse(line: bytes | str) -> Any:
    """The line as JSON.

    Raises:
        LineError: if it is no JSON, or holds a number that is none.
    """
    try:
        return _from_json(line if isinstance(line, str) else line.decode())
    except (ValueError, RecursionError):
        raise LineError("it cannot be read as a record") from None


def decode(line: bytes | str, header: SessionHeader | None = None) -> Record | None:
    """The record in one line of the present version; None for a kind of record that is not known.

    Args:
        line: the line, with or without its end.
        header: the session's header; not needed for the header itself.

    Raises:
        LineError: if the line makes no sense.
    """
    return to_record(parse(line), header)


def to_record(value: Any, header: SessionHeader | None = None) -> Record | None:
    """The record in one line that has been parsed (and upgraded); None for a kind that is not known.

    Raises:
        LineError: if it makes no sense.
    """
    try:
        if isinstance(value, list) and value and isinstance(value[0], str):
            return _sample(value, header) if value[0] == "s" else None
        if isinstance(value, dict):
            build = _BUILDERS.get(text(value, "record"))
            return build(value) if build else None
    except LineError:
        raise
    except (ValueError, OverflowError) as fault:  # a channel's suffix, a date that is none, a number too large
        raise LineError(str(fault)) from None
    raise LineError("it is neither a sample nor a record")


def _sample(value: Sequence[Any], header: SessionHeader | None) -> Sample:
    if header is None:
        raise LineError("a sample comes before the header")
    if len(value) < 3 or not isinstance(value[2], list):
        raise LineError("the sample has no values")
    given = value[2]
    if len(given) != len(header.channels):
        raise LineError(f"the sample has {len(given)} values for {len(header.channels)} channels")
    values = tuple([each if each is None else checked_number(each, "value") for each in given])
    cost_s = checked_number(value[3], "cost") if len(value) > 3 else 0.0
    return Sample(checked_number(value[1], "t_s", MOST_TIME_S), values, cost_s)


def _header(fields: Fields) -> SessionHeader:
    channels = fields.get("channels")
    if not isinstance(channels, list) or not all(isinstance(each, dict) for each in channels):
        raise LineError("“channels” is missing or not a list")
    if len(channels) > MOST_CHANNELS:
        raise LineError(f"it has more than {MOST_CHANNELS} channels")
    described = tuple(_channel(each) for each in channels)
    if len({each.key for each in described}) < len(described):
        raise LineError("two channels have the same key")
    period_s, time_scale = number(fields, "period_s"), number(fields, "time_scale", 1.0)
    if not (_SHORTEST_S <= period_s <= MOST_TIME_S and 0 < time_scale <= _MOST_SCALE):
        raise LineError("“period_s” and “time_scale” must be greater than zero, and within reason")
    return SessionHeader(
        session_id=text(fields, "session_id"),
        started_at=_moment(text(fields, "started_at")),
        period_s=period_s,
        channels=described,
        tags=texts(fields, "tags"),
        time_scale=time_scale,
        made_by=text(fields, "made_by", ""),
        virtual=text(fields, "virtual", ""),
    )


def _channel(fields: Fields) -> Channel:
    return Channel(
        key=text(fields, "key"),
        label=text(fields, "label"),
        unit=choice(fields, "unit", Unit),
        source=text(fields, "source"),
        resolution=number_or_none(fields, "resolution"),
    )


def _moment(written: str) -> datetime:
    moment = datetime.fromisoformat(written)
    if moment.tzinfo is None:
        raise LineError("“started_at” does not say in which time zone")
    return moment.astimezone(UTC)


def _mark(fields: Fields) -> Mark:
    return Mark(
        number=whole(fields, "number"),
        t_s=time_s(fields, "t_s"),
        entered_s=time_s(fields, "entered_s"),
        kind=choice(fields, "kind", MarkKind),
        text=text(fields, "text", ""),
        value=number_or_none(fields, "value"),
        replaces=whole_or_none(fields, "replaces"),
        source=text(fields, "source", ""),
    )


def _setting(fields: Fields) -> Setting:
    value = fields.get("value")
    return Setting(
        t_s=time_s(fields, "t_s"),
        key=text(fields, "key"),
        value=value if isinstance(value, str) else number_or_none(fields, "value"),
        unit=None if fields.get("unit") is None else choice(fields, "unit", Unit),
        source=text(fields, "source", ""),
    )


def _machine(fields: Fields) -> Machine:
    return Machine(
        t_s=time_s(fields, "t_s"),
        processor=text(fields, "processor", ""),
        board=text(fields, "board", ""),
        product=text(fields, "product", ""),
        system=text(fields, "system", ""),
        cores=whole_or_none(fields, "cores"),
        threads=whole_or_none(fields, "threads"),
        memory_gib=number_or_none(fields, "memory_gib"),
        virtual=truth(fields, "virtual", default=False),
    )


def _channel_state(fields: Fields) -> ChannelState:
    return ChannelState(
        time_s(fields, "t_s"), text(fields, "key"), truth(fields, "readable"), text(fields, "reason", "")
    )


def _gap(fields: Fields) -> Gap:
    return Gap(time_s(fields, "start_s"), time_s(fields, "end_s"), text(fields, "reason"))


def _load_change(fields: Fields) -> LoadChange:
    duty = number(fields, "duty", 1.0)
    operations, moved = number_or_none(fields, "unit_operations"), number_or_none(fields, "unit_bytes")
    if not 0 < duty <= 1 or any(size is not None and size < 1 for size in (operations, moved)):
        raise LineError("“duty” must lie between 0 and 1, and a unit of work be at least 1 operation or byte")
    return LoadChange(
        t_s=time_s(fields, "t_s"),
        action=choice(fields, "action", LoadAction),
        what=text(fields, "what"),
        busy_cores=whole_or_none(fields, "busy_cores"),
        reason=text(fields, "reason", ""),
        exit_status=whole_or_none(fields, "exit_status"),
        work=text(fields, "work", ""),
        duty=duty,
        unit_operations=operations,
        unit_bytes=moved,
    )


def _plan(fields: Fields) -> PlannedRun:
    from benchmon.plans.faults import PlanFaultsError  # noqa: PLC0415  (few sessions hold a plan)
    from benchmon.plans.fields import from_fields  # noqa: PLC0415

    given = fields.get("plan")
    if not isinstance(given, dict):
        raise LineError("“plan” is missing or no object")
    try:
        plan = from_fields(given)
    except PlanFaultsError as error:
        raise LineError(str(error)) from None
    first = fields.get("first", 1)
    if whole({"first": first}, "first") not in range(1, len(plan.phases) + 1):
        raise LineError("“first” is no phase of the plan")
    return PlannedRun(time_s(fields, "t_s"), plan, first, text(fields, "resumes", ""))


def _step(fields: Fields) -> StepChange:
    because = None if fields.get("because") is None else choice(fields, "because", StepEnd)
    number, action = whole(fields, "number"), choice(fields, "action", StepAction)
    return StepChange(time_s(fields, "t_s"), number, action, because)


def _end(fields: Fields) -> SessionEnd:
    return SessionEnd(time_s(fields, "t_s"), text(fields, "reason"))


def _refuse_constant(name: str) -> Any:
    raise LineError(f"{name} is no number")


_from_json = json.JSONDecoder(parse_constant=_refuse_constant).decode

_BUILDERS: dict[str, Callable[[Fields], Record]] = {
    "session": _header,
    "mark": _mark,
    "setting": _setting,
    "machine": _machine,
    "channel": _channel_state,
    "gap": _gap,
    "load": _load_change,
    "plan": _plan,
    "step": _step,
    "end": _end,
}
