"""Tables as CSV files; units and meanings stand in ``columns.csv`` beside each table's partitions."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from benchmon.library.tables import Row, Table
from benchmon.views.doors import csv_cell

_SCHEMA = "columns.csv"


class CsvFile:
    """One file with a heading row; what is not known is an empty cell."""

    def __init__(self, stem: Path, table: Table) -> None:
        """Create it; ``stem`` is its path without ending, in a partition of its table."""
        self._file = stem.with_suffix(".csv").open("x", encoding="utf-8", newline="")
        self._writer = csv.writer(self._file, lineterminator="\n")
        self._writer.writerow([column.name for column in table.columns])

    @staticmethod
    def describe(folder: Path, table: Table) -> None:
        """Write down what each column of a table is."""
        with (folder / f"{table.name}-{_SCHEMA}").open("x", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["column", "kind", "unit", "meaning"])
            for each in table.columns:
                writer.writerow([csv_cell(text) for text in (each.name, each.kind.value, each.unit, each.meaning)])

    def add(self, rows: Sequence[Row]) -> None:
        """Append rows."""
        self._writer.writerows([_cell(value) for value in row] for row in rows)

    def close(self) -> None:
        """Write what is left."""
        self._file.close()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, str):
        return csv_cell(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        return value.isoformat(timespec="milliseconds")
    if isinstance(value, dict):
        return csv_cell(json.dumps(value, ensure_ascii=False))
    return value
