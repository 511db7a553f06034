"""A comparison as plain text, 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from benchmon.model.comparison import Comparison
from benchmon.views.doors import terminal
from benchmon.views.sheets.comparison.content import SIDE_COLUMNS, PhaseTable, make_comparison

WIDTH, LONGEST_NAME = 80, 31
_PHASE_HEAD = ("", "", "before", "after", "difference (95 %)")


def render(comparison: Comparison) -> str:
    """The whole comparison; ends with a newline."""
    sheet = make_comparison(comparison)
    lines = [sheet.title, "=" * len(sheet.title), ""]
    for label, text in sheet.facts:
        lines += _hanging(f"{label:<9}{text}", 9)
    if sheet.table:
        lines += ["", *_heading("Best first"), *_best_first(sheet.table)]
    for section in sheet.sections:
        lines += ["", *_heading(section.title)]
        for sentence in section.answers:
            lines += _hanging(sentence, 2)
        if section.caveats:
            lines += ["", *_heading("Not alike")]
            for sentence in section.caveats:
                lines += _hanging(f"- {sentence}", 2)
        for phase in section.phases:
            lines += ["", *_phase(phase)]
    lines += ["", *_heading("What this rests on")]
    for sentence in sheet.basis:
        lines += _hanging(f"- {sentence}", 2)
    return terminal("\n".join(line.rstrip() for line in lines)) + "\n"


def _best_first(table: Sequence[Sequence[str]]) -> list[str]:
    """The sides as a table; with tags too long for that, a paragraph each."""
    grid = _grid(table)
    if all("\n" not in line and len(line) <= WIDTH for line in grid):
        return grid
    head, *rows = table
    tags = len(head) - len(SIDE_COLUMNS)
    lines = []
    for row in rows:
        told = "; ".join(f"{name} {cell}" for name, cell in zip(head[tags:], row[tags:], strict=True) if cell)
        lines += _hanging(
            f"- {', '.join(f'{name} {cell}' for name, cell in zip(head[:tags], row[:tags], strict=True))}: {told}", 2
        )
    return lines


def _phase(phase: PhaseTable) -> list[str]:
    rows = [(row[0][:LONGEST_NAME], *row[1:]) for row in ((phase.title, *_PHASE_HEAD[1:]), *phase.rows)]
    return [*_grid(rows), *(_hanging(phase.note, 2) if phase.note else ())]


def _heading(text: str) -> list[str]:
    return [text[:WIDTH], "-" * min(len(text), WIDTH)]


def _hanging(text: str, indent: int) -> list[str]:
    return wrap(text, WIDTH, subsequent_indent=" " * indent, break_on_hyphens=False) or [""]


def _grid(rows: Sequence[Sequence[str]]) -> list[str]:
    """Columns as wide as they must be; the first to the left, the last as far as it goes."""
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return [_line(row, widths) for row in rows]


def _line(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = [row[0].ljust(widths[0])]
    cells += [cell.rjust(width) for cell, width in zip(row[1:-1], widths[1:-1], strict=True)]
    begin = "  ".join([*cells, ""])
    first, *rest = wrap(row[-1], max(WIDTH - len(begin), 8), break_on_hyphens=False) or [""]
    return "\n".join([begin + first, *(" " * len(begin) + more for more in rest)])
