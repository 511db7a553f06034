"""Writes sessions as tables into a new folder: ``TABLE/machine=…/day=…/``, as engines of others expect partitions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Protocol
from urllib.parse import quote

from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.errors import BenchmonError, OutputError
from benchmon.library.tables import (
    EVENTS,
    PHASES,
    SESSIONS,
    Row,
    Table,
    event_rows,
    phase_rows,
    sample_rows,
    samples_table,
    session_row,
)
from benchmon.model.channel import Channel
from benchmon.model.records import Machine, Sample, SessionHeader
from benchmon.session.naming import bare_name
from benchmon.session.reader import StoredSession

UNKNOWN = "unknown"


class TableFile(Protocol):
    """One file of one table."""

    def add(self, rows: Sequence[Row]) -> None:
        """Append rows, in the order of the table's columns."""

    def close(self) -> None:
        """Write what is left."""


OpenTable = Callable[[Path, Table], TableFile]
"""Makes a file, given its path without its ending."""


@dataclass(frozen=True, slots=True)
class _Given:
    """One session and the partition it belongs to."""

    path: Path
    name: str
    machine: str
    day: str
    channels: tuple[Channel, ...]


def export(
    paths: Sequence[Path],
    folder: Path,
    open_table: OpenTable,
    *,
    say: Callable[[str], None],
    watch: Callable[[float], None] = lambda _: None,
) -> int:
    """Write sessions, phases, events and samples; gives how many sessions were written.

    Sessions of one machine and one day share a file of each table, so that ten thousand of them are not as many files.

    Args:
        paths: the sessions.
        folder: a new or empty folder.
        open_table: makes a file of a table.
        say: takes a sentence about a session that cannot be read; the others are written.
        watch: is told what share is done.

    Raises:
        OutputError: if the folder cannot be written, or holds something.
    """
    _make(folder)
    given = sorted(_readable(paths, say), key=lambda one: (one.machine, one.day, one.name))
    done = 0
    try:
        for (machine, day), group in groupby(given, key=lambda one: (one.machine, one.day)):
            sessions = list(group)
            part = f"machine={quote(machine, safe=' ')}/day={day}"
            for _ in _write(sessions, folder, part, open_table):
                done += 1
                watch(done / len(given))
    except OSError as fault:
        raise OutputError(f"{folder} cannot be written: {fault.strerror}.", "Make room, or choose another.") from None
    return done


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise OutputError(f"{folder} is not empty.", "Name a new folder; nothing is ever overwritten or mixed.")
    except OSError as fault:
        raise OutputError(f"The folder {folder} cannot be made: {fault.strerror}.", "Choose another one.") from None


def _readable(paths: Iterable[Path], say: Callable[[str], None]) -> Iterator[_Given]:
    seen: dict[str, int] = {}
    for path in dict.fromkeys(path.absolute() for path in paths):
        try:
            session = StoredSession(path)
        except BenchmonError as error:
            say(error.message)
            continue
        name = bare_name(path.name)
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:  # of another machine's folder, most likely
            name = f"{name} ({seen[name]})"
        header = session.header
        day = header.started_at.date().isoformat()
        yield _Given(path, name, _machine(session, header), day, header.channels)


def _machine(session: StoredSession, header: SessionHeader) -> str:
    named = [each.processor or each.product for each in session.others if isinstance(each, Machine)]
    return next(filter(None, named), header.virtual) or UNKNOWN


def _write(sessions: Sequence[_Given], folder: Path, part: str, open_table: OpenTable) -> Iterator[None]:
    channels = {channel.key: channel for one in sessions for channel in one.channels}
    tables = (SESSIONS, PHASES, EVENTS, samples_table(channels.values()))
    files = []
    for table in tables:
        place = folder / table.name / part
        place.mkdir(parents=True)
        files.append(open_table(place / "part", table))
    try:
        for one in sessions:
            _write_one(one, list(channels), files)
            yield
    finally:
        for file in files:
            file.close()


def _write_one(one: _Given, columns: Sequence[str], files: Sequence[TableFile]) -> None:
    sessions, phases, events, samples = files
    stored = StoredSession(one.path)
    summary = summarise(stored, look_every_s=NO_LOOKS_S)
    sessions.add([session_row(one.name, summary)])
    phases.add(phase_rows(one.name, summary.phases))
    events.add(event_rows(one.name, summary.events))
    places = {channel.key: place for place, channel in enumerate(one.channels)}
    read = (record for record in stored.records if isinstance(record, Sample))
    for rows in sample_rows(one.name, read, columns, places):
        samples.add(rows)
