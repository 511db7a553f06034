"""The bench sheet: a row for each phase; the one that lasts fills in while it lasts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.model.findings import PhaseFindings
from benchmon.views.numbers import NOT_READ
from benchmon.views.tui.drawing import Drawing
from benchmon.views.tui.look import Look, Row, cut, fit, width_of
from benchmon.views.tui.sheet_cells import COLUMNS, Column, Context


def sheet_rows(drawing: Drawing, rows: int) -> list[Row]:
    """Heading and the newest phases, as many as fit in ``rows`` lines; empty lines below where there are fewer."""
    lines = _table(
        drawing, _that_fit(_filled(drawing), drawing.width), drawing.phases[-(rows - 1) :] if rows > 1 else ()
    )
    return (lines + [fit([], drawing.width, drawing.look)] * rows)[:rows]


def table_rows(drawing: Drawing) -> list[Row]:
    """Every phase and every column: what does not fit beside the others goes into a second table below."""
    left = _filled(drawing)
    lines: list[Row] = []
    while len(left) > 1 or not lines:
        columns = _that_fit(left, drawing.width)
        lines += _table(drawing, columns, drawing.phases)
        names = {column.heading for column in columns[1:]}
        left = [column for column in left if column.heading not in names]
        if len(left) > 1:
            lines.append(fit([], drawing.width, drawing.look))
    return lines


def _table(drawing: Drawing, columns: Sequence[Column], phases: Sequence[PhaseFindings]) -> list[Row]:
    width, look = drawing.width, drawing.look
    context = Context(drawing.state.now_s, drawing.state.events)
    lines = [fit([("plain", _line([_aligned(column, column.heading, look) for column in columns]))], width, look)]
    for phase in phases:
        cells = [_aligned(column, column.cell(phase, context), look) for column in columns]
        lasting = phase.end_s is None
        pointer = look.sign("▸", ">") if lasting else " "
        lines.append(fit([("strong" if lasting else "plain", pointer + _line(cells)[1:])], width, look))
    if not drawing.phases:
        words = "  No phase yet. Mark what you are doing with a key, and its row fills in."
        lines.append(fit([("plain", words)], width, look))
    return lines


def _filled(drawing: Drawing) -> list[Column]:
    """The columns in which anything was read."""
    phases = drawing.phases
    context = Context(drawing.state.now_s, drawing.state.events)
    return [
        column
        for column in COLUMNS
        if column.to_left
        or column.keep < 2
        or not phases
        or any(column.cell(phase, context) not in (NOT_READ, "") for phase in phases)
    ]


def _that_fit(columns: Sequence[Column], width: int) -> list[Column]:
    """The first and as many others as there is room for, the least needed left out first; words fill the line."""
    kept = list(columns)
    while len(kept) > 2 and sum(column.width + 2 for column in kept) > width:
        kept.remove(max(kept[1:], key=lambda column: column.keep))
    spare = width - sum(column.width + 2 for column in kept)
    return [*kept[:-1], replace(kept[-1], width=kept[-1].width + max(spare, 0))] if kept[-1].to_left else kept


def _line(cells: Sequence[str]) -> str:
    return "  " + "  ".join(cells)


def _aligned(column: Column, text: str, look: Look) -> str:
    shown = cut(look.text(text), column.width, look.sign("…", "."))
    blanks = " " * max(column.width - width_of(shown), 0)
    return shown + blanks if column.to_left else blanks + shown
