"""CSV for spreadsheets of the many countries that write 12,5: semicolons between the cells."""

from __future__ import annotations

import csv
import io
import re

_NUMBER = re.compile(r"[+-]?\d+\.\d+(e[+-]?\d+)?", re.IGNORECASE)
_MARK = "\ufeff"
"""Tells a spreadsheet that the file is UTF-8 (Unicode Standard 23.8); programs get the other form, without it."""


def with_decimal_comma(table: str) -> str:
    """The same table: semicolons, decimal commas, a byte order mark, lines that end as RFC 4180 has them."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";", lineterminator="\r\n")
    for row in csv.reader(io.StringIO(table)):
        writer.writerow([cell.replace(".", ",") if _NUMBER.fullmatch(cell) else cell for cell in row])
    return _MARK + out.getvalue()
