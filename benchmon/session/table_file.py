"""Reads the columns of a plain table (CSV) as numbers, and counts what it had to leave out."""

from __future__ import annotations

import csv
from array import array
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import nan
from pathlib import Path
from typing import TextIO

from benchmon.errors import InputError
from benchmon.model.usable import number_in
from benchmon.plain_text import one_line

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
    overlong_rows: int = 0
    """Rows that were left out because they have more cells than the table has columns."""

    @property
    def row_count(self) -> int:
        """Rows that were kept."""
        return len(next(iter(self.columns.values()), ()))


def read_table(path: Path, known: Iterable[str]) -> Table:
    """The known columns of a table with a heading row.

    Separators: comma, semicolon or tab; with the latter two numbers may have a decimal comma. Lines that begin with
    ``#`` and blank ones are passed over.

    Args:
        path: the table; UTF-8 with or without byte order mark.
        known: names of the columns to read, in lower case.

    Raises:
        InputError: if the file cannot be read, is no text or has no heading with a known column.
    """
    try:
        if not path.is_file():
            raise InputError(_no_file(path), "Name the table itself.")
        with path.open(encoding="utf-8-sig", errors="replace", newline="") as file:
            start = file.read(_SNIFFED_CHARACTERS)
            _refuse_binary(path, start)
            file.seek(0)
            return _read(path, file, set(known))
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


def _read(path: Path, file: TextIO, known: set[str]) -> Table:
    lines = (line for line in file if line.strip() and not line.startswith("#"))
    heading = next(lines, "")
    delimiter = max(_DELIMITERS, key=heading.count)
    names = [one_line(name, 60).lower() for name in next(csv.reader([heading], delimiter=delimiter), [])]
    wanted = [(name, index) for index, name in enumerate(names) if name in known]
    for name, _ in wanted:
        if names.count(name) > 1:
            raise InputError(f"{path} has the column “{name}” twice.", "Remove or rename one of them.")
    if not wanted:
        raise InputError(
            f"The first line of {path} names no column that can be imported.",
            f"The heading row must name its columns from these: {', '.join(sorted(known))}.",
        )
    table = Table({name: array("d") for name, _ in wanted}, unknown=[name for name in names if name not in known])
    _fill(table, csv.reader(lines, delimiter=delimiter), wanted, len(names), decimal_comma=delimiter != ",")
    return table


def _fill(
    table: Table, rows: Iterator[Sequence[str]], wanted: Sequence[tuple[str, int]], width: int, *, decimal_comma: bool
) -> None:
    targets = [(table.columns[name].append, index, name) for name, index in wanted]
    for row in rows:
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            table.overlong_rows += 1
            continue
        for append, index, name in targets:
            cell = row[index] if index < len(row) else ""
            value = number_in(cell)
            append(_odd_cell(table, name, cell, decimal_comma=decimal_comma) if value is None else value)


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
