"""Tables as Parquet files, with units and meanings in the schema; needs pyarrow, which is an extra."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pyarrow as pa
from pyarrow import parquet

from benchmon.library.tables import Kind, Row, Table

_ROWS_A_GROUP = 100_000
_TYPES = {
    Kind.TEXT: pa.string(),
    Kind.NUMBER: pa.float64(),
    Kind.WHOLE: pa.int64(),
    Kind.TRUTH: pa.bool_(),
    Kind.MOMENT: pa.timestamp("ms", tz="UTC"),
    Kind.TEXTS: pa.map_(pa.string(), pa.string()),
}


def schema_of(table: Table) -> pa.Schema:
    """The Arrow schema; each field's metadata say its ``unit`` and ``meaning``."""
    fields = [
        pa.field(each.name, _TYPES[each.kind], metadata={"unit": each.unit, "meaning": each.meaning})
        for each in table.columns
    ]
    return pa.schema(fields, metadata={"table": table.name, "written by": "benchmon"})


class ParquetFile:
    """One file; rows are written in groups."""

    def __init__(self, stem: Path, table: Table) -> None:
        """Create it; ``stem`` is its path without ending."""
        self._schema = schema_of(table)
        self._kinds = [column.kind for column in table.columns]
        self._writer = parquet.ParquetWriter(stem.with_suffix(".parquet"), self._schema, compression="zstd")
        self._rows: list[Row] = []

    @staticmethod
    def describe(folder: Path, table: Table) -> None:
        """Nothing to do: each file describes itself."""

    def add(self, rows: Sequence[Row]) -> None:
        """Append rows."""
        self._rows += rows
        if len(self._rows) >= _ROWS_A_GROUP:
            self._flush()

    def close(self) -> None:
        """Write what is left."""
        self._flush()
        self._writer.close()

    def _flush(self) -> None:
        if not self._rows:
            return
        columns = [
            [list(value.items()) for value in column] if kind is Kind.TEXTS else column
            for kind, column in zip(self._kinds, zip(*self._rows, strict=True), strict=True)
        ]
        arrays = [pa.array(column, field.type) for column, field in zip(columns, self._schema, strict=True)]
        self._writer.write_table(pa.Table.from_arrays(arrays, schema=self._schema))
        self._rows = []
