"""Tables with one row a reading (time, name, value): put together into rows of all readings of a moment."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from benchmon.errors import UsageError
from benchmon.plain_text import one_line


@dataclass(frozen=True, slots=True)
class LongForm:
    """Headings of the three columns, in lower case."""

    time: str
    name: str
    value: str


def parse_long(text: str) -> LongForm:
    """``TIME,NAME,VALUE`` → the three headings.

    Raises:
        UsageError: if there are not three.
    """
    parts = [one_line(part.strip(), 200).lower() for part in text.split(",")]
    if len(parts) != 3 or not all(parts):
        raise UsageError("--long wants three headings", "Write --long TIME,NAME,VALUE, as they stand in the table.")
    return LongForm(*parts)


def wide_rows(rows: Iterable[list[str]], headings: list[str], form: LongForm, names: list[str]) -> Iterator[list[str]]:
    """Rows with the time and one cell for each name; a new row begins where a name comes again.

    Args:
        rows: cells of the long table.
        headings: its headings, in lower case.
        form: which are which.
        names: readings that are wanted, in lower case; others are passed over.

    Raises:
        UsageError: if a heading is not there.
    """
    for heading in (form.time, form.name, form.value):
        if heading not in headings:
            raise UsageError(f"the table has no column {heading[:60]!r}", f"It has: {', '.join(headings[:20])}.")
    at_time, at_name, at_value = (headings.index(one) for one in (form.time, form.name, form.value))
    widest = max(at_time, at_name, at_value)
    moment, held = "", dict[str, str]()
    for row in rows:
        if len(row) <= widest:
            continue
        name = one_line(row[at_name].strip(), 200).lower()
        if name not in names:
            continue
        if name in held:
            yield _row(moment, held, names)
            held = {}
        if not held:
            moment = row[at_time]
        held[name] = row[at_value]
    if held:
        yield _row(moment, held, names)


def _row(moment: str, held: Mapping[str, str], names: list[str]) -> list[str]:
    return [moment, *(held.get(name, "") for name in names)]
