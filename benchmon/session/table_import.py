"""Makes a session of a plain table of readings, whoever recorded it."""

from __future__ import annotations

import uuid
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from math import isnan
from pathlib import Path
from statistics import median

from benchmon.errors import InputError
from benchmon.model.channel import Channel
from benchmon.model.records import Gap, Mark, MarkKind, Record, Sample, Session, SessionEnd, SessionHeader, Setting
from benchmon.model.usable import MOST_TIME_S
from benchmon.session.order import out_of_order
from benchmon.session.table_checks import check_columns, check_period, check_unit
from benchmon.session.table_columns import CHANNELS, NEEDS_ONE_OF, SETTINGS, TIME
from benchmon.session.table_file import Table, Told, read_table
from benchmon.session.table_headings import Taken

GAP_PERIODS, GAP_S = 5.0, 3.0
"""A gap is longer than so many typical periods, and longer than so many seconds."""
_MOST_SHARED = 50_000
_EPOCH_S = 1e8
"""Times beyond this count from 1970, not from the start of a recording (it would have lasted three years)."""


@dataclass(frozen=True, slots=True)
class ImportedColumn:
    """A column as it was understood."""

    taken: Taken
    count: int
    """Readings in it."""
    least: float | None
    """Least and greatest reading, in our unit; None if there is none."""
    greatest: float | None


@dataclass(frozen=True, slots=True)
class ImportedTable:
    """A table as a session."""

    session: Session
    notes: tuple[str, ...]
    """Sentences: what was left out, taken for something or found odd."""
    columns: tuple[ImportedColumn, ...]
    """What was understood, column by column."""


def import_table(
    path: Path, ambient_c: float | None = None, tags: Mapping[str, str] | None = None, told: Told | None = None
) -> ImportedTable:
    """The table as a session that could have been recorded.

    Columns: ``t_s`` and at least one of ``clock_mhz``, ``work_rate``, ``temp_c``; besides them ``power_w``,
    ``load_pct``, ``throttle_count``, ``temp_limit_c``, ``power_limit_w``. Others are left out. A blank cell is not
    read (None); in the two limits it means "as before".

    Args:
        path: the table; separated by comma, semicolon or tab.
        ambient_c: room temperature to enter at the start [°C]; None if not known.
        tags: what is special about the run.
        told: which column is what, where the headings are not ours.

    Raises:
        InputError: if it cannot be read, lacks what is needed, or its numbers speak of other units.
    """
    table = read_table(path, told)
    check_columns(path, table, NEEDS_ONE_OF)
    rows, notes = _usable_rows(path, table)
    times = [table.columns[TIME][row] for row in rows]
    period_s = median(later - earlier for earlier, later in pairwise(times))
    check_period(path, period_s)
    for name in (*CHANNELS, *SETTINGS):
        if name in table.columns:
            check_unit(path, name, [value for value in table.columns[name] if not isnan(value)])
    notes += _notes(table)
    names = [name for name in CHANNELS if name in table.columns and not _is_blank(table.columns[name])]
    if not set(names) & set(NEEDS_ONE_OF):
        raise InputError(f"{path} holds no number in the columns {', '.join(NEEDS_ONE_OF)}.")
    started_at, shift_s = _started_at(path, times[0], notes)
    if max(abs(times[0] - shift_s), abs(times[-1] - shift_s)) > MOST_TIME_S:
        raise InputError(f"The times of {path} span more than a year.", "t_s must be in seconds.")
    header = SessionHeader(
        session_id=uuid.uuid4().hex,
        started_at=started_at,
        period_s=max(0.001, round(period_s, 3)),
        channels=tuple(Channel(*CHANNELS[name], source=f"column {name} of {path.name}") for name in names),
        tags=dict(tags or {}),
        made_by=f"imported from {path.name}",
    )
    records = tuple(_records(table, rows, names, shift_s, period_s=period_s, ambient_c=ambient_c))
    missing = sum(isinstance(record, Gap) for record in records)
    if missing:
        notes.append(f"{_count(missing, 'gap')} in the times became {_count(missing, 'gap')} of the recording.")
    return ImportedTable(
        Session(header, records), tuple(notes), tuple(_column(table, one, rows) for one in table.taken)
    )


