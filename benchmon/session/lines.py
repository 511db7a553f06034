"""Turns the lines of one session file into records, one after the other, and remembers what was wrong with them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from benchmon.errors import SessionFormatError
from benchmon.model.records import Damage, Record, Sample, SessionEnd, SessionHeader
from benchmon.session.decode import parse, to_record
from benchmon.session.encode import FORMAT_NAME, VERSION
from benchmon.session.fields import LineError
from benchmon.session.sample_lines import BEGIN, samples_of
from benchmon.session.upgrades import upgrade

MAX_LINE_BYTES = 1 << 20
"""Longer lines are not read: a sample of 1,000 channels has 10 kB, a header of as many 200 kB."""
MAX_DAMAGE = 20
"""So many bad lines are described one by one; the rest is counted."""


MOST_USELESS = 200_000
"""A file with more lines that are empty, of no known kind or cannot be read is refused: few bytes can hold many."""
MOST_OTHERS = 20_000
"""So many marks, settings and changes no recording has; a file with more was not made by one."""

Numbered = tuple[int, Record]
"""A record and the number of its line."""


class LineDecoder:
    """Decodes line after line; only the header must make sense, any other bad line is lost alone.

    Args:
        name: name of the file, for messages.
    """

    def __init__(self, name: str) -> None:
        self._name = name
        self._version = VERSION
        self.line = 0
        """Number of the line fed last, counted from 1."""
        self.second_header_line = 0
        """Where the first header after the first line is; 0 = there is none."""
        self.has_end = False
        """Whether an end record was among the lines so far."""
        self._others = self._useless = 0
        self._damage: list[Damage] = []
        self._more_damage = 0
        self.header: SessionHeader | None = None

    @property
    def damage(self) -> tuple[Damage, ...]:
        """What was wrong with the lines so far; many bad lines are summed up in the last entry."""
        if not self._more_damage:
            return tuple(self._damage)
        rest = Damage(self._damage[-1].line + 1, f"{self._more_damage} more lines cannot be read")
        return (*self._damage, rest)

    def feed(self, line: bytes) -> Record | None:
        """The next line's record; None if it is lost (see ``damage``), empty or of a kind not known.

        Raises:
            SessionFormatError: if the first line is no header that this version can read.
        """
        self.line += 1
        if self.header is None:
            self.header = self._read_header(line)
            return self.header
        if not line.strip():
            self._pass_over()
            return None
        try:
            record = to_record(upgrade(parse(line), self._version), self.header)
        except LineError as fault:
            self._lose(str(fault))
            return None
        if isinstance(record, SessionHeader):
            self._lose("a second header; two files seem to have been joined")
            self.second_header_line = self.second_header_line or self.line
            return None
        if record is None:
            self._pass_over()
        elif not isinstance(record, Sample):
            self._others += 1
            if self._others > MOST_OTHERS:
                self._lose(f"there are more than {MOST_OTHERS} records besides the samples")
                return None
            self.has_end |= isinstance(record, SessionEnd)
        return record

    def feed_many(self, lines: Sequence[bytes]) -> list[Numbered]:
        """The records of the next lines, without their ends; the header is among them.

        Raises:
            SessionFormatError: as ``feed``.
        """
        records: list[Numbered] = []
        first = 0
        for place in [place for place, line in enumerate(lines) if line[:5] != BEGIN] + [len(lines)]:
            self._feed_samples(lines[first:place], records)
            if place < len(lines):
                self._feed_one(lines[place], records)
            first = place + 1
        return records

    def _feed_samples(self, lines: Sequence[bytes], records: list[Numbered]) -> None:
        is_plain = lines and self.header is not None and self._version == VERSION
        samples = samples_of(lines, len(self.header.channels)) if is_plain and self.header is not None else None
        if samples is None:
            for line in lines:
                self._feed_one(line, records)
            return
        records.extend(zip(range(self.line + 1, self.line + 1 + len(samples)), samples, strict=True))
        self.line += len(samples)

    def _feed_one(self, line: bytes, records: list[Numbered]) -> None:
        if len(line) >= MAX_LINE_BYTES:
            self.skip_long()
            return
        record = self.feed(line)
        if record is not None:
            records.append((self.line, record))

    def feed_last(self, line: bytes) -> Record | None:
        """The same for a last line without its end: whole by luck, or cut.

        Raises:
            SessionFormatError: as ``feed``.
        """
        if self.header is None and line.startswith(b'{"record":"session"') and not line.rstrip().endswith(b"}"):
            raise SessionFormatError(
                f"{self._name} was cut within its first line: nothing had been recorded yet.",
                "It can be deleted.",
            )
        if self.header is not None and _is_cut(line):
            self.line += 1
            self._lose("the last line is cut")
            return None
        return self.feed(line)

    def skip_long(self) -> None:
        """Count a line that is longer than ``MAX_LINE_BYTES``.

        Raises:
            SessionFormatError: if it is the first one.
        """
        self.line += 1
        if self.header is None:
            raise self._foreign()
        self._lose("it is longer than any record can be")

    def lose_rest(self, problem: str) -> None:
        """What follows the line fed last cannot be had."""
        self.line += 1
        self._lose(problem)

    def _pass_over(self) -> None:
        self._useless += 1
        if self._useless > MOST_USELESS:
            raise SessionFormatError(
                f"{self._name} has more than {MOST_USELESS} lines that are empty, of no known kind or cannot be read: "
                "it is damaged, or was made to keep its reader busy.",
                "Use another copy of the file if there is one.",
            )

    def _lose(self, problem: str) -> None:
        self._pass_over()
        if len(self._damage) < MAX_DAMAGE:
            self._damage.append(Damage(self.line, problem))
        else:
            self._more_damage += 1

    def _read_header(self, line: bytes) -> SessionHeader:
        try:
            fields: Any = parse(line)
        except LineError:
            raise self._foreign() from None
        if not isinstance(fields, dict) or fields.get("format") != FORMAT_NAME:
            raise self._foreign()
        version = fields.get("version")
        if type(version) is not int or version < 1:
            raise SessionFormatError(f"{self._name} does not say which version of the session format it has.")
        if version > VERSION:
            raise SessionFormatError(
                f"{self._name} was written by a newer benchmon "
                f"(session format {version}; this one reads up to {VERSION}).",
                "Update benchmon on this machine to open it.",
            )
        self._version = version
        try:
            header = to_record(upgrade(fields, version))
        except LineError as fault:
            raise SessionFormatError(f"The first line of {self._name} is damaged: {fault}.", _HEADER_LOST) from None
        if not isinstance(header, SessionHeader):
            raise SessionFormatError(f"The first line of {self._name} is damaged.", _HEADER_LOST)
        return header

    def _foreign(self) -> SessionFormatError:
        return SessionFormatError(
            f"{self._name} is not a benchmon session: its first line is no session header.",
            "Sessions end in .session.jsonl. A table of readings has to be imported first.",
        )


def _is_cut(line: bytes) -> bool:
    try:
        parse(line)
    except LineError:
        return True
    return False


_HEADER_LOST = "Without its first line nobody can say what the numbers mean; use a copy of the file if there is one."
