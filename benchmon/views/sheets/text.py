"""The bench sheet as plain text, 80 columns."""

from __future__ import annotations

from textwrap import wrap

from benchmon.model.findings import Summary
from benchmon.views.doors import terminal
from benchmon.views.sheets.content import make_sheet
from benchmon.views.sheets.phase_table import Table

WIDTH = 80


def render(summary: Summary) -> str:
    """The whole sheet; ends with a newline."""
    sheet = make_sheet(summary)
    lines = [sheet.title, "=" * min(len(sheet.title), WIDTH), ""]
    indent = max((len(label) for label, _ in sheet.facts), default=0) + 2
    for label, text in sheet.facts:
        lines += _hanging(label.ljust(indent) + text, indent)
    lines += [
        "",
        *_heading("Phases"),
        *_table(sheet.phases),
        *_note(sheet.phases_note),
        *_more(sheet.more),
        "",
        *_heading("Throttle events"),
    ]
    for sentence, details in sheet.events:
        lines += _hanging(sentence, 3)
        for detail in details:
            lines += _hanging(f"   - {detail}", 5)
    if not sheet.events:
        lines.append(sheet.no_events)
    lines += ["", *_heading("Thermal verdict")]
    for sentence in sheet.verdict:
        lines += _hanging(sentence, 2)
    for heading, sentences in sheet.own:
        lines += ["", *_heading(heading)]
        for sentence in sentences:
            lines += _hanging(sentence, 2)
    if sheet.entries:
        lines += ["", *_heading("Entered")]
        for sentence in sheet.entries:
            lines += _hanging(sentence, 6)
    if sheet.doubts:
        lines += ["", *_heading("Caveats")]
        for sentence in sheet.doubts:
            lines += _hanging(f"- {sentence}", 2)
    return terminal("\n".join(line.rstrip() for line in lines)) + "\n"


def _heading(text: str) -> list[str]:
    return [text, "-" * len(text)]


def _hanging(text: str, indent: int) -> list[str]:
    return wrap(text, WIDTH, subsequent_indent=" " * indent, drop_whitespace=True, break_on_hyphens=False) or [""]


def _note(text: str) -> list[str]:
    return ["", *_hanging(text, 2)] if text else []


def _more(table: Table) -> list[str]:
    return ["", *_table(table)] if len(table.columns) > 1 else []


def _table(table: Table) -> list[str]:
    if not table.rows:
        return ["No phase was recorded."]
    grid = [line for line in (table.columns, table.units, table.kinds) if any(line)] + list(table.rows)
    widths = [max(len(row[i]) for row in grid) for i in range(len(table.columns))]
    gap = "  " if sum(widths) + 2 * (len(widths) - 1) <= WIDTH else " "
    return [_table_line(row, widths, gap) for row in grid]


def _table_line(row: tuple[str, ...], widths: list[int], gap: str) -> str:
    cells = [cell.rjust(width) for cell, width in zip(row, widths, strict=True)]
    cells[0] = row[0].ljust(widths[0])
    return gap.join(cells)
