"""Each record to the session file first, then to whoever listens."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from benchmon.errors import OutputError
from benchmon.model.records import Record, SessionHeader
from benchmon.session.decode import decode
from benchmon.session.encode import encode
from benchmon.session.rounding import decimals_kept
from benchmon.stream.background_writer import BackgroundWriter


class Sink(Protocol):
    """Whoever wants to hear the records as they come."""

    def accept(self, record: Record) -> None:
        """Take one; the recorder waits meanwhile, so be quick."""


class Fanout:
    """The way every record takes.

    The sinks hear each record as it stands in the file, rounded: what is concluded while it is recorded and what is
    concluded from the file must be the same to the last digit.

    Args:
        path: session file to create.
        sinks: hear each record after it was written.
        on_lost: told, once, that the file can be written no further; the sinks go on hearing.
        followers: the recorder's own, told before the sinks.

    Raises:
        OutputError: if the file exists already or cannot be created.
    """

    def __init__(
        self,
        path: Path,
        sinks: Sequence[Sink],
        on_lost: Callable[[OutputError], None],
        followers: Sequence[Sink] = (),
    ) -> None:
        self._writer: BackgroundWriter | None = BackgroundWriter(path)
        self._sinks = list(sinks)
        self._on_lost = on_lost
        self._followers = tuple(followers)
        self._header: SessionHeader | None = None
        self._decimals: tuple[int, ...] | None = None
        self._waited = ""

    @property
    def is_heard(self) -> bool:
        """Whether anybody listens."""
        return bool(self._sinks)

    def news_of_disk(self) -> str | None:
        """Why records are kept in memory from now on, empty: they are written again; None where nothing has changed."""
        why = "" if self._writer is None else self._writer.why_waiting
        if why == self._waited:
            return None
        self._waited = why
        return why

    def accept(self, record: Record) -> None:
        """Write it and pass it on."""
        if self._writer is not None:
            try:
                self._writer.write(record)
            except OutputError as error:
                self._lose(error)
        kept = self._as_kept(record) if self._sinks or self._followers else None
        if kept is not None:
            self._tell(kept)

    def _tell(self, record: Record) -> None:
        for follower in self._followers:
            follower.accept(record)
        for sink in tuple(self._sinks):
            try:
                sink.accept(record)
            except OSError:
                # Its output is gone (a closed pipe, a lost line): the recording is worth more than the echo.
                self._sinks.remove(sink)

    def close(self) -> None:
        """Store the file and close it."""
        if self._writer is not None:
            try:
                self._writer.close()
            except OutputError as error:
                self._lose(error)

    def _as_kept(self, record: Record) -> Record | None:
        """What a reader of the file gets for a record."""
        if isinstance(record, SessionHeader):
            self._header, self._decimals = record, tuple(decimals_kept(channel) for channel in record.channels)
        return decode(encode(record, self._decimals), self._header)

    def _lose(self, error: OutputError) -> None:
        writer, self._writer = self._writer, None
        if writer is not None:
            with contextlib.suppress(OutputError):
                writer.close()
        self._on_lost(error)
