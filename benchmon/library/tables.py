"""Sessions as tables for other engines: what the columns are called, their units, and the rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings, Summary
from benchmon.model.records import Sample

Row = tuple[Any, ...]
ROWS_AT_ONCE = 20_000


class Kind(Enum):
    """What a column holds."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole number"
    TRUTH = "truth value"
    MOMENT = "moment, UTC"
    TEXTS = "texts by name"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table."""

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    """As in session files; empty where there is none."""


@dataclass(frozen=True, slots=True)
class Table:
    """One table."""

    name: str
    columns: tuple[Column, ...]


def _text(name: str, meaning: str) -> Column:
    return Column(name, Kind.TEXT, meaning)


def _number(name: str, unit: str, meaning: str) -> Column:
    return Column(name, Kind.NUMBER, meaning, unit)


_WHOSE = (_text("session", "name of the session's file, the same in all tables"),)

SESSIONS = Table(
    "sessions",
    (
        *_WHOSE,
        _text("session_id", "random, unique"),
        Column("started_at", Kind.MOMENT, "wall-clock time of t_s = 0"),
        _number("length_s", "s", "time of the last record"),
        _number("period_s", "s", "intended time between samples"),
        _text("processor", "what the processor says it is"),
        Column("is_virtual", Kind.TRUTH, "made by the virtual bench"),
        Column("is_complete", Kind.TRUTH, "closed in good order and undamaged"),
        Column("tags", Kind.TEXTS, "what was special about the run"),
        _number("limit_c", "degC", "limit temperature: defended, else told"),
        _number("resistance_k_per_w", "K/W", "of the cooler, best value"),
        _number("resistance_low_k_per_w", "K/W", "95 % interval, lower end"),
        _number("resistance_high_k_per_w", "K/W", "95 % interval, upper end"),
        _number("capacity_measured_w", "W", "sustained power while a temperature was defended"),
        _number("capacity_predicted_w", "W", "sustained power at the limit, predicted"),
    ),
)
PHASES = Table(
    "phases",
    (
        *_WHOSE,
        Column("number", Kind.WHOLE, "1, 2, 3 … within the session"),
        _text("name", "as it was marked, or by its load"),
        _number("start_s", "s", "on the session's axis"),
        _number("end_s", "s", "on the session's axis; empty while it lasted"),
        _number("clock_mean_mhz", "MHz", "mean clock of the busy cores"),
        _number("power_mean_w", "W", "mean package power"),
        _number("temp_mean_c", "degC", "mean processor temperature"),
        _number("temp_last_c", "degC", "last processor temperature"),
        _number("load_mean_pct", "%", "mean load"),
        _number("work_mean_per_s", "1/s", "mean rate of the built-in work"),
        _number("wall_w", "W", "mean power at the wall, read or entered"),
        _number("room_c", "degC", "room, read or entered"),
        _number("energy_j", "J", "package energy"),
        _number("resistance_k_per_w", "K/W", "as it would settle, best value"),
        _number("resistance_low_k_per_w", "K/W", "95 % interval, lower end"),
        _number("resistance_high_k_per_w", "K/W", "95 % interval, upper end"),
        Column("event_count", Kind.WHOLE, "throttle events that touch it"),
    ),
)
EVENTS = Table(
    "events",
    (
        *_WHOSE,
        Column("number", Kind.WHOLE, "1, 2, 3 … within the session"),
        _text("cause", "thermal, power_limit, outside or unexplained"),
        _number("confidence", "1", "probability of the cause, 0 to 1"),
        _number("start_s", "s", "onset"),
        _number("end_s", "s", "end; empty while it lasted"),
        _number("clock_before_mhz", "MHz", "clock before"),
        _number("sustained_clock_mhz", "MHz", "mean clock of the settled part of the event"),
        _number("power_before_w", "W", "package power before"),
        _number("sustained_power_w", "W", "mean package power of the settled part of the event"),
        _number("temp_onset_c", "degC", "temperature at the onset"),
        _number("temp_plateau_c", "degC", "temperature that was defended"),
        _number("limited_share", "1", "share of the time in which it was limited"),
        _number("work_lost", "1", "share of the work that would have been done"),
        _number("energy_j", "J", "package energy during the event"),
    ),
)


def samples_table(channels: Iterable[Channel]) -> Table:
    """The table of samples with a column for each of these channels."""
    return Table(
        "samples",
        (
            *_WHOSE,
            _number("t_s", "s", "time since the session's start"),
            *(Column(each.key, Kind.NUMBER, each.label, each.unit.value) for each in channels),
        ),
    )


def session_row(name: str, summary: Summary) -> Row:
    """The row of a session."""
    header, thermal, machine = summary.header, summary.thermal, summary.machine
    resistance, capacity = thermal.resistance_k_per_w, thermal.capacity
    moment: datetime = header.started_at
    return (
        name,
        header.session_id,
        moment,
        summary.quality.duration_s,
        header.period_s,
        machine.processor if machine is not None else None,
        bool(header.virtual) or (machine is not None and machine.virtual),
        summary.is_complete,
        dict(summary.tags),
        thermal.limit_c.value,
        resistance.value,
        resistance.low,
        resistance.high,
        capacity.measured_w.value,
        capacity.predicted_w.value,
    )


def phase_rows(name: str, phases: Sequence[PhaseFindings]) -> list[Row]:
    """The rows of a session's phases."""
    return [_phase_row(name, number, phase) for number, phase in enumerate(phases, 1)]


def _phase_row(name: str, number: int, phase: PhaseFindings) -> Row:
    means = {key: spread.mean for key, spread in phase.means.items()}
    temp = phase.means.get(keys.PROCESSOR_TEMP)
    resistance = phase.resistance_k_per_w
    return (
        name,
        number,
        phase.name,
        phase.start_s,
        phase.end_s,
        means.get(keys.CLOCK),
        means.get(keys.PACKAGE_POWER),
        means.get(keys.PROCESSOR_TEMP),
        None if temp is None else temp.last,
        means.get(keys.LOAD),
        means.get(keys.WORK_RATE),
        phase.wall_w,
        phase.room_c,
        phase.energy_j.value,
        resistance.value,
        resistance.low,
        resistance.high,
        len(phase.events),
    )


def event_rows(name: str, events: Iterable[ThrottleEvent]) -> list[Row]:
    """The rows of a session's throttle events."""
    return [
        (
            name,
            event.number,
            event.cause.value,
            event.confidence,
            event.start_s,
            event.end_s,
            event.clock_before_mhz,
            None if event.sustained is None else event.sustained.clock_mhz,
            event.power_before_w,
            None if event.sustained is None else event.sustained.power_w,
            event.temp_onset_c,
            event.temp_plateau_c,
            event.limited_share,
            event.work_lost,
            event.energy_j,
        )
        for event in events
    ]


def sample_rows(
    name: str, samples: Iterable[Sample], columns: Sequence[str], places: Mapping[str, int]
) -> Iterator[list[Row]]:
    """The rows of a session's samples, some thousands at once.

    Args:
        name: of the session.
        samples: in order of time.
        columns: keys of the channels that the table has, in its order.
        places: where each key is in these samples; one that is missing was not recorded.
    """
    order = [places.get(key) for key in columns]
    rows: list[Row] = []
    for sample in samples:
        values = sample.values
        rows.append((name, sample.t_s, *(None if place is None else values[place] for place in order)))
        if len(rows) >= ROWS_AT_ONCE:
            yield rows
            rows = []
    if rows:
        yield rows
