"""What a session is to those who go through it: in memory, or in its file."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from benchmon.model.records import Damage, Record, SessionHeader


class Recorded(Protocol):
    """A session, in memory or in its file."""

    @property
    def header(self) -> SessionHeader:
        """The session's header."""

    @property
    def others(self) -> Iterable[Record]:
        """All records but the samples."""

    @property
    def records(self) -> Iterable[Record]:
        """All records after the header; each time it is asked for, from the start."""

    @property
    def damage(self) -> Iterable[Damage]:
        """What is wrong with it; asked for after the records."""
