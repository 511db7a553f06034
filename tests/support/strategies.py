"""Hypothesis strategies: channels, records and whole sessions as a recorder could have written them.

Numbers lie on the grid that the format keeps (docs/session-format.md), so that equality can be asked for.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st

from benchmon.model.channel import Channel
from benchmon.model.plan import Asked, Condition, ConditionKind, Plan, PlanPhase, StepAction, StepEnd
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
    Session,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)
from benchmon.model.units import Unit
from benchmon.model.usable import MOST_VALUE
from benchmon.session.rounding import decimals_kept

words = st.text(max_size=20)
"""Any text at all: what people type and what the kernel's files hold may be anything, lone surrogates included."""
any_number = st.floats(-MOST_VALUE, MOST_VALUE)
units = st.sampled_from(Unit)


def on_grid(decimals: int, least: float = -1e6, most: float = 1e6) -> st.SearchStrategy[float]:
    """Numbers that rounding to so many decimals leaves as they are."""
    return st.floats(least, most).map(lambda value: round(value, decimals))


times_s = on_grid(3, 0.0, 1e6)


@st.composite
def channels(draw: st.DrawFn) -> Channel:
    unit = draw(units)
    stem = draw(st.from_regex(r"[a-z][a-z0-9]{0,8}", fullmatch=True))
    resolution = draw(st.none() | st.sampled_from([0.001, 0.0625, 0.1, 0.5, 1.0, 25.0]))
    return Channel(f"{stem}_{unit.suffix}", draw(words), unit, draw(words), resolution)


@st.composite
def planned_runs(draw: st.DrawFn) -> PlannedRun:
    """Whatever plan; times to the millisecond, as they are written."""
    phases = []
    for number in range(draw(st.integers(1, 4))):
        until = draw(st.lists(st.sampled_from(ConditionKind).map(_condition), max_size=3, unique=True))
        until = [one for one in until if one.kind is not ConditionKind.COMMAND_ENDED]
        greatest_s = draw(on_grid(3, 1.0, 1e6))
        phases.append(
            PlanPhase(
                name=f"phase {number}",
                load=draw(st.sampled_from(["idle", "all", "one", "3", "all at 50 %"])),
                greatest_s=greatest_s,
                until=tuple(until),
                least_s=draw(st.just(0.0) | on_grid(3, 0.001, greatest_s)) if until else 0.0,
                ask=tuple(draw(st.lists(st.sampled_from(Asked), max_size=2, unique=True))),
                do=draw(st.sampled_from(["", "Open the lid."])),
            )
        )
    plan = Plan("whatever", tuple(phases), draw(st.sampled_from(["", "about"])), (), draw(st.none() | st.just(90.5)))
    return PlannedRun(draw(times_s), plan, draw(st.integers(1, len(phases))), draw(st.sampled_from(["", "5f0c"])))


def _condition(kind: ConditionKind) -> Condition:
    values = {ConditionKind.HELD_BACK: 60.0, ConditionKind.COOLED: 60.0}
    values |= {ConditionKind.BELOW: 45.5, ConditionKind.ABOVE: 80.0}
    return Condition(kind, values.get(kind))


@st.composite
def headers(draw: st.DrawFn, most_channels: int = 5, least_channels: int = 0) -> SessionHeader:
    moment = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(milliseconds=draw(st.integers(0, 10**11)))
    return SessionHeader(
        session_id=draw(words),
        started_at=moment,
        period_s=draw(st.floats(0.1, 10)),
        channels=tuple(
            draw(
                st.lists(
                    channels(),
                    min_size=least_channels,
                    max_size=most_channels,
                    unique_by=lambda channel: channel.key,
                )
            )
        ),
        tags=draw(st.dictionaries(words, words, max_size=3)),
        time_scale=draw(st.sampled_from([1.0, 10.0, 0.5])),
        made_by=draw(words),
        virtual=draw(words),
    )


@st.composite
def samples(draw: st.DrawFn, header: SessionHeader, t_s: float | None = None) -> Sample:
    values = tuple(draw(st.none() | on_grid(decimals_kept(channel))) for channel in header.channels)
    return Sample(draw(times_s) if t_s is None else t_s, values, draw(on_grid(5, 0.0, 1.0)))


marks = st.builds(
    Mark,
    number=st.integers(1, 10**6),
    t_s=times_s,
    entered_s=times_s,
    kind=st.sampled_from(MarkKind),
    text=words,
    value=st.none() | any_number,
    replaces=st.none() | st.integers(1, 10**6),
)
settings_said = st.builds(
    Setting, t_s=times_s, key=words, value=st.none() | any_number | words, unit=st.none() | units, source=words
)
counts = st.none() | st.integers(0, 4096)
machines = st.builds(
    Machine,
    t_s=times_s,
    processor=words,
    board=words,
    product=words,
    system=words,
    cores=counts,
    threads=counts,
    memory_gib=st.none() | any_number,
    virtual=st.booleans(),
)
channel_states = st.builds(ChannelState, t_s=times_s, key=words, readable=st.booleans(), reason=words)
gaps = st.builds(Gap, start_s=times_s, end_s=times_s, reason=words)
load_changes = st.builds(
    LoadChange,
    t_s=times_s,
    action=st.sampled_from(LoadAction),
    what=words,
    busy_cores=counts,
    reason=words,
    exit_status=st.none() | st.integers(-64, 255),
)
ends = st.builds(SessionEnd, t_s=times_s, reason=words)
step_changes = st.builds(
    StepChange,
    t_s=times_s,
    number=st.integers(1, 1000),
    action=st.sampled_from(StepAction),
    because=st.none() | st.sampled_from(StepEnd),
)
other_records: st.SearchStrategy[Record] = st.one_of(
    marks, settings_said, machines, channel_states, gaps, load_changes, planned_runs(), step_changes
)
"""Whatever may stand between the samples."""


@st.composite
def sessions(draw: st.DrawFn, most_records: int = 12, *, ended: bool | None = None) -> Session:
    """A whole undamaged session: samples in ascending order, anything between them.

    Args:
        draw: given by Hypothesis.
        most_records: of samples and of others each.
        ended: whether it was closed in good order; None for either.
    """
    header = draw(headers())
    rising = sorted(draw(st.lists(times_s, max_size=most_records, unique=True)))
    records: list[Record] = [draw(samples(header, t_s)) for t_s in rising]
    for record in draw(st.lists(other_records, max_size=most_records)):
        records.insert(draw(st.integers(0, len(records))), record)
    if draw(st.booleans()) if ended is None else ended:
        records.append(draw(ends))
    return Session(header, tuple(records))
