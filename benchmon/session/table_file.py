"""Reads the columns of a plain table (CSV) as numbers, and counts what it had to leave out."""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from math import nan
from pathlib import Path
from typing import TextIO

from benchmon.errors import InputError
from benchmon.model.usable import number_in
from benchmon.plain_text import one_line
from benchmon.session.table_columns import TIME
from benchmon.session.table_headings import NAMES, Taken, taken_columns
from benchmon.session.table_long import LongForm, wide_rows
from benchmon.session.table_times import TimeReader

_DELIMITERS = ";\t,"
_SNIFFED_CHARACTERS = 4096


@dataclass(slots=True)
class Table:
    """Columns of one table. A cell that is blank or no number is NaN in here, and None once it leaves the importer."""

    columns: dict[str, array[float]]
    """Values by column name, all of the same length."""
    not_numbers: dict[str, int] = field(default_factory=dict)
    """Cells that held something, but no finite number; by column name."""
    first_odd_cell: dict[str, str] = field(default_factory=dict)
    """The first of them; by column name."""
    unknown: list[str] = field(default_factory=list)
    """Columns that were left out because nobody knows what they mean."""
    taken: tuple[Taken, ...] = ()
    """What each column was taken for."""
    has_no_zone: bool = False
    """Its times are moments without a time zone."""
    overlong_rows: int = 0
    """Rows that were left out because they have more cells than the table has columns."""

    @property
    def row_count(self) -> int:
        """Rows that were kept."""
        return len(next(iter(self.columns.values()), ()))


@dataclass(frozen=True, slots=True)
class Told:
    """What a person tells of a table."""

    mapped: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """Heading (or name of a reading, in a table with one row a reading), in lower case → our name and its unit."""
    long: LongForm | None = None
    """Set where the table has one row a reading."""
    has_decimal_comma: bool | None = None
    """None: commas are taken for decimal where cells are not separated by them."""


def read_table(path: Path, told: Told | None = None) -> Table:
    """The columns of a table with a heading row that are ours by name, or that a person says are.

    Separators: comma, semicolon or tab; with the latter two numbers may have a decimal comma. Lines that begin with
    ``#`` and blank ones are passed over.

    Args:
        path: the table; UTF-8 with or without byte order mark.
        told: what a person tells of it.

    Raises:
        InputError: if the file cannot be read, is no text or has no heading with a known column.
        UsageError: if what was told does not fit it.
    """
    try:
        if not path.is_file():
            raise InputError(_no_file(path), "Name the table itself.")
        with path.open(encoding="utf-8-sig", errors="replace", newline="") as file:
            start = file.read(_SNIFFED_CHARACTERS)
            _refuse_binary(path, start)
            file.seek(0)
            return _read(path, file, told or Told())
    except OSError as fault:
        raise InputError(f"{path} cannot be read: {fault.strerror}.") from None
    except csv.Error as fault:
        raise InputError(f"{path} cannot be read as a table: {fault}.", "Save it as plain CSV.") from None


def _no_file(path: Path) -> str:
    if path.is_dir():
        return f"{path} is a folder."
    return f"{path} is not an ordinary file." if path.exists() else f"There is no file {path}."


def _refuse_binary(path: Path, start: str) -> None:
    if not start.strip():
        raise InputError(f"{path} is empty.", "A table has a heading row and at least two rows of numbers.")
    if start.startswith("\ufffd\ufffd") and "\0" in start:  # the byte order mark of UTF-16
        raise InputError(f"{path} is a UTF-16 text.", "Save it as UTF-8.")
    if "\0" in start or start.count("\ufffd") > len(start) // 10:
        raise InputError(f"{path} is not a text file.", "Save the table as plain CSV.")


def _read(path: Path, file: TextIO, told: Told) -> Table:
    lines = (line for line in file if line.strip() and not line.startswith("#"))
    heading = next(lines, "")
    delimiter = max(_DELIMITERS, key=heading.count)
    headings = [one_line(name, 200).lower() for name in next(csv.reader([heading], delimiter=delimiter), [])]
    rows: Iterator[list[str]] = csv.reader(lines, delimiter=delimiter)
    mapped = dict(told.mapped)
    if told.long is not None:
        names = list(mapped) or list(NAMES[1:])
        rows = wide_rows(rows, headings, told.long, names)
        mapped = {told.long.time: (TIME, ""), **mapped}
        headings = [told.long.time, *names]
    taken = taken_columns(headings, mapped)
    for one in taken.values():
        if sum(other.name == one.name for other in taken.values()) > 1:
            raise InputError(f"{path} has the column “{one.name}” twice.", "Remove or rename one of them.")
    if not taken:
        raise InputError(
            f"The first line of {path} names no column that can be imported.",
            f"Name columns {', '.join(NAMES)}; or say which is which: --map HEADING=NAME.",
        )
    table = Table({one.name: array("d") for one in taken.values()}, taken=tuple(taken.values()))
    table.unknown = [name for place, name in enumerate(headings) if place not in taken]
    has_comma = delimiter != "," if told.has_decimal_comma is None else told.has_decimal_comma
    _fill(table, rows, taken, len(headings), decimal_comma=has_comma)
    return table


def _fill(
    table: Table, rows: Iterable[list[str]], taken: Mapping[int, Taken], width: int, *, decimal_comma: bool
) -> None:
    times = TimeReader()
    targets = [(table.columns[one.name].append, place, one) for place, one in taken.items()]
    for row in rows:
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            table.overlong_rows += 1
            continue
        for append, place, one in targets:
            cell = row[place] if place < len(row) else ""
            value = number_in(cell)
            if value is None:
                value = times.seconds(cell) if one.name == TIME else None
            if value is None:
                value = _odd_cell(table, one.name, cell, decimal_comma=decimal_comma)
            append(value * one.factor + one.offset)
    table.has_no_zone = times.has_no_zone


def _odd_cell(table: Table, name: str, cell: str, *, decimal_comma: bool) -> float:
    if not cell or cell.isspace():
        return nan
    if decimal_comma and "," in cell:
        value = number_in(cell.replace(",", ".", 1))
        if value is not None:
            return value
    return _no_number(table, name, cell)


def _no_number(table: Table, name: str, cell: str) -> float:
    table.not_numbers[name] = table.not_numbers.get(name, 0) + 1
    table.first_odd_cell.setdefault(name, one_line(cell.strip()[:30]))
    return nan
