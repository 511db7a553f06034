"""Reads a whole session file. Only ``SessionFormatError`` leaves it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from benchmon.errors import SessionFormatError
from benchmon.model.records import Damage, Mark, Record, Sample, Session, SessionEnd
from benchmon.session.lines import MAX_LINE_BYTES, LineDecoder
from benchmon.session.opening import open_session, unreadable
from benchmon.session.order import out_of_order

Numbered = tuple[int, Record]
"""A record and the number of its line."""


def read_session(path: Path) -> Session:
    """The whole session; what is damaged is left out and named in ``damage``.

    A file that was cut opens like any other: it lacks its end record, and if its last line is a half one it says so.

    Raises:
        SessionFormatError: if it cannot be opened or its first line is no header that this version can read.
    """
    decoder = LineDecoder(str(path))
    try:
        with os.fdopen(open_session(path), "rb") as file:
            numbered = list(_records(file, decoder))
    except OSError as fault:
        raise unreadable(path, fault) from None
    if decoder.header is None:
        raise SessionFormatError(f"{path} is empty: nothing was recorded.", "It can be deleted.")
    numbered, after_end = _until_end(numbered, decoder.second_header_line)
    in_order, misplaced = _in_order(numbered)
    damage = sorted((*decoder.damage, *after_end, *misplaced), key=lambda each: each.line)
    return Session(decoder.header, tuple(record for _, record in in_order), tuple(damage))


def _records(file: BinaryIO, decoder: LineDecoder) -> Iterator[Numbered]:
    for line in _lines(file):
        if line is None:
            decoder.skip_long()
            continue
        record = decoder.feed(line) if line.endswith(b"\n") else decoder.feed_last(line)
        if record is not None and record is not decoder.header:
            yield decoder.line, record


def _lines(file: BinaryIO) -> Iterator[bytes | None]:
    """Lines with their ends; None for one that is too long, of which no more than a piece is ever held."""
    while line := file.readline(MAX_LINE_BYTES):
        if len(line) < MAX_LINE_BYTES or line.endswith(b"\n"):
            yield line
            continue
        while line and not line.endswith(b"\n"):
            line = file.readline(MAX_LINE_BYTES)
        yield None


def _until_end(numbered: list[Numbered], joined_line: int) -> tuple[list[Numbered], list[Damage]]:
    """The records up to the end record, after the marks that were entered later; and what else follows it."""
    for index, (_, record) in enumerate(numbered[:-1]):
        if isinstance(record, SessionEnd):
            late = _late_marks(numbered[index + 1 :], joined_line)
            other = numbered[index + 1 + len(late) :]
            problem = "records follow the end of the recording; they are left out"
            return [*numbered[:index], *late, numbered[index]], [Damage(line, problem) for line, _ in other[:1]]
    return numbered, []


def _late_marks(after_end: list[Numbered], joined_line: int) -> list[Numbered]:
    """Marks right after the end record; those of another file that was joined come after its header.

    Their numbers may repeat: two people may have entered something at once, and both entries count.
    """
    late: list[Numbered] = []
    for line, record in after_end:
        if not isinstance(record, Mark) or 0 < joined_line < line:
            break
        late.append((line, record))
    return late


def _in_order(numbered: list[Numbered]) -> tuple[list[Numbered], list[Damage]]:
    """The records without samples whose time does not fit their neighbours (a damaged digit), and those as damage."""
    timed = [(line, record) for line, record in numbered if isinstance(record, Sample | SessionEnd)]
    found = (timed[index] for index in out_of_order([record.t_s for _, record in timed]))
    bad = {line for line, record in found if isinstance(record, Sample)}
    problem = "the time of this sample does not fit its neighbours"
    return [each for each in numbered if each[0] not in bad], [Damage(line, problem) for line in sorted(bad)]
