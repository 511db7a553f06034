"""Writes sessions as tables into a new folder: ``TABLE/machine=…/day=…/``, as engines of others expect partitions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Protocol
from urllib.parse import quote
from zlib import crc32

from benchmon.analysis.summary import NO_LOOKS_S, summarise
from benchmon.errors import BenchmonError, OutputError, SessionFormatError
from benchmon.library.processors import shared_out
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
_LOOKED_THROUGH = 0.1
"""Share of the time in which it is found out which sessions belong together."""
_LONGEST_NAME = 180
"""Folders of common file systems have names of 255 bytes at most."""


class TableFile(Protocol):
    """One file of one table; ``stem`` is its path without its ending."""

    def __init__(self, stem: Path, table: Table) -> None:
        """Create it."""

    @staticmethod
    def describe(folder: Path, table: Table) -> None:
        """Write beside a table what its columns are, where its files cannot say it."""

    def add(self, rows: Sequence[Row]) -> None:
        """Append rows, in the order of the table's columns."""

    def close(self) -> None:
        """Write what is left."""


@dataclass(frozen=True, slots=True)
class _Given:
    """One session and the partition it belongs to."""

    path: Path
    name: str
    machine: str
    day: str
    channels: tuple[Channel, ...]


@dataclass(frozen=True, slots=True)
class _Part:
    """Sessions of one machine and one day, and where they go: what one process does at a time."""

    folder: Path
    name: str
    sessions: tuple[_Given, ...]
    form: type[TableFile]


def export(
    paths: Sequence[Path],
    folder: Path,
    form: type[TableFile],
    *,
    say: Callable[[str], None],
    watch: Callable[[float], None] = lambda _: None,
) -> int:
    """Write sessions, phases, events and samples; gives how many sessions were written.

    Sessions of one machine and one day share a file of each table, so that ten thousand of them are not as many files.

    Args:
        paths: the sessions.
        folder: a new or empty folder.
        form: of the files.
        say: takes a sentence about a session that cannot be read; the others are written.
        watch: is told what share is done.

    Raises:
        OutputError: if the folder cannot be written, or holds something.
    """
    _make(folder)
    given = sorted(_readable(paths, say, watch), key=lambda one: (one.machine, one.day, one.name))
    parts = [
        _Part(folder, f"machine={_folder_name(machine)}/day={day}", tuple(group), form)
        for (machine, day), group in groupby(given, key=lambda one: (one.machine, one.day))
    ]
    done = written = 0
    try:
        for table in _tables([one for part in parts for one in part.sessions]):
            form.describe(folder, table)
        for whys in shared_out(_write, parts, 1):
            for why in filter(None, whys):
                say(why)
            done += len(whys)
            written += whys.count("")
            watch(_LOOKED_THROUGH + (1.0 - _LOOKED_THROUGH) * done / len(given))
    except OSError as fault:
        raise OutputError(f"{folder} cannot be written: {fault.strerror}.", "Make room, or choose another.") from None
    return written


def _folder_name(machine: str) -> str:
    """The machine's name as a folder can have it: of one that is too long the beginning, and a number made of all."""
    name = quote(machine, safe=" ")
    return name if len(name) <= _LONGEST_NAME else f"{name[:_LONGEST_NAME]}~{crc32(machine.encode()):08x}"


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise OutputError(f"{folder} is not empty.", "Name a new folder; nothing is ever overwritten or mixed.")
    except OSError as fault:
        raise OutputError(f"The folder {folder} cannot be made: {fault.strerror}.", "Choose another one.") from None


def _readable(paths: Sequence[Path], say: Callable[[str], None], watch: Callable[[float], None]) -> Iterator[_Given]:
    seen: dict[str, int] = {}
    for place, path in enumerate(dict.fromkeys(path.absolute() for path in paths)):
        watch(_LOOKED_THROUGH * place / len(paths))
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


def _write(part: _Part) -> list[str]:
    """Write the files of one part; for each session why it was left out, empty where it was not."""
    columns, files = list(_channels(part.sessions)), []
    for table in _tables(part.sessions):
        place = part.folder / table.name / part.name
        place.mkdir(parents=True)
        files.append(part.form(place / "part", table))
    try:
        return [_write_one(one, columns, files) for one in part.sessions]
    finally:
        for file in files:
            file.close()


def _channels(sessions: Sequence[_Given]) -> dict[str, Channel]:
    """All channels of some sessions by key, as the first that has one describes it."""
    found: dict[str, Channel] = {}
    for one in sessions:
        for channel in one.channels:
            found.setdefault(channel.key, channel)
    return found


def _tables(sessions: Sequence[_Given]) -> tuple[Table, ...]:
    return SESSIONS, PHASES, EVENTS, samples_table(_channels(sessions).values())


def _write_one(one: _Given, columns: Sequence[str], files: Sequence[TableFile]) -> str:
    sessions, phases, events, samples = files
    try:
        stored = StoredSession(one.path)
        summary = summarise(stored, look_every_s=NO_LOOKS_S)
        sessions.add([session_row(one.name, summary)])
        phases.add(phase_rows(one.name, summary.phases))
        events.add(event_rows(one.name, summary.events))
        places = {channel.key: place for place, channel in enumerate(one.channels)}
        read = (record for record in stored.records if isinstance(record, Sample))
        for rows in sample_rows(one.name, read, columns, places):
            samples.add(rows)
    except SessionFormatError as error:  # it went, or broke, since it was looked at
        return error.message
    return ""