def _column(table: Table, taken: Taken, rows: Sequence[int]) -> ImportedColumn:
    values = [value for row in rows if not isnan(value := table.columns[taken.name][row])]
    return ImportedColumn(taken, len(values), min(values, default=None), max(values, default=None))


def _usable_rows(path: Path, table: Table) -> tuple[Sequence[int], list[str]]:
    """Indexes of the rows whose time ascends, and what was left out."""
    times = table.columns[TIME]
    timed = [row for row, t_s in enumerate(times) if not isnan(t_s)]
    bad = {timed[index] for index in out_of_order([times[row] for row in timed])}
    rows = [row for row in timed if row not in bad]
    if len(rows) < 2:
        raise InputError(
            f"{path} has {_count(len(rows), 'usable row')}; at least two are needed.",
            "Its times (t_s) must ascend from row to row.",
        )
    notes = []
    if len(timed) < len(times):
        notes.append(f"{_count(len(times) - len(timed), 'row')} without a time left out.")
    if bad:
        notes.append(f"{_count(len(bad), 'row')} left out because the time repeats, goes back or jumps.")
    if table.overlong_rows:
        notes.append(f"{_count(table.overlong_rows, 'row')} with more cells than the heading has names left out.")
    return rows, notes


def _notes(table: Table) -> list[str]:
    notes = [
        f"Column {name}: {_count(count, 'cell')} without a number (“{table.first_odd_cell[name]}”) taken as not read."
        for name, count in table.not_numbers.items()
        if name != TIME
    ]
    notes += [f"Column {name} is blank and left out." for name in table.columns if _is_blank(table.columns[name])]
    notes += [f"Column {one.heading} is {one.name} in {one.unit}, converted." for one in table.taken if one.unit]
    if table.has_no_zone:
        notes.append("The times have no time zone; they are taken as UTC.")
    if table.unknown:
        named = ", ".join(name or "(no name)" for name in table.unknown)
        notes.append(f"Columns that are not known were left out: {named}.")
    load = [value for value in table.columns.get("load_pct", ()) if not isnan(value)]
    if load and 0 < max(load) <= 1:
        notes.append("load_pct never exceeds 1; if it is a share from 0 to 1, multiply it by 100 and import again.")
    return notes


def _started_at(path: Path, first_s: float, notes: list[str]) -> tuple[datetime, float]:
    """When the session started, and what to take from all times [s]."""
    if first_s >= _EPOCH_S:
        try:
            moment = datetime.fromtimestamp(first_s, UTC)
        except (ValueError, OverflowError, OSError):
            raise InputError(f"The times of {path} lie beyond the calendar.", "t_s must be in seconds.") from None
        notes.append("t_s counts from 1970; the session's time counts from the first row.")
        return moment, first_s
    notes.append("The table does not say when it was recorded; the date of its file is given.")
    return datetime.fromtimestamp(path.stat().st_mtime, UTC), 0.0


def _records(
    table: Table, rows: Sequence[int], names: Sequence[str], shift_s: float, *, period_s: float, ambient_c: float | None
) -> Iterator[Record]:
    columns = [table.columns[name] for name in names]
    limits = [(*SETTINGS[name], name, table.columns[name]) for name in SETTINGS if name in table.columns]
    in_force: dict[str, float] = {}
    shared = _Shared()
    last_s: float | None = None
    for row in rows:
        t_s = table.columns[TIME][row] - shift_s
        for key, unit, name, column in limits:
            value = column[row]
            if not isnan(value) and in_force.get(key) != value:
                in_force[key] = value
                yield Setting(t_s, key, value, unit, f"column {name}")
        if last_s is None and ambient_c is not None:
            yield Mark(1, t_s, t_s, MarkKind.ROOM, value=ambient_c)
        if last_s is not None and t_s - last_s > max(GAP_S, GAP_PERIODS * period_s):
            yield Gap(last_s, t_s, "missing")
        values = (column[row] for column in columns)
        yield Sample(t_s, tuple([None if isnan(value) else shared[value] for value in values]))
        last_s = t_s
    yield SessionEnd(last_s or 0.0, "end of the table")


class _Shared(dict[float, float]):
    """One object for equal readings; they repeat so often that this halves the memory of a long table."""

    def __missing__(self, value: float) -> float:
        if len(self) < _MOST_SHARED:
            self[value] = value
        return value


def _is_blank(column: array[float]) -> bool:
    return all(map(isnan, column))


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
